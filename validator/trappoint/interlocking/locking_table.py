"""The locking table: what each arm gives leave to do, what it needs, what it may never be off with.

The form follows the trade's locking tables: for each signal the points that it needs, and the
signals that it locks, told apart by what sees to it (conflicting locking falls out of the points;
direct locking must be added between the arms).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from trappoint.core.findings import CAUTION
from trappoint.core.quoting import listed
from trappoint.interlocking.conflicts import runs_along

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from trappoint.dimensions.longest import Longest
    from trappoint.facts.facts import Facts
    from trappoint.interlocking.conflicts import By
    from trappoint.interlocking.distants import Distant
    from trappoint.model.layout import Arm


class RouteEntry(NamedTuple):
    """One route of an arm, in the plan's own ids."""

    start: str
    """The track on which its signal stands."""
    over: tuple[str, ...]
    """The tracks that it runs over, in order."""
    ends_at: str
    """The signal at which it ends, or the track (or yard) at whose end it does.

    The held edge where it runs over no track of the plan before it leaves it there.
    """
    points: Mapping[str, str]
    """From each points or slip passed to its lie: left, right, middle, straight or slip."""
    past: tuple[str, ...] = ()
    """The shunt arms on the way, which must be off too."""


class ArmExclusion(NamedTuple):
    """An arm that may not be off with this one."""

    arm: str
    by: By
    when: Mapping[str, str] | None
    """None: never. Else only with points in these lies (a conditional lock)."""


class ArmEntry(NamedTuple):
    """One line of the table."""

    arm: str
    signal: str
    kind: str
    duties: tuple[str, ...]
    meaning: str
    routes: tuple[RouteEntry, ...]
    conflicts: tuple[ArmExclusion, ...]


class SignalEntry(NamedTuple):
    """A signal and all its duties."""

    signal: str
    duties: tuple[str, ...]


class LockingTable(NamedTuple):
    """The whole table of a plan."""

    arms: tuple[ArmEntry, ...]
    signals: tuple[SignalEntry, ...]
    holds: bool | None
    pairs_all: int
    """The pairs of stop arms; arms of other kinds are not counted here."""
    pairs_conflicting: int
    """Those of them that always conflict; conditional locks are not counted."""
    longest_train: Longest | None = None
    """The longest train for which the verdict stands; None if the plan does not hold, or where
    no length is known."""
    takes_for_granted: tuple[str, ...] = ()
    """What the verdict takes for granted, as sentences."""

    def to_json(self) -> dict[str, Any]:
        """Return the table as plain values, as ``table --format json`` prints it."""
        return {
            "arms": [_arm_to_json(entry) for entry in self.arms],
            "signals": [
                {"signal": entry.signal, "duties": list(entry.duties)} for entry in self.signals
            ],
            "holds": self.holds,
            "pairs": {"all": self.pairs_all, "conflicting": self.pairs_conflicting},
            "takes_for_granted": list(self.takes_for_granted),
            "caution": CAUTION,
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
        "routes": [_route_to_json(route) for route in entry.routes],
        "conflicts": conflicts,
    }


def _route_to_json(route: RouteEntry) -> dict[str, Any]:
    row: dict[str, Any] = {
        "from": route.start,
        "over": list(route.over),
        "ends_at": route.ends_at,
        "points": dict(route.points),
    }
    if route.past:
        row["past"] = list(route.past)
    return row


def derive_table(facts: Facts) -> LockingTable:
    """Derive the locking table of a plan."""
    arms = facts.assignment.arms
    ids = [arm.id for arm in arms]
    number_of = {(arm.signal, arm.position): number for number, arm in enumerate(arms)}
    distants = {distant.arm.id: distant for distant in facts.distants}
    entries = []
    for arm in facts.network.layout.arms():
        number = number_of.get((arm.signal, arm.position))
        if number is None:
            telling = _telling(ids, distants[arm.id])
            entries.append(ArmEntry(arm.id, arm.signal, arm.kind, (), telling, (), ()))
        else:
            entries.append(_entry(facts, arm, number, ids))
    count = sum(arm.kind == "stop" for arm in arms)
    return LockingTable(
        tuple(entries),
        tuple(SignalEntry(signal, duties) for signal, duties in facts.duties.of_signal.items()),
        facts.verdict.holds,
        count * (count - 1) // 2,
        _always_conflicting(facts),
        facts.longest_train if facts.verdict.holds else None,
        facts.takes_for_granted,
    )


def _entry(facts: Facts, arm: Arm, number: int, ids: list[str]) -> ArmEntry:
    """Return the row of an arm that has routes of its own."""
    own = facts.assignment.routes_of[number]
    routes = tuple(describe_route(facts, route) for route in own)
    return ArmEntry(
        arm.id,
        arm.signal,
        arm.kind,
        facts.duties.of_arm[number],
        _meaning(facts, arm, routes, own),
        routes,
        tuple(ArmExclusion(ids[c.other], c.by, c.when) for c in facts.conflicts[number]),
    )


def _always_conflicting(facts: Facts) -> int:
    """Count the pairs of stop arms that conflict whatever routes they speak for."""
    stops = [arm.kind == "stop" for arm in facts.assignment.arms]
    both_ways = sum(
        c.when is None and stop and stops[c.other]
        for stop, row in zip(stops, facts.conflicts, strict=True)
        for c in row
    )
    return both_ways // 2


def describe_route(facts: Facts, number: int) -> RouteEntry:
    """Put one route into the plan's own ids."""
    network, route = facts.network, facts.routes.all[number]
    head = network.heads[route.head]
    over = facts.tracks_over(number)
    last = network.place(route.path[-1])
    ends_at = _end_signal(facts, number) or (over[-1] if over and last.kind != "yards" else last.id)
    points = {network.places[place].id: lie for place, lie in route.lies.items()}
    past = tuple(_alongside(facts, number)) if route.past else ()
    return RouteEntry(head.track, tuple(over), ends_at, points, past)


def _end_signal(facts: Facts, number: int) -> str | None:
    """Return the signal at which a route ends, None if the track ends or a yard begins."""
    route = facts.routes.all[number]
    facing = facts.network.facing[route.path[-1]]
    if facing < 0 or not (route.shunting or facts.network.heads[facing].stops):
        return None
    return facts.network.heads[facing].signal


def _alongside(facts: Facts, number: int) -> Iterable[str]:
    """Yield the shunt arms that a main route passes and that speak for its own way."""
    main = facts.routes.all[number]
    for head in main.past:
        for route in facts.routes.of_kind(head, shunting=True):
            if runs_along(main, facts.routes.all[route]):
                for arm in facts.assignment.arms_for(route):
                    yield facts.assignment.arms[arm].id


def _meaning(facts: Facts, arm: Arm, entries: Iterable[RouteEntry], numbers: Iterable[int]) -> str:
    ways = [_way(facts, entry, number) for entry, number in zip(entries, numbers, strict=True)]
    if not ways:
        return "Gives leave for nothing: it speaks for no route."
    told = "; or ".join(ways)
    if arm.kind == "calling-on":
        return f"Calls a train on {told}, up to a train that may stand there."
    return f"Gives leave to {'shunt' if arm.kind == 'shunt' else 'run'} {told}."


def _way(facts: Facts, entry: RouteEntry, number: int) -> str:
    network, last = facts.network, facts.routes.all[number].path[-1]
    tracks = [_with_platform(facts, track) for track in entry.over]
    if network.place(last).kind == "yards":
        goal = f"into yard {entry.ends_at}"
        over = tracks
    elif not tracks:
        goal, over = f"off the plan at {entry.ends_at}", tracks
    elif _end_signal(facts, number) is not None:
        goal = f"to {tracks[-1]}, as far as signal {entry.ends_at}"
        over = tracks[:-1]
    else:
        goal = f"to the end of {tracks[-1]}"
        over = tracks[:-1]
    if over and entry.over[0] == entry.start:
        del over[0]
    way = f" over {', '.join(over)}" if over else ""
    return f"from {starting_from(facts, entry)}{way} {goal}"


def starting_from(facts: Facts, entry: RouteEntry) -> str:
    """Name where a route begins: the track of its signal, or the yard that the track is in."""
    yard = facts.yard_of_track.get(entry.start)
    return f"yard {yard}" if yard is not None else entry.start


def _with_platform(facts: Facts, track: str) -> str:
    platforms = facts.platforms_at.get(track)
    if not platforms:
        return track
    return f"{track} (platform {' and '.join(platforms)})"


def _telling(ids: list[str], distant: Distant) -> str:
    if not distant.repeats:
        return "Tells nothing beforehand: no stop arm ahead is named."
    told = listed([ids[number] for number in distant.repeats], "and")
    above = f", and {ids[distant.above]} above it," if distant.above >= 0 else ""
    if len(distant.repeats) == 1 and not above:
        return f"Tells beforehand that {told} is off."
    return f"Tells beforehand that {told}{above} are off on the road that is set."
