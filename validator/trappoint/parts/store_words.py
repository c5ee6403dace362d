"""What a store does against its schema, in plain words."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from trappoint.core.findings import Finding, pointer_to
from trappoint.core.quoting import described, listed, number, quoted
from trappoint.core.spelling import nearest

if TYPE_CHECKING:
    from collections.abc import Iterator

    from jsonschema import ValidationError

Path = tuple[str | int, ...]

_KINDS = {"parts": "part", "recipes": "recipe", "shops": "shop", "rates": "rate"}
_TYPES = {
    "object": "an object in braces",
    "array": "a list",
    "string": "a text in double quotes",
    "number": "a number",
    "integer": "a whole number",
}
_NEEDED = {
    "format": (
        '"format": "trappoint-store/1"',
        "It says what kind of file this is, and in which edition of the format.",
    ),
    "currency": ('"currency": "GBP"', "Without it nobody knows what a price means."),
    "parts": ('"parts": {}', "Everything in a store is about its parts."),
    "mounts": ('"mounts": ["post"]', "It says which mounts the part serves as."),
    "kinds": ('"kinds": ["stop"]', "It says which arms the part serves as."),
    "uses": ('"uses": {"post": 1}', "A recipe makes parts out of parts."),
    "yields": ('"yields": {"doll": 2}', "A recipe makes parts out of parts."),
    "offers": ('"offers": {}', "A shop is there for what it sells."),
    "contains": ('"contains": {"post": 10}', "It says what is in the pack."),
    "price": ('"price": "4.50"', "Without it the costs cannot be known."),
    "postage": (
        '"postage": "3.20"',
        "free_from says from when on there is no postage, and says nothing without it.",
    ),
}
_FORMS = {
    "^[A-Z]{3}$": ("currency", "It is three capital letters.", '"GBP"'),
    "^[0-9]{1,7}([.][0-9]{1,2})?$": (
        "amount of money",
        "An amount is written in digits, with at most two decimals after a full stop.",
        '"4.50"',
    ),
    "^(?=.*[1-9])[0-9]{1,4}([.][0-9]{1,4})?$": (
        "rate of exchange",
        "A rate is more than 0, in digits, with at most four decimals after a full stop.",
        '"0.86"',
    ),
}


def explain(error: ValidationError) -> Iterator[Finding]:
    """Put one error of the validator into findings."""
    path: Path = tuple(error.absolute_path)
    if "propertyNames" in error.absolute_schema_path:
        key = str(error.instance)
        yield _bad_form(str(error.validator_value), key, (*path, key), at_key=True)
        return
    keyword = str(error.validator)
    value: Any = error.instance
    argument: Any = error.validator_value
    if keyword == "additionalProperties":
        yield from _unknown_keys(path, value, tuple(_schema(error).get("properties", ())))
    elif keyword == "required":
        yield from (_missing(path, key) for key in argument if key not in value)
    elif keyword == "dependentRequired":
        for key, others in argument.items():
            yield from (_missing(path, o) for o in others if key in value and o not in value)
    elif keyword == "pattern":
        yield _bad_form(str(argument), value, path, at_key=False)
    elif keyword == "not":
        if isinstance(value, dict):
            yield _both(path, value, argument["required"])
    elif keyword == "uniqueItems":
        yield from _twice(path, value)
    else:
        yield _plain(keyword, path, value, argument)


def name_of(path: Path) -> str:
    """Name a place of a store: ``price of offer P10 of shop tin-box``, ``the store``."""
    if not path:
        return "the store"
    parts = list(path)
    if len(parts) < 2 or parts[0] not in _KINDS:
        words, rest = _word(parts[0]), parts[1:]
    else:
        words, rest = f"{_KINDS[str(parts[0])]} {_word(parts[1])}", parts[2:]
        if parts[0] == "shops" and len(rest) > 1 and rest[0] == "offers":
            words, rest = f"offer {_word(rest[1])} of {words}", rest[2:]
    for part in rest:
        words = f"{'entry ' if isinstance(part, int) else ''}{_word(part)} of {words}"
    return words


def _schema(error: ValidationError) -> dict[str, Any]:
    return error.schema if isinstance(error.schema, dict) else {}


def _word(part: str | int) -> str:
    if isinstance(part, int):
        return str(part + 1)
    return part if re.fullmatch(r"[$A-Za-z0-9_-]{1,40}", part) else quoted(part)


def finding(
    rule: str, path: Path, message: str, why: str, fix: str, *, at_key: bool = False
) -> Finding:
    """Return an error at a place of a store."""
    message = message[0].upper() + message[1:]
    return Finding(rule, "error", pointer_to(*path), message, why, fix, at_key=at_key)


def _unknown_keys(path: Path, value: dict[str, Any], known: tuple[str, ...]) -> Iterator[Finding]:
    for key in value:
        if key not in known:
            near = nearest(key, [k for k in known if k not in value]) or nearest(key, known)
            yield finding(
                "unknown-key",
                (*path, key),
                f"{name_of(path)} has an unknown key {quoted(key)}.",
                "A key that nothing reads is a slip.",
                f"Perhaps {near} is meant."
                if near
                else f"Known here: {listed(known, 'and')}. Free text can stand in note.",
                at_key=True,
            )


def _missing(path: Path, key: str) -> Finding:
    example, why = _NEEDED[key]
    message = f"{name_of(path)} has no {key}."
    return finding("missing-key", path, message, why, f"Add for instance {example}.")


def _both(path: Path, value: dict[str, Any], keys: list[str]) -> Finding:
    one, other = keys
    return finding(
        "exclusive-keys",
        (*path, max(keys, key=list(value).index)),
        f"{name_of(path)} has both {one} and {other}.",
        "There can be only one of the two: with both, nobody knows which is meant.",
        "Take one of them out.",
        at_key=True,
    )


def _twice(path: Path, value: list[Any]) -> Iterator[Finding]:
    for index, item in enumerate(value):
        if isinstance(item, str) and item in value[:index]:
            yield finding(
                "duplicate-item",
                (*path, index),
                f"{name_of(path)} names {quoted(item)} twice.",
                "Naming it once says all.",
                "Take one of the two out.",
            )


def _bad_form(pattern: str, given: str, path: Path, *, at_key: bool) -> Finding:
    where = name_of(path[:-1] if at_key else path)
    if pattern not in _FORMS:
        return finding(
            "bad-id",
            path,
            f"{quoted(given)} in {where} cannot be an id.",
            "An id is letters, digits, hyphens and underlines, beginning with a letter or a "
            "digit, at most 40 characters.",
            'Write for instance "post-60".',
            at_key=at_key,
        )
    what, why, example = _FORMS[pattern]
    message = f"{where} is {quoted(given)}, which is no {what}."
    if at_key:
        message = f"{where} has the key {quoted(given)}, which is no {what}."
    return finding("bad-form", path, message, why, f"For instance: {example}.", at_key=at_key)


def _plain(keyword: str, path: Path, value: Any, argument: Any) -> Finding:
    where = name_of(path)
    if keyword == "type":
        wanted = _TYPES[argument]
        fix = f"Write {wanted}."
        if argument == "string" and isinstance(value, int | float):
            fix = f"Put it in double quotes: {quoted(number(value))}."
        message = f"{where} must be {wanted}, but it is {described(value)}."
        why = "A value of another type could be understood in more than one way."
        return finding("wrong-type", path, message, why, fix)
    if keyword == "enum":
        message = f"{where} must be {listed(argument)}, but it is {described(value)}."
        near = nearest(value, argument) if isinstance(value, str) else None
        fix = f"Perhaps {near} is meant." if near else f"Write {listed(argument)}."
        return finding("wrong-value", path, message, "Only these words have a meaning here.", fix)
    if keyword in ("minItems", "minLength"):
        message = f"{where} is empty."
        rule = "too-few" if keyword == "minItems" else "empty-text"
        return finding(rule, path, message, "It says nothing so.", "Write it, or take it out.")
    if keyword == "const":
        message = f"{where} must be {quoted(argument)}, but it is {described(value)}."
        why = "It says what kind of file this is, and in which edition of the format."
        return finding("unknown-format", path, message, why, f"Write {quoted(argument)}.")
    bound = f"{number(argument)} or more" if keyword == "minimum" else f"less than {argument}"
    message = f"{where} must be {bound}, but it is {number(value)}."
    why = "No store has so many or so few of anything."
    return finding("out-of-range", path, message, why, f"Write a number that is {bound}.")
