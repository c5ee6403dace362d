"""Requests for shapes, such as ``terminus:roads=4,platforms=2``, and what they come to."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.quoting import listed, visible
from trappoint.core.spelling import nearest
from trappoint.shapes.options import Range, Wish, WrongWish
from trappoint.shapes.shapes import SHAPES

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.shapes.options import Answer, Choice
    from trappoint.shapes.shapes import Shape


class ShapePiece(NamedTuple):
    """A shape with the options requested for it."""

    shape: Shape
    asked: Mapping[str, Answer]


def read_piece(text: str, usual: Mapping[str, Answer]) -> ShapePiece:
    """Read a request such as ``terminus`` or ``terminus:roads=4,platforms=2``.

    ``usual`` gives the defaults of the options that the shape takes. Raises ``WrongWish`` if the
    shape or an option is unknown, or a value is out of range.
    """
    name, _, told = text.partition(":")
    shape = find_shape(name)
    asked = {word: value for word, value in usual.items() if word in shape.takes}
    for word, value in asked.items():
        shape.takes[word].hold(shape.name, word, value)
    for entry in filter(None, told.split(",")):
        word, _, value = entry.partition("=")
        asked[word] = option_of(shape, word).read(shape.name, word, value)
    return ShapePiece(shape, asked)


def piece_of(name: str, asked: Mapping[str, Answer]) -> ShapePiece:
    """Return the request for a shape with these options. Raises ``WrongWish``."""
    shape = find_shape(name)
    for word, value in asked.items():
        option_of(shape, word).hold(shape.name, word, value)
    return ShapePiece(shape, asked)


def find_shape(name: str) -> Shape:
    """Return a shape by its name. Raises ``WrongWish``."""
    shape = SHAPES.get(name)
    if shape is None:
        raise WrongWish(_unknown(name, "shape", SHAPES))
    return shape


def option_of(shape: Shape, word: str) -> Range | Choice:
    """Return the range of an option of a shape. Raises ``WrongWish``."""
    if word not in shape.takes:
        raise WrongWish(_unknown(word, f"option of a {shape.name}", shape.takes))
    return shape.takes[word]


def lines_of(piece: ShapePiece) -> int | None:
    """Return the number of lines that a shape must have or that the request says; else None."""
    lines = _range_of_lines(piece)
    asked = piece.asked.get("lines")
    if lines.least == lines.most:
        return lines.least
    return asked if isinstance(asked, int) else None


def usual_lines(piece: ShapePiece) -> int:
    """Return the number of lines that a shape has by default."""
    return _range_of_lines(piece).usual


def _range_of_lines(piece: ShapePiece) -> Range:
    found = piece.shape.takes["lines"]
    assert isinstance(found, Range)  # noqa: S101 - a number in every shape
    return found


def wish_of(piece: ShapePiece, lines: int) -> Wish:
    """Return the request with defaults filled in. Raises ``WrongWish`` if it cannot be laid."""
    shape, asked = piece
    usual = {word: given.usual for word, given in shape.takes.items()}
    wish = Wish(**{**usual, **asked, "lines": lines})  # type: ignore[arg-type]  # each is in range
    for word in shape.each_way:
        if getattr(wish, word) < lines:
            raise WrongWish(f"A {shape.name} on a double line has at least 2 {word}.")
    if wish.release > wish.roads // 2:
        most = wish.roads // 2
        raise WrongWish(
            f"A {shape.name} with {_counted(wish.roads)} has room for no more than {most} release "
            f"{'crossover' if most == 1 else 'crossovers'}, one for two roads."
        )
    return _with_platforms(piece, wish)


def _with_platforms(piece: ShapePiece, wish: Wish) -> Wish:
    """Return the wish with at most as many platforms as fit; raise if the request named more."""
    shape, asked = piece
    roads = wish.roads + wish.bays
    if "roads" not in shape.takes or "platforms" not in shape.takes:
        return wish
    if wish.faces and "platforms" in asked:
        raise WrongWish("Write platforms or faces, not both: an island is one platform, two faces.")
    for word in ("faces", "platforms"):
        number = getattr(wish, word)
        if number > roads and word in asked:
            raise WrongWish(
                f"A {shape.name} with {_counted(roads)} has room for no more than {roads} {word}, "
                f"not {number}."
            )
    return wish._replace(platforms=min(wish.platforms, roads))


def _counted(roads: int) -> str:
    return f"{roads} road" if roads == 1 else f"{roads} roads"


def _unknown(name: str, kind: str, known: Mapping[str, object]) -> str:
    near = nearest(name, known)
    hint = f" Is {near} meant?" if near else ""
    return (
        f"{visible(name) or 'Nothing'} is no {kind}.{hint} There are {listed(list(known), 'and')}."
    )
