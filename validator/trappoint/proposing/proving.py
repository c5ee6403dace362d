"""The full verdict on a choice, and the needs that follow from it.

A movement by which two trains meet is one on every plan on which it meets the same signals: all
posts on the tracks that it runs over, and beside the joints at their ends, have a say in it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.proposing.need import Need
from trappoint.topology.sections import joint_partners
from trappoint.verdict.free_runs import NOTHING, FreeMoves, path_back
from trappoint.verdict.guards import unguarded

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from trappoint.proposing.choice import Choice
    from trappoint.topology.network import Network
    from trappoint.verdict.movements import Movement
    from trappoint.verdict.verdict import Failure


class Proof(NamedTuple):
    """The verdict on a choice."""

    needs: list[Need]
    """The unmet needs; empty if the plan holds."""
    sure: bool
    """False if no movement is known; the plan may then hold without the need."""


def prove(choice: Choice) -> Proof:
    """Return the verdict on a choice with its unmet needs."""
    verdict = choice.facts.verdict
    if verdict.holds:
        return Proof([], True)
    sides = _Sides(choice)
    movements = [failure.movement for failure in verdict.failures if failure.movement is not None]
    if movements:
        open_traps = _why_open(choice)
        return Proof([_by_movement(sides, movement, open_traps) for movement in movements], True)
    return Proof([_by_the_run(choice, failure) for failure in verdict.failures], False)


class _Sides:
    """From each place to the posts that affect it."""

    def __init__(self, choice: Choice) -> None:
        self.choice = choice
        partners = joint_partners(choice.ground.bare)
        self.of_track: dict[str, set[int]] = {}
        for spot, numbers in choice.ground.spots.items():
            self.of_track.setdefault(spot.track, set()).update(numbers)
            beyond = partners.get((spot.track, spot.heading))
            if beyond is not None:
                self.of_track.setdefault(beyond[0], set()).update(numbers)

    def need(self, places: Iterable[int], where: str) -> Need:
        """Return the need for a change at one of these places."""
        net, posts = self.choice.net, set[int]()
        for place in places:
            for piece in net.pieces.get(place, ()):
                posts |= self.of_track.get(piece.track, set())
            if net.places[place].kind == "yards":
                for track in net.tracks_of(place):
                    posts |= self.of_track.get(track, set())
        return Need(
            frozenset(number for number in posts if not self.choice.standing[number]),
            self.choice.free(number for number in posts if self.choice.standing[number]),
            where,
        )


def _by_movement(sides: _Sides, movement: Movement, open_traps: set[int]) -> Need:
    """Return the changes that make a movement impossible."""
    net = sides.choice.net
    names = {name for name in movement.starts if name is not None}
    names |= {step.to for step in movement.steps if step.to is not None}
    names |= {name for step in movement.steps for name in step.over}
    places = {number for number, place in enumerate(net.places) if place.name in names}
    return sides.need(places | open_traps, f"{movement.steps[0].to} > {movement.meets_at}")


def _why_open(choice: Choice) -> set[int]:
    """Return the places that show why trap groups do not guard; empty if all of them do.

    A train runs freely up to the group while a route has it reversed.
    """
    net, routes, together = choice.net, choice.routes, choice.facts.together
    guards, found = dict(together.traps), set[int]()
    while guards:
        failing = list(unguarded(net, together, routes, guards))
        if not failing:
            break
        moves = FreeMoves(net, together, guards)
        came_from = moves.run(begins(net), NOTHING)
        for _, before, number in failing:
            found |= _places_of(choice, number)
            for state in came_from:
                # By every way to it, and by every way into it.
                if any(net.place_of[to] == before for to in (state, *moves.onward(state, NOTHING))):
                    found.add(net.place_of[state])
                    found.update(net.place_of[passed] for passed in path_back(came_from, state))
                    found.update(net.place_of[s] for s in _start_of(came_from, state))
            for other in routes.having[before]:
                found |= _places_of(choice, other)
        guards = {lever: guards[lever] for lever in guards.keys() - {each[0] for each in failing}}
    return found


def _places_of(choice: Choice, number: int) -> set[int]:
    route = choice.routes.all[number]
    return {*route.places, choice.net.place_of[choice.net.held_at[route.head]]}


def _start_of(came_from: Mapping[int, int], state: int) -> tuple[int]:
    while came_from[state] >= 0:
        state = came_from[state]
    return (state,)


def begins(net: Network) -> list[int]:
    """Return the states in which trains begin: at stands and edges."""
    states = [state for stand in net.stands for state in stand.states]
    return [*states, *(entry.state for entry in net.entries)]


def _by_the_run(choice: Choice, failure: Failure) -> Need:
    """Return a need that closes a free run. It is not certain: a plan might hold without it."""
    start = choice.states_of(failure.run.start)[-1]
    missing: set[int] = set()
    for reach in choice.reaches:
        if reach.start == start:
            missing.update(*reach.missing.values())
    gone = {
        choice.ground.number[arm.signal]
        for head in choice.net.heads
        for arm in head.arms
        if arm.signal in choice.ground.number
    }
    free = choice.free(missing)
    return Need(
        free, frozenset() if free else choice.free(gone), choice.net.place(failure.run.start).name
    )
