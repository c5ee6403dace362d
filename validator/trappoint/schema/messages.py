"""Findings for documents that break their schema, for all formats."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from trappoint.core.findings import Finding, pointer_to
from trappoint.core.meaning import Meanings
from trappoint.core.quoting import described, listed, number, quoted
from trappoint.core.spelling import length_in_mm, nearest
from trappoint.schema.forms import Words
from trappoint.schema.vocabulary import Path, Vocabulary, capitalised

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator


@dataclass(frozen=True, slots=True)
class Refusal:
    """One value that breaks one keyword of the schema."""

    words: Vocabulary
    data: dict[str, Any]
    """The whole document."""
    path: Path
    """The keys and indexes that lead to the value; for a key, to its object."""
    value: Any
    keyword: str
    argument: Any
    """The value of the keyword in the schema."""
    schema: dict[str, Any]
    """The part of the schema that contains the keyword."""
    meanings: dict[tuple[str, ...], Meanings]
    """The names of the document's things by kinds, shared by all refusals of one document."""
    is_name: bool = False
    """Whether the value is itself a key."""

    @property
    def where(self) -> str:
        """The name of the place in messages, such as ``track main``."""
        return self.words.name_of(self.data, self.path)

    @property
    def has(self) -> str:
        """The beginning of a sentence, such as ``Track main has`` or ``Points p1 have``."""
        where = self.where
        verb = "have" if where.startswith("points ") and len(self.path) > 1 else "has"
        return f"{capitalised(where)} {verb}"

    def finding(
        self,
        rule: str,
        message: str,
        why: str,
        fix: str,
        *,
        below: str | int | None = None,
        at_key: bool = False,
        instead: str | None = None,
    ) -> Finding:
        """Return an error at the place, or at the key or index ``below`` it."""
        path = self.path if below is None else (*self.path, below)
        id_ = path[1] if len(path) > 1 and path[0] in self.words.kinds else None
        ids = (id_,) if isinstance(id_, str) else ()
        return Finding(
            rule, "error", pointer_to(*path), message, why, fix, ids, at_key, instead=instead
        )


def unknown_format(given: str, words: Vocabulary) -> Finding:
    """Return the finding for a document with an unknown ``format``."""
    return Finding(
        "unknown-format",
        "error",
        "/format",
        f"The format {quoted(given)} is not known.",
        "Another edition may give the same words another meaning, so nothing else is checked.",
        f"Write {quoted(words.format)} if this is a {words.one} of that edition.",
    )


def explain(refusal: Refusal) -> Iterator[Finding]:
    """Yield the findings for one refusal; none if another refusal reports the same."""
    if refusal.is_name:
        yield _bad_form(refusal, at_key=True)
    else:
        yield from _EXPLAIN[refusal.keyword](refusal)


def _unknown_keys(refusal: Refusal) -> Iterator[Finding]:
    known: tuple[str, ...] = tuple(refusal.schema.get("properties", ()))
    free = [key for key in known if key not in refusal.value]
    for key in refusal.value:
        if key in known:
            continue
        near = nearest(key, free) or nearest(key, known)
        fix = f"Known here: {listed(known, 'and')}. Free text can stand in note."
        if near:
            fix = f"Perhaps {near} is meant."
        yield refusal.finding(
            "unknown-key",
            f"{refusal.has} an unknown key {quoted(key)}.",
            "A key that nothing reads is a slip, or a thing that its author believes is checked.",
            fix,
            below=key,
            at_key=True,
            instead=quoted(near) if near in free else None,
        )


def _missing_keys(refusal: Refusal) -> Iterator[Finding]:
    for key in refusal.argument:
        if key not in refusal.value:
            yield _missing(refusal, key)


def _needed_with(refusal: Refusal) -> Iterator[Finding]:
    for key, others in refusal.argument.items():
        for other in others:
            if key in refusal.value and other not in refusal.value:
                yield _missing(refusal, other)


def _missing(refusal: Refusal, key: str) -> Finding:
    example, why = refusal.words.needed[key]
    return refusal.finding(
        "missing-key", f"{refusal.has} no {key}.", why, f"Add for instance {example}."
    )


def _excluded(refusal: Refusal) -> Iterator[Finding]:
    if "const" in refusal.argument:
        wanted, why = refusal.words.two_types[tuple(refusal.schema["type"])]
        yield refusal.finding(
            "wrong-value",
            f"{refusal.where} must be {wanted}, but it is {described(refusal.value)}.",
            why,
            "Take the entry out.",
            instead="",
        )
        return
    if not isinstance(refusal.value, dict):
        return  # the wrong type is reported already
    one, other = refusal.argument["required"]
    yield refusal.finding(
        "exclusive-keys",
        f"{refusal.has} both {one} and {other}.",
        "There can be only one of the two: with both, nobody knows which is meant.",
        "Take one of them out.",
        below=max((one, other), key=list(refusal.value).index),
        at_key=True,
    )


def _wrong_type(refusal: Refusal) -> Iterator[Finding]:
    wanted = refusal.words.wanted(refusal.argument)
    types = refusal.argument if isinstance(refusal.argument, list) else [refusal.argument]
    fix, instead = _type_fix(types, refusal.value, str(refusal.path[-1]) if refusal.path else "")
    yield refusal.finding(
        "wrong-type",
        f"{refusal.where} must be {wanted}, but it is {described(refusal.value)}.",
        "A value of another type could be understood in more than one way.",
        fix or f"Write {wanted}.",
        instead=instead,
    )


def _type_fix(types: list[str], value: object, key: str) -> tuple[str, str | None]:
    """Return the fix, and the JSON to write (None if it is not clear)."""
    if types[0] in ("number", "integer") and isinstance(value, str):
        return _number_fix(value, key)
    if types == ["boolean"] and isinstance(value, str) and value in ("true", "false"):
        return f"Take the quotes away: {value}.", value
    if types == ["array"] and isinstance(value, str):
        return f"Put it into square brackets: [{quoted(value)}].", f"[{_json(value)}]"
    if "string" in types and isinstance(value, int | float) and not isinstance(value, bool):
        return f'Put it into double quotes: "{number(value)}".', f'"{number(value)}"'
    return "", None


def _number_fix(value: str, key: str) -> tuple[str, str | None]:
    """Return the fix for a number in quotes, and the number (None if it is not clear)."""
    length = length_in_mm(value) if key.endswith("_mm") else None
    if length is not None and not value.isdigit():
        return f"Write {number(length)}: lengths are in millimetres.", number(length)
    if re.fullmatch(r"[0-9]{1,9}(\.[0-9]{1,9})?", value, re.ASCII):
        digits = number(float(value))
        return f"Take the quotes away: {digits}.", digits
    return "Write the number alone, without quotes and without a unit.", None


def _json(text: str) -> str:
    import json

    return json.dumps(text, ensure_ascii=False)


def _wrong_value(refusal: Refusal) -> Iterator[Finding]:
    allowed = refusal.argument
    known = _trade_word(refusal)
    if known:
        fix, value = known
        yield refusal.finding(
            "wrong-value",
            f"{refusal.where} must be {listed(allowed)}, but it is {described(refusal.value)}.",
            "Only these words have a meaning here.",
            fix,
            instead=quoted(value) if value else None,
        )
        return
    near = nearest(refusal.value, allowed) if isinstance(refusal.value, str) else None
    yield refusal.finding(
        "wrong-value",
        f"{refusal.where} must be {listed(allowed)}, but it is {described(refusal.value)}.",
        "Only these words have a meaning here.",
        f"Perhaps {near} is meant."
        if near
        else f"Write {listed([quoted(word) for word in allowed])}.",
        instead=quoted(near) if near else None,
    )


def _trade_word(refusal: Refusal) -> tuple[str, str | None] | None:
    """Return the fix for a railway word that the format writes in another way, and the value.

    The value is None if several are possible; the whole result is None for any other word.
    """
    if not isinstance(refusal.value, str) or len(refusal.path) < 3:
        return None
    first, inner = str(refusal.path[0]), str(refusal.path[2])
    entry = refusal.words.inner.get((first, inner)) or refusal.words.kinds.get(first, "")
    words = refusal.words.trade_words.get(f"{entry}.{refusal.path[-1]}", {})
    return words.get(re.sub(r"[\s_]+", "-", refusal.value.strip().casefold()))


def _said_already(_: Refusal) -> Iterator[Finding]:
    # ``unknown_format`` reports another format; any other value has the wrong type.
    yield from ()


def _out_of_range(refusal: Refusal) -> Iterator[Finding]:
    limit = number(refusal.argument)
    bound = {
        "minimum": f"{limit} or more",
        "exclusiveMinimum": f"more than {limit}",
        "exclusiveMaximum": f"less than {limit}",
    }[refusal.keyword]
    yield refusal.finding(
        "out-of-range",
        f"{refusal.where} must be {bound}, but it is {number(refusal.value)}.",
        refusal.words.beyond,
        f"Write a number that is {bound}.",
    )


def _too_few(refusal: Refusal) -> Iterator[Finding]:
    least = {1: "one entry", 2: "two entries"}[refusal.argument]
    count = len(refusal.value)
    given = "none" if count == 0 else f"only {count}"
    yield refusal.finding(
        "too-few",
        f"{refusal.where} must have at least {least}, but it has {given}.",
        "With fewer it says nothing.",
        "Add what is missing, or take the whole list out.",
    )


def _empty_text(refusal: Refusal) -> Iterator[Finding]:
    yield refusal.finding(
        "empty-text",
        f"{refusal.where} is empty.",
        "An empty text says nothing.",
        "Write it, or take the key out.",
    )


def _listed_twice(refusal: Refusal) -> Iterator[Finding]:
    seen: set[str] = set()
    for index, item in enumerate(refusal.value):
        if not isinstance(item, str):
            continue  # the wrong type is reported already
        if item in seen:
            yield refusal.finding(
                "duplicate-item",
                f"{refusal.where} names {quoted(item)} twice.",
                "Naming it once says all.",
                "Take one of the two out.",
                below=index,
                instead="",
            )
        seen.add(item)


def _wrong_pattern(refusal: Refusal) -> Iterator[Finding]:
    yield _bad_form(refusal, at_key=False)


def _bad_form(refusal: Refusal, *, at_key: bool) -> Finding:
    said = refusal.words.form(refusal.argument)(refusal.value, refusal.where, at_key)
    if not at_key:
        said = _meant_by(refusal, said)
    return refusal.finding(
        said.rule,
        said.message,
        said.why,
        said.fix,
        below=refusal.value if at_key else None,
        at_key=at_key,
        instead=said.instead,
    )


def _meant_by(refusal: Refusal, said: Words) -> Words:
    """Return the message for a malformed id, with the ids that the author may mean."""
    key = next((part for part in reversed(refusal.path) if isinstance(part, str)), "")
    kinds = refusal.words.refers.get(key)
    if said.rule != "bad-id" or kinds is None:
        return said
    if kinds not in refusal.meanings:
        refusal.meanings[kinds] = Meanings(refusal.words.things(refusal.data, kinds))
    meant = refusal.meanings[kinds].ids(refusal.value, kinds)[:_MOST_MEANT]
    if meant:
        fix = f"Write {listed([quoted(id_) for id_ in meant])}."
        return said._replace(fix=fix, instead=quoted(meant[0]) if len(meant) == 1 else None)
    names = ["an arm" if kind == "arms" else _one(refusal.words.kinds[kind]) for kind in kinds]
    return said._replace(fix=f"Write the id of {listed(names)}.")


def _one(kind: str) -> str:
    return kind if kind == "points" else f"a {kind}"


_MOST_MEANT = 5
"""Limit on the ids that one fix offers."""

_EXPLAIN: dict[str, Callable[[Refusal], Iterator[Finding]]] = {
    "additionalProperties": _unknown_keys,
    "required": _missing_keys,
    "dependentRequired": _needed_with,
    "not": _excluded,
    "type": _wrong_type,
    "enum": _wrong_value,
    "const": _said_already,
    "minimum": _out_of_range,
    "exclusiveMinimum": _out_of_range,
    "exclusiveMaximum": _out_of_range,
    "minItems": _too_few,
    "minLength": _empty_text,
    "uniqueItems": _listed_twice,
    "pattern": _wrong_pattern,
}
