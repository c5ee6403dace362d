"""Where a plan gives names to things, and where it uses them: one table for all who follow ids.

A *mention* is a part of one text of a plan, or of one key, that is the name of a thing. The table
knows a place by the keys that lead to it; the text is taken apart by the form that it has there.
It looks at plain data, so that it also serves for plans that are not in order.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.kinds import ELEMENTS, LINES, NAMED_BY_KEY

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

Path = tuple[str | int, ...]
"""The keys and indexes that lead to a value; those that lead to a key end with it."""

Kinds = tuple[str, ...]

TRACKS: Kinds = ("tracks",)
SWITCHES: Kinds = ("points", "crossings")
ROADS: Kinds = ("tracks", "platforms", "yards")
STANDS: Kinds = ("tracks", "yards")
ARMS: Kinds = ("arms",)
ANYTHING: Kinds = tuple(kind for kind in NAMED_BY_KEY if kind not in ("levers", "boards"))


class Mention(NamedTuple):
    """A part of a text that is the name of a thing."""

    kinds: Kinds
    """What it may name: the first of these kinds that has the name."""
    name: str
    start: int
    """Where the name stands in the text, counted in characters from 0."""
    end: int
    defines: bool = False
    """True if the thing gets its name here."""
    beyond: Kinds = ()
    """For a board before an id (``west/p1``): what may be named on it."""
    until: int = 0
    """Where the id on the board ends in the text."""


class OnBoard(NamedTuple):
    """A part of a text that is the name of a thing on a board, or of a board within a board."""

    kinds: Kinds
    boards: tuple[str, ...]
    """From the board of this plan to the one that has it."""
    name: str
    start: int
    end: int


def mentions(path: Path, text: str, *, at_key: bool = False) -> Iterator[Mention]:
    """Yield the names in a text of a plan, or in the key that ``path`` ends with.

    A name on another board (``west/p1``) is a mention of the board alone. The names of a
    turntable's roads are unique with the turntable: ``table.3``.
    """
    form = _form(path, at_key=at_key)
    if form is not None:
        yield from form(path, text)


_STEP = re.compile(r"(?:[:/]|~1)([^:/~]+)")


def names_on_boards(text: str, board: Mention) -> Iterator[OnBoard]:
    """Yield what a text names beyond a board: ``yard`` and ``p1`` in ``west/yard/p1``."""
    boards = [board.name]
    steps = list(_STEP.finditer(text, board.end, board.until))
    for step in steps:
        kinds = board.beyond if step is steps[-1] else ("boards",)
        yield OnBoard(kinds, tuple(boards), step[1], *step.span(1))
        boards.append(step[1])


def kinds_at(path: Path, *, at_key: bool = False) -> Kinds:
    """Return the kinds of things whose ids may be written at a place; none where none may."""
    form = _form(path, at_key=at_key)
    return form.kinds if isinstance(form, _WholeName) and not form.defines else ()


@dataclass(frozen=True, slots=True)
class _WholeName:
    """The form of a text that is one name, or ``BOARD/NAME``."""

    kinds: Kinds
    defines: bool = False

    def __call__(self, _: Path, text: str) -> Iterator[Mention]:
        board, slash, _rest = text.partition("/")
        if slash and not self.defines:
            yield _board(board, 0, self.kinds, len(text))
        else:
            yield Mention(self.kinds, text, 0, len(text), self.defines)


def _board(name: str, start: int, beyond: Kinds, until: int) -> Mention:
    """Return the mention of the board that stands before an id."""
    return Mention(("boards",), name, start, start + len(name), False, beyond, until)


def _end(_: Path, text: str) -> Iterator[Mention]:
    """``POINTS.toe``, ``TURNTABLE.ROAD``, ``joint:NAME``, ``edge:NAME``."""
    word, colon, name = text.partition(":")
    if colon and f"{word}s" in LINES:
        yield Mention((f"{word}s",), name, len(word) + 1, len(text))
        return
    element, dot, leg = text.partition(".")
    if dot:
        yield Mention(_by_leg(leg), element, 0, len(element))
        yield Mention(("legs",), text, len(element) + 1, len(text))


def _by_leg(leg: str) -> Kinds:
    """Return in which order to look for an element: the leg tells points from crossings."""
    if leg in ("a1", "a2", "b1", "b2"):
        return ("crossings", "points", "turntables")
    if leg in ("toe", "left", "right", "middle"):
        return ELEMENTS
    return ("turntables", "points", "crossings")


def _board_edge(_: Path, text: str) -> Iterator[Mention]:
    """``BOARD:EDGE``, the edge being one of the board's own plan."""
    board, _colon, edge = text.partition(":")
    if board:
        yield _board(board, 0, ("edges",), len(text))
    else:  # an edge of this plan's own tracks
        yield Mention(("edges",), edge, 1, len(text))


def _whereabouts(path: Path, text: str) -> Iterator[Mention]:
    """Where a train may stand, or ``edge:NAME``, where it leaves the plan."""
    word, colon, rest = text.partition(":")
    board, slash, _edge = rest.partition("/")
    if slash:
        yield _board(board, len(word) + 1, ("edges",), len(text))
    else:
        yield from _end(path, text) if colon else _WholeName(ROADS)(path, text)


def _duty(_: Path, text: str) -> Iterator[Mention]:
    """``starter platform A``: the last word names what the word before it says."""
    words, space, name = text.rpartition(" ")
    if not space:
        return
    kinds: Mapping[str, Kinds] = {"platform": ("platforms",), "holds": STANDS}
    kind = kinds.get(words.rpartition(" ")[2], ELEMENTS)
    start = len(text) - len(name)
    board, slash, _rest = name.partition("/")
    if slash:
        yield _board(board, start, kind, len(text))
    else:
        yield Mention(kind, name, start, len(text))


def _road(path: Path, text: str) -> Iterator[Mention]:
    yield Mention(("legs",), f"{path[1]}.{text}", 0, len(text), defines=True)


def _place(_: Path, text: str) -> Iterator[Mention]:
    """A JSON pointer, in which every key may be a name; or an id by itself."""
    if not text.startswith("/"):
        yield from _WholeName(ANYTHING)((), text)
        return
    above: list[str | int] = []
    at = 1
    for part in text[1:].split("/"):
        above.append(int(part) if part.isdecimal() and _in_list(tuple(above)) else part)
        board, of_board, _rest = part.partition("~1")
        if of_board and "~" not in board:
            form = _form(tuple(above), at_key=True)
            beyond = form.kinds if isinstance(form, _WholeName) else ()
            yield _board(board, at, beyond, at + len(part))
        elif "~" not in part:
            for found in mentions(tuple(above), part, at_key=True):
                yield found._replace(start=found.start + at, end=found.end + at, defines=False)
        at += len(part) + 1


def _in_list(above: Path) -> bool:
    return above[-1:] in (("arms",), ("moves",), ("accept",), ("joins",), ("worked_together",))


_ARM = "signals/*/arms/*"

REFERENCES: Mapping[str, Kinds] = {
    "platforms/*/tracks/*": TRACKS,
    "signals/*/track": TRACKS,
    f"{_ARM}/track": TRACKS,
    f"{_ARM}/to": ROADS,
    f"{_ARM}/to/*": ROADS,
    f"{_ARM}/under": ARMS,
    f"{_ARM}/repeats": ARMS,
    f"{_ARM}/repeats/*": ARMS,
    f"{_ARM}/never_with/*": ARMS,
    "worked_together/*/*": SWITCHES,
    "yards/*/tracks/*": TRACKS,
    "yards/*/points/*": ("points",),
    "yards/*/crossings/*": ("crossings",),
    "yards/*/turntables/*": ("turntables",),
    "levers/*/points/*": SWITCHES,
    "levers/*/arms/*": ARMS,
    "scenes/*/off/*": ARMS,
    "scenes/*/trains/*": ("trains",),
    "sessions/*/trains/*": ("trains",),
    "sessions/*/moves/*/train": ("trains",),
    "sessions/*/moves/*/via": ROADS,
    "sessions/*/moves/*/via/*": ROADS,
    "sessions/*/moves/*/arm": ARMS,
}
"""The texts that name a thing, and of what kind; ``*`` stands for any id or index."""

REFERENCES_BY_KEY: Mapping[str, Kinds] = {
    f"{_ARM}/expects/*": SWITCHES,
    "scenes/*/points/*": SWITCHES,
    "scenes/*/trains/*": STANDS,
    "sessions/*/trains/*": STANDS,
    "edges/*": ("edges",),
}
"""The keys that name a thing which stands elsewhere."""

OTHER_FORMS: Mapping[str, Callable[[Path, str], Iterator[Mention]]] = {
    "tracks/*/up": _end,
    "tracks/*/down": _end,
    f"{_ARM}/id": _WholeName(ARMS, defines=True),
    "turntables/*/roads/*": _road,
    "signals/*/duties/*": _duty,
    "accept/*/rule": _WholeName(("rules",)),
    "accept/*/at": _place,
    "joins/*/a": _board_edge,
    "joins/*/b": _board_edge,
    "sessions/*/moves/*/from": _whereabouts,
    "sessions/*/moves/*/to": _whereabouts,
}
"""The texts that give an arm or a road its name, or that have names within them."""


@cache
def _rows(*, at_key: bool) -> dict[str, object]:
    """Return the table as a tree: from each part of a way to the rest; the form under ``""``."""
    rows: dict[str, Callable[[Path, str], Iterator[Mention]]] = {}
    if at_key:
        rows.update({f"{kind}/*": _WholeName((kind,), defines=True) for kind in NAMED_BY_KEY})
        rows.update({way: _WholeName(kinds) for way, kinds in REFERENCES_BY_KEY.items()})
    else:
        rows.update({way: _WholeName(kinds) for way, kinds in REFERENCES.items()})
        rows.update(OTHER_FORMS)
    tree: dict[str, object] = {}
    for way, form in rows.items():
        box = tree
        for part in way.split("/"):
            below = box.setdefault(part, {})
            assert isinstance(below, dict)  # noqa: S101 - for the type checker
            box = below
        box[""] = form
    return tree


def _form(path: Path, *, at_key: bool) -> Callable[[Path, str], Iterator[Mention]] | None:
    box: object = _rows(at_key=at_key)
    for part in path:
        if not isinstance(box, dict):
            return None
        box = box.get(part) if isinstance(part, str) and part in box else box.get("*")
    form = box.get("") if isinstance(box, dict) else None
    return form if callable(form) else None


def told_apart_from(kind: str) -> list[str]:
    """Return the kinds whose ids stand in the same places, this one first.

    The format lets a track and a platform have one id, but a reference then names one of them
    only.
    """
    groups = [*REFERENCES.values(), *REFERENCES_BY_KEY.values(), ELEMENTS]
    beside = [other for kinds in groups if kind in kinds for other in kinds]
    return list(dict.fromkeys([kind, *beside]))
