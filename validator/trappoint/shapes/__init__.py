"""Plans to begin with: the track of usual stations, laid by rule, one after another.

``lay_out`` lays shapes along one line from west to east and returns a document of the format,
without signals; ``read_piece`` reads what a person asks for, and ``write_plan`` writes the plan.
All of it is pure.
"""

from __future__ import annotations

from trappoint.shapes.laying import Piece, lay_out
from trappoint.shapes.shapes import SHAPES, Shape, read_piece
from trappoint.shapes.wishes import WORDS, Range, Wish, WrongWish
from trappoint.shapes.writing import write_plan

__all__ = [
    "SHAPES", "WORDS", "Piece", "Range", "Shape", "Wish", "WrongWish", "lay_out", "read_piece",
    "write_plan",
]  # fmt: skip
