"""From a plan to a graph to draw: nodes from left to right, and pieces of track between them.

The up end of a track is drawn on its left and the down end on its right, as far as the plan lets
it. Where it does not, a track is drawn the other way round (one that is written down against its
neighbours), as a return bend (a reversing loop), or cut once with the cut marked (an oval).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from trappoint.model.layout import End, Heading, Layout

Kind = Literal[
    "points", "crossings", "turntables", "joint", "buffer", "edge", "cut", "bend", "bridge", "open"
]
"""``cut``: one side of a cut; ``bend``: a return bend; ``bridge``: two tracks that have to be drawn
over each other though they do not meet; ``open``: an end that meets nothing that there is."""


@dataclass(slots=True)
class Node:
    """Something at which pieces end."""

    index: int
    kind: Kind
    id: str = ""
    ins: list[int] = field(default_factory=list)
    """The pieces on its left, from top to bottom where ``fixed``."""
    outs: list[int] = field(default_factory=list)
    """The pieces on its right, from top to bottom where ``fixed``."""
    fixed: bool = True
    """False if the pieces on each side may stand in any order."""


@dataclass(slots=True)
class DrawnPiece:
    """A track, or one part of a track that is drawn in several."""

    index: int
    track: str
    left: int
    right: int
    left_leg: str
    right_leg: str
    turned: bool = False
    """True if the up end is on the right."""
    part: int = 0
    """Which part of its track it is, counted from the left."""
    start: float = 0.0
    """Where its left end is on the track, as a share of the whole, from the track's up end."""
    stop: float = 1.0
    """Where its right end is."""


@dataclass(slots=True)
class Graph:
    """The nodes and pieces of a drawing."""

    nodes: list[Node] = field(default_factory=list)
    pieces: list[DrawnPiece] = field(default_factory=list)

    def boards(self, node: Node) -> tuple[str, str] | None:
        """Return the boards on the left and on the right of a node; None but between two.

        The plan's own track is on none: an empty text.
        """
        left, right = (
            {self.pieces[piece].track.rpartition("/")[0] for piece in side}
            for side in (node.ins, node.outs)
        )
        if node.kind != "joint" or len(left) != 1 or len(right) != 1 or left == right:
            return None
        return left.pop(), right.pop()

    def node(self, kind: Kind, id_: str = "", *, fixed: bool = True) -> Node:
        """Add a node."""
        node = Node(len(self.nodes), kind, id_, fixed=fixed)
        self.nodes.append(node)
        return node

    def piece(self, track: str, left: int, right: int, legs: tuple[str, str]) -> DrawnPiece:
        """Add a piece between two nodes. Their lists are left as they are."""
        piece = DrawnPiece(len(self.pieces), track, left, right, *legs)
        self.pieces.append(piece)
        return piece


@dataclass(slots=True)
class _Spot:
    """A thing that tracks meet, before it is known which way round it is drawn."""

    node: Node
    sides: dict[str, int]
    """From each leg to its side while the thing is not turned: -1 left, 1 right."""
    free: bool = False
    """True if any leg may stand on either side."""
    met: dict[str, tuple[str, Heading]] = field(default_factory=dict)
    """From each leg to the track end that meets it."""
    turn: int = 1


def build_graph(layout: Layout) -> Graph:
    """Build the graph of a plan. Anything may be wrong with the plan: what can be drawn, is."""
    return _GraphBuilder(layout).build()


class _GraphBuilder:
    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self.graph = Graph()
        self.spots: list[_Spot] = []
        self.ends: dict[tuple[str, Heading], tuple[_Spot, str]] = {}

    def build(self) -> Graph:
        self._find_spots()
        self._turn_spots()
        for track in self.layout.tracks:
            self._lay(track)
        self._order_legs()
        return self.graph

    # --- what the tracks meet

    def _find_spots(self) -> None:
        known: dict[tuple[str, str], _Spot] = {}
        for track in self.layout.tracks.values():
            for heading in ("up", "down"):
                end = track.end(heading)
                spot, leg = self._spot(end, known)
                if leg in spot.met:
                    spot, leg = self._lone("open"), ""
                spot.met[leg] = (track.id, heading)
                self.ends[track.id, heading] = (spot, leg)

    def _spot(self, end: End, known: dict[tuple[str, str], _Spot]) -> tuple[_Spot, str]:
        if end.kind == "joint":
            spot = known.get(("joint", end.name))
            if spot is None:
                spot = known["joint", end.name] = _Spot(
                    self.graph.node("joint", end.name), {"1": -1, "2": 1}
                )
                self.spots.append(spot)
            return spot, "2" if "1" in spot.met else "1"
        if end.kind in ("buffer", "edge"):
            return self._lone("buffer" if end.kind == "buffer" else "edge", end.name), ""
        found = self.layout.element(end)
        if found is None:
            return self._lone("open", end.text), ""
        kind, element = found
        spot = known.get((kind, element.id))
        if spot is None:
            if kind == "points":
                sides = {leg: -1 if leg == "toe" else 1 for leg in element.legs}
            elif kind == "crossings":
                sides = {"a1": -1, "b1": -1, "a2": 1, "b2": 1}
            else:
                sides = {}
            node = self.graph.node(kind, element.id, fixed=kind == "points")
            spot = known[kind, element.id] = _Spot(node, sides, kind == "turntables")
            self.spots.append(spot)
        return spot, end.leg

    def _lone(self, kind: Kind, id_: str = "") -> _Spot:
        return _Spot(self.graph.node(kind, id_), {}, free=True)

    # --- which way round

    def _turn_spots(self) -> None:
        """Turn each element so that most up ends are on the left, then mend tracks one by one."""
        for spot in self.spots:
            spot.turn = 1 if self._liking(spot, 1) >= self._liking(spot, -1) else -1
        for _ in range(len(self.spots)):
            changed = False
            for spot in self.spots:
                if spot.free:
                    continue
                if self._harm(spot, -spot.turn) < self._harm(spot, spot.turn):
                    spot.turn = -spot.turn
                    changed = True
            if not changed:
                return

    def _liking(self, spot: _Spot, turn: int) -> int:
        """Count the track ends on their own side of an element that is turned this way."""
        wanted = {"up": 1, "down": -1}
        return sum(spot.sides.get(leg, 0) * turn == wanted[h] for leg, (_, h) in spot.met.items())

    def _harm(self, spot: _Spot, turn: int) -> float:
        harm = -0.1 * self._liking(spot, turn)
        for leg, (track, heading) in spot.met.items():
            other, other_leg = self.ends[track, "down" if heading == "up" else "up"]
            if other is spot:
                continue
            if not other.free and spot.sides[leg] * turn == other.sides[other_leg] * other.turn:
                harm += 1
        return harm

    def _side(self, spot: _Spot, leg: str) -> int:
        return 0 if spot.free else spot.sides[leg] * spot.turn

    # --- the pieces

    def _lay(self, track: str) -> None:
        (up, up_leg), (down, down_leg) = self.ends[track, "up"], self.ends[track, "down"]
        up_side, down_side = self._side(up, up_leg), self._side(down, down_leg)
        if up_side and up_side == down_side:
            self._lay_bend(track, up_side)
        elif up_side == -1 or down_side == 1:
            piece = self._join(track, (down.node, down_leg), (up.node, up_leg))
            piece.turned, piece.start, piece.stop = True, 1.0, 0.0
        else:
            self._join(track, (up.node, up_leg), (down.node, down_leg))

    def _join(self, track: str, left: tuple[Node, str], right: tuple[Node, str]) -> DrawnPiece:
        piece = self.graph.piece(track, left[0].index, right[0].index, (left[1], right[1]))
        left[0].outs.append(piece.index)
        right[0].ins.append(piece.index)
        return piece

    def _lay_bend(self, track: str, side: int) -> None:
        """Add a track that leaves both its ends on the same side, with a bend in its middle."""
        (up, up_leg), (down, down_leg) = self.ends[track, "up"], self.ends[track, "down"]
        bend = self.graph.node("bend", track, fixed=False)
        if side == 1:
            first = self._join(track, (up.node, up_leg), (bend, ""))
            second = self._join(track, (down.node, down_leg), (bend, ""))
            second.turned, second.start = True, 1.0
        else:
            first = self._join(track, (bend, ""), (up.node, up_leg))
            second = self._join(track, (bend, ""), (down.node, down_leg))
            first.turned, first.stop, second.start = True, 0.0, 0.5
            first.start, second.part = 0.5, 1
            return
        first.stop = second.stop = 0.5
        second.part = 1

    def _order_legs(self) -> None:
        """Sort the pieces at points from top to bottom."""
        pieces = self.graph.pieces
        for spot in self.spots:
            node = spot.node
            if node.kind != "points":
                continue
            # Seen from the toe, the left leg is above if the legs are on the right, else below.
            rank = {"left": 0, "middle": spot.turn, "right": 2 * spot.turn, "toe": 0}
            node.ins.sort(key=lambda index: rank[pieces[index].right_leg])
            node.outs.sort(key=lambda index: rank[pieces[index].left_leg])
