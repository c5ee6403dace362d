"""The locking table: for each arm its routes, the points they need, and the arms it excludes.

It has the form of the trade's locking tables: each signal with the points that it needs and the
signals that it locks. Two arms that need the same points in different lies exclude each other
through the points; all others need direct locking between the arms.
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
    """The tracks of the route, in order."""
    ends_at: str
    """The signal at which the route ends, or the track or yard in which it ends.

    A route that leaves the plan before its first track ends at the held edge.
    """
    points: Mapping[str, str]
    """The lie of each points or slip on the route: left, right, middle, straight or slip."""
    past: tuple[str, ...] = ()
    """The shunt arms along the route, which must be off too."""


class ArmExclusion(NamedTuple):
    """An arm that must not be off together with this one."""

    arm: str
    by: By
    when: Mapping[str, str] | None
    """The lies of points in which the two conflict (a conditional lock); None: in all lies."""
    called: Mapping[str, str] | None = None
    """The names of these points, each with its id, by id; None: in all lies."""


class ArmEntry(NamedTuple):
    """One row of the table."""

    arm: str
    signal: str
    kind: str
    duties: tuple[str, ...]
    meaning: str
    routes: tuple[RouteEntry, ...]
    conflicts: tuple[ArmExclusion, ...]
    name: str = ""
    """The name of the arm or of its signal; empty if the plan gives none."""


class SignalEntry(NamedTuple):
    """A signal and all its duties."""

    signal: str
    duties: tuple[str, ...]
    name: str = ""
    """The name of the signal; empty if the plan gives none."""


class LockingTable(NamedTuple):
    """The locking table of a plan."""

    arms: tuple[ArmEntry, ...]
    signals: tuple[SignalEntry, ...]
    holds: bool | None
    pairs_all: int
    """The number of pairs of stop arms."""
    pairs_conflicting: int
    """The number of those pairs that conflict in all lies."""
    longest_train: Longest | None = None
    """The longest train that the verdict covers; None if the plan does not hold, or gives no
    lengths."""
    takes_for_granted: tuple[str, ...] = ()
    """The assumptions of the verdict, as sentences."""
    levers: bool = False
    """Whether the plan has levers, whose locking prevents the direct conflicts."""

    def to_json(self) -> dict[str, Any]:
        """Return the table as plain values, as ``table --format json`` prints it."""
        return {
            "arms": [_arm_to_json(entry) for entry in self.arms],
            "signals": [
                {"signal": entry.signal, "duties": list(entry.duties)} for entry in self.signals
            ],
            "holds": self.holds,
            "levers": self.levers,
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
            meaning = _meaning_of_distant(ids, distants[arm.id])
            name = facts.names.name("arms", arm.id)
            entries.append(ArmEntry(arm.id, arm.signal, arm.kind, (), meaning, (), (), name))
        else:
            entries.append(_entry(facts, arm, number, ids))
    count = sum(arm.kind == "stop" for arm in arms)
    return LockingTable(
        tuple(entries),
        tuple(
            SignalEntry(signal, duties, facts.names.name("signals", signal))
            for signal, duties in facts.duties.of_signal.items()
        ),
        facts.verdict.holds,
        count * (count - 1) // 2,
        _always_conflicting(facts),
        facts.longest_train if facts.verdict.holds else None,
        facts.takes_for_granted,
        bool(facts.network.layout.levers),
    )


def _called(facts: Facts, when: Mapping[str, str] | None) -> dict[str, str] | None:
    """Return the names of points and slips with their ids, by id."""
    if when is None:
        return None
    points = facts.network.layout.points
    return {
        switch: facts.names.called("points" if switch in points else "crossings", switch)
        for switch in when
    }


def _entry(facts: Facts, arm: Arm, number: int, ids: list[str]) -> ArmEntry:
    """Return the row of an arm that gives leave for routes."""
    own = facts.assignment.routes_of[number]
    routes = tuple(describe_route(facts, route) for route in own)
    return ArmEntry(
        arm.id,
        arm.signal,
        arm.kind,
        facts.duties.of_arm[number],
        _meaning(facts, arm, routes, own),
        routes,
        tuple(
            ArmExclusion(ids[c.other], c.by, c.when, _called(facts, c.when))
            for c in facts.conflicts[number]
        ),
        facts.names.name("arms", arm.id),
    )


def _always_conflicting(facts: Facts) -> int:
    """Count the pairs of stop arms that conflict on all their routes."""
    stops = [arm.kind == "stop" for arm in facts.assignment.arms]
    both_ways = sum(
        c.when is None and stop and stops[c.other]
        for stop, row in zip(stops, facts.conflicts, strict=True)
        for c in row
    )
    return both_ways // 2


def describe_route(facts: Facts, number: int) -> RouteEntry:
    """Return one route in the ids of the plan."""
    network, route = facts.network, facts.routes.all[number]
    head = network.heads[route.head]
    over = facts.tracks_over(number)
    last = network.place(route.path[-1])
    ends_at = _end_signal(facts, number) or (over[-1] if over and last.kind != "yards" else last.id)
    points = {network.places[place].id: lie for place, lie in route.lies.items()}
    past = tuple(_alongside(facts, number)) if route.past else ()
    return RouteEntry(head.track, tuple(over), ends_at, points, past)


def _end_signal(facts: Facts, number: int) -> str | None:
    """Return the signal at which a route ends; None if it ends at a track's end or in a yard."""
    route = facts.routes.all[number]
    facing = facts.network.facing[route.path[-1]]
    if facing < 0 or not (route.shunting or facts.network.heads[facing].stops):
        return None
    return facts.network.heads[facing].signal


def _alongside(facts: Facts, number: int) -> Iterable[str]:
    """Yield the shunt arms that a main route passes and that give leave along it."""
    main = facts.routes.all[number]
    for head in main.past:
        for route in facts.routes.of_kind(head, shunting=True):
            if runs_along(main, facts.routes.all[route]):
                for arm in facts.assignment.arms_for(route):
                    yield facts.assignment.arms[arm].id


def _meaning(facts: Facts, arm: Arm, entries: Iterable[RouteEntry], numbers: Iterable[int]) -> str:
    ways = [_way(facts, entry, number) for entry, number in zip(entries, numbers, strict=True)]
    if not ways:
        return "Gives leave for no route."
    text = "; or ".join(ways)
    if arm.kind == "calling-on":
        return f"Calls a train on {text}, up to a train that may stand there."
    return f"Gives leave to {'shunt' if arm.kind == 'shunt' else 'run'} {text}."


def _way(facts: Facts, entry: RouteEntry, number: int) -> str:
    network, last = facts.network, facts.routes.all[number].path[-1]
    tracks = [_track(facts, track) for track in entry.over]
    if network.place(last).kind == "yards":
        goal = f"into {facts.names.thing('yards', entry.ends_at)}"
        over = tracks
    elif not tracks:
        goal, over = f"off the plan at {facts.names.called('edges', entry.ends_at)}", tracks
    elif _end_signal(facts, number) is not None:
        goal = f"to {tracks[-1]}, as far as {facts.names.thing('signals', entry.ends_at)}"
        over = tracks[:-1]
    else:
        goal = f"to the end of {tracks[-1]}"
        over = tracks[:-1]
    if over and entry.over[0] == entry.start:
        del over[0]
    way = f" over {', '.join(over)}" if over else ""
    return f"from {starting_from(facts, entry)}{way} {goal}"


def starting_from(facts: Facts, entry: RouteEntry) -> str:
    """Return where a route begins: the track of its signal, or the yard that has this track."""
    yard = facts.yard_of_track.get(entry.start)
    if yard is not None:
        return facts.names.thing("yards", yard)
    return facts.names.called("tracks", entry.start)


def _track(facts: Facts, track: str) -> str:
    """Return a track by name and id, with the platforms beside it."""
    called = facts.names.called("tracks", track)
    platforms = facts.platforms_at.get(track)
    if not platforms:
        return called
    beside = f"platform {' and '.join(platforms)}"
    return f"{called[:-1]}, {beside})" if called != track else f"{track} ({beside})"


def _meaning_of_distant(ids: list[str], distant: Distant) -> str:
    if not distant.repeats:
        return "Repeats no stop arm: none ahead is named."
    repeats = listed([ids[number] for number in distant.repeats], "and")
    above = f", and {ids[distant.above]} above it," if distant.above >= 0 else ""
    if len(distant.repeats) == 1 and not above:
        return f"Shows in advance that {repeats} is off."
    return f"Shows in advance that {repeats}{above} are off on the road that is set."
