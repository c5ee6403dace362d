"""The options of a shape and their ranges."""

from __future__ import annotations

from typing import NamedTuple


class Wish(NamedTuple):
    """The numbers requested for a shape; 0 for an option that it does not have."""

    lines: int = 0
    """1: a single line, 2: a double one."""
    roads: int = 0
    platforms: int = 0
    hidden: int = 0
    """Roads out of sight on the far side of a circuit."""


WORDS = Wish._fields


class Range(NamedTuple):
    """The least, default and greatest number of an option."""

    least: int
    usual: int
    most: int


class WrongWish(ValueError):  # noqa: N818 - named after the mistake
    """A request for a shape that cannot be laid; the message gives the reason in a sentence."""
