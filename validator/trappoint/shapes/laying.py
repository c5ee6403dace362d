"""Lay shapes one after another along a line, and end it at edges or in a circuit."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, NamedTuple

from trappoint.shapes.crossovers import make_double, make_single
from trappoint.shapes.ground import Ground, Site, edges
from trappoint.shapes.options import WrongWish
from trappoint.shapes.shapes import wish_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from trappoint.shapes.ground import Line, Plan
    from trappoint.shapes.shapes import Shape


class ShapePiece(NamedTuple):
    """A shape with the numbers requested for it."""

    shape: Shape
    asked: Mapping[str, int]


def lay_out(pieces: Sequence[ShapePiece], title: str = "") -> Plan:
    """Lay shapes from west to east; return the plan in the layout format, without signals.

    Open ends lead out of the plan. Points join a double line to a single one. Raises ``WrongWish``
    if the shapes cannot follow one another.
    """
    _see_that_they_follow(pieces)
    ground = Ground()
    line: Line | None = None
    for number, (piece, lines) in enumerate(zip(pieces, _lines(pieces), strict=True)):
        wish = wish_of(piece.shape, {**piece.asked, "lines": lines})
        site = Site(ground, _name(pieces, number))
        if line is not None:
            line = piece.shape.lay(site, _as_wide(ground, line, lines), wish)
        elif piece.shape.closed or (piece.shape.ends and len(pieces) > 1):
            begun = ground.open_line(("",) * lines)
            onward = piece.shape.lay(site, begun, wish)
            if onward is None:
                line = ground.turn(begun)
            else:
                ground.close(begun, onward)
        else:
            line = piece.shape.lay(site, ground.open_line(edges("west", lines)), wish)
    if line is not None:
        ground.leave(line, "east")
    return ground.plan(title or _title(pieces))


def _see_that_they_follow(pieces: Sequence[ShapePiece]) -> None:
    if not pieces:
        raise WrongWish("Name at least one shape.")
    for number, piece in enumerate(pieces):
        if piece.shape.closed and len(pieces) > 1:
            raise WrongWish(f"A {piece.shape.name} is closed in itself: it cannot be joined.")
        if piece.shape.ends and 0 < number < len(pieces) - 1:
            raise WrongWish(
                f"At a {piece.shape.name} the line ends: it can only come first or last."
            )


def _lines(pieces: Sequence[ShapePiece]) -> list[int]:
    """Return each shape's number of lines; the default is that of the shape before.

    The first shapes, if they have no number, take that of the first shape that has one.
    """
    said: list[int | None] = []
    for shape, asked in pieces:
        given = shape.takes["lines"]
        said.append(given.least if given.least == given.most else asked.get("lines"))
    known = next(filter(None, said), pieces[0].shape.takes["lines"].usual)
    found = []
    for lines in said:
        known = lines or known
        found.append(known)
    return found


def _as_wide(ground: Ground, line: Line, lines: int) -> Line:
    """Return the line with this number of lines, splitting or joining it if necessary."""
    if line.lines == lines:
        return line
    change = make_single if lines == 1 else make_double
    return change(Site(ground), line)


def _name(pieces: Sequence[ShapePiece], number: int) -> str:
    """Return the name that begins the ids of a shape's tracks; empty for the only shape."""
    if len(pieces) == 1:
        return ""
    own = pieces[number].shape.short
    before = Counter(piece.shape.short for piece in pieces[:number])[own]
    return f"{own}-{before + 1}" if before else own


def _title(pieces: Sequence[ShapePiece]) -> str:
    from trappoint.core.quoting import listed

    words = listed([piece.shape.called for piece in pieces], "and")
    return words[:1].upper() + words[1:]
