"""The arms of new signals: one for each road, discs for sidings, and what carries them.

Sources: Board of Trade requirements 1892, rule 3 (brackets or separate posts; discs for sidings);
G. Findlay, The Working and Management of an English Railway, pp. 82-84 (lamps at least 7 ft apart).
The higher arm for the more important road, three dolls to a bracket, one gantry for two tracks that
meet at points, and the height of the higher arm are common practice, no source.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trappoint.dimensions.scales import FOOT_MM, ratio_of
from trappoint.laying.arming import arm_ids, common_names, roads_of
from trappoint.proposing.sidings import held_in_siding, split_roads
from trappoint.rules.mounts import rank_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from trappoint.facts.facts import Facts
    from trappoint.laying.arming import ArmRoad

Data = dict[str, Any]

HIGH_FEET = 24
"""The height of the arm for the most important road, in feet."""

LOWER_FEET = 7
"""How much lower the arms for less important roads are, in feet."""


def new_signal(
    facts: Facts, heads: Sequence[int], name: str, sidings: frozenset[str]
) -> tuple[Data, list[Data]]:
    """Return a new signal for heads from left to right, and the discs at its foot, without ids."""
    first = facts.network.heads[heads[0]]
    place = {"track": first.track, "for": first.heading}
    disc = _disc(facts, heads[0], sidings) if len(heads) == 1 else None
    if disc is not None:
        return {**place, "mount": "ground", "form": "disc", "arms": [{"id": name, **disc}]}, []
    arms: list[Data] = []
    feet: list[Data] = []
    for head in heads:
        roads = roads_of(facts, head)
        armed, shunted = split_roads(facts.routes, roads, facts.network, sidings)
        own = facts.network.heads[head]
        there = {} if own.track == first.track else {"track": own.track}
        heights = _heights(facts, armed) or [{}] * len(armed)
        arms += [
            {**_names(road.to), **there, **height}
            for road, height in zip(armed, heights, strict=True)
        ] or [there]
        if shunted:
            turned = any(_over_turntable(facts, road) for road in shunted)
            to = () if turned else common_names(facts, head, shunted)
            foot = {"kind": "shunt", **_names(to)}
            spot = {"track": own.track, "for": own.heading}
            feet.append({**spot, "mount": "ground", "form": "disc", "arms": [foot]})
    ids = arm_ids(name, len(arms))
    named = [{"id": given, **arm} for given, arm in zip(ids, arms, strict=True)]
    return {**place, "mount": mount_for(len(named), len(heads)), "arms": named}, feet


def mount_for(dolls: int, tracks: int = 1) -> str:
    """Return what carries some dolls for some tracks."""
    if tracks > 1 or dolls > 3:
        return "gantry"
    return "post" if dolls <= 1 else "bracket"


def _disc(facts: Facts, head: int, sidings: frozenset[str]) -> Data | None:
    """Return the keys of the one arm of a disc; None if the head needs arms.

    A dead end has a shunt arm, which no train passes on its way. Elsewhere a disc ends the routes
    of trains, so its arm is a stop arm.
    """
    network = facts.network
    if held_in_siding(network, head, sidings):
        held = network.held_at[head]
        place = network.place(held)
        tracks = [facts.layout.tracks[track] for track in network.tracks_of(network.place_of[held])]
        dead = any("buffer" in (track.up.kind, track.down.kind) for track in tracks)
        return {"kind": "shunt"} if dead or place.kind == "yards" else {}
    roads = roads_of(facts, head)
    armed, _ = split_roads(facts.routes, roads, network, sidings)
    return {} if roads and not armed else None


def _over_turntable(facts: Facts, road: ArmRoad) -> bool:
    """Return whether a road leads over a turntable, beyond which no one name has all its ends."""
    states = (state for route in road.routes for state in facts.routes.all[route].path)
    return any(facts.network.place(state).kind == "turntables" for state in states)


def _names(to: tuple[str, ...]) -> Data:
    if not to:
        return {}
    return {"to": to[0] if len(to) == 1 else list(to)}


def _heights(facts: Facts, roads: list[ArmRoad]) -> list[Data]:
    """Return the height of each arm: the more important road's is higher.

    Empty if the plan has no scale, or no ranks that differ.
    """
    ranks = [rank_of(facts, road.routes[0]) for road in roads]
    ratio = ratio_of(facts.layout)
    if ratio is None or None in ranks or len(set(ranks)) < 2:
        return []
    best = min(rank for rank in ranks if rank is not None)
    feet = [HIGH_FEET if rank == best else HIGH_FEET - LOWER_FEET for rank in ranks]
    return [{"height_mm": round(each * FOOT_MM / ratio)} for each in feet]
