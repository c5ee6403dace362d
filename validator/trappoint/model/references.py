"""The table of all places in a plan that define or use an id.

A *mention* is a part of a text or of a key of a plan that is the name of a thing. The table lists
each place by the keys that lead to it, with the form of the text there. It works on plain data,
and so also for plans with errors.
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
"""The keys and indexes that lead to a value; the path of a key ends with that key."""

Kinds = tuple[str, ...]

TRACKS: Kinds = ("tracks",)
SWITCHES: Kinds = ("points", "crossings")
ROADS: Kinds = ("tracks", "platforms", "yards")
STANDS: Kinds = ("tracks", "yards")
ARMS: Kinds = ("arms",)
ANYTHING: Kinds = tuple(kind for kind in NAMED_BY_KEY if kind not in ("levers", "boards"))


class Mention(NamedTuple):
    """A part of a text that is the name of a thing of this plan."""

    kinds: Kinds
    """The kinds that it may name; the first kind that has the name counts."""
    name: str
    start: int
    """The position of the name in the text, in characters from 0."""
    end: int
    defines: bool = False
    """True if the name is defined here, False if it is used."""
    beyond: Kinds = ()
    """For a board before an id (``west/p1``): the kinds that the id may name."""
    until: int = 0
    """For a board before an id: the end of the id in the text."""


class OnBoard(NamedTuple):
    """A part of a text that is the name of a thing on a board, or of a board within a board."""

    kinds: Kinds
    boards: tuple[str, ...]
    """The boards from this plan to the thing, the outermost first."""
    name: str
    start: int
    end: int


def mentions(path: Path, text: str, *, at_key: bool = False) -> Iterator[Mention]:
    """Yield the names in a text of a plan, or in the key at the end of ``path``.

    For a name on a board (``west/p1``), only the board is yielded. The name of a turntable's road
    includes the turntable: ``table.3``.
    """
    form = _form(path, at_key=at_key)
    if form is not None:
        yield from form(path, text)


_STEP = re.compile(r"(?:[:/]|~1)([^:/~]+)")


def names_on_boards(text: str, board: Mention) -> Iterator[OnBoard]:
    """Yield the names after a board in a text: ``yard`` and ``p1`` in ``west/yard/p1``."""
    boards = [board.name]
    steps = list(_STEP.finditer(text, board.end, board.until))
    for step in steps:
        kinds = board.beyond if step is steps[-1] else ("boards",)
        yield OnBoard(kinds, tuple(boards), step[1], *step.span(1))
        boards.append(step[1])


def kinds_at(path: Path, *, at_key: bool = False) -> Kinds:
    """Return the kinds of things whose ids are allowed at a place; empty if no id is."""
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
    """Return the mention of the board before an id."""
    return Mention(("boards",), name, start, start + len(name), False, beyond, until)


def _end(_: Path, text: str) -> Iterator[Mention]:
    """Yield the names in ``POINTS.toe``, ``TURNTABLE.ROAD``, ``joint:NAME`` or ``edge:NAME``."""
    word, colon, name = text.partition(":")
    if colon and f"{word}s" in LINES:
        yield Mention((f"{word}s",), name, len(word) + 1, len(text))
        return
    element, dot, leg = text.partition(".")
    if dot:
        yield Mention(_by_leg(leg), element, 0, len(element))
        yield Mention(("legs",), text, len(element) + 1, len(text))


def _by_leg(leg: str) -> Kinds:
    """Return the kinds that an element may have, the likeliest for this leg first."""
    if leg in ("a1", "a2", "b1", "b2"):
        return ("crossings", "points", "turntables")
    if leg in ("toe", "left", "right", "middle"):
        return ELEMENTS
    return ("turntables", "points", "crossings")


def _board_edge(_: Path, text: str) -> Iterator[Mention]:
    """Yield the names in ``BOARD:EDGE``; the edge is in the board's own plan."""
    board, _colon, edge = text.partition(":")
    if board:
        yield _board(board, 0, ("edges",), len(text))
    else:  # an edge of this plan's own tracks
        yield Mention(("edges",), edge, 1, len(text))


def _whereabouts(path: Path, text: str) -> Iterator[Mention]:
    """Yield the name of a stand, or of the edge in ``edge:NAME`` by which a train comes or goes."""
    word, colon, rest = text.partition(":")
    board, slash, _edge = rest.partition("/")
    if slash:
        yield _board(board, len(word) + 1, ("edges",), len(text))
    else:
        yield from _end(path, text) if colon else _WholeName(ROADS)(path, text)


def _duty(_: Path, text: str) -> Iterator[Mention]:
    """Yield the last word of a duty (``starter platform A``); the word before it gives the kind."""
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
    """Yield the names in a JSON pointer, where each key may be a name, or in a single id."""
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
"""The texts that are a reference, with the kinds it may name; ``*`` is any id or index."""

REFERENCES_BY_KEY: Mapping[str, Kinds] = {
    f"{_ARM}/expects/*": SWITCHES,
    "scenes/*/points/*": SWITCHES,
    "scenes/*/trains/*": STANDS,
    "sessions/*/trains/*": STANDS,
    "edges/*": ("edges",),
}
"""The keys that refer to a thing defined elsewhere, with the kinds they may name."""

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
"""The texts that define an arm or a turntable's road, or that contain several names."""


@cache
def _rows(*, at_key: bool) -> dict[str, object]:
    """Return the table as nested maps, one level for each step of a path, the form under ``""``."""
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
    """Return the kinds whose ids must differ from those of a kind, that kind first.

    These kinds are used in the same places. The format lets a track and a platform share an id,
    but a reference then means only one of them.
    """
    groups = [*REFERENCES.values(), *REFERENCES_BY_KEY.values(), ELEMENTS]
    beside = [other for kinds in groups if kind in kinds for other in kinds]
    return list(dict.fromkeys([kind, *beside]))
