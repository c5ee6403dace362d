"""What a document does against the schema, in plain words."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from trappoint.core.findings import Finding, pointer_to
from trappoint.core.kinds import ONE_OF
from trappoint.core.quoting import described, listed, number, quoted
from trappoint.core.spelling import nearest

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

Path = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Refusal:
    """One keyword of the schema that a value does not follow."""

    data: dict[str, Any]
    """The whole document."""
    path: Path
    """The keys and indexes that lead to the value; for a key, to the object that has it."""
    value: Any
    keyword: str
    argument: Any
    """What the schema says with the keyword."""
    is_name: bool = False
    """Whether the value is itself a key."""
    known_keys: tuple[str, ...] = ()
    """The keys that the schema knows in this object."""


_TYPES = {
    "object": "an object in braces",
    "array": "a list",
    "string": "a text in double quotes",
    "number": "a number",
    "integer": "a whole number",
    "boolean": "true or false",
}

_NEEDED = {
    "format": (
        '"format": "trappoint-layout/1"',
        "It says what kind of file this is, and in which edition of the format.",
    ),
    "tracks": ('"tracks": {}', "Everything in a plan stands on its tracks."),
    "up": (
        '"up": "buffer"',
        "Each end of a track meets something: that is how a plan hangs together.",
    ),
    "down": (
        '"down": "buffer"',
        "Each end of a track meets something: that is how a plan hangs together.",
    ),
    "normal": ('"normal": "right"', "Without the usual lie, normal and reverse say nothing."),
    "track": ('"track": "main"', "A signal stands beside a track."),
    "for": ('"for": "down"', "A signal speaks to the trains that run one way."),
    "arms": ('"arms": [{"id": "1"}]', "A signal speaks by its arms."),
    "id": ('"id": "1"', "An arm is called by its id."),
    "roads": ('"roads": ["1", "2"]', "Tracks meet a turntable at its roads."),
    "rule": ('"rule": "unheld-exit"', "It says which finding is accepted."),
    "at": ('"at": "/tracks/main"', "It says where the finding is accepted."),
    "plan": ('"plan": "west.layout.json"', "It says where the plan of the board is."),
    "lane": ('"lane": 1', "It says how high the track is drawn."),
    "order": ('"order": 1', "It says how far to the right it is drawn."),
    "moves": (
        '"moves": [{"train": "local", "to": "main"}]',
        "A session is the list of its movements.",
    ),
    "train": ('"train": "local"', "It says which train is moved."),
    "to": ('"to": "main"', "It says where the train is to stand next."),
    "a": ('"a": "west:main"', "A join has two edges."),
    "b": ('"b": "east:main"', "A join has two edges."),
    "crossing_number": (
        '"crossing_number": 8',
        "measure says how the crossing number is meant, and says nothing without it.",
    ),
}
"""For each key that may be missing: an example of it, and why it is needed."""


def unknown_format(given: str, known: str) -> Finding:
    """Return the finding for a document that says it is of another format."""
    return Finding(
        "unknown-format",
        "error",
        "/format",
        f"The format {quoted(given)} is not known.",
        "Another edition may give the same words another meaning, so nothing else is checked.",
        f"Write {quoted(known)} if this is a layout plan of that edition.",
    )


def explain(refusal: Refusal) -> Iterator[Finding]:
    """Put one refusal into findings: none where another refusal says the same."""
    if refusal.is_name:
        yield _bad_pattern(refusal, (*refusal.path, refusal.value), at_key=True)
    else:
        yield from _EXPLAIN[refusal.keyword](refusal)


def name_of(data: dict[str, Any], path: Path) -> str:
    """Name a place of a plan: ``length_mm of track main``, ``track main``, ``the plan``."""
    if not path:
        return "the plan"
    if len(path) == 1 or path[0] not in ONE_OF:
        words, rest = _word(path[0]), path[1:]
    else:
        words, rest = f"{ONE_OF[str(path[0])]} {_word(path[1])}", path[2:]
        if path[0] == "signals" and len(rest) > 1 and rest[0] == "arms":
            words, rest = f"{_arm(data, path)} of {words}", rest[2:]
    for part in rest:
        words = f"{'entry ' if isinstance(part, int) else ''}{_word(part)} of {words}"
    return words


def _word(part: str | int) -> str:
    if isinstance(part, int):
        return str(part + 1)
    return part if re.fullmatch(r"[$A-Za-z0-9_-]{1,40}", part) else quoted(part)


def _arm(data: dict[str, Any], path: Path) -> str:
    value: Any = data
    for part in path[:4]:
        value = value[part]
    given = value.get("id") if isinstance(value, dict) else None
    return f"arm {_word(given) if isinstance(given, str) and given else _word(path[3])}"


def _finding(
    rule: str,
    path: Path,
    message: str,
    why: str,
    fix: str,
    *,
    at_key: bool = False,
    instead: str | None = None,
) -> Finding:
    ids = (path[1],) if len(path) > 1 and path[0] in ONE_OF and isinstance(path[1], str) else ()
    return Finding(
        rule, "error", pointer_to(*path), message, why, fix, ids, at_key, instead=instead
    )


def _has(refusal: Refusal, path: Path) -> str:
    """Return the beginning of a sentence: ``Track main has``, ``Points p1 have``."""
    where = name_of(refusal.data, path)
    verb = "have" if where.startswith("points ") and len(path) > 1 else "has"
    return f"{where[0].upper()}{where[1:]} {verb}"


def _unknown_keys(refusal: Refusal) -> Iterator[Finding]:
    known = refusal.known_keys
    free = [key for key in known if key not in refusal.value]
    for key in refusal.value:
        if key in known:
            continue
        near = nearest(key, free) or nearest(key, known)
        fix = f"Known here: {listed(known, 'and')}. Free text can stand in note."
        if near:
            fix = f"Perhaps {near} is meant."
        yield _finding(
            "unknown-key",
            (*refusal.path, key),
            f"{_has(refusal, refusal.path)} an unknown key {quoted(key)}.",
            "A key that nothing reads is a slip, or a thing that its author believes is checked.",
            fix,
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
    example, why = _NEEDED[key]
    message = f"{_has(refusal, refusal.path)} no {key}."
    return _finding("missing-key", refusal.path, message, why, f"Add for instance {example}.")


def _excluded(refusal: Refusal) -> Iterator[Finding]:
    if "const" in refusal.argument:
        yield _finding(
            "wrong-value",
            refusal.path,
            f"{name_of(refusal.data, refusal.path)} must be true or the id of a train, "
            "but it is false.",
            "Where no train stands, nothing is written.",
            "Take the entry out.",
            instead="",
        )
        return
    if not isinstance(refusal.value, dict):
        return  # its type is wrong, and that is said
    one, other = refusal.argument["required"]
    yield _finding(
        "exclusive-keys",
        (*refusal.path, max((one, other), key=list(refusal.value).index)),
        f"{_has(refusal, refusal.path)} both {one} and {other}.",
        "There can be only one of the two: with both, nobody knows which is meant.",
        "Take one of them out.",
        at_key=True,
    )


def _wrong_type(refusal: Refusal) -> Iterator[Finding]:
    types = refusal.argument if isinstance(refusal.argument, list) else [refusal.argument]
    wanted = listed([_TYPES[name] for name in types])
    if types == ["boolean", "string"]:
        wanted = "true or the id of a train"
    fix, instead = _type_fix(types, refusal.value)
    yield _finding(
        "wrong-type",
        refusal.path,
        f"{name_of(refusal.data, refusal.path)} must be {wanted}, "
        f"but it is {described(refusal.value)}.",
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
    yield _finding(
        "wrong-value",
        refusal.path,
        f"{name_of(refusal.data, refusal.path)} must be {listed(allowed)}, "
        f"but it is {described(refusal.value)}.",
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
    yield _finding(
        "out-of-range",
        refusal.path,
        f"{name_of(refusal.data, refusal.path)} must be {bound}, but it is "
        f"{number(refusal.value)}.",
        "Nothing on a layout measures that.",
        f"Write a number that is {bound}.",
    )


def _too_few(refusal: Refusal) -> Iterator[Finding]:
    least = {1: "one entry", 2: "two entries"}[refusal.argument]
    count = len(refusal.value)
    yield _finding(
        "too-few",
        refusal.path,
        f"{name_of(refusal.data, refusal.path)} must have at least {least}, "
        f"but it has {'none' if count == 0 else f'only {count}'}.",
        "With fewer it says nothing.",
        "Add what is missing, or take the whole list out.",
    )


def _empty_text(refusal: Refusal) -> Iterator[Finding]:
    yield _finding(
        "empty-text",
        refusal.path,
        f"{name_of(refusal.data, refusal.path)} is empty.",
        "An empty text says nothing.",
        "Write it, or take the key out.",
    )


def _listed_twice(refusal: Refusal) -> Iterator[Finding]:
    seen: set[str] = set()
    for index, item in enumerate(refusal.value):
        if not isinstance(item, str):
            continue  # its type is wrong, and that is said
        if item in seen:
            yield _finding(
                "duplicate-item",
                (*refusal.path, index),
                f"{name_of(refusal.data, refusal.path)} names {quoted(item)} twice.",
                "Naming it once says all.",
                "Take one of the two out.",
                instead="",
            )
        seen.add(item)


def _wrong_pattern(refusal: Refusal) -> Iterator[Finding]:
    yield _bad_pattern(refusal, refusal.path, at_key=False)


def _bad_pattern(refusal: Refusal, path: Path, at_key: bool) -> Finding:
    from trappoint.schema.forms import bad_form

    where = name_of(refusal.data, refusal.path)
    words = bad_form(refusal.argument, refusal.value, where, at_key)
    return _finding(
        words.rule, path, words.message, words.why, words.fix, at_key=at_key, instead=words.instead
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
