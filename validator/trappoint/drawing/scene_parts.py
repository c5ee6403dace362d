"""The part of a large plan that a scene concerns."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.drawing.trains import place_trains

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from trappoint.drawing.moment import Moment
    from trappoint.drawing.sketch import Sketch
    from trappoint.interlocking.locking_table import LockingTable, RouteEntry

Part = tuple[list[int], list[int]]
"""The pieces and the nodes to show, as in ``Sketch.shown``."""


def parts_of(sketch: Sketch, moment: Moment, table: LockingTable | None) -> list[Part]:
    """Return the parts of a drawing that a moment concerns, one for each row that has any.

    A part has the pieces on which trains stand, the posts of arms that are off and the tracks of
    their roads, the points and slips that the moment names, and the tracks between all these. A row
    that has nothing but the end of a road is left out: a letter marks where the road goes on.
    """
    graph = sketch.graph
    pieces = {*_of_trains(sketch, moment), *_of_posts(sketch, moment)}
    roads = {*_of_roads(sketch, moment, table)}
    nodes = {
        node.index
        for node in graph.nodes
        if node.kind in ("points", "crossings") and node.id in moment.lies
    }
    everything = list(range(len(graph.pieces))), list(range(len(graph.nodes)))
    found = []
    for row_pieces, row_nodes in sketch.rows or [everything]:
        row = {*row_pieces}
        if pieces & row or nodes & {*row_nodes}:
            part = _Part(sketch, row, (pieces | roads) & row, nodes & {*row_nodes})
            part.join()
            found.append((sorted(part.pieces), sorted(part.nodes)))
    return found


def _of_trains(sketch: Sketch, moment: Moment) -> Iterator[int]:
    yield from (block.piece for block in place_trains(sketch, moment.trains))


def _of_posts(sketch: Sketch, moment: Moment) -> Iterator[int]:
    """Yield the pieces beside which arms that are off stand."""
    posts = {arm.signal for arm in sketch.layout.arms() if arm.id in moment.off}
    for piece, item in sketch.items():
        if item.kind == "signal" and item.id in posts:
            yield piece


def _of_roads(sketch: Sketch, moment: Moment, table: LockingTable | None) -> Iterator[int]:
    """Yield the pieces of the roads of the arms that are off."""
    tracks = {
        track
        for entry in (table.arms if table is not None else ())
        if entry.arm in moment.off
        for route in entry.routes
        if _is_set(sketch, moment, route)
        for track in route.over
    }
    yield from (piece.index for piece in sketch.graph.pieces if piece.track in tracks)


def _is_set(sketch: Sketch, moment: Moment, route: RouteEntry) -> bool:
    """Return whether all points of a route lie for it."""
    for name, lie in route.points.items():
        switch = sketch.layout.switch(name)
        if switch is not None and lie not in moment.lies_of(switch):
            return False
    return True


class _Part:
    """Pieces and nodes of one row, which grow together."""

    def __init__(
        self, sketch: Sketch, row: set[int], pieces: set[int], nodes: Collection[int]
    ) -> None:
        self.graph = sketch.graph
        self.row = row
        self.pieces = pieces
        self.nodes = {*nodes, *(end for piece in pieces for end in self._ends(piece))}

    def _ends(self, piece: int) -> tuple[int, int]:
        own = self.graph.pieces[piece]
        return own.left, own.right

    def join(self) -> None:
        """Add the shortest ways between the pieces that are apart, while there are any."""
        rest = set(self.nodes)
        while rest:
            together = set(self._reach({min(rest)}, self.pieces, set()))
            way = self._way(together)
            if not way:
                rest -= together  # the row has nothing else that it can be joined with
                continue
            self.pieces.update(way)
            added = {end for piece in way for end in self._ends(piece)}
            self.nodes |= added
            rest |= added

    def _way(self, together: set[int]) -> list[int]:
        """Return the pieces of the way to the nearest other node of the part; empty for none."""
        came = self._reach(together, self.row, self.nodes - together)
        goal = next((node for node in came if node in self.nodes - together), None)
        way = []
        while goal is not None and came[goal] is not None:
            piece = came[goal]
            assert piece is not None  # noqa: S101 - for the type checker
            way.append(piece)
            left, right = self._ends(piece)
            goal = left if goal == right else right
        return way

    def _reach(
        self, start: set[int], pieces: Collection[int], goals: set[int]
    ) -> dict[int, int | None]:
        """Return the nodes within reach over some pieces, nearest first, up to the first goal.

        Each has the piece over which it is reached, None for a start.
        """
        came: dict[int, int | None] = dict.fromkeys(sorted(start))
        queue = list(came)
        for node in queue:
            own = self.graph.nodes[node]
            for piece in (*own.ins, *own.outs):
                left, right = self._ends(piece)
                other = left if node == right else right
                if piece in pieces and other not in came:
                    came[other] = piece
                    queue.append(other)
                    if other in goals:
                        return came
        return came
