"""The locking table: what each arm gives leave to do, what it needs, what it may never be off with.

The form follows the trade's locking tables: for each signal the points that it needs, and the
signals that it locks, told apart by what sees to it (conflicting locking falls out of the points;
direct locking must be added between the arms).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from trappoint.conflicts import By
    from trappoint.facts import Facts
    from trappoint.layout import Arm


@dataclass(frozen=True, slots=True)
class RouteEntry:
    """One route of an arm, in the plan's own ids."""

    start: str
    """The track on which its signal stands."""
    over: tuple[str, ...]
    """The tracks that it runs over, in order."""
    ends_at: str
    """The signal at which it ends, or the track (or yard) at whose end it does."""
    points: Mapping[str, str]
    """From each points or slip passed to its lie: left, right, middle, straight or slip."""


@dataclass(frozen=True, slots=True)
class Conflict:
    """An arm that may not be off with this one."""

    arm: str
    by: By
    when: Mapping[str, str] | None
    """None: never. Else only with points in these lies (a conditional lock)."""


@dataclass(frozen=True, slots=True)
class ArmEntry:
    """One line of the table."""

    arm: str
    signal: str
    kind: str
    duties: tuple[str, ...]
    meaning: str
    routes: tuple[RouteEntry, ...]
    conflicts: tuple[Conflict, ...]


@dataclass(frozen=True, slots=True)
class SignalEntry:
    """A signal and all its duties."""

    signal: str
    duties: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LockingTable:
    """The whole table of a plan."""

    arms: tuple[ArmEntry, ...]
    signals: tuple[SignalEntry, ...]
    holds: bool | None
    pairs_all: int
    """The pairs of stop arms."""
    pairs_conflicting: int
    """Those of them that always conflict; conditional locks are not counted."""

    def to_json(self) -> dict[str, Any]:
        """Return the table as plain values, as ``table --format json`` prints it."""
        return {
            "arms": [_arm_to_json(entry) for entry in self.arms],
            "signals": [
                {"signal": entry.signal, "duties": list(entry.duties)} for entry in self.signals
            ],
            "holds": self.holds,
            "pairs": {"all": self.pairs_all, "conflicting": self.pairs_conflicting},
        }


def _arm_to_json(entry: ArmEntry) -> dict[str, Any]:
    conflicts = []
    for conflict in entry.conflicts:
        row: dict[str, Any] = {"arm": conflict.arm, "by": conflict.by}
        if conflict.when is not None:
            row["when"] = dict(conflict.when)
        conflicts.append(row)
    return {
        "arm": entry.arm,
        "signal": entry.signal,
        "kind": entry.kind,
        "duties": list(entry.duties),
        "meaning": entry.meaning,
        "routes": [
            {
                "from": route.start,
                "over": list(route.over),
                "ends_at": route.ends_at,
                "points": dict(route.points),
            }
            for route in entry.routes
        ],
        "conflicts": conflicts,
    }


def derive_table(facts: Facts) -> LockingTable:
    """Derive the locking table of a plan."""
    assignment, conflicts = facts.assignment, facts.conflicts
    ids = [arm.id for arm in assignment.arms]
    number_of = {(arm.signal, arm.index): number for number, arm in enumerate(assignment.arms)}
    entries = []
    for arm in facts.layout.arms():
        number = number_of.get((arm.signal, arm.index))
        if number is None:
            entries.append(ArmEntry(arm.id, arm.signal, arm.kind, (), _telling(arm), (), ()))
            continue
        routes = tuple(describe_route(facts, route) for route in assignment.routes_of[number])
        entries.append(
            ArmEntry(
                arm.id,
                arm.signal,
                arm.kind,
                facts.duties.of_arm[number],
                _meaning(facts, routes, assignment.routes_of[number]),
                routes,
                tuple(Conflict(ids[c.other], c.by, c.when) for c in conflicts[number]),
            )
        )
    count = len(ids)
    always = sum(c.when is None for row in conflicts for c in row)
    return LockingTable(
        tuple(entries),
        tuple(SignalEntry(signal, duties) for signal, duties in facts.duties.of_signal.items()),
        facts.verdict.holds,
        count * (count - 1) // 2,
        always // 2,
    )


def describe_route(facts: Facts, number: int) -> RouteEntry:
    """Put one route into the plan's own ids."""
    network, route = facts.network, facts.routes.all[number]
    head = network.heads[route.head]
    over: list[str] = []
    for state in route.path:
        place = network.place(state)
        if place.kind == "section" and over[-1:] != [place.id]:
            over.append(place.id)
    last = route.path[-1]
    facing = network.facing[last]
    ends_at = network.heads[facing].signal if facing >= 0 else network.place(last).id
    points = {network.places[place].id: lie for place, lie in route.lies.items()}
    return RouteEntry(head.track, tuple(over), ends_at, points)


def _meaning(facts: Facts, entries: Iterable[RouteEntry], numbers: Iterable[int]) -> str:
    ways = [
        _way(facts, entry, facts.routes.all[number].path[-1])
        for entry, number in zip(entries, numbers, strict=True)
    ]
    if not ways:
        return "Gives leave for nothing: it speaks for no route."
    return f"Gives leave to run {'; or '.join(ways)}."


def _way(facts: Facts, entry: RouteEntry, last: int) -> str:
    network = facts.network
    tracks = [_with_platform(facts, track) for track in entry.over]
    if network.place(last).kind == "yards":
        goal = f"into yard {entry.ends_at}"
        over = tracks
    elif network.facing[last] >= 0:
        goal = f"to {tracks[-1]}, as far as signal {entry.ends_at}"
        over = tracks[:-1]
    else:
        goal = f"to the end of {tracks[-1]}"
        over = tracks[:-1]
    way = f" over {', '.join(over)}" if over else ""
    return f"from {entry.start}{way} {goal}"


def _with_platform(facts: Facts, track: str) -> str:
    platforms = [p.id for p in facts.layout.platforms.values() if track in p.tracks]
    if not platforms:
        return track
    return f"{track} (platform {' and '.join(platforms)})"


def _telling(arm: Arm) -> str:
    if arm.kind == "distant":
        if arm.repeats:
            return f"Tells beforehand whether {' and '.join(arm.repeats)} may be passed."
        return "Tells beforehand whether the stop signals ahead may be passed."
    if arm.kind == "calling-on":
        return "Calls a train on towards one that stands ahead, at walking pace."
    return "Gives leave to shunt."
