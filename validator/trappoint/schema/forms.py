"""Messages for texts in the wrong form, such as malformed ids and amounts of money."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import NamedTuple

from trappoint.core.quoting import quoted

_LONGEST_ID = 40


class Words(NamedTuple):
    """The message for a text in the wrong form."""

    rule: str
    message: str
    why: str
    fix: str
    instead: str | None = None
    """The corrected text as JSON, if only one correction is possible; else None."""


TextForm = Callable[[str, str, bool], Words]
"""A function that returns the message for a text in the wrong form.

It takes the text, the name of its place, and whether the text is a key. The place of a key is
that of its object.
"""


def none_such(what: str, why: str, example: str) -> TextForm:
    """Return a form whose message needs only a name, a reason and an example."""

    def explain(given: str, where: str, at_key: bool) -> Words:
        has = "has the key" if at_key else "is"
        message = f"{where} {has} {quoted(given)}, which is no {what}."
        return Words("bad-form", message, why, f"For instance: {example}.")

    return explain


def no_id(stands_in: str, *, slashes: bool = False) -> TextForm:
    """Return the form of ids. With ``slashes``, slashes may join several ids."""
    why = (
        f"An id stands in {stands_in}: letters, digits, hyphens and underlines, "
        f"beginning with a letter or a digit, at most {_LONGEST_ID} characters."
    )

    def explain(given: str, where: str, at_key: bool) -> Words:
        reason = _reason(given, slashes)
        message = f"{where} cannot be {quoted(given)}: {reason}."
        if at_key:
            message = f"{quoted(given)} in {where} cannot be an id: {reason}."
        better = _better(given)
        fix = f"Write for instance {quoted(better)}." if better else "Write an id."
        return Words("bad-id", message, why, fix)

    return explain


def _reason(given: str, slashes: bool) -> str:
    if not given:
        return "it is empty"
    for part in given.split("/") if slashes else [given]:
        bad = re.search(r"[^A-Za-z0-9_-]", part)
        if bad:
            return f"it has {_character(bad.group())} in it"
        if len(part) > _LONGEST_ID:
            return f"it has {len(part)} characters"
        if part[:1] in ("-", "_"):
            return f"it begins with {'a hyphen' if part[0] == '-' else 'an underline'}"
    return "it has an empty part or too many parts"


def _character(char: str) -> str:
    names = {" ": "a space", ".": "a full stop", ",": "a comma", "/": "a slash", ":": "a colon"}
    return names.get(char) or f"the character {quoted(char)}"


def _better(given: str) -> str:
    return re.sub(r"[^A-Za-z0-9_]+", "-", given).strip("-_")[:_LONGEST_ID].rstrip("-_")
