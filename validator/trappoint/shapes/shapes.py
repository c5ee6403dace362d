"""All shapes, the options of each, and the reading of a request for one."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.shapes.branching import junction, ladder_yard
from trappoint.shapes.crossovers import crossover_pair
from trappoint.shapes.ground import most_platforms
from trappoint.shapes.options import Range, Wish, WrongWish
from trappoint.shapes.stations import passing_loop, round_and_round, terminus, through_station

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from trappoint.shapes.ground import Line, Site

MAX_ROADS = 12


class Shape(NamedTuple):
    """A piece of track that can be laid along a line."""

    name: str
    called: str
    """Its name in a sentence."""
    told: str
    """Its description, in a few words."""
    short: str
    """The name that begins the ids of its tracks if the plan has several shapes."""
    takes: Mapping[str, Range]
    """The ranges of its options, by name."""
    lay: Callable[[Site, Line, Wish], Line | None]
    """Lays it at the end of a line and returns the line that goes on; None if the line ends."""
    ends: bool = False
    """True if the line ends there."""
    closed: bool = False
    """True if it is a circuit, which cannot be joined to another shape."""
    each_way: tuple[str, ...] = ()
    """The options that are at least 2 on a double line, one for each way."""


def _ranges(**takes: tuple[int, int, int]) -> dict[str, Range]:
    return {word: Range(*given) for word, given in takes.items()}


SHAPES: dict[str, Shape] = {
    shape.name: shape
    for shape in (
        Shape(
            "through-station",
            "a through station",
            "roads side by side; on a double line each way has its own",
            "station",
            _ranges(lines=(1, 2, 2), roads=(1, 4, MAX_ROADS), platforms=(0, 2, 7)),
            through_station,
            each_way=("roads",),
        ),
        Shape(
            "passing-loop",
            "a passing loop",
            "two roads or more on a single line, where trains pass",
            "loop",
            _ranges(lines=(1, 1, 1), roads=(2, 2, MAX_ROADS), platforms=(0, 1, 7)),
            passing_loop,
        ),
        Shape(
            "terminus",
            "a terminus",
            "roads that end at buffers",
            "terminus",
            _ranges(lines=(1, 1, 2), roads=(1, 3, MAX_ROADS), platforms=(0, 2, 7)),
            terminus,
            ends=True,
            each_way=("roads",),
        ),
        Shape(
            "junction",
            "a junction",
            "another line leaves to the north; a double one crosses on a diamond",
            "junction",
            _ranges(lines=(1, 2, 2)),
            junction,
        ),
        Shape(
            "crossover-pair",
            "a crossover pair",
            "two crossovers on a double line, where trains pass and turn back",
            "crossover",
            _ranges(lines=(2, 2, 2), platforms=(0, 0, 2)),
            crossover_pair,
        ),
        Shape(
            "ladder-yard",
            "a ladder yard",
            "a goods yard behind trap points, worked by hand signals",
            "yard",
            _ranges(lines=(1, 1, 2), roads=(2, 4, MAX_ROADS)),
            ladder_yard,
        ),
        Shape(
            "round-and-round",
            "round and round",
            "a circuit with a station in front and hidden roads behind",
            "round",
            _ranges(
                lines=(1, 1, 2),
                roads=(1, 2, MAX_ROADS),
                platforms=(0, 1, 7),
                hidden=(1, 3, MAX_ROADS),
            ),
            round_and_round,
            closed=True,
            each_way=("roads", "hidden"),
        ),
    )
}
"""All shapes, by name."""


def read_piece(text: str, usual: Mapping[str, int]) -> tuple[Shape, dict[str, int]]:
    """Read a request such as ``terminus`` or ``terminus:roads=4,platforms=2``.

    Returns the shape and its options. ``usual`` gives the defaults of the options that the shape
    takes. Raises ``WrongWish`` if the shape or an option is unknown, or a number is out of range.
    """
    name, _, told = text.partition(":")
    shape = SHAPES.get(name)
    if shape is None:
        raise WrongWish(_unknown(name, "shape", SHAPES))
    asked = {word: number for word, number in usual.items() if word in shape.takes}
    for entry in filter(None, told.split(",")):
        word, _, digits = entry.partition("=")
        if word not in shape.takes:
            raise WrongWish(_unknown(word, f"word for a {name}", shape.takes))
        if not digits.isascii() or not digits.isdigit() or len(digits) > 3:
            raise WrongWish(f"{entry} says no number: write {word}={shape.takes[word].usual}.")
        asked[word] = int(digits)
    for word, number in asked.items():
        _hold_to(shape, word, number)
    return shape, asked


def wish_of(shape: Shape, asked: Mapping[str, int]) -> Wish:
    """Return the request with defaults filled in. Raises ``WrongWish`` if it cannot be laid."""
    usual = {word: given.usual for word, given in shape.takes.items()}
    wish = Wish(**{**usual, **asked})
    for word in shape.each_way:
        if getattr(wish, word) < wish.lines:
            raise WrongWish(f"A {shape.name} on a double line has at least 2 {word}.")
    return _with_platforms(shape, wish, given="platforms" in asked)


def _with_platforms(shape: Shape, wish: Wish, *, given: bool) -> Wish:
    """Return the wish with at most as many platforms as fit; raise if the request named more."""
    most = most_platforms(wish.roads)
    if "roads" not in shape.takes or wish.platforms <= most:
        return wish
    if given:
        raise WrongWish(
            f"A {shape.name} with {wish.roads} roads has room for no more than {most} platforms, "
            f"not {wish.platforms}."
        )
    return wish._replace(platforms=most)


def _hold_to(shape: Shape, word: str, number: int) -> None:
    given = shape.takes[word]
    if not given.least <= number <= given.most:
        may = f"{given.least} to {given.most}" if given.least < given.most else f"{given.most}"
        raise WrongWish(f"A {shape.name} may have {word}={may}, not {number}.")


def _unknown(name: str, kind: str, known: Mapping[str, object]) -> str:
    from trappoint.core.quoting import listed, visible
    from trappoint.core.spelling import nearest

    near = nearest(name, known)
    hint = f" Is {near} meant?" if near else ""
    return (
        f"{visible(name) or 'Nothing'} is no {kind}.{hint} There are {listed(list(known), 'and')}."
    )
