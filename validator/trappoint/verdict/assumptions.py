"""The assumptions of the verdict on a plan, as sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.quoting import listed
from trappoint.model.names import shown, with_id

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.topology.network import Network, Place
    from trappoint.verdict.free_runs import FreeMoves

MAX_NAMES = 200
"""The most names that a sentence lists; for more it gives the number."""


def takes_for_granted(network: Network, moves: FreeMoves) -> tuple[str, ...]:
    """Return the assumptions of the verdict that concern this plan, as sentences.

    The page of the format lists all of them. The sentences are the same on every run.
    """
    found = ["Drivers stop at signals that are on.", _stands(network)]
    if network.entries:
        found.append("Trains come on at an edge only when the line is clear to the first signal.")
    held = [place.id for place in network.places if place.elsewhere]
    if held:
        found.append(
            f"A stop signal on the neighbouring board holds the trains that come on at "
            f"{_names(held)}."
        )
    if network.layout.yards:
        found.append("In a yard one engine works at a time.")
    found.append("All track that is joined without a signal has one train at a time.")
    trapped = trapped_stands(network, moves)
    if trapped:
        found.append(
            f"Trains in {_names(trapped)} leave by hand signal only, and strays stop in the drag "
            "behind the trap points."
        )
    found.append("Trains are neither divided nor joined.")
    found.append("Trains are no longer than the plan has room for.")
    return tuple(found)


def _stands(network: Network) -> str:
    names: dict[str, None] = {}
    for stand in network.stands:
        place = network.places[stand.place]
        if place.elsewhere:
            continue  # Beyond an edge, the neighbouring board decides.
        if place.kind == "yards":
            name = shown(network.layout.yards[place.id].name)
            names[with_id(name, place.id) if name else f"yard {place.id}"] = None
        else:
            names[_called(network, place)] = None
    return f"Trains turn back only in {_names(names)}." if names else "Trains never turn back."


def trapped_stands(network: Network, moves: FreeMoves) -> list[str]:
    """Return the names of the stands whose trains only guarding trap points hold back."""
    found: dict[str, None] = {}
    if not moves.guards:
        return []
    for stand in network.stands:
        for state in stand.states:
            for exit_ in network.exits[state]:
                ways = network.exits[exit_.to] if exit_.head < 0 else ()
                if any(not moves.lets(way, {}) for way in ways):
                    found[_called(network, network.places[stand.place])] = None
    return list(found)


def _called(network: Network, place: Place) -> str:
    """Return the name of a track before the unique name of its section: ``Loop (loop.2)``."""
    track = network.layout.tracks.get(place.id)
    return place.name if track is None else with_id(shown(track.name), place.name)


def _names(names: Iterable[str]) -> str:
    known = list(names)
    return listed(known, "and") if len(known) <= MAX_NAMES else f"{len(known):,} places"
