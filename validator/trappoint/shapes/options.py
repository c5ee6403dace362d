"""What is asked of a shape, and what may be asked."""

from __future__ import annotations

from typing import NamedTuple


class Wish(NamedTuple):
    """What is asked of a shape; what it has no use for is 0."""

    lines: int = 0
    """1: a single line, 2: a double one."""
    roads: int = 0
    platforms: int = 0
    hidden: int = 0
    """Roads out of sight on the far side of a circuit."""


WORDS = Wish._fields


class Range(NamedTuple):
    """How many there may be."""

    least: int
    usual: int
    most: int


class WrongWish(ValueError):  # noqa: N818 - it names what was met, as the message does
    """A shape was asked for that cannot be laid. The message says why, in a sentence."""
