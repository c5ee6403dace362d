"""Set a shape onto free ends of a plan, or begin a plan with it.

Where a shape goes on to the west it is laid to the east and turned by half a turn.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.shapes.crossovers import make_double, make_single
from trappoint.shapes.ground import Ground, Line, Site, edges
from trappoint.shapes.options import WrongWish
from trappoint.shapes.reading import wish_of
from trappoint.shapes.turning import TURNED, turn, turned_words

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from trappoint.shapes.ground import Plan
    from trappoint.shapes.reading import ShapePiece


class FreeEnd(NamedTuple):
    """An end of a track that meets a buffer or an edge."""

    track: str
    end: str
    """``up`` or ``down``."""


class Fragment(NamedTuple):
    """The track of one shape, and how it changes the plan."""

    laid: Plan
    """New things, as the keys of a plan have them."""
    changed: Mapping[str, Plan]
    """For the tracks that were set on to, the keys that are new."""


def begin(piece: ShapePiece, lines: int, name: str = "", *, turned: bool = False) -> Fragment:
    """Return a plan of one shape; its open ends leave at the edges ``west`` and ``east``.

    ``turned`` lets a shape at which the line ends begin in the west. Raises ``WrongWish``.
    """
    ground = Ground()
    wish = wish_of(piece, lines)
    site = Site(ground, name)
    if piece.shape.closed:
        begun = ground.open_line(("",) * lines)
        onward = piece.shape.lay(site, begun, wish)
        assert onward is not None  # noqa: S101 - a closed shape goes on to where it began
        ground.close(begun, onward)
        return Fragment(ground.laid(), {})
    onward = piece.shape.lay(site, ground.open_line(edges("west", lines)), wish)
    if onward is not None:
        ground.leave(onward, edges("east", lines))
    return Fragment(turn(ground.laid(), name) if turned else ground.laid(), {})


def free_ends(plan: Plan, edge: str) -> list[FreeEnd]:
    """Return the track ends at an edge; for ``edge:NAME`` also those at its down and up line.

    Empty if there are none.
    """
    found = {
        track[end]: FreeEnd(key, end)
        for key, track in plan["tracks"].items()
        for end in ("up", "down")
    }
    name = edge.removeprefix("edge:")
    for ends in (edges(name, 1), edges(name, 2)):
        if all(end in found for end in ends):
            return [found[end] for end in ends]
    return []


def set_on(plan: Plan, piece: ShapePiece, at: Sequence[FreeEnd], name: str, lines: int) -> Fragment:
    """Return what a shape adds to a plan, beyond one free end or those of a double line.

    What stood at the free ends, edges or buffers, stands at the far end of the shape. ``lines`` is
    that of the shape; points join it to the line. Raises ``WrongWish`` if it cannot be set on.
    """
    shape = piece.shape
    if shape.closed:
        raise WrongWish(f"A {shape.name} is closed in itself: it cannot be joined.")
    at = _in_order(plan, at)
    turned = at[0].end == "up"
    ground = Ground(taken=_taken(plan, turned=turned))
    line = ground.begun(len(at))
    begun = dict(zip((line.down, line.up), at, strict=False))
    wish = wish_of(_turned(piece) if turned else piece, lines)
    onward = shape.lay(Site(ground, name), _as_wide(ground, line, lines), wish)
    if onward is not None:
        ground.leave(onward, _far_ends(plan, at, onward.lines, turned=turned))
    meets = {free: ground.tracks.pop(track) for track, free in begun.items()}
    laid = ground.laid()
    if turned:
        laid = turn(laid, name)
    changed = {
        free.track: _joined(
            plan,
            free,
            turned_words(track["down"], name) if turned else track["down"],
            stands="stand" in track,
        )
        for free, track in meets.items()
    }
    return Fragment(laid, changed)


def add(plan: Plan, fragment: Fragment) -> None:
    """Add to a plan of plain data what was laid."""
    for track, keys in fragment.changed.items():
        plan["tracks"][track].update(keys)
    for key, laid in fragment.laid.items():
        if isinstance(laid, list):
            plan.setdefault(key, []).extend(laid)
        else:
            plan.setdefault(key, {}).update(laid)


def free_name(plan: Plan, stem: str) -> str:
    """Return a name that begins no id of the plan yet: the stem, or the stem with a number."""
    ids = {end.rpartition(":")[2] for end in _taken(plan, turned=False)}
    number, name = 1, stem
    while any(key == name or key.startswith(f"{name}-") for key in ids):
        number += 1
        name = f"{stem}-{number}"
    return name


def _as_wide(ground: Ground, line: Line, lines: int) -> Line:
    """Return the line with this number of lines, splitting or joining it if necessary."""
    if line.lines == lines:
        return line
    change = make_single if lines == 1 else make_double
    return change(Site(ground), line)


def _turned(piece: ShapePiece) -> ShapePiece:
    """Return the request that asks for the same when the shape is turned by half a turn."""
    usual = {word: given.usual for word, given in piece.shape.takes.items()}
    asked = {
        word: TURNED.get(value, value) if isinstance(value, str) else value
        for word, value in {**usual, **piece.asked}.items()
        if word in piece.asked or isinstance(value, str)
    }
    return piece._replace(asked=asked)


def _in_order(plan: Plan, at: Sequence[FreeEnd]) -> list[FreeEnd]:
    """Return the free ends, the one to which trains run first. Raises ``WrongWish``."""
    tracks = plan["tracks"]
    ways = {free: tracks[free.track].get("running", "both") for free in at}
    if len({free.end for free in at}) > 1:
        raise WrongWish("The two ends of a double line are both up ends or both down ends.")
    if len(at) == 1:
        if ways[at[0]] != "both":
            raise WrongWish(
                f"Trains run one way only on {at[0].track}: name the free ends of both lines."
            )
        return list(at)
    found = sorted(at, key=lambda free: ways[free] != free.end)
    if ways[found[0]] != "both" and ways[found[0]] == ways[found[1]]:
        raise WrongWish(f"Trains run the same way on {found[0].track} and {found[1].track}.")
    return found


def _taken(plan: Plan, *, turned: bool) -> frozenset[str]:
    """Return the ids and ends that a shape may not have; if it is turned later, before that too."""
    found = {key for kind in plan.values() if isinstance(kind, dict) for key in kind} | _ends(plan)
    return frozenset(found | {turned_words(key, "") for key in found} if turned else found)


def _ends(plan: Plan) -> set[str]:
    """Return what the ends of tracks meet."""
    return {track[end] for track in plan["tracks"].values() for end in ("up", "down")}


def _far_ends(plan: Plan, at: Sequence[FreeEnd], lines: int, *, turned: bool) -> tuple[str, ...]:
    """Return what the far end of a shape meets, the down line first."""
    old = tuple(plan["tracks"][free.track][free.end] for free in at)
    if len(old) == lines or set(old) == {"buffer"}:
        found = old[:1] * lines if set(old) == {"buffer"} else old
    else:
        stems = {end.removesuffix("-down").removesuffix("-up") for end in old if end != "buffer"}
        stem = (
            stems.pop().removeprefix("edge:") if len(stems) == 1 else old[0].removeprefix("edge:")
        )
        used = _ends(plan) - set(old)
        number, name = 1, stem
        while used & set(edges(name, lines)):
            number += 1
            name = f"{stem}-{number}"
        found = edges(name, lines)
        # The shape is turned later: its up line is laid as the down line.
        found = found[::-1] if turned else found
    return tuple(turned_words(end, "") if turned else end for end in found)


def _joined(plan: Plan, free: FreeEnd, end: str, *, stands: bool) -> Plan:
    """Return the new keys of a track.

    If it was a stand because it ended here, it stays one, unless the shape is plain track.
    """
    track = plan["tracks"][free.track]
    other = track["down" if free.end == "up" else "up"]
    served = any(free.track in each["tracks"] for each in plan.get("platforms", {}).values())
    if not stands or "stand" in track or served or _ends_there(other) or _ends_there(end):
        return {free.end: end}
    return {free.end: end, "stand": True}


def _ends_there(end: str) -> bool:
    return end == "buffer" or end.startswith("edge:")
