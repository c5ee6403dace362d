"""The obvious way to a locking table: all simple paths of a graph, and every pair of them.

It is given what the check derives first (places, moves, levers), and a graph that is cut at the
signals, without which it would not end at all.
"""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING, NamedTuple

import networkx as nx

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.interlocking.routes import LeverGroups
    from trappoint.topology.network import Network


class Path(NamedTuple):
    """What one signal may give leave for."""

    head: int
    against: int
    """The head back to back with its own; -1 where none is."""
    places: frozenset[int]
    needs: dict[int, str]


def all_paths(network: Network, together: LeverGroups) -> list[Path]:
    """Return the paths of all signals."""
    graph = nx.DiGraph()
    graph.add_nodes_from(range(len(network.place_of)))
    for state, exits in enumerate(network.exits):
        for exit_ in exits:
            start = ("past", exit_.head) if exit_.head >= 0 else state
            if network.place(state).kind != "yards" or exit_.head >= 0:
                graph.add_edge(start, exit_.to, element=exit_.element, lie=exit_.lie)
    ends = {
        state
        for state in range(len(network.place_of))
        if network.facing[state] >= 0
        or network.terminal[state]
        or network.limit[state]
        or network.place(state).kind == "yards"
    }
    return [
        path
        for head in range(len(network.heads))
        for path in _of(graph, network, together, head, ends)
    ]


def _of(
    graph: nx.DiGraph, network: Network, together: LeverGroups, head: int, ends: set[int]
) -> Iterator[Path]:
    start = ("past", head)
    if start not in graph:
        return
    for edges in nx.all_simple_edge_paths(graph, start, ends):
        needs: dict[int, str] = {}
        for one, other in edges:
            element, lie = graph.edges[one, other]["element"], graph.edges[one, other]["lie"]
            if element >= 0:
                word = together.word(element, lie)
                if needs.setdefault(together.lever_of[element], word) != word:
                    break
        else:
            places = frozenset(network.place_of[to] for _, to in edges)
            yield Path(head, network.opposed[head], places, needs)


def conflicting(paths: list[Path]) -> int:
    """Return how many pairs of paths cannot be given at once."""
    return sum(
        any(other.needs.get(lever, word) != word for lever, word in one.needs.items())
        or not one.places.isdisjoint(other.places)
        or 0 <= one.against == other.head
        for one, other in combinations(paths, 2)
    )
