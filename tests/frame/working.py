"""Working a frame through all its states."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
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


def moved(frame: FrameSimulator, state: Collection[str], lever: str) -> State:
    """The state after a lever was moved, which must be free."""
    answer = frame.may_move(state, lever)
    assert answer.free, answer.text
    return frozenset(set(state) ^ {lever})


def within_reach(frame: FrameSimulator, state: Collection[str], lever: str) -> bool:
    """Return whether a lever can be pulled while all reversed levers stay reversed.

    Other levers may be pulled before it: printed locking tables call a lever locked only if this
    does not help.
    """
    seen = {frozenset(state)}
    queue = list(seen)
    for current in queue:
        if lever in current:
            return True
        for other in frame.levers:
            after = current | {other}
            if after not in seen and frame.may_move(current, other).free:
                seen.add(after)
                queue.append(after)
    return False


def reached(moves: dict[State, frozenset[str]]) -> set[State]:
    """Return the states within reach from all levers normal, one lever at a time."""
    seen = {frozenset[str]()}
    queue = list(seen)
    for state in queue:
        for lever in moves[state]:
            after = state ^ {lever}
            if after not in seen:
                seen.add(after)
                queue.append(after)
    return seen
