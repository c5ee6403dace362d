"""Duties: the purpose of each signal and arm, derived from the track."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.model.layout import BEYOND, HOLDING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.interlocking.arms import Assignment
    from trappoint.interlocking.routes import Routes
    from trappoint.model.layout import Head, Layout
    from trappoint.topology.network import Network
    from trappoint.verdict.free_runs import FreeRun

DUTY_WORDS = ("starter", "home", "junction", "protects", "holds")
"""The duties in the order of a row.

``starter platform P``: the first stop signal of a train that leaves platform P.
``home platform P``: gives leave to run in to platform P. Discs and shunt arms are neither.
``junction X``: the routes part at the points or slip X.
``protects X``: the routes run over the points, crossing or turntable X.
``holds T``: holds a train that stands on track T or in yard T.
"""


Served = dict[str, list[tuple[int, str]]]
"""From each track to the platforms beside it, each with its index in the plan."""


class Duties:
    """The duties of each signal, and of each arm that gives leave, by its number."""

    of_signal: dict[str, tuple[str, ...]]
    of_arm: list[tuple[str, ...]]

    def __init__(self) -> None:
        self.of_signal = {}
        self.of_arm = []


def derive_duties(
    network: Network, routes: Routes, assignment: Assignment, free_runs: Iterable[FreeRun]
) -> Duties:
    """Derive the duties of every signal and of every arm that gives leave."""
    served = _served(network.layout)
    starters = _starters(network, free_runs, served)
    junctions: dict[tuple[int, str], dict[str, None]] = {}
    # The duties of signals beyond held edges belong to the boards on which they stand.
    own_signals = (name for name in network.layout.signals if not name.startswith(BEYOND))
    gathered: dict[str, list[str]] = {signal: [] for signal in own_signals}
    result = Duties()
    for number, head in enumerate(network.heads):
        if head.elsewhere:
            continue
        first = starters.get(number, [])
        for signal, kinds in _signals_at(head).items():
            own = tuple(
                route
                for route in routes.of_head[number]
                if routes.all[route].needs_arm and routes.all[route].shunting in kinds
            )
            found = first if False in kinds else []
            parting = junctions[number, signal] = _junctions(network, routes, own)
            gathered[signal] += _duties_of(network, routes, number, own, found, served, parting)
    for arm, number, own in zip(
        assignment.arms, assignment.head_of, assignment.routes_of, strict=True
    ):
        if number < 0:  # a calling-on arm without a stop arm has no duty
            result.of_arm.append(())
            continue
        first = starters.get(number, [])
        parting = junctions.get((number, arm.signal), {})
        duties = _duties_of(network, routes, number, own, first, served, parting)
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


def _starters(
    network: Network, free_runs: Iterable[FreeRun], served: Served
) -> dict[int, list[str]]:
    """Return the platforms of each head that their trains meet first when they leave."""
    found: dict[int, list[str]] = {}
    for run in free_runs:
        if run.stand < 0:
            continue
        tracks = network.tracks_of(network.stands[run.stand].place)
        beside = {each for track in tracks for each in served.get(track, ())}
        for _, platform in sorted(beside):
            for state in run.came_from:
                if network.facing[state] >= 0:
                    found.setdefault(network.facing[state], []).append(platform)
    return found


def _served(layout: Layout) -> Served:
    served: Served = {}
    for index, platform in enumerate(layout.platforms.values()):
        for track in platform.tracks:
            served.setdefault(track, []).append((index, platform.id))
    return served


def _duties_of(
    network: Network,
    routes: Routes,
    number: int,
    own: tuple[int, ...],
    starter_of: list[str],
    served: Served,
    junctions: dict[str, None],
) -> list[str]:
    head = network.heads[number]
    # Discs and shunt arms are for shunting: the trade calls none of them home or starter.
    for_trains = head.stops and network.layout.signals[head.signal].form != "disc"
    duties = [f"starter platform {platform}" for platform in starter_of if for_trains]
    places = {place for route in own for place in routes.all[route].places}
    tracks = {piece.track for place in places for piece in network.pieces.get(place, ())}
    homes = {beside for track in tracks for beside in served.get(track, ())} if for_trains else ()
    duties += [f"home platform {platform}" for _, platform in sorted(homes)]
    elements = _elements(network, routes, own)
    duties += [f"junction {name}" for name in junctions if name in elements]
    duties += [f"protects {name}" for name in elements if name not in junctions]
    held = network.held_at[number]
    if not head.elsewhere and held >= 0 and network.place_of[held] in network.stand_at:
        place = network.place(held)
        duties.append(f"holds {place.id if place.kind == 'yards' else head.track}")
    return duties


def _elements(network: Network, routes: Routes, own: tuple[int, ...]) -> dict[str, None]:
    met: dict[str, None] = {}
    for route in own:
        for state in routes.all[route].path:
            if network.place(state).kind not in ("section", "yards"):
                met[network.place(state).id] = None
    return met


def _junctions(network: Network, routes: Routes, own: tuple[int, ...]) -> dict[str, None]:
    """Return the points and slips at which the routes part."""
    lies: dict[int, set[str]] = {}
    for route in own:
        for place, lie in routes.all[route].lies.items():
            lies.setdefault(place, set()).add(lie)
    return {network.places[place].id: None for place, found in lies.items() if len(found) > 1}
