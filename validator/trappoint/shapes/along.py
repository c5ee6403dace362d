"""Lay shapes one after another along a line, from west to east."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from trappoint.shapes.ground import KEYS
from trappoint.shapes.options import WrongWish
from trappoint.shapes.reading import lines_of, usual_lines
from trappoint.shapes.setting import add, begin, free_ends, set_on

if TYPE_CHECKING:
    from collections.abc import Sequence

    from trappoint.shapes.ground import Plan
    from trappoint.shapes.reading import ShapePiece


def lay_out(pieces: Sequence[ShapePiece], title: str = "") -> Plan:
    """Lay shapes from west to east; return the plan in the layout format, without signals.

    Open ends lead out of the plan. Points join a double line to a single one. Raises ``WrongWish``
    if the shapes cannot follow one another.
    """
    _see_that_they_follow(pieces)
    plan: Plan = {}
    for number, (piece, lines) in enumerate(zip(pieces, _lines(pieces), strict=True)):
        name = _name(pieces, number)
        if plan:
            add(plan, set_on(plan, piece, free_ends(plan, "edge:east"), name, lines))
        else:
            turned = piece.shape.ends and len(pieces) > 1
            add(plan, begin(piece, lines, name, turned=turned))
    laid = {key: plan[key] for key in KEYS if key in plan}
    return {"format": "trappoint-layout/1", "title": title or _title(pieces), **laid}


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
    said = [lines_of(piece) for piece in pieces]
    known = next(filter(None, said), usual_lines(pieces[0]))
    found = []
    for lines in said:
        known = lines or known
        found.append(known)
    return found


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
