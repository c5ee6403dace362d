"""What a document does against its schema, in plain words: the sentences of all formats."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from trappoint.core.findings import Finding, pointer_to
from trappoint.core.quoting import described, listed, number, quoted
from trappoint.core.spelling import nearest
from trappoint.schema.vocabulary import Path, Vocabulary, capitalised

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator


@dataclass(frozen=True, slots=True)
class Refusal:
    """One keyword of the schema that a value does not follow."""

    words: Vocabulary
    data: dict[str, Any]
    """The whole document."""
    path: Path
    """The keys and indexes that lead to the value; for a key, to the object that has it."""
    value: Any
    keyword: str
    argument: Any
    """What the schema says with the keyword."""
    schema: dict[str, Any]
    """The part of the schema that has the keyword."""
    is_name: bool = False
    """Whether the value is itself a key."""

    @property
    def where(self) -> str:
        """The name of the place."""
        return self.words.name_of(self.data, self.path)

    @property
    def has(self) -> str:
        """The beginning of a sentence: ``Track main has``, ``Points p1 have``."""
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
        """Return an error at the place, or at a key or index right below it."""
        path = self.path if below is None else (*self.path, below)
        id_ = path[1] if len(path) > 1 and path[0] in self.words.kinds else None
        ids = (id_,) if isinstance(id_, str) else ()
        return Finding(
            rule, "error", pointer_to(*path), message, why, fix, ids, at_key, instead=instead
        )


def unknown_format(given: str, words: Vocabulary) -> Finding:
    """Return the finding for a document that says it is of another format."""
    return Finding(
        "unknown-format",
        "error",
        "/format",
        f"The format {quoted(given)} is not known.",
        "Another edition may give the same words another meaning, so nothing else is checked.",
        f"Write {quoted(words.format)} if this is a {words.one} of that edition.",
    )


def explain(refusal: Refusal) -> Iterator[Finding]:
    """Put one refusal into findings: none where another refusal says the same."""
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
        return  # its type is wrong, and that is said
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
    fix, instead = _type_fix(types, refusal.value)
    yield refusal.finding(
        "wrong-type",
        f"{refusal.where} must be {wanted}, but it is {described(refusal.value)}.",
        "A value of another type could be understood in more than one way.",
        fix or f"Write {wanted}.",
        instead=instead,
    )


def _type_fix(types: list[str], value: object) -> tuple[str, str | None]:
    """Return what to do, and what to write where that is clear."""
    if types[0] in ("number", "integer") and isinstance(value, str):
        if re.fullmatch(r"[0-9]{1,9}(\.[0-9]{1,9})?", value, re.ASCII):
            digits = number(float(value))
            return f"Take the quotes away: {digits}.", digits
        return "Write the number alone, without quotes and without a unit.", None
    if types == ["boolean"] and isinstance(value, str) and value in ("true", "false"):
        return f"Take the quotes away: {value}.", value
    if types == ["array"] and isinstance(value, str):
        return f"Put it into square brackets: [{quoted(value)}].", f"[{_json(value)}]"
    if "string" in types and isinstance(value, int | float) and not isinstance(value, bool):
        return f'Put it into double quotes: "{number(value)}".', f'"{number(value)}"'
    return "", None


def _json(text: str) -> str:
    import json

    return json.dumps(text, ensure_ascii=False)


def _wrong_value(refusal: Refusal) -> Iterator[Finding]:
    allowed = refusal.argument
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


def _said_already(_: Refusal) -> Iterator[Finding]:
    # A text that names another format was answered before; anything else has the wrong type.
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
            continue  # its type is wrong, and that is said
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
    return refusal.finding(
        said.rule,
        said.message,
        said.why,
        said.fix,
        below=refusal.value if at_key else None,
        at_key=at_key,
        instead=said.instead,
    )


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
