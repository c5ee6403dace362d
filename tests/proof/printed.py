"""The locking table as ``trappoint table --format json`` prints it, laid upon the plan's ground.

The table says which arm gives leave for which ways and which arms may never be off together. What
it does not say is read from nowhere else: a conflict that is missing in it is missing in the proof.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import Any

from proof.roads import GIVES_LEAVE, Lies, Roads, Route, without_repeats

Table = dict[str, Any]
Arms = tuple[str, str]
LEAVE = ("stop", "shunt")


class UnreadableTableError(AssertionError):
    """A row of the table is no way on the plan, or a conflict is not told with both arms."""


class SilentRouteError(AssertionError):
    """No arm speaks for a way on the plan, so that the table does not tell the whole of it."""


@dataclass(frozen=True)
class Grant:
    """One route of one arm."""

    arm: str
    route: Route
    past: frozenset[str]
    """The shunt arms that the table says it passes."""


@dataclass(frozen=True)
class Lock:
    """One conflict of the table: two arms, what sees to it, and with which lies (None: always)."""

    arms: Arms
    by: str
    when: tuple[tuple[str, str], ...] | None

    def fits(self, one: Lies, other: Lies) -> bool:
        """Whether it speaks of two routes with these lies."""
        return all(lie in (one.get(name), other.get(name)) for name, lie in self.when or ())


class Printed:
    """A table and the plan that it is for."""

    def __init__(self, roads: Roads, table: Table) -> None:
        self.roads = roads
        kinds = {entry["arm"]: entry["kind"] for entry in table["arms"]}
        found = _read_grants(roads, table)
        self.grants = [grant for grant in found if kinds[grant.arm] in LEAVE]
        self.called = [grant for grant in found if kinds[grant.arm] == "calling-on"]
        """What calling-on arms give leave for: nothing for the proof, where no train is run up to
        another one on purpose, but they have conflicts in the table too."""
        self.locks: dict[Arms, list[Lock]] = {}
        for lock in _read_locks(table):
            self.locks.setdefault(lock.arms, []).append(lock)
        self._levers: dict[tuple[tuple[str, str], ...], dict[str, str]] = {}

    def without(self, *arms: str) -> Printed:
        """The same table without what it says of two arms."""
        other = Printed.__new__(Printed)
        other.__dict__.update(self.__dict__)
        other.locks = {pair: rows for pair, rows in self.locks.items() if pair != _pair(*arms)}
        return other

    def lie_differently(self, one: Grant, other: Grant) -> bool:
        """Whether two routes need a lever in two ways, by the lies that the table gives them."""
        first, second = self._worked(one), self._worked(other)
        return any(second.get(lever, how) != how for lever, how in first.items())

    def _worked(self, grant: Grant) -> dict[str, str]:
        lies = grant.route.lies
        if lies not in self._levers:
            self._levers[lies] = self.roads.levers_of(dict(lies)) or {}
        return self._levers[lies]

    def forbidding(self, one: Grant, other: Grant) -> list[Lock]:
        """The conflicts in the table that keep these two routes from being given together."""
        first, second = dict(one.route.lies), dict(other.route.lies)
        differ = self.lie_differently(one, other)
        found = []
        for lock in self.locks.get(_pair(one.arm, other.arm), ()):
            # A condition says when: by points, where they can not lie for both; direct, where they
            # can. What it is of two routes that it is not meant for, the lies alone decide.
            meant = lock.when is None or differ is (lock.by == "points")
            if meant and lock.fits(first, second):
                found.append(lock)
        return found

    def forbidden(self, one: Grant, other: Grant) -> bool:
        """Whether these two routes are never given together: by the table, or points, or lever."""
        # An arm that is off for one train is not off for another one, be it alone or on the way.
        if one.arm in {other.arm, *other.past} or other.arm in one.past:
            return True
        return bool(self.forbidding(one, other)) or self.lie_differently(one, other)


def _pair(one: str, other: str) -> Arms:
    return (one, other) if one < other else (other, one)


Row = tuple[str, tuple[str, ...], str, tuple[tuple[str, str], ...]]


def _read_grants(roads: Roads, table: Table) -> list[Grant]:
    """Each row of the table is a way on the plan, and each way but into a trap road is a row."""
    rows: dict[tuple[str, Row], frozenset[str]] = {}
    counts: Counter[tuple[str, Row]] = Counter()
    for entry in table["arms"]:
        for row in entry["routes"]:
            told = (
                row["from"],
                without_repeats(row["over"]),
                row["ends_at"],
                tuple(sorted(row["points"].items())),
            )
            rows[entry["arm"], told] = frozenset(row.get("past", ()))
            counts[entry["arm"], told] += 1
    grants = []
    for route in roads.routes():
        told = (route.head.track, route.over, route.ends_at, route.lies)
        of_kind = {arm: kind for arm, kind in route.head.arms if GIVES_LEAVE[kind] == route.kind}
        speaking = [arm for arm in of_kind if (arm, told) in rows]
        last = roads.track_of.get(route.path[-1][0])
        trapped = last is not None and roads.is_trap_road(last)
        if not trapped and all(of_kind[arm] not in LEAVE for arm in speaking):
            raise SilentRouteError(f"no arm speaks for {told}")
        for arm in speaking:
            grants.append(Grant(arm, route, rows[arm, told]))
            counts[arm, told] -= 1
    if any(counts.values()):
        wrong = {row: number for row, number in counts.items() if number}
        raise UnreadableTableError(f"not as often on the plan as in the table: {wrong}")
    return grants


def _read_locks(table: Table) -> list[Lock]:
    """Every conflict once; it must be printed with both of its arms."""
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
