"""What is known of a drawing once everything has its place."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from trappoint.drawing.contents import Content, Side

SLOPE = 0.85
"""How far a slant goes to the right for each unit that it goes up or down."""


class Label(NamedTuple):
    """The name of a node, and where it stands from the node."""

    text: str
    left: float
    top: float
    width: float
    height: float


@dataclass(slots=True)
class DrawnPlaces:
    """Where everything stands."""

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
    """How far to the left or right the slant of a piece takes it from a node: (piece, node)."""
    contents: list[Content] = field(default_factory=list)
    spans: list[dict[Side, tuple[float, float]]] = field(default_factory=list)
    """For each piece, from where to where things may stand on each side."""
