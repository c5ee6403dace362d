"""Checks of a drawing, read back from its SVG: nothing overlaps."""

from __future__ import annotations

import re
from itertools import pairwise
from typing import Any
from xml.etree import ElementTree

from trappoint.drawing.geometry import box_meets_line, crossed
from trappoint.drawing.sketch import Sketch

Plan = dict[str, Any]
Point = tuple[float, float]

SVG = "{http://www.w3.org/2000/svg}"


def parse(svg: str) -> ElementTree.Element:
    """Read a drawing that this project wrote itself."""
    return ElementTree.fromstring(svg)  # noqa: S314


def groups(root: ElementTree.Element, kind: str) -> list[ElementTree.Element]:
    """All groups of one class."""
    return [g for g in root.iter(f"{SVG}g") if g.get("class") == kind]


def points_of(path: ElementTree.Element) -> list[Point]:
    """The points of a path made of straight lines."""
    numbers = [float(text) for text in re.findall(r"-?\d+(?:\.\d+)?", path.get("d") or "")]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def direction(path: ElementTree.Element) -> Point:
    """The way of a path from its first point, one unit long."""
    line = points_of(path)
    (x1, y1), (x2, y2) = line[0], line[1]
    length = ((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5
    return (x2 - x1) / length, (y2 - y1) / length


def hands(root: ElementTree.Element) -> dict[str, list[str]]:
    """Return for each points its drawn legs, from left to right as seen from the toe."""
    found = {}
    for group in groups(root, "points"):
        legs = {p.get("data-leg") or "": p for p in group.findall(f"{SVG}path")}
        toe = legs.pop("toe", None)
        if toe is None:
            continue
        x, y = direction(toe)
        ahead = (-x, -y)

        def turn(leg: ElementTree.Element, ahead: Point = ahead) -> float:
            dx, dy = direction(leg)
            # Heights grow downwards, so that a turn to the right is positive.
            return ahead[0] * dy - ahead[1] * dx

        found[group.get("data-id") or ""] = sorted(legs, key=lambda name: turn(legs[name]))
        for leg in legs.values():
            dx, dy = direction(leg)
            assert ahead[0] * dx + ahead[1] * dy > 0, "a leg goes on ahead, not back"
    return found


def look_over(drawing: Sketch) -> None:
    """Hold a drawing to what every drawing must be."""
    assert list(crossed(drawing.graph, drawing.lines)) == []
    boxes = drawing.boxes()
    for number, one in enumerate(boxes):
        for other in boxes[number + 1 :]:
            assert not one.overlaps(other), (one, other)
    for box in boxes:
        for line in drawing.lines:
            assert not box_meets_line(box, line), box
    for line in drawing.lines:
        assert all(a[0] < b[0] for a, b in pairwise(line)), "to the right"
