"""Cuts of a plan that is too wide for its sheet: it continues in further rows.

What few tracks join to the rest of the plan goes into one row, as the stations of a club's layout
do. The search begins with a block for each element and unites blocks within stations. Then it
divides the blocks into rows: a few in the best of all ways; of many, it unites the two with the
most tracks between them, again and again, as long as the row is not too wide. Each cut track has
the same letter on both sides, as at the cut of an oval.
"""

from __future__ import annotations

from functools import cache
from heapq import heapify, heappop, heappush
from itertools import combinations
from typing import TYPE_CHECKING

from trappoint.drawing.lanes import find_slanting
from trappoint.drawing.oval_cuts import cut_piece

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping

    from trappoint.drawing.graph import Graph
    from trappoint.model.layout import Layout

BEYOND = 30.0
"""The room that the end of a cut track takes, with its letter, in drawing units."""

BESIDE = 1.7
"""The factor by which things that share a lane without a track between them widen a block."""

PLATFORM, STAND, STATION, LINE = 8, 6, 4, 2
"""The prices of a cut: at a platform, at another track on which trains stand, between the points
of a station, and on the line between two stations."""

LONG = 1.5
"""A track this many times as long as the longest one at a platform is such a line."""

APART = 0.25
"""The price where tracks on one side of a station are cut and others are not."""

ROW = 1
"""The price of a row."""

FEW = 10
"""The greatest number of blocks for which all divisions into rows are compared."""

Block = frozenset[int]
"""The indices of some nodes."""


Prices = list[int | None]
"""For each piece the price of a cut; None for a piece that no cut divides."""


def find_blocks(graph: Graph, prices: Prices, widths: list[float], widest: float) -> list[Block]:
    """Return the nodes of each station. ``widths`` estimates the width of each piece."""
    longest = _Longest(graph, widths)
    groups = _Groups(graph, prices, [frozenset([node.index]) for node in graph.nodes])
    for piece, price in zip(graph.pieces, prices, strict=True):
        if price is None:
            groups.join(groups.of_node[piece.left], groups.of_node[piece.right])
    groups.unite(STATION, lambda block: longest.way(block) * BESIDE <= widest)
    return [frozenset(nodes) for _, nodes in sorted(groups.members.items())]


def cut_between(graph: Graph, rows: Iterable[Block]) -> None:
    """Cut each piece between two rows."""
    row_of = {node: number for number, row in enumerate(rows) for node in row}
    for piece in list(graph.pieces):
        if row_of.get(piece.left) != row_of.get(piece.right):
            cut_piece(graph, piece)


class Division:
    """The division of blocks into rows.

    ``widths`` holds the width of each block as a row of its own; rows are at most ``widest`` wide.
    """

    def __init__(
        self, graph: Graph, prices: Prices, blocks: list[Block], widths: list[float], widest: float
    ) -> None:
        self.graph, self.prices, self.blocks, self.widest = graph, prices, blocks, widest
        block_of = {node: number for number, block in enumerate(blocks) for node in block}
        halves = [widths[block_of[node.index]] / 2 for node in graph.nodes]
        ends = [(block_of[piece.left], block_of[piece.right]) for piece in graph.pieces]
        between = [
            0.0 if one == other else (widths[one] + widths[other]) / 2 - 2 * BEYOND
            for one, other in ends
        ]
        self.longest = _Longest(graph, between, halves)
        self.forbidden: list[Block] = []

    def forbid(self, row: Block) -> None:
        """Note that a row with these nodes is too wide."""
        self.forbidden.append(row)

    def rows(self) -> list[Block]:
        """Return the rows with the lowest price."""
        if len(self.blocks) <= FEW:
            return self._best_of_all()
        groups = _Groups(self.graph, self.prices, self.blocks)
        groups.unite(0, self._fits)
        return [frozenset(nodes) for _, nodes in sorted(groups.members.items())]

    def _fits(self, row: Block) -> bool:
        if any(row >= wide for wide in self.forbidden):
            return False
        return self.longest.way(row) <= self.widest

    def _best_of_all(self) -> list[Block]:
        groups = _Groups(self.graph, self.prices, self.blocks)
        links, sides = groups.links(0), self._sides(groups.of_node)
        names = sorted(links)

        @cache
        def saved(row: frozenset[int]) -> float | None:
            """Return the price that a row saves; None if it is too wide or falls apart."""
            seen, stack = set[int](), [min(row)]
            while stack:
                block = stack.pop()
                if block not in seen:
                    seen.add(block)
                    stack += [near for near in links[block] if near in row]
            inside = _united(self.blocks[names.index(block)] for block in row)
            if len(row) > 1 and (seen != row or not self._fits(inside)):
                return None
            tracks = sum(links[a].get(b, 0) for a, b in combinations(sorted(row), 2))
            apart = sum(len({far in row for far in side}) == 2 for b in row for side in sides[b])
            return tracks - ROW - self.longest.rings(inside) * LINE - apart * APART

        @cache
        def best(rest: tuple[int, ...]) -> tuple[float, tuple[frozenset[int], ...]]:
            if not rest:
                return 0.0, ()
            first, others = rest[0], rest[1:]
            found = []
            for count in range(len(others) + 1):
                for more in combinations(others, count):
                    row = frozenset((first, *more))
                    own = saved(row)
                    if own is not None:
                        after, rows = best(tuple(block for block in others if block not in row))
                        found.append((own + after, (row, *rows)))
            return max(found, key=lambda each: each[0])

        return [
            _united(self.blocks[names.index(block)] for block in row)
            for row in best(tuple(names))[1]
        ]

    def _sides(self, of_node: Mapping[int, int]) -> dict[int, tuple[set[int], set[int]]]:
        """Return for each block the blocks that tracks on its left and on its right lead to."""
        sides: dict[int, tuple[set[int], set[int]]] = {
            block: (set(), set()) for block in of_node.values()
        }
        for piece in self.graph.pieces:
            left, right = of_node[piece.left], of_node[piece.right]
            if left != right:
                sides[left][1].add(right)
                sides[right][0].add(left)
        return sides


def _united(blocks: Iterable[Block]) -> Block:
    return frozenset().union(*blocks)


class _Longest:
    """The longest way from left to right through a group of nodes."""

    def __init__(
        self, graph: Graph, widths: list[float], halves: list[float] | None = None
    ) -> None:
        """Take the width of each piece, and that from the middle to the end of each node."""
        self.graph, self.widths, self.halves = graph, widths, halves

    def way(self, group: Block) -> float:
        """Estimate the width of a group; the last track of a ring does not count."""
        pieces, far, longest = self.graph.pieces, dict[int, float](), 0.0
        for node in self._from_the_right(group):
            own = self.graph.nodes[node]
            reached = self._end(node, [p for p in own.outs if pieces[p].right not in group])
            for piece in own.outs:
                if pieces[piece].right in far:
                    reached = max(reached, self.widths[piece] + far[pieces[piece].right])
            far[node] = reached
            cut = [p for p in own.ins if pieces[p].left not in group]
            longest = max(longest, reached + self._end(node, cut))
        return longest

    def _end(self, node: int, cut: list[int]) -> float:
        """Return the width from a node to the end of its row."""
        if self.halves is not None:
            return self.halves[node]
        return max((self.widths[piece] / 2 + BEYOND for piece in cut), default=0.0)

    def rings(self, group: Block) -> int:
        """Return the number of tracks to cut so that no way to the right leads back."""
        seen: set[int] = set()
        rings = 0
        for node in self._from_the_right(group):
            seen.add(node)
            outs = (self.graph.pieces[piece].right for piece in self.graph.nodes[node].outs)
            rings += sum(right in group and right not in seen for right in outs)
        return rings

    def _from_the_right(self, group: Block) -> Iterator[int]:
        """Yield each node of a group after all nodes to its right, as far as there is no ring."""
        seen: set[int] = set()
        for root in sorted(group):
            stack = [] if root in seen else [(root, iter(self.graph.nodes[root].outs))]
            seen.add(root)
            while stack:
                node, outs = stack[-1]
                for piece in outs:
                    right = self.graph.pieces[piece].right
                    if right in group and right not in seen:
                        seen.add(right)
                        stack.append((right, iter(self.graph.nodes[right].outs)))
                        break
                else:
                    yield node
                    stack.pop()


class _Groups:
    """Nodes in groups that grow."""

    def __init__(self, graph: Graph, prices: Prices, blocks: list[Block]) -> None:
        self.graph, self.prices = graph, prices
        self.members = {min(block): set(block) for block in blocks}
        self.of_node = {node: min(block) for block in blocks for node in block}

    def join(self, one: int, other: int) -> None:
        """Unite two groups; the union has the lower number."""
        kept, gone = min(one, other), max(one, other)
        if kept != gone:
            for node in self.members[gone]:
                self.of_node[node] = kept
            self.members[kept] |= self.members.pop(gone)

    def links(self, least: int) -> dict[int, dict[int, int]]:
        """Return for each group its neighbours, each with the price of the cuts between.

        Pieces with a price below ``least`` do not count.
        """
        links: dict[int, dict[int, int]] = {group: {} for group in self.members}
        for piece in self.graph.pieces:
            ends = self.of_node[piece.left], self.of_node[piece.right]
            price = self.prices[piece.index] or 0
            if ends[0] != ends[1] and price >= least:
                for one, other in (ends, ends[::-1]):
                    links[one][other] = links[one].get(other, 0) + price
        return links

    def unite(self, least: int, fits: Callable[[Block], bool]) -> None:
        """Unite neighbours that fit, those with the highest price of the cuts between first."""
        links = self.links(least)
        heap = [
            self._entry(one, other, links)
            for one, near in links.items()
            for other in near
            if one < other
        ]
        heapify(heap)
        while heap:
            entry = heappop(heap)
            one, other = entry[-2:]
            if other not in links.get(one, ()) or entry != self._entry(one, other, links):
                continue
            if not fits(frozenset(self.members[one] | self.members[other])):
                del links[one][other], links[other][one]
                continue
            self.join(one, other)
            for third, price in links.pop(other).items():
                del links[third][other]
                if third != one:
                    links[one][third] = links[third][one] = links[one].get(third, 0) + price
            for third in links[one]:
                heappush(heap, self._entry(min(one, third), max(one, third), links))

    def _entry(
        self, one: int, other: int, links: dict[int, dict[int, int]]
    ) -> tuple[int, int, int, int]:
        """Return a sort key: the highest price first, then small groups, then in plan order."""
        small = min(len(self.members[one]), len(self.members[other]))
        return -links[one][other], small, one, other


def find_prices(graph: Graph, layout: Layout) -> Prices:
    """Return the price of a cut of each piece; None for a piece that no cut divides."""
    served = {track for platform in layout.platforms.values() for track in platform.tracks}
    slanting = find_slanting(graph, layout)
    at_platforms = [layout.tracks[t].length_mm or 0 for t in served if t in layout.tracks]
    long = LONG * max(at_platforms, default=0)
    found: Prices = []
    for piece in graph.pieces:
        kinds = {graph.nodes[piece.left].kind, graph.nodes[piece.right].kind}
        # One of the two tracks that meet at a joint is enough.
        joined = graph.nodes[piece.right].kind == "joint"
        if (
            joined
            or slanting[piece.index]
            or kinds & {"buffer", "edge", "open", "turntables", "bend"}
        ):
            found.append(None)
        elif piece.track in served:
            found.append(PLATFORM)
        elif layout.tracks[piece.track].stand:
            found.append(STAND)
        else:
            open_line = long and (layout.tracks[piece.track].length_mm or 0) >= long
            found.append(LINE if "joint" in kinds or open_line else STATION)
    return found
