"""Names that find no room where they stand by habit, and those of tracks drawn as one slant.

Each moves to the next free place, or to the end of a leader.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.drawing.arrows import arrow_on
from trappoint.drawing.contents import NAME_SIZE, TRACK_SIZE
from trappoint.drawing.geometry import Box
from trappoint.drawing.leaders import Leader, Spot, Taken, far_spots
from trappoint.drawing.text_width import width_of, width_with_marks

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.drawing.drawn_places import Label
    from trappoint.drawing.geometry import Point
    from trappoint.drawing.graph import Node
    from trappoint.drawing.sketch import Sketch

HIGH, BESIDE = 12.0, 11.0
"""The height of the name of a track; how far beside its slant its middle stands."""

SHARES = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8)
"""The shares of a line's length at which to try its name, the best first."""

NEAR_NODE = ((-0.5, -16), (-0.5, 5), (0, -16), (-1, -16), (0, 5), (-1, 5), (-0.5, -24), (-0.5, 13))
"""Places of a node's name: its left as a share of its width, and its top, both from the node."""

ASIDE = 5.0
"""The distance of a name from its node, to its left or right."""

HALF_SIZES = {
    "crossings": (6.0, 4.0), "bridge": (13.0, 13.0), "joint": (1.0, 6.0), "buffer": (6.0, 7.0),
    "edge": (11.0, 2.0), "cut": (4.0, 8.0), "open": (5.0, 5.0),
}  # fmt: skip
"""Half the width and half the height of the symbol of each kind of node."""

BEYOND_ROW = 14.0
"""How far a name may stand above or below the row that it belongs to."""


class LooseName(NamedTuple):
    """A name that has left its usual place."""

    piece: int
    """The piece that it belongs to."""
    text: str
    box: Box
    leader: Leader | None
    """The fine line from the piece to a distant name; None for a name beside it."""
    is_yard: bool = False


def place_names(drawing: Sketch) -> None:
    """Give each name a place where it covers nothing."""
    taken = Taken(drawing.lines, _things(drawing))
    unnamed = list(_unnamed(drawing))
    loose = _without_room(drawing, taken)
    limits = _limits(drawing)
    for node, label in enumerate(drawing.places.labels):
        if label is not None and drawing.graph.nodes[node].kind in ("points", "crossings", "joint"):
            taken.within = limits.get(("node", node))
            _place_node(drawing, node, label, taken)
    for piece, text, is_yard in (*loose, *unnamed):
        taken.within = limits.get(("piece", piece))
        spots = _spots(drawing, piece, text, is_yard=is_yard)
        spot = taken.best(spots, [piece])
        if spot is not None:
            taken.add(spot)
            drawing.loose_names.append(LooseName(piece, text, spot.box, spot.leader, is_yard))


def _limits(drawing: Sketch) -> dict[tuple[str, int], Box]:
    """Return the room of the row of each node and piece; empty for a drawing in one row."""
    limits: dict[tuple[str, int], Box] = {}
    if drawing.rows:
        whole = drawing.bounds()
        for pieces, nodes in drawing.rows:
            boxes = drawing.reaches(pieces, nodes)
            row = Box(
                whole.left, min(box.top for box in boxes) - BEYOND_ROW,
                whole.right, max(box.bottom for box in boxes) + BEYOND_ROW,
            )  # fmt: skip
            limits |= {("piece", piece): row for piece in pieces}
            limits |= {("node", node): row for node in nodes}
    return limits


def _things(drawing: Sketch) -> list[Box]:
    """Return the room of everything but tracks."""
    boxes = [drawing.item_box(piece, item) for piece, item in drawing.items()]
    for node, label in enumerate(drawing.places.labels):
        if label is not None:
            boxes.append(drawing.label_box(node, label))
        box = _node_box(drawing, drawing.graph.nodes[node])
        if box is not None:
            boxes.append(box)
    arrows = (arrow_on(drawing, piece.index) for piece in drawing.graph.pieces)
    return boxes + [arrow for arrow in arrows if arrow is not None]


def _node_box(drawing: Sketch, node: Node) -> Box | None:
    """Return the room of a node's symbol; None for points, which have only their legs."""
    places = drawing.places
    x, y = places.x[node.index], places.y[node.index]
    if node.kind == "points":
        return None
    if node.kind == "turntables":
        radius = places.radii[node.index] + 1
        return Box(x - radius, y - radius, x + radius, y + radius)
    if node.kind == "bend":
        rails = [places.rails[piece] for piece in (*node.ins, *node.outs)]
        left, right = (x - 3, x + 12) if node.ins else (x - 12, x + 3)
        return Box(left, min(rails) - 3, right, max(rails) + 3)
    if drawing.graph.boards(node) is not None:
        return Box(x - 1, y - 6, x + 1, y + 19)
    wide, high = HALF_SIZES[node.kind]
    return Box(x - wide, y - high, x + wide, y + high)


# --- names of nodes


def _place_node(drawing: Sketch, node: int, label: Label, taken: Taken) -> None:
    own = drawing.label_box(node, label)
    inked = own._replace(top=own.top + 1)
    if not taken.covers_any(inked, 0.0):
        return
    x, y = drawing.places.x[node], drawing.places.y[node]
    pieces = (*drawing.graph.nodes[node].ins, *drawing.graph.nodes[node].outs)
    spot = taken.best(_node_spots(label, (x, y), own.what), pieces)
    if spot is not None:
        box, leader = spot
        at = None if leader is None else (leader[1][0] - x, leader[1][1] - y)
        drawing.places.labels[node] = label._replace(left=box.left - x, top=box.top - y, leader=at)
        taken.remove(own)
        taken.add(spot)


def _node_spots(label: Label, at: Point, what: str) -> Iterator[Spot]:
    x, y = at
    for share, top in NEAR_NODE:
        aside = ASIDE if share == 0 else -ASIDE if share == -1 else 0.0
        left = x + share * label.width + aside
        yield Spot(Box(left, y + top, left + label.width, y + top + label.height, what))
    yield from far_spots(at, (label.width, label.height), what)


# --- names of tracks and yards


def _without_room(drawing: Sketch, taken: Taken) -> list[tuple[int, str, bool]]:
    """Take away each name of a track or yard that covers something; return them."""
    loose = []
    for piece, item in drawing.items():
        if item.kind not in ("track", "yard"):
            continue
        box = drawing.item_box(piece, item)
        inked = (
            box._replace(top=box.top + 2)
            if item.side == "below"
            else box._replace(bottom=box.bottom - 2)
        )
        if taken.covers_any(inked, 0.0):
            loose.append((piece, item.text, item.kind == "yard"))
            drawing.places.contents[piece].on(item.side).remove(item)
            taken.remove(box)
    return loose


def _unnamed(drawing: Sketch) -> Iterator[tuple[int, str, bool]]:
    """Yield the longest level piece, else the first, and the name of each track without one."""
    named = {item.id for _, item in drawing.items() if item.kind == "track"}
    lanes, lines = drawing.lanes, drawing.lines
    pieces = sorted(
        drawing.graph.pieces,
        key=lambda piece: (
            lanes.slanting[piece.index],
            lines[piece.index][0][0] - lines[piece.index][-1][0],
        ),
    )
    for piece in pieces:
        if piece.track not in named:
            named.add(piece.track)
            text = piece.track + drawing.marks.get(("tracks", piece.track), "")
            yield piece.index, text, False


def _spots(drawing: Sketch, piece: int, text: str, *, is_yard: bool) -> Iterator[Spot]:
    """Yield places for the name of a track or yard, the best first."""
    line = drawing.lines[piece]
    rail = drawing.places.rails[piece]
    level = not drawing.lanes.slanting[piece]
    if level:
        line = [(x, y) for x, y in line if abs(y - rail) < 0.01] or line
    (x1, y1), (x2, y2) = line[0], line[-1]
    wide = width_of(text, NAME_SIZE, bold=True) if is_yard else width_with_marks(text, TRACK_SIZE)
    what = f"name of {text}"
    steep = abs(y2 - y1) > 0.01
    for share in SHARES:
        x, y = x1 + (x2 - x1) * share, y1 + (y2 - y1) * share
        for way in (1, -1):
            if steep:
                left, middle = x + way * BESIDE - (0 if way > 0 else wide), y
            else:
                left, middle = x - wide / 2, y + way * (HIGH / 2 + 4)
            yield Spot(Box(left, middle - HIGH / 2, left + wide, middle + HIGH / 2, what))
    starts = [(x1 + (x2 - x1) * share, y1 + (y2 - y1) * share) for share in SHARES]
    for some in (starts[:3], starts[3:]):
        ways = [far_spots(start, (wide, HIGH), what) for start in some]
        # In turn from each start: one spot to the right, one to the left.
        for turn in zip(*(zip(way, way, strict=True) for way in ways), strict=True):
            for pair in turn:
                yield from pair
