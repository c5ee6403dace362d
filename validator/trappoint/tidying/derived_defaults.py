"""The defaults of an arm that follow from the track and the signals around: ``to``, ``repeats``.

A plan whose roads lead out may be the plan of a board. Those roads continue in the whole, so this
module yields no default that joining the board could change.
"""

from __future__ import annotations

from copy import deepcopy
from typing import TYPE_CHECKING, Any

from trappoint.facts.facts import Facts
from trappoint.interlocking.distants import states_before_stop
from trappoint.model.building import build_layout
from trappoint.tidying.defaults import Default

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from trappoint.interlocking.distants import Distant
    from trappoint.model.layout import Arm, Head

Data = dict[str, Any]

MAX_NAMES = 12
"""Number of tracks, counted from the end of a route, that are tried as its name."""

MAX_OTHERS = 100
"""Most routes of a signal whose arms get a default ``to``."""


def spoken_defaults(data: Data, facts: Facts) -> Iterator[Default]:
    """Yield the defaults of ``to`` and ``repeats`` of arms; ``facts`` must be those of ``data``."""
    if facts.beyond_limits:
        return
    yield from _ArmRoads(data, facts).defaults()
    yield from _repeats(data, facts)


def _without(data: Data, key: str) -> Facts:
    """Return the facts of the plan after removing this key from every arm."""
    bare = deepcopy(data)
    for signal in bare.get("signals", {}).values():
        for arm in signal["arms"]:
            arm.pop(key, None)
    return Facts(build_layout(bare))


class _ArmRoads:
    """The routes that each arm gives leave for, with and without its ``to``."""

    def __init__(self, data: Data, facts: Facts) -> None:
        self.facts = facts
        self.unsaid = _without(data, "to").assignment.routes_of
        self._over: dict[int, dict[str, None]] = {}

    def defaults(self) -> Iterator[Default]:
        """Yield the defaults of ``to``."""
        assignment = self.facts.assignment
        for number, arm in enumerate(assignment.arms):
            spoken = assignment.routes_of[number]
            head = assignment.head_of[number]
            if (
                head < 0
                or arm.elsewhere
                or not spoken
                or self._spoken_twice(number)
                or self._open(number)
            ):
                continue
            path = ("signals", arm.signal, "arms", arm.position)
            if arm.to:
                yield Default(path, "to", None, self._by_itself(number) == spoken)
            elif len(spoken) == 1 and len(self._own(number)) <= MAX_OTHERS:
                to = self._name(spoken[0], self._own(number))
                if to is not None:
                    yield Default(path, "to", to, said=False)

    def _own(self, number: int) -> list[int]:
        """Return the numbers of all routes from the arm's signal for arms of its kind."""
        assignment = self.facts.assignment
        shunting = assignment.arms[number].kind == "shunt"
        return self.facts.routes.of_kind(assignment.head_of[number], shunting=shunting)

    def _beside(self, number: int) -> tuple[Arm, ...]:
        assignment = self.facts.assignment
        head: Head = self.facts.network.heads[assignment.head_of[number]]
        return head.arms_of(assignment.arms[number].kind)

    def _by_itself(self, number: int) -> tuple[int, ...]:
        """Return the numbers of the routes that an arm would give leave for without ``to``."""
        arm = self.facts.assignment.arms[number]
        if arm.kind == "calling-on" and arm.under:
            above = self.facts.arm_number.get(arm.under)
            if above is not None and self.facts.assignment.arms[above] in self._stops(number):
                return self.facts.assignment.routes_of[above]
        return self.unsaid[number]

    def _stops(self, number: int) -> tuple[Arm, ...]:
        head: Head = self.facts.network.heads[self.facts.assignment.head_of[number]]
        return head.arms_of("stop")

    def _spoken_twice(self, number: int) -> bool:
        """Return whether another arm gives leave for one of the same routes, which is a finding."""
        assignment = self.facts.assignment
        calling_on = assignment.arms[number].kind == "calling-on"
        for route in assignment.routes_of[number]:
            alike = [
                other
                for other in assignment.speaking[route]
                if (assignment.arms[other].kind == "calling-on") == calling_on
            ]
            if len(alike) > 1:
                return True
        return False

    def _open(self, number: int) -> bool:
        """Return whether the arm is one of several whose roads lead out of the plan.

        In a whole these roads may part again; then their order from left to right is not known.
        """
        return len(self._beside(number)) > 1 and any(
            leads_out(self.facts, self.facts.routes.all[route].path[-1])
            for route in self._own(number)
        )

    def _name(self, route: int, own: list[int]) -> str | list[str] | None:
        """Return the last track, or else pair of tracks, that no other route has; None if none."""
        mine = list(reversed(self._tracks(route)))[:MAX_NAMES]
        rest = [self._tracks(other).keys() for other in own if other != route]
        for track in mine:
            if not any(track in other for other in rest):
                return track
        for place, last in enumerate(mine):
            for track in mine[place + 1 :]:
                if not any({track, last} <= other for other in rest):
                    return [track, last]
        return None

    def _tracks(self, route: int) -> dict[str, None]:
        """Return the tracks of a route, in order, with all tracks of a yard that it enters."""
        if route not in self._over:
            found: dict[str, None] = {}
            for state in self.facts.routes.all[route].path:
                place = self.facts.network.place(state)
                if place.kind == "section":
                    found.update(dict.fromkeys(self.facts.network.tracks_run(state)))
                elif place.kind == "yards":
                    found.update(dict.fromkeys(self.facts.layout.yards[place.id].tracks))
            # An id that is also the id of a yard would be ambiguous.
            yards = self.facts.layout.yards
            self._over[route] = {track: None for track in found if track not in yards}
        return self._over[route]


def leads_out(facts: Facts, state: int) -> bool:
    """Return whether a train in this state can run out of the plan."""
    network, tracks = facts.network, facts.network.layout.tracks
    place, heading = network.place(state), network.heading(state)
    if place.kind == "yards":
        members = [facts.layout.tracks[name] for name in facts.layout.yards[place.id].tracks]
        return any(end.kind == "edge" for track in members for end in (track.up, track.down))
    if heading is None or not network.terminal[state]:
        return False
    piece, own = network.last_piece(state)
    return tracks[piece.track].end(own).kind == "edge"


# --- distants


def _repeats(data: Data, facts: Facts) -> Iterator[Default]:
    if not facts.distants:
        return
    unsaid = _without(data, "repeats").distants
    for distant, alone in zip(facts.distants, unsaid, strict=True):
        if not alone.repeats or any(leads_out(facts, state) for state in _ahead(facts, alone)):
            continue
        arm = distant.arm
        named = tuple(facts.assignment.arms[number].id for number in alone.repeats)
        if len(set(named)) < len(named):
            continue
        value = named[0] if len(named) == 1 else list(named)
        yield Default(
            ("signals", arm.signal, "arms", arm.position), "repeats", value, arm.repeats == named
        )


def _ahead(facts: Facts, distant: Distant) -> Iterable[int]:
    """Return the states that a train can reach from a distant, up to the next stop signals.

    The states before the last one on the way to a stop signal may be missing.
    """
    arm = distant.arm
    routes: Iterable[int]
    if distant.above >= 0:
        routes = facts.assignment.routes_of[distant.above]
    else:
        own = facts.head_number.get((arm.signal, arm.track, arm.heading, arm.at_mm), -1)
        if own < 0:
            start = facts.network.section_state(arm.track, arm.heading, arm.at_mm)
            return [] if start is None else states_before_stop(facts, start)
        routes = facts.routes.of_kind(own, shunting=False)
    return [facts.routes.all[route].path[-1] for route in routes]
