"""What a drawing remembers of the one before, so that a small change of the plan moves little.

A memory holds the lane of each track, the place of each thing from left to right, the tracks that
are cut and the rows. It is data that JSON can hold, and it may come from anywhere: what does not
fit the plan counts for nothing. The drawing keeps orders, not distances.

The memory of a drawing has its own ``before`` in it, and a digest of the plan. A plan that is drawn
again with its own memory is drawn from the same ``before``, so that the drawing is the same.
"""

from __future__ import annotations

from hashlib import sha256
from statistics import fmean
from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from trappoint.drawing.contents import Marks
    from trappoint.drawing.graph import Graph, Node
    from trappoint.drawing.placement_problem import PlacementProblem
    from trappoint.drawing.sketch import Sketch
    from trappoint.model.layout import Layout

FARTHEST = 1e7
"""The greatest number that a memory may hold."""

BESIDE = 0.01
"""The distance of a new track from the one beside it, in lanes."""

LONE = ("buffer", "edge", "open", "cut")
"""The kinds of node with one piece."""


class Bridge(NamedTuple):
    """A place at which the drawing crosses two tracks that the plan does not cross."""

    upper: str
    """The track that is the upper one on the left."""
    lower: str
    place: float


class Memory(NamedTuple):
    """Where the things of a plan stood."""

    lanes: dict[str, float]
    """The lane of each part of a track, by the name of the part."""
    places: dict[str, float]
    """The place of each node from left to right, by its name."""
    cuts: tuple[str, ...]
    """The tracks that are cut."""
    rows: dict[str, float]
    """The number of the row of each node, by its name; empty for a drawing in one row."""
    bridges: tuple[Bridge, ...]
    """The places at which the drawing crosses tracks that the plan does not."""

    def data(self) -> dict[str, Any]:
        """Return the memory as data for JSON."""
        return {
            "lanes": self.lanes,
            "places": self.places,
            "cuts": list(self.cuts),
            "rows": self.rows,
            "bridges": [list(bridge) for bridge in self.bridges],
        }


class Recalled(NamedTuple):
    """What a memory says of the pieces and nodes of a graph, and a guess at the rest."""

    lanes: list[float]
    """Of each piece."""
    places: list[float]
    """Of each node."""
    memory: Memory

    def lane_beyond(self, track: str, part: int, guess: float) -> float:
        """Return the lane of a part of a track that begins at a bridge."""
        return self.memory.lanes.get(f"{track}/{part}", guess)


def digest_of(layout: Layout, marks: Marks, widest: float | None) -> str:
    """Return a digest of all that a drawing depends on."""
    parts = (
        layout.tracks, layout.points, layout.crossings, layout.turntables,
        layout.platforms, layout.signals, layout.yards, sorted(marks.items()), widest,
    )  # fmt: skip
    return sha256(repr(parts).encode("utf-8", "surrogatepass")).hexdigest()[:16]


def read_memory(given: object, layout: Layout, digest: str) -> Memory | None:
    """Return what is of use in a memory; None if there is nothing."""
    if isinstance(given, dict) and given.get("digest") == digest:
        given = given.get("before")
    if not isinstance(given, dict):
        return None
    ends = [end for track in layout.tracks.values() for end in (track.up, track.down)]
    names = [f"joint/{end.name}" for end in ends if end.kind == "joint"]
    names += [f"points/{id_}" for id_ in layout.points]
    names += [f"crossings/{id_}" for id_ in layout.crossings]
    names += [f"turntables/{id_}" for id_ in layout.turntables]
    names += [f"{kind}/{id_}/{side}" for kind in LONE for id_ in layout.tracks for side in "lr"]
    cuts = given.get("cuts")
    found = Memory(
        _numbers(given.get("lanes"), [f"{id_}/{n}" for id_ in layout.tracks for n in range(9)]),
        _numbers(given.get("places"), names),
        tuple(id_ for id_ in layout.tracks if isinstance(cuts, list) and id_ in cuts),
        _numbers(given.get("rows"), names),
        tuple(_bridges(given.get("bridges"), layout)),
    )
    return found if found.lanes else None


def _numbers(given: object, names: list[str]) -> dict[str, float]:
    if not isinstance(given, dict):
        return {}
    found = {name: given[name] for name in names if name in given}
    return {
        name: round(float(number), 2)
        for name, number in found.items()
        if isinstance(number, int | float) and -FARTHEST < number < FARTHEST
    }


def _bridges(given: object, layout: Layout) -> Iterator[Bridge]:
    """Yield the bridges between tracks of the plan, no more than it has tracks."""
    for each in given[: len(layout.tracks)] if isinstance(given, list) else ():
        if isinstance(each, list | tuple) and len(each) == len(Bridge._fields):
            upper, lower, place = each
            known = all(isinstance(id_, str) and id_ in layout.tracks for id_ in (upper, lower))
            for number in _numbers({"place": place}, ["place"]).values():
                if known:
                    yield Bridge(upper, lower, number)


def write_memory(drawing: Sketch) -> dict[str, Any]:
    """Return the memory of a finished drawing, as data for JSON."""
    graph = drawing.graph
    names = [name_of(graph, node) for node in graph.nodes]
    own = Memory(
        {
            f"{piece.track}/{piece.part}": drawing.lanes.of_piece[piece.index]
            for piece in graph.pieces
            if not drawing.lanes.slanting[piece.index]
        },
        {name: x for name, x in zip(names, drawing.places.x, strict=True) if name},
        tuple(graph.pieces[n.ins[0]].track for n in graph.nodes if n.kind == "cut" and n.ins),
        {
            names[node]: float(number)
            for number, row in enumerate(drawing.blocks)
            for node in sorted(row)
            if names[node]
        },
        tuple(
            Bridge(
                graph.pieces[node.ins[0]].track,
                graph.pieces[node.ins[1]].track,
                drawing.places.x[node.index],
            )
            for node in graph.nodes
            if node.kind == "bridge"
        ),
    )
    before = drawing.recalled.data() if drawing.recalled is not None else None
    return {**own.data(), "digest": drawing.digest, "before": before}


def name_of(graph: Graph, node: Node) -> str:
    """Return the name of a node in a memory; empty if it has none."""
    if node.kind in ("points", "crossings", "turntables", "joint"):
        return f"{node.kind}/{node.id}"
    if node.kind in LONE and (node.ins or node.outs):
        return f"{node.kind}/{graph.pieces[(node.ins or node.outs)[0]].track}/{'lr'[not node.outs]}"
    return ""


def lanes_before(graph: Graph, memory: Memory | None) -> dict[int, float]:
    """Return the lane before of each piece that had one."""
    if memory is None:
        return {}
    names = ((piece.index, f"{piece.track}/{piece.part}") for piece in graph.pieces)
    return {index: memory.lanes[name] for index, name in names if name in memory.lanes}


def level_before(graph: Graph, memory: Memory | None) -> set[int]:
    """Return the pieces that had a lane, and whose neighbours are those that they had."""
    places = places_before(graph, memory)

    def is_known(node: int) -> bool:
        pieces = [graph.pieces[n] for n in (*graph.nodes[node].ins, *graph.nodes[node].outs)]
        ends = {end for piece in pieces for end in (piece.left, piece.right)}
        return all(graph.nodes[end].kind == "bridge" or end in places for end in ends)

    return {
        piece
        for piece in lanes_before(graph, memory)
        if is_known(graph.pieces[piece].left) and is_known(graph.pieces[piece].right)
    }


def places_before(graph: Graph, memory: Memory | None) -> dict[int, float]:
    """Return the place before, from left to right, of each node that had one."""
    if memory is None:
        return {}
    names = ((node.index, name_of(graph, node)) for node in graph.nodes)
    return {index: memory.places[name] for index, name in names if name in memory.places}


def rows_before(graph: Graph, memory: Memory | None) -> tuple[frozenset[int], ...]:
    """Return the nodes of each row before; a new node goes into the row of a neighbour."""
    if memory is None or not memory.rows:
        return ()
    names = ((node.index, name_of(graph, node)) for node in graph.nodes)
    row = {index: memory.rows[name] for index, name in names if name in memory.rows}
    _spread(graph, row, min)
    numbers = sorted(set(row.values()))
    rows = tuple(frozenset(node for node, own in row.items() if own == n) for n in numbers)
    return rows if len(row) == len(graph.nodes) else ()


def recall(graph: Graph, memory: Memory) -> Recalled:
    """Return what a memory says of a graph, with a guess at the new pieces and nodes."""
    places = places_before(graph, memory)
    _spread(graph, places, fmean)
    lanes = lanes_before(graph, memory)
    while len(lanes) < len(graph.pieces):
        fresh = dict(_beside(graph, lanes))
        if not fresh:
            break
        for piece, lane in fresh.items():
            lanes.setdefault(piece, lane)
    # A part without anything old comes last.
    last = max(lanes.values(), default=0.0) + 1
    return Recalled(
        [lanes.get(piece.index, last) for piece in graph.pieces],
        [places.get(node.index, 0.0) for node in graph.nodes],
        memory,
    )


def _spread(
    graph: Graph,
    known: dict[int, float],
    of: Callable[[list[float]], float],
) -> None:
    """Give each new node a number that follows from those of its neighbours."""
    while True:
        near: dict[int, list[float]] = {}
        for piece in graph.pieces:
            for one, other in ((piece.left, piece.right), (piece.right, piece.left)):
                if one not in known and other in known:
                    near.setdefault(one, []).append(known[other])
        if not near:
            return
        known.update({node: of(values) for node, values in near.items()})


def _beside(graph: Graph, lanes: dict[int, float]) -> Iterator[tuple[int, float]]:
    """Yield lanes for pieces that have none: beside the others at the same node, or level."""
    for node in graph.nodes:
        for own, far in ((node.ins, node.outs), (node.outs, node.ins)):
            known = [number for number, piece in enumerate(own) if piece in lanes]
            level = [lanes[piece] for piece in far if piece in lanes]
            for number, piece in enumerate(own):
                if piece in lanes:
                    continue
                if known:
                    near = min(known, key=lambda other, at=number: abs(other - at))  # type: ignore[misc]
                    yield piece, lanes[own[near]] + BESIDE * (number - near)
                elif level:
                    yield piece, fmean(level) + BESIDE * (number - (len(own) - 1) / 2)


def keep_order(
    problem: PlacementProblem,
    before: Mapping[int, float],
    numbers: Mapping[int, int],
    price: float,
    *,
    whole: bool = False,
) -> None:
    """Add a price for each number that leaves the order or the level that it had before."""
    levels: dict[float, int] = {}
    last = -1
    for value in sorted({before[thing] for thing in numbers if thing in before}):
        levels[value] = problem.number(whole=whole)
        if last >= 0:
            problem.at_least(last, levels[value], 1)
        last = levels[value]
    for thing, number in numbers.items():
        if thing in before:
            problem.price(price, levels[before[thing]], number)
