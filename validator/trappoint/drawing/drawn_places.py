"""The coordinates of a finished drawing."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from trappoint.drawing.contents import Content, Side
    from trappoint.drawing.geometry import Point

SLOPE = 0.85
"""The width of a slant for each unit of its height."""


class Label(NamedTuple):
    """The name of a node, and its place relative to the node."""

    text: str
    left: float
    top: float
    width: float
    height: float
    leader: Point | None = None
    """The end of the fine line from the node to a distant name; None for a name beside it."""


@dataclass(slots=True)
class DrawnPlaces:
    """Coordinates of nodes, pieces, labels and items, in drawing units."""

    x: list[float]
    """Of each node."""
    y: list[float]
    """Of each node."""
    rails: list[float]
    """The height of each piece."""
    labels: list[Label | None]
    """Of each node."""
    radii: dict[int, float]
    """Of each turntable."""
    runs: dict[tuple[int, int], float] = field(default_factory=dict)
    """From (piece, node) to the width of the piece's slant there; negative to the left."""
    contents: list[Content] = field(default_factory=list)
    spans: list[dict[Side, tuple[float, float]]] = field(default_factory=list)
    """For each piece and side, the left and right limits of the room for items."""
