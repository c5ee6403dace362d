"""Duties: what each signal and each of its arms is there for, derived from the track."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from trappoint.model.layout import HOLDING

if TYPE_CHECKING:
    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Head

DUTY_WORDS = ("starter", "home", "junction", "protects", "holds")
"""The duties in the order in which they are told.

``starter platform P``: the first stop signal before a train that leaves platform P.
``home platform P``: it gives leave to run in to platform P. Discs and shunt arms are neither.
``junction X``: its routes part at the points or slip X.
``protects X``: its routes run over the points, crossing or turntable X.
``holds T``: a train that stands on track T, or in yard T, is held at it.
"""


Served = dict[str, list[tuple[int, str]]]
"""From each track to the platforms beside it, each after its place in the plan."""


@dataclass(slots=True)
class Duties:
    """The duties by signal, and by arm that gives leave (its number)."""

    of_signal: dict[str, tuple[str, ...]] = field(default_factory=dict)
    of_arm: list[tuple[str, ...]] = field(default_factory=list)


def derive_duties(facts: Facts) -> Duties:
    """Derive the duties of every signal and of every arm that gives leave."""
    served = _served(facts)
    starters = _starters(facts, served)
    junctions: dict[tuple[int, str], dict[str, None]] = {}
    gathered: dict[str, list[str]] = {signal: [] for signal in facts.layout.signals}
    result = Duties()
    for number, head in enumerate(facts.network.heads):
        if head.elsewhere:
            continue  # What it is there for on its own board is for that board to say.
        first = starters.get(number, [])
        for signal, kinds in _signals_at(head).items():
            own = tuple(
                route
                for route in facts.routes.of_head[number]
                if facts.routes.all[route].needs_arm and facts.routes.all[route].shunting in kinds
            )
            found = first if False in kinds else []
            parting = junctions[number, signal] = _junctions(facts, own)
            gathered[signal] += _duties_of(facts, number, own, found, served, parting)
    assignment = facts.assignment
    for arm, number, routes in zip(
        assignment.arms, assignment.head_of, assignment.routes_of, strict=True
    ):
        if number < 0:  # a calling-on arm with no stop arm: it is there for nothing
            result.of_arm.append(())
            continue
        first = starters.get(number, [])
        parting = junctions.get((number, arm.signal), {})
        duties = _duties_of(facts, number, routes, first, served, parting)
        result.of_arm.append(_in_order(duties))
    result.of_signal = {signal: _in_order(duties) for signal, duties in gathered.items()}
    return result


def _signals_at(head: Head) -> dict[str, set[bool]]:
    """Return the signals at a head, each with the kinds of its routes: shunt routes or others."""
    found: dict[str, set[bool]] = {}
    for arm in head.arms:
        if arm.kind in HOLDING:
            found.setdefault(arm.signal, set()).add(arm.kind == "shunt")
    return found


def _in_order(duties: list[str]) -> tuple[str, ...]:
    unique = list(dict.fromkeys(duties))
    return tuple(sorted(unique, key=lambda duty: DUTY_WORDS.index(duty.split(" ", 1)[0])))


def _starters(facts: Facts, served: Served) -> dict[int, list[str]]:
    """For each head the platforms whose trains meet it first when they leave."""
    network = facts.network
    found: dict[int, list[str]] = {}
    for run in facts.free_runs:
        if run.stand < 0:
            continue
        tracks = network.tracks_of(network.stands[run.stand].place)
        beside = {each for track in tracks for each in served.get(track, ())}
        for _, platform in sorted(beside):
            for state in run.came_from:
                if network.facing[state] >= 0:
                    found.setdefault(network.facing[state], []).append(platform)
    return found


def _served(facts: Facts) -> Served:
    served: Served = {}
    for index, platform in enumerate(facts.layout.platforms.values()):
        for track in platform.tracks:
            served.setdefault(track, []).append((index, platform.id))
    return served


def _duties_of(
    facts: Facts,
    number: int,
    routes: tuple[int, ...],
    starter_of: list[str],
    served: Served,
    junctions: dict[str, None],
) -> list[str]:
    network, head = facts.network, facts.network.heads[number]
    # Discs and shunt arms are there for shunting: the trade calls none of them home or starter.
    for_trains = head.stops and network.layout.signals[head.signal].form != "disc"
    duties = [f"starter platform {platform}" for platform in starter_of if for_trains]
    places = {place for route in routes for place in facts.routes.all[route].places}
    tracks = {piece.track for place in places for piece in network.pieces.get(place, ())}
    homes = {beside for track in tracks for beside in served.get(track, ())} if for_trains else ()
    duties += [f"home platform {platform}" for _, platform in sorted(homes)]
    elements = _elements(facts, routes)
    duties += [f"junction {name}" for name in junctions if name in elements]
    duties += [f"protects {name}" for name in elements if name not in junctions]
    held = network.held_at[number]
    if not head.elsewhere and held >= 0 and network.place_of[held] in network.stand_at:
        place = network.place(held)
        duties.append(f"holds {place.id if place.kind == 'yards' else head.track}")
    return duties


def _elements(facts: Facts, routes: tuple[int, ...]) -> dict[str, None]:
    network = facts.network
    met: dict[str, None] = {}
    for route in routes:
        for state in facts.routes.all[route].path:
            if network.place(state).kind not in ("section", "yards"):
                met[network.place(state).id] = None
    return met


def _junctions(facts: Facts, routes: tuple[int, ...]) -> dict[str, None]:
    """Return the points and slips at which some routes part."""
    lies: dict[int, set[str]] = {}
    for route in routes:
        for place, lie in facts.routes.all[route].lies.items():
            lies.setdefault(place, set()).add(lie)
    return {facts.network.places[place].id: None for place, found in lies.items() if len(found) > 1}
