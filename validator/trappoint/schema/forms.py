"""Texts that must be written in a certain form: ids, track ends and the like."""

from __future__ import annotations

import re
from typing import NamedTuple

from trappoint.core.quoting import quoted
from trappoint.core.spelling import nearest
from trappoint.schema.published import layout_schema

_ID_WHY = (
    "An id stands in pointers, tables and on the layout: letters, digits, hyphens and underlines, "
    "beginning with a letter or a digit, at most 40 characters."
)
_END_FORMS = (
    "A track end is buffer, edge:NAME (the track leaves the plan), joint:NAME (two track ends "
    "meet), POINTS.toe, .left, .right or .middle, CROSSING.a1, .a2, .b1 or .b2, or TURNTABLE.ROAD."
)
_LONGEST_ID = 40


class Words(NamedTuple):
    """What is said of a text that is not in the form that it should have."""

    rule: str
    message: str
    why: str
    fix: str
    instead: str | None = None
    """The one thing that can be meant, as JSON."""


def bad_form(pattern: str, given: str, where: str, at_key: bool) -> Words:
    """Return what to say of a text that does not match a pattern of the schema.

    ``where`` names the place of the text; for a key, the place of the object that has the key.
    """
    forms = {
        part["pattern"]: name
        for name, part in reversed(layout_schema()["$defs"].items())
        if "pattern" in part
    }
    form = forms.get(pattern, "")
    if form in ("id", "reference", "one_or_more"):
        return _bad_id(given, where, at_key, slashes=form != "id")
    if form == "end":
        return _bad_end(given, where)
    article, what, example = _OTHER[form]
    message = f"{where} is {quoted(given)}, which is no {what}."
    if at_key:
        message = f"{where} has the key {quoted(given)}, which is no {what}."
    why = f"{article} {what} is {_SAYS[form]}."
    return Words("bad-form", message, why, f"For instance: {example}.")


_OTHER = {
    "lever_number": ("A", "lever number", '"12"'),
    "rule_name": ("A", "name of a rule", '"unheld-exit"'),
    "place": ("A", "place in a plan", '"/signals/6" or "siding"'),
    "board_edge": ("An", "edge of a board", '"west:main"'),
    "whereabouts": ("A", "place for a train to go to", '"main" or "edge:town"'),
    "": ("A", "path of a plan", '"boards/west.layout.json"'),
}
_SAYS = {
    "lever_number": "a whole number from 1 to 999, in double quotes",
    "rule_name": "words in small letters joined by hyphens",
    "place": "a JSON pointer, which begins with a slash, or an id",
    "board_edge": "the id of a board (or nothing: this plan's), a colon, and the name of the edge",
    "whereabouts": "the id of a track, a platform or a yard, or edge: and the name of an edge",
    "": "seen from the folder of this file, with / between folders, and no drive or leading slash",
}


def _bad_id(given: str, where: str, at_key: bool, slashes: bool) -> Words:
    reason = _reason(given, slashes)
    if at_key:
        message = f"{quoted(given)} in {where} cannot be an id: {reason}."
    else:
        message = f"{where} cannot be {quoted(given)}: {reason}."
    better = _better(given)
    fix = f"Write for instance {quoted(better)}." if better else "Write an id."
    return Words("bad-id", message, _ID_WHY, fix)


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


def _bad_end(given: str, where: str) -> Words:
    why = _END_FORMS
    message = f"{where} is {quoted(given)}, which is no track end."
    meant: str | None = None
    word, mark, rest = given.strip().partition(":")
    if mark and not re.search(r"[^A-Za-z0-9_-]", rest) and rest and word not in ("joint", "edge"):
        kind = nearest(word, ("joint", "edge"))
        meant = f"{kind}:{rest}" if kind else f"{word}.{rest}"
        fix = f"Perhaps {quoted(meant)} is meant."
    elif given.strip().lower() in ("edge", "joint", "edge:", "joint:"):
        fix = f"Give it a name, for instance {quoted(given.strip().lower().rstrip(':') + ':west')}."
    elif nearest(given.strip(), ("buffer",)) or given.lower() in ("buffers", "bufferstop", "end"):
        meant = "buffer"
        fix = 'Perhaps "buffer" is meant.'
    elif re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9_-]*", given):
        fix = f"Say which leg or road it meets, for instance {quoted(given + '.toe')}."
    else:
        fix = "Write one of these forms."
    return Words("bad-track-end", message, why, fix, quoted(meant) if meant else None)
