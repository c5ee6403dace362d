"""The texts and shapes of a drawing and their overlaps, read back from its SVG alone.

Every text has the room of its ink in DejaVu Sans, the font on paper, and in Liberation Sans, the
first font that the drawing names, if the machine has it. Lines have their thickness, and tracks
that of a lit road. Each arm stands at danger and off.
"""

from __future__ import annotations

from contextlib import suppress
from functools import cache
from itertools import pairwise
from math import cos, radians, sin
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from PIL import ImageFont

import trappoint.drawing
from drawing.looking import SVG, Point, parse, points_of

if TYPE_CHECKING:
    from collections.abc import Iterator
    from xml.etree.ElementTree import Element

FONTS = Path(trappoint.drawing.__file__).parent / "dejavu"
LIT = 5.0
"""The thickness of a track on a lit road."""


class Room(NamedTuple):
    """The room of a text's ink, in drawing units."""

    left: float
    top: float
    right: float
    bottom: float


class Text(NamedTuple):
    """A text of a drawing."""

    text: str
    kind: str
    """The classes of its group, and its own."""
    owner: int
    """Which group of a thing it belongs to; 0 for none."""
    size: float
    room: Room


class Shape(NamedTuple):
    """A line, a filled outline or a circle (one point and a radius)."""

    kind: str
    owner: int
    line: list[Point]
    around: float
    """Half the thickness of its line, or the radius of a circle."""
    filled: bool
    room: Room


class Seen(NamedTuple):
    """All texts and shapes of a drawing."""

    texts: list[Text]
    shapes: list[Shape]
    paper: Room


OTHER_FONTS = {
    "DejaVuSans": "LiberationSans-Regular.ttf",
    "DejaVuSans-Bold": "LiberationSans-Bold.ttf",
    "DejaVuSans-Oblique": "LiberationSans-Italic.ttf",
}


@cache
def _fonts(face: str) -> list[ImageFont.FreeTypeFont]:
    found = [ImageFont.truetype(str(FONTS / f"{face}.ttf"), 200)]
    with suppress(OSError):
        found.append(ImageFont.truetype(OTHER_FONTS[face], 200))
    return found


@cache
def _ink(text: str, face: str) -> tuple[float, float, float, float, float]:
    """Return the ink of a text one unit high (left, top, right, bottom), and its whole width.

    Heights are counted from the line on which the letters stand.
    """
    fonts = _fonts(face)
    boxes = [font.getbbox(text, anchor="ls") for font in fonts]
    return (
        min(box[0] for box in boxes) / 200, min(box[1] for box in boxes) / 200,
        max(box[2] for box in boxes) / 200, max(box[3] for box in boxes) / 200,
        max(font.getlength(text) for font in fonts) / 200,
    )  # fmt: skip


def width_in(text: str, face: str) -> float:
    """Return the width of a text one unit high in a font."""
    return _ink(text, face)[4]


def face_of(element: Element) -> str:
    """Return the file of the font of a text."""
    if element.get("font-weight") == "bold":
        return "DejaVuSans-Bold"
    return "DejaVuSans-Oblique" if element.get("font-style") == "italic" else "DejaVuSans"


def runs_of(element: Element) -> list[tuple[str, str]]:
    """Return the parts of a text, each with the file of its font."""
    runs = [(element.text or "", face_of(element))]
    for part in element:
        runs += [(part.text or "", face_of(part)), (part.tail or "", face_of(element))]
    return [run for run in runs if run[0]]


def _room_of(element: Element) -> Room:
    size = float(element.get("font-size") or 0)
    runs = [_ink(*run) for run in runs_of(element)]
    wide = sum(run[4] for run in runs)
    share = {"middle": 0.5, "end": 1.0}.get(element.get("text-anchor") or "", 0.0)
    x, y = float(element.get("x") or 0) - share * wide * size, float(element.get("y") or 0)
    return Room(
        x, y + size * min(run[1] for run in runs),
        x + size * wide, y + size * max(run[3] for run in runs),
    )  # fmt: skip


def _width(element: Element, inherited: float) -> float:
    own = element.get("stroke-width")
    return float(own) if own else inherited


def _shape(element: Element, kind: str, owner: int, thick: float) -> Shape | None:
    """Return the shape of an SVG element; None if it is none, or unseen."""
    if element.get("stroke") == element.get("fill") == "none":
        return None
    name = element.tag.removeprefix(SVG)
    thick = 0.0 if element.get("stroke") == "none" else _width(element, thick)
    if name == "circle":
        x, y = float(element.get("cx") or 0), float(element.get("cy") or 0)
        line, around, filled = [(x, y)], float(element.get("r") or 0) + thick / 2, False
    elif name == "rect":
        x, y, wide, high = (float(element.get(k) or 0) for k in ("x", "y", "width", "height"))
        line = [(x, y), (x + wide, y), (x + wide, y + high), (x, y + high), (x, y)]
        around, filled = thick / 2, True
    elif name == "path":
        line = points_of(element)
        around, filled = thick / 2, line[0] == line[-1] and element.get("fill") != "none"
    else:
        return None
    return _whole(Shape(kind, owner, line, around, filled, Room(0, 0, 0, 0)))


def _whole(shape: Shape) -> Shape:
    """Return a shape with the room that it takes."""
    xs, ys = [x for x, _ in shape.line], [y for _, y in shape.line]
    by = shape.around
    return shape._replace(room=Room(min(xs) - by, min(ys) - by, max(xs) + by, max(ys) + by))


def _turned(shape: Shape, turn: str) -> Shape:
    """Return a shape turned as ``data-turn`` says: degrees, and the point that stays."""
    angle, x, y = map(float, turn.split())
    c, s = cos(radians(angle)), sin(radians(angle))
    line = [
        (x + (px - x) * c - (py - y) * s, y + (px - x) * s + (py - y) * c) for px, py in shape.line
    ]
    return _whole(shape._replace(line=line, kind="arm off"))


def look(svg: str) -> Seen:
    """Return everything that is drawn."""
    root = parse(svg)
    left, top, wide, high = map(float, (root.get("viewBox") or "").split())
    seen = Seen([], [], Room(left, top, left + wide, top + high))
    _collect(root, seen, ("", 0, 1.0, ""), [0])
    return seen


Around = tuple[str, int, float, str]
"""What surrounds an element: its kind, its owner, the thickness of lines, the turn of an arm."""


def _collect(element: Element, seen: Seen, around: Around, count: list[int]) -> None:
    kind, owner, thick, turn = around
    own = element.get("class") or ""
    name = element.tag.removeprefix(SVG)
    if own in ("paper", "yard"):
        for part in element:
            if part.tag == f"{SVG}text":
                _collect(part, seen, (own, owner, thick, turn), count)
        return
    if name == "g" and element.get("id"):
        count[0] += 1
        owner = count[0] if own != "arm" else owner
    if name in ("g", "svg"):
        kind = f"{kind} {own}".strip()
        thick = _width(element, thick)
        if own in ("track", "points", "crossing", "turntable"):
            thick = max(thick, LIT)
        turn = element.get("data-turn") or turn
        for part in element:
            _collect(part, seen, (kind, owner, thick, turn), count)
        return
    kind = f"{kind} {own}".strip()
    if name == "text" and not "".join(element.itertext()).strip():
        return
    if name == "text":
        size = float(element.get("font-size") or 0)
        seen.texts.append(Text("".join(element.itertext()), kind, owner, size, _room_of(element)))
        return
    shape = _shape(element, kind, owner, thick)
    if shape is not None:
        seen.shapes.append(shape)
        if turn:
            seen.shapes.append(_turned(shape, turn))


HOLDERS = {"platform", "turntable", "cut"}
"""The things that hold their own text."""


# --- overlaps


def overlap(one: Room, other: Room) -> bool:
    """Return whether two rooms have more than an edge in common."""
    return (
        one.left < other.right and other.left < one.right
        and one.top < other.bottom and other.top < one.bottom
    )  # fmt: skip


def covers(room: Room, shape: Shape) -> bool:
    """Return whether a text lies over a shape."""
    if not overlap(room, shape.room):
        return False
    by = shape.around
    if len(shape.line) == 1:
        x, y = shape.line[0]
        dx = max(room.left - x, 0, x - room.right)
        dy = max(room.top - y, 0, y - room.bottom)
        return dx * dx + dy * dy < by * by
    wide = Room(room.left - by, room.top - by, room.right + by, room.bottom + by)
    if any(_passes(wide, a, b) for a, b in pairwise(shape.line)):
        return True
    return shape.filled and _inside(((room.left + room.right) / 2, room.top), shape.line)


def _passes(room: Room, a: Point, b: Point) -> bool:
    """Return whether a line passes through a room: the line is cut off at each side in turn."""
    start, stop = 0.0, 1.0
    for low, high, p, q in (
        (room.left, room.right, a[0], b[0]), (room.top, room.bottom, a[1], b[1])
    ):  # fmt: skip
        if abs(q - p) < 1e-9:
            if not low < p < high:
                return False
            continue
        one, other = sorted(((low - p) / (q - p), (high - p) / (q - p)))
        start, stop = max(start, one), min(stop, other)
    return start < stop


def _inside(point: Point, line: list[Point]) -> bool:
    x, y = point
    found = False
    for (x1, y1), (x2, y2) in pairwise(line):
        if (y1 > y) != (y2 > y) and x < x1 + (y - y1) / (y2 - y1) * (x2 - x1):
            found = not found
    return found


class Clash(NamedTuple):
    """Two things, one over the other."""

    text: str
    kind: str
    over: str
    where: Room


def clashes(svg: str) -> Iterator[Clash]:
    """Yield each text that lies over something, or beyond what should hold it."""
    seen = look(svg)
    order = sorted(seen.texts, key=lambda text: text.room.left)
    for number, text in enumerate(order):
        for other in order[number + 1 :]:
            if other.room.left >= text.room.right:
                break
            if overlap(text.room, other.room):
                over = f"text {other.kind} {other.text}"
                yield Clash(text.text, text.kind, over, text.room)
        yield from _over_shapes(text, seen)
        if not _within(text.room, seen.paper):
            yield Clash(text.text, text.kind, "beyond the paper", text.room)


def _within(room: Room, outer: Room) -> bool:
    return (
        outer.left <= room.left and room.right <= outer.right
        and outer.top <= room.top and room.bottom <= outer.bottom
    )  # fmt: skip


def _over_shapes(text: Text, seen: Seen) -> Iterator[Clash]:
    shapes = seen.shapes
    if HOLDERS & set(text.kind.split()):
        holder = next(
            (
                number
                for number, shape in enumerate(shapes)
                if shape.owner == text.owner and _holds(shape) and _within(text.room, shape.room)
            ),
            None,
        )
        if holder is None:
            yield Clash(text.text, text.kind, "beyond its own border", text.room)
        else:
            # What holds a text hides what was drawn before.
            shapes = shapes[holder + 1 :]
    for shape in shapes:
        if covers(text.room, shape):
            yield Clash(text.text, text.kind, shape.kind, text.room)


def _holds(shape: Shape) -> bool:
    return shape.filled or len(shape.line) == 1
