"""Ovals: where trains come round again, one track is cut, so that all can be drawn to the right."""

from __future__ import annotations

from graphlib import TopologicalSorter
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from trappoint.drawing.graph import DrawnPiece, Graph
    from trappoint.model.layout import Layout


def cut_ovals(graph: Graph, layout: Layout) -> None:
    """Cut pieces until no way to the right leads back to where it began."""
    while True:
        ring = _in_rings(graph)
        if not ring:
            return
        cut_piece(graph, min(ring, key=lambda piece: _loss(graph, layout, piece, len(ring))))


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
    """Draw a return bend as two ends with the same mark: where the bend would cross tracks."""
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
    """Return where a piece is best cut: beside a joint where it ends at one, else in the middle."""
    if graph.nodes[piece.left].kind == "joint" and graph.nodes[piece.right].kind != "joint":
        return piece.start
    if graph.nodes[piece.right].kind == "joint":
        return piece.stop
    return (piece.start + piece.stop) / 2


def letters(number: int) -> str:
    """Return the mark of a cut: A to Z, then A1."""
    return chr(65 + number % 26) + (str(number // 26) if number >= 26 else "")


def _loss(graph: Graph, layout: Layout, piece: DrawnPiece, size: int) -> tuple[float, ...]:
    """Tell what is lost by a cut: rings left, what there is to see there, how wide it becomes.

    Signals do not count: one more should not move the cut, and all else with it. Of two that lose
    as much, the one is cut that comes first in the plan.
    """
    track = layout.tracks[piece.track]
    left = len(_in_rings(graph, without=piece.index)) / size
    # Both roads of a double line are cut side by side: then what they share is drawn but once.
    far = 0 if left else _longest_way(graph, without=piece.index)
    served = any(track.id in platform.tracks for platform in layout.platforms.values())
    ends = {graph.nodes[piece.left].kind, graph.nodes[piece.right].kind}
    return left, served, track.stand, "joint" not in ends, far, piece.index


def _longest_way(graph: Graph, without: int) -> int:
    """Count the pieces of the longest way to the right, where no way leads back."""
    before: dict[int, list[int]] = {node.index: [] for node in graph.nodes}
    for piece in graph.pieces:
        if piece.index != without:
            before[piece.right].append(piece.left)
    far: dict[int, int] = {}
    for node in TopologicalSorter(before).static_order():
        far[node] = max((far[left] + 1 for left in before[node]), default=0)
    return max(far.values())


def _in_rings(graph: Graph, without: int = -1) -> list[DrawnPiece]:
    """Return the pieces that lie on some way back: both ends in one strong component."""
    component = _components(graph, without)
    return [
        piece
        for piece in graph.pieces
        if piece.index != without and component[piece.left] == component[piece.right]
    ]


def _components(graph: Graph, without: int) -> list[int]:
    """Number the strong components (S. R. Kosaraju's two sweeps, from memory)."""
    after: list[list[int]] = [[] for _ in graph.nodes]
    before: list[list[int]] = [[] for _ in graph.nodes]
    for piece in graph.pieces:
        if piece.index != without:
            after[piece.left].append(piece.right)
            before[piece.right].append(piece.left)
    order: list[int] = []
    seen = [False] * len(after)
    for root in range(len(after)):
        _sweep(root, after, seen, order)
    component = [-1] * len(after)
    seen = [False] * len(after)
    for number, root in enumerate(reversed(order)):
        found: list[int] = []
        _sweep(root, before, seen, found)
        for node in found:
            component[node] = number
    return component


def _sweep(root: int, onward: list[list[int]], seen: list[bool], order: list[int]) -> None:
    """Append all nodes that can be reached and were not seen, each after those beyond it."""
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
