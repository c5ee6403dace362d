"""Cuts of ovals: a continuous run is cut at one track, so that it can be drawn as a line.

Both ends of a cut have the same letter. A piece belongs to an oval if its two ends are in one
strongly connected component of the graph; pieces are cut until no such piece is left.
"""

from __future__ import annotations

from graphlib import TopologicalSorter
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from trappoint.drawing.graph import DrawnPiece, Graph
    from trappoint.model.layout import Layout


def cut_ovals(graph: Graph, layout: Layout, before: tuple[str, ...] = ()) -> None:
    """Cut pieces until no way to the right leads back to its start.

    The tracks that were cut ``before`` come first.
    """
    ring = _in_rings(graph, graph.pieces)
    while ring:
        again = [piece for piece in ring if piece.track in before] or ring
        cut_piece(graph, min(again, key=lambda piece: _loss(graph, layout, piece, ring)))
        ring = _in_rings(graph, graph.pieces)


def cut_piece(graph: Graph, piece: DrawnPiece) -> None:
    """Cut one piece in two, each part with a marked end."""
    name = letters(sum(node.kind == "cut" for node in graph.nodes) // 2)
    here, there = graph.node("cut", name), graph.node("cut", name)
    old_right = graph.nodes[piece.right]
    rest = graph.piece(piece.track, there.index, piece.right, ("", piece.right_leg))
    old_right.ins[old_right.ins.index(piece.index)] = rest.index
    rest.turned, rest.part = piece.turned, piece.part + 1
    middle = _share(graph, piece)
    rest.start, rest.stop, piece.stop = middle, piece.stop, middle
    piece.right, piece.right_leg = here.index, ""
    here.ins.append(piece.index)
    there.outs.append(rest.index)


def open_bend(graph: Graph, number: int) -> None:
    """Replace a return bend that would cross tracks by two ends with the same letter."""
    bend = graph.nodes[number]
    name = letters(sum(node.kind == "cut" for node in graph.nodes) // 2)
    other = graph.node("cut", name)
    bend.kind, bend.id, bend.fixed = "cut", name, True
    if bend.ins:
        moved = bend.ins.pop()
        other.ins.append(moved)
        graph.pieces[moved].right = other.index
    else:
        moved = bend.outs.pop()
        other.outs.append(moved)
        graph.pieces[moved].left = other.index


def _share(graph: Graph, piece: DrawnPiece) -> float:
    """Return the best place to cut a piece: beside a joint at its end, else in the middle."""
    if graph.nodes[piece.left].kind == "joint" and graph.nodes[piece.right].kind != "joint":
        return piece.start
    if graph.nodes[piece.right].kind == "joint":
        return piece.stop
    return (piece.start + piece.stop) / 2


def letters(number: int) -> str:
    """Return the mark of a cut: A to Z, then A1."""
    return chr(65 + number % 26) + (str(number // 26) if number >= 26 else "")


def _loss(
    graph: Graph, layout: Layout, piece: DrawnPiece, ring: list[DrawnPiece]
) -> tuple[float, ...]:
    """Return a sort key for cuts, the best least: rings left, things at the track, total width.

    Signals do not count, so that a new signal does not move the cut. Among equal pieces, the first
    in the plan wins.
    """
    track = layout.tracks[piece.track]
    left = len(_in_rings(graph, ring, without=piece.index))
    # Both roads of a double line are cut side by side, so that their crossovers stay together.
    far = 0 if left else _longest_way(graph, without=piece.index)
    served = any(track.id in platform.tracks for platform in layout.platforms.values())
    ends = {graph.nodes[piece.left].kind, graph.nodes[piece.right].kind}
    return left, served, track.stand, "joint" not in ends, far, piece.index


def _longest_way(graph: Graph, without: int) -> int:
    """Return the number of pieces on the longest way to the right, in a graph without rings."""
    before: dict[int, list[int]] = {node.index: [] for node in graph.nodes}
    for piece in graph.pieces:
        if piece.index != without:
            before[piece.right].append(piece.left)
    far: dict[int, int] = {}
    for node in TopologicalSorter(before).static_order():
        far[node] = max((far[left] + 1 for left in before[node]), default=0)
    return max(far.values())


def _in_rings(graph: Graph, among: list[DrawnPiece], without: int = -1) -> list[DrawnPiece]:
    """Return the pieces, of some, on a ring: both ends in one strongly connected component."""
    pieces = [piece for piece in among if piece.index != without]
    component = _components(len(graph.nodes), pieces)
    return [piece for piece in pieces if component[piece.left] == component[piece.right]]


def _components(count: int, pieces: list[DrawnPiece]) -> list[int]:
    """Return the number of each node's strongly connected component.

    Depth-first search, then a second one over reversed edges in reverse finishing order (the
    algorithm of S. R. Kosaraju; M. Sharir, "A strong-connectivity algorithm and its applications
    in data flow analysis", Computers & Mathematics with Applications 7, 1981).
    """
    after: list[list[int]] = [[] for _ in range(count)]
    before: list[list[int]] = [[] for _ in range(count)]
    for piece in pieces:
        after[piece.left].append(piece.right)
        before[piece.right].append(piece.left)
    order: list[int] = []
    seen = [False] * len(after)
    for root in range(len(after)):
        _visit(root, after, seen, order)
    component = [-1] * len(after)
    seen = [False] * len(after)
    for number, root in enumerate(reversed(order)):
        found: list[int] = []
        _visit(root, before, seen, found)
        for node in found:
            component[node] = number
    return component


def _visit(root: int, onward: list[list[int]], seen: list[bool], order: list[int]) -> None:
    """Append the unseen nodes that the root reaches, each after all nodes beyond it."""
    if seen[root]:
        return
    seen[root] = True
    stack = [(root, iter(onward[root]))]
    while stack:
        node, rest = stack[-1]
        for following in rest:
            if not seen[following]:
                seen[following] = True
                stack.append((following, iter(onward[following])))
                break
        else:
            order.append(node)
            stack.pop()
