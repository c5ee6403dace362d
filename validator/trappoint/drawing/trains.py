"""Trains on the diagram: dark blocks with their names, on their stretch of the track.

A block keeps clear of feet of signals, labels, legs of points and arrows while there is room. It
gives up arrows first, then legs, labels and feet; it never leaves its stretch.
"""

from __future__ import annotations

from math import degrees
from typing import TYPE_CHECKING, NamedTuple

from trappoint.drawing.contents import TRACK_SIZE
from trappoint.drawing.svg_elements import INK, PAPER, group, num, tag, words
from trappoint.drawing.text_width import shortened, width_of
from trappoint.drawing.train_room import GAP, HIGH, LEAST, straights_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from trappoint.drawing.geometry import Point
    from trappoint.drawing.moment import StandingTrain
    from trappoint.drawing.sketch import Sketch
    from trappoint.drawing.train_room import Span, Straight

PLAIN = 24.0
"""The width of a train without a name."""

KINDS = 4
"""The number of kinds of things that a train keeps clear of."""


class Block(NamedTuple):
    """A train as it is drawn."""

    train: StandingTrain
    piece: int
    middle: Point
    angle: float
    """The slope of the rails beneath it, in degrees clockwise."""
    width: float
    text: str
    """Its name, its id if the name has no room; empty if neither has."""


def place_trains(drawing: Sketch, trains: Iterable[StandingTrain]) -> list[Block]:
    """Return a block for each train, in order; none for a train on no track of the drawing."""
    blocks: list[Block] = []
    for train in trains:
        straights = [each for stretch in train.on for each in straights_of(drawing, stretch)]
        block = _place(train, straights, blocks)
        if block is not None:
            blocks.append(block)
    return blocks


def draw_trains(drawing: Sketch, blocks: Iterable[Block]) -> str:
    """Draw the blocks on the pieces that are shown."""
    shown = {piece.index for piece in drawing.pieces()}
    return "\n".join(_draw(drawing, block) for block in blocks if block.piece in shown)


def _draw(drawing: Sketch, block: Block) -> str:
    x, y = block.middle
    inner = tag(
        "rect", x=x - block.width / 2, y=y - HIGH / 2, width=block.width, height=HIGH, rx=2.0,
        fill=INK, stroke=PAPER, stroke_width="1",
    )  # fmt: skip
    if block.text:
        inner += words(
            block.text, x, y + 3.0, TRACK_SIZE, text_anchor="middle", font_weight="bold",
            fill=PAPER, class_="train-name",
        )  # fmt: skip
    if block.angle:
        inner = tag("g", inner, transform=f"rotate({num(block.angle)} {num(x)} {num(y)})")
    title = block.train.words
    return group(
        "train", inner, title=f"{title[:1].upper()}{title[1:]}",
        data_train=block.train.train or None,
        data_on=drawing.graph.pieces[block.piece].track,
    )  # fmt: skip


def _place(train: StandingTrain, straights: list[Straight], others: list[Block]) -> Block | None:
    """Return the block of a train with the most room; None if its stretches are not drawn."""
    name = shortened(train.name, 26)
    texts = list(dict.fromkeys((name, train.train))) if name else [""]
    for kinds in range(KINDS, -1, -1):
        for text in texts:
            width = width_of(text, TRACK_SIZE, bold=True) + 9 if text else PLAIN
            free = [each for each in _free(straights, others, kinds) if each[0] >= width]
            if free:
                return _on(train, free, width, text)
    free = [each for each in _free(straights, others, 0) if each[0] >= LEAST]
    free = free or list(_free(straights, [], 0))
    if not free:
        return None
    room = max(length for length, _, _ in free)
    return _on(train, free, min(PLAIN, max(LEAST, room)), "")


def _free(
    straights: list[Straight], others: list[Block], kinds: int
) -> Iterator[tuple[float, Straight, Span]]:
    """Yield each free span of the straights between other trains, with its length."""
    for straight in straights:
        taken = [
            (along - block.width / 2 - GAP, along + block.width / 2 + GAP)
            for block in others
            if block.piece == straight.piece
            for along, across in (straight.along(block.middle),)
            if abs(across) < HIGH
        ]
        between = straight._replace(clear=(taken, *straight.clear))
        for start, stop in between.free(kinds + 1):
            yield stop - start, straight, (start, stop)


def _on(
    train: StandingTrain, free: list[tuple[float, Straight, Span]], width: float, text: str
) -> Block:
    """Return a block in the middle of the longest span; one on level rails, if there is any."""
    _, straight, (start, stop) = max(free, key=lambda each: (each[1].angle == 0, each[0]))
    middle = straight.at((start + stop) / 2)
    return Block(train, straight.piece, middle, degrees(straight.angle), width, text)
