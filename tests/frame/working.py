"""Working a frame through all its states."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import combinations

from trappoint.lever_frame.frame import FrameTable, LockingEntry
from trappoint.lever_frame.simulator import FrameSimulator

State = frozenset[str]


def numbers(table: FrameTable) -> list[str]:
    return [lever.number for lever in table.levers]


def simulate(table: FrameTable, entries: Iterable[LockingEntry] | None = None) -> FrameSimulator:
    return FrameSimulator(numbers(table), table.entries if entries is None else entries)


def all_states(levers: Iterable[str]) -> Iterator[State]:
    given = list(levers)
    for count in range(len(given) + 1):
        yield from map(frozenset, combinations(given, count))


def behaviour(frame: FrameSimulator) -> dict[State, frozenset[str]]:
    """Every legal state, with the levers that may be moved in it."""
    return {
        state: frozenset(each for each in frame.levers if frame.may_move(state, each).free)
        for state in all_states(frame.levers)
        if frame.legal(state)
    }


def reached(moves: dict[State, frozenset[str]]) -> set[State]:
    """The states that can be come to from all levers normal, one lever at a time."""
    seen = {frozenset[str]()}
    queue = list(seen)
    for state in queue:
        for lever in moves[state]:
            after = state ^ {lever}
            if after not in seen:
                seen.add(after)
                queue.append(after)
    return seen
