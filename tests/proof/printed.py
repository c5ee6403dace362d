"""The locking table as ``trappoint table --format json`` prints it, as routes on the plan.

Only the table gives the routes of each arm and the arms that must never be off together: if the
table lacks a conflict, so does the proof. Routes without an arm are not in the table; their
conflicts are derived from the ground.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from proof.pieces import GIVES_LEAVE
from proof.roads import Lies, Roads
from proof.routes import Route, conflict, lie_differently, passed_arms, routes

Table = dict[str, Any]
Arms = tuple[str, str]
LEAVE = ("stop", "shunt")
SILENT = ""
"""The arm of a route without an arm."""
NO_TABLE: Table = {"arms": []}
"""An empty table: all conflicts are derived from the ground."""


class UnreadableTableError(AssertionError):
    """Raised if a row is no route on the plan, or a conflict is not printed with both arms."""


@dataclass(frozen=True)
class Grant:
    """A route of an arm."""

    arm: str
    route: Route


@dataclass(frozen=True)
class Lock:
    """A conflict of the table: two arms, what prevents it, and for which lies (None: always)."""

    arms: Arms
    by: str
    when: tuple[tuple[str, str], ...] | None

    def fits(self, one: Lies, other: Lies) -> bool:
        """Return whether it applies to two routes with these lies."""
        return all(lie in (one.get(name), other.get(name)) for name, lie in self.when or ())


class Printed:
    """A table and its plan."""

    def __init__(self, roads: Roads, table: Table) -> None:
        self.roads = roads
        kinds = {entry["arm"]: entry["kind"] for entry in table["arms"]}
        self.routes = list(routes(roads))
        found, silent = _read_grants(self.routes, roads, table)
        self.silent = silent
        """The routes without an arm."""
        self.spoken = [grant for grant in found if kinds[grant.arm] in LEAVE]
        self.grants = [*self.spoken, *(Grant(SILENT, route) for route in silent)]
        self.called = [grant for grant in found if kinds[grant.arm] == "calling-on"]
        """The routes of calling-on arms. In the proof no train runs up to another on purpose, but
        these arms have conflicts in the table too."""
        self.locks: dict[Arms, list[Lock]] = {}
        for lock in _read_locks(table):
            self.locks.setdefault(lock.arms, []).append(lock)
        self._differ: dict[frozenset[tuple[tuple[str, str], ...]], bool] = {}

    def without(self, *arms: str) -> Printed:
        """Return the same table without the conflicts of two arms."""
        other = Printed.__new__(Printed)
        other.__dict__.update(self.__dict__)
        other.locks = {pair: rows for pair, rows in self.locks.items() if pair != _pair(*arms)}
        return other

    def lie_differently(self, one: Grant, other: Grant) -> bool:
        """Return whether two routes need a lever group to lie differently."""
        lies = one.route.lies, other.route.lies
        key = frozenset(lies)
        if key not in self._differ:
            self._differ[key] = lie_differently(self.roads, *lies)
        return self._differ[key]

    def forbidding(self, one: Grant, other: Grant) -> list[Lock]:
        """Return the conflicts of the table that forbid two routes together."""
        locks = self.locks.get(_pair(one.arm, other.arm))
        if not locks:
            return []
        first, second = dict(one.route.lies), dict(other.route.lies)
        differ = self.lie_differently(one, other)
        # A condition limits a conflict by points to routes for which the points cannot lie both
        # ways, and a direct one to the others. The lies alone decide for all other routes.
        return [
            lock
            for lock in locks
            if (lock.when is None or differ is (lock.by == "points")) and lock.fits(first, second)
        ]

    def tells(self, one: Grant, other: Grant) -> bool:
        """Return whether the table forbids two routes together, by a conflict or their points."""
        first, second = dict(one.route.lies), dict(other.route.lies)
        locks = self.locks.get(_pair(one.arm, other.arm), ())
        differ = any(second.get(name, lie) != lie for name, lie in first.items())
        return any(lock.fits(first, second) for lock in locks) or (bool(locks) and differ)

    def forbidden(self, one: Grant, other: Grant) -> bool:
        """Return whether two routes are never given together: by the table, points or lever."""
        if one.arm == other.arm or SILENT in (one.arm, other.arm):
            # The table has no conflict of an arm with itself, and none of routes without an arm.
            return conflict(self.roads, one.route, other.route)
        return bool(self.forbidding(one, other)) or self.lie_differently(one, other)


def _pair(one: str, other: str) -> Arms:
    return (one, other) if one < other else (other, one)


Row = tuple[str, str, tuple[str, ...], str, tuple[tuple[str, str], ...], tuple[str, ...]]


def _read_grants(found: list[Route], roads: Roads, table: Table) -> tuple[list[Grant], list[Route]]:
    """Return the route of each row of the table, then the routes without a row."""
    counts: Counter[Row] = Counter()
    for entry in table["arms"]:
        for row in entry["routes"]:
            lies = tuple(sorted(row["points"].items()))
            told = row["from"], tuple(row["over"]), row["ends_at"], lies, _in_order(row.get("past"))
            counts[entry["arm"], *told] += 1
    rows = set(counts)
    grants, silent = [], []
    for route in found:
        past = _in_order(passed_arms(roads, route))
        told = (route.head.track, route.over, route.ends_at, route.lies, past)
        of_kind = {arm: kind for arm, kind in route.head.arms if GIVES_LEAVE[kind] == route.kind}
        speaking = [arm for arm in of_kind if (arm, *told) in rows]
        if all(of_kind[arm] not in LEAVE for arm in speaking):
            silent.append(route)
        for arm in speaking:
            grants.append(Grant(arm, route))
            counts[arm, *told] -= 1
    if any(counts.values()):
        wrong = {row: number for row, number in counts.items() if number}
        raise UnreadableTableError(f"not as often on the plan as in the table: {wrong}")
    return grants, silent


def _in_order(arms: Iterable[str] | None) -> tuple[str, ...]:
    return tuple(sorted(arms or ()))


def _read_locks(table: Table) -> list[Lock]:
    """Return every conflict once; it must be printed with both of its arms."""
    printed: Counter[Lock] = Counter()
    sides: set[tuple[str, Lock]] = set()
    for entry in table["arms"]:
        for row in entry["conflicts"]:
            when = None if "when" not in row else tuple(sorted(row["when"].items()))
            lock = Lock(_pair(entry["arm"], row["arm"]), row["by"], when)
            printed[lock] += 1
            sides.add((entry["arm"], lock))
    for lock, times in printed.items():
        if times != 2 or any((arm, lock) not in sides for arm in lock.arms):
            raise UnreadableTableError(f"not printed once with each of its arms: {lock}")
    return list(printed)
