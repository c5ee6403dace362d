"""The symbols of points, crossings, turntables and ends, in the manner of signal-box diagrams.

Points are drawn as they lie, with a gap before each other leg: in their normal lie, unless the
drawing shows a moment in which they lie otherwise.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.drawing.contents import ID_SIZE
from trappoint.drawing.geometry import along, only_start, without_start
from trappoint.drawing.leaders import anchor
from trappoint.drawing.svg_elements import BLUE, INK, PAPER, group, path, tag, words

if TYPE_CHECKING:
    from trappoint.drawing.geometry import Point
    from trappoint.drawing.graph import Node
    from trappoint.drawing.leaders import Leader
    from trappoint.drawing.roads import RoadsDrawn
    from trappoint.drawing.sketch import Sketch

RAIL = "2.6"
LIT = "5"
"""The thickness of rails: plain, and on a lit road."""
OPEN, BLADE, TORN = 6.0, 17.0, 26.0
"""The gap before a leg that points lie against, the length of a leg, and that of a leg whose track
is not shown, in drawing units."""

NAMES = {
    "points": "Points", "crossings": "Crossing", "turntables": "Turntable", "joint": "Joint",
    "buffer": "Buffer", "edge": "Edge", "cut": "Cut", "bend": "Return bend of", "open": "Open end",
}  # fmt: skip


def draw_node(drawing: Sketch, node: Node, roads: RoadsDrawn, prefix: str) -> str:
    """Draw one node with its name."""
    draw = {
        "points": _points,
        "crossings": _crossing,
        "turntables": _turntable,
        "bend": _bend,
        "bridge": _bridge,
    }.get(node.kind, _end)
    inner = draw(drawing, node, roads)
    if node.kind == "bridge":
        return inner
    inner += _label(drawing, node)
    thing = (node.kind, node.id)
    boards = drawing.graph.boards(node)
    title = f"{NAMES[node.kind]} {node.id}".strip() if boards is None else _meeting(boards)
    title += _more(drawing, node)
    singular = {"crossings": "crossing", "turntables": "turntable"}.get(node.kind, node.kind)
    lit = node.kind != "points" and roads.is_lit(thing)
    known = node.kind in ("points", "crossings", "turntables")
    name = node.id if known or node.kind == "joint" else f"{node.id}-{node.index}".lstrip("-")
    return group(
        singular, inner, title=title, id=f"{prefix}{singular}-{name}",
        data_kind=singular, data_id=node.id or None,
        data_normal=_normal(drawing, node), data_lie=_lie(drawing, node, roads),
        data_road_of=" ".join(roads.over.get(thing, ())) if known else None,
        data_lies=" ".join(roads.lies.get(thing, ())) or None,
        stroke=BLUE if lit else INK, stroke_width=LIT if lit else RAIL, fill="none",
    )  # fmt: skip


def _meeting(boards: tuple[str, str]) -> str:
    """Return the tooltip of a joint of boards; an empty name is the plan's own track."""
    if not all(boards):
        return f"The edge of board {boards[0] or boards[1]}"
    return f"Boards {boards[0]} and {boards[1]} meet"


def _more(drawing: Sketch, node: Node) -> str:
    layout = drawing.layout
    if node.kind == "points":
        points = layout.points[node.id]
        return f"{_called(points.name)}, normally {points.normal}"
    if node.kind == "crossings":
        crossing = layout.crossings[node.id]
        return f"{_called(crossing.name)}, {crossing.kind}"
    if node.kind == "turntables":
        return _called(layout.turntables[node.id].name)
    return ": the line continues at the same letter" if node.kind == "cut" else ""


def _called(name: str) -> str:
    return f" ({name})" if name else ""


def _normal(drawing: Sketch, node: Node) -> str | None:
    if node.kind == "points":
        return drawing.layout.points[node.id].normal
    if node.kind == "crossings":
        return drawing.layout.crossings[node.id].normal
    return None


def _lie(drawing: Sketch, node: Node, roads: RoadsDrawn) -> str | None:
    """Return how points or a slip lie; None for anything else, and if no moment is shown."""
    if roads.moment is None or _normal(drawing, node) is None:
        return None
    layout = drawing.layout
    switch = layout.points[node.id] if node.kind == "points" else layout.crossings[node.id]
    return " ".join(roads.lies_of(switch))


def _label(drawing: Sketch, node: Node) -> str:
    label = drawing.places.labels[node.index]
    if label is None:
        return ""
    x, y = drawing.places.x[node.index], drawing.places.y[node.index]
    middle = x + label.left + label.width / 2
    style = "italic" if node.kind in ("edge", "joint") else None
    ring = ""
    if node.kind == "cut":
        ring = tag("circle", cx=middle, cy=y, r=8.0, fill=PAPER, stroke=INK, stroke_width="1.2")
    leader, at = "", "middle"
    if label.leader is not None:
        line = (x, y), (x + label.leader[0], y + label.leader[1])
        leader = draw_leader(line)
        middle, at = anchor(drawing.label_box(node.index, label), line)
    return ring + leader + words(
        label.text, middle, y + label.top + label.height / 2 + 3.6, ID_SIZE, text_anchor=at,
        font_style=style, fill=INK, stroke="none", class_="label",
    )  # fmt: skip


def draw_leader(leader: Leader) -> str:
    """Draw the fine line from a thing to its name."""
    return path(leader, stroke="#444", stroke_width="0.7", class_="leader")


def line_from(drawing: Sketch, piece: int, node: int) -> list[Point]:
    """Return the line of a piece as it leaves a node."""
    line = drawing.lines[piece]
    return line if drawing.graph.pieces[piece].left == node else line[::-1]


def leg_of(drawing: Sketch, piece: int, node: int) -> str:
    """Return the leg of a node that a piece meets."""
    own = drawing.graph.pieces[piece]
    return own.left_leg if own.left == node else own.right_leg


def opens_late(drawing: Sketch, piece: int, node: int, roads: RoadsDrawn) -> bool:
    """Return whether the points or the slip at this node lie against this piece."""
    found = drawing.graph.nodes[node]
    if found.kind == "crossings":
        return roads.lies_of(drawing.layout.crossings[found.id]) == ("slip",)
    if found.kind != "points":
        return False
    leg = leg_of(drawing, piece, node)
    return leg not in ("toe", *roads.lies_of(drawing.layout.points[found.id]))


def _is_shown(drawing: Sketch, piece: int) -> bool:
    return drawing.shown is None or piece in drawing.shown[0]


def _points(drawing: Sketch, node: Node, roads: RoadsDrawn) -> str:
    legs = []
    lit = roads.is_lit(("points", node.id))
    for piece in (*node.ins, *node.outs):
        reach = BLADE if _is_shown(drawing, piece) else TORN
        line = only_start(line_from(drawing, piece, node.index), reach)
        late = opens_late(drawing, piece, node.index, roads)
        if late:
            line = without_start(line, OPEN)
        leg = leg_of(drawing, piece, node.index)
        shown = {"stroke": BLUE, "stroke_width": LIT} if lit and not late else {}
        legs.append(path(line, class_="leg", data_leg=leg, **shown))
    return "".join(legs)


def _crossing(drawing: Sketch, node: Node, roads: RoadsDrawn) -> str:
    near: dict[str, Point] = {}
    drawn = []
    set_ = "slip" in roads.lies_of(drawing.layout.crossings[node.id])
    for piece in (*node.ins, *node.outs):
        line = line_from(drawing, piece, node.index)
        leg = leg_of(drawing, piece, node.index)
        own = only_start(line, 10 if _is_shown(drawing, piece) else TORN)
        if opens_late(drawing, piece, node.index, roads):
            own = without_start(own, OPEN)
        drawn.append(path(own, class_="leg", data_leg=leg))
        near[leg] = along(line, 13)
    x, y = drawing.places.x[node.index], drawing.places.y[node.index]
    links = {"diamond": (), "single-slip": ("a1b2",), "double-slip": ("a1b2", "b1a2")}
    for link in links[drawing.layout.crossings[node.id].kind]:
        one, other = near.get(link[:2]), near.get(link[2:])
        if one and other:
            (x1, y1), (x2, y2) = one, other
            middle = ((x1 + x2) / 2 * 0.75 + x * 0.25, (y1 + y2) / 2 * 0.75 + y * 0.25)
            drawn.append(
                path(
                    [one, middle, other],
                    class_="slip",
                    data_link=link,
                    stroke_width=None if set_ else "1.6",
                )
            )
    return "".join(drawn)


def _turntable(drawing: Sketch, node: Node, _roads: RoadsDrawn) -> str:
    x, y = drawing.places.x[node.index], drawing.places.y[node.index]
    radius = drawing.places.radii[node.index]
    circle = tag("circle", cx=x, cy=y, r=radius, fill=PAPER, stroke_width="1.8")
    mark = drawing.marks.get(("turntables", node.id), "")
    text = words(
        node.id + mark, x, y + 3.6, ID_SIZE, text_anchor="middle", fill=INK, stroke="none",
        class_="label",
    )  # fmt: skip
    return circle + text


def _bend(drawing: Sketch, node: Node, _roads: RoadsDrawn) -> str:
    x = drawing.places.x[node.index]
    heights = [drawing.places.rails[piece] for piece in (*node.ins, *node.outs)]
    top, bottom = min(heights), max(heights)
    out = min(9.0, (bottom - top) / 2) * (1 if node.ins else -1)
    # A bend is beyond the ends of its two roads; its corners are cut off.
    corner = [(x, top), (x + out, top + abs(out)), (x + out, bottom - abs(out)), (x, bottom)]
    return path(corner, class_="leg", stroke_linejoin="round")


def _bridge(drawing: Sketch, node: Node, _roads: RoadsDrawn) -> str:
    """Draw one road over another, with a gap in the lower one."""
    over = [node.ins[0], node.outs[1]]
    white, black = [], []
    for piece in over:
        line = line_from(drawing, piece, node.index)
        white.append(path(only_start(line, 9), stroke=PAPER, stroke_width="11"))
        black.append(path(only_start(line, 13), stroke=INK, stroke_width=RAIL))
    return tag("g", "".join(white + black), class_="bridge", fill="none")


def _end(drawing: Sketch, node: Node, _roads: RoadsDrawn) -> str:
    x, y = drawing.places.x[node.index], drawing.places.y[node.index]
    way = 1 if node.ins else -1
    if node.kind == "buffer":
        return path([(x, y - 6), (x, y + 6)], stroke_width="3.2") + path(
            [(x - way * 4, y - 4), (x - way * 4, y + 4)], stroke_width="1.2"
        )
    if drawing.graph.boards(node) is not None:
        return path([(x, y - 5), (x, y + 19)], stroke_width="1.4", stroke_dasharray="4 2.5")
    if node.kind == "joint":
        return path([(x, y - 5), (x, y + 5)], stroke_width="1.4")
    if node.kind == "edge":
        return path([(x + way * 3, y), (x + way * 6, y)]) + path(
            [(x + way * 9, y), (x + way * 11, y)]
        )
    if node.kind == "cut":
        zigzag = [(x - 2, y - 7), (x + 2.5, y - 2), (x - 2.5, y + 2), (x + 2, y + 7)]
        return path(zigzag, stroke_width="1.3")
    return path([(x - 4, y - 4), (x + 4, y + 4)]) + path([(x - 4, y + 4), (x + 4, y - 4)])
