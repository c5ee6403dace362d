"""The places that trains reach and the duties of each signal, derived without the library."""

from __future__ import annotations

from collections.abc import Iterator

from oracle.ground import Move, Spot
from oracle.heads import HOLDING_KINDS, Head
from slips.meaning import Arm, HeadKey, Meaning, Road


def free_run(meaning: Meaning, spot: Spot) -> dict[Spot, None]:
    """Return the spots that a train reaches from a spot without passing a signal."""
    found = {spot: None}
    queue = [spot]
    for each in queue:
        for move in free_moves(meaning, each):
            leads_on = move.to[0] not in meaning.group_of or any(
                meaning.may_lie(move.to, onward) for onward in free_moves(meaning, move.to)
            )
            if meaning.may_lie(each, move) and leads_on and move.to not in found:
                found[move.to] = None
                queue.append(move.to)
    return found


def free_moves(meaning: Meaning, spot: Spot) -> Iterator[Move]:
    """Yield the moves from a spot that pass no head and lead into no drag."""
    for way in meaning.ways_out[spot]:
        if way.head is None:
            yield from (move for move in way.moves if not move.derails)


def reached_spots(meaning: Meaning) -> set[Spot]:
    """Return every spot that a train can reach when it is alone on the plan."""
    by_spot: dict[Spot, list[Road]] = {}
    for roads in meaning.roads.values():
        for road in roads:
            by_spot.setdefault(road.start, []).append(road)
    queue = [(place, heading) for place, ways in meaning.stands.items() for heading in ways]
    queue += [spot for _, spot in meaning.come_on]
    resting = set(queue)
    passed = set(queue)
    for spot in queue:
        onward = [way.moves for way in meaning.ways_out.get(spot, ()) if way.head is None]
        found = [move.to for moves in onward for move in moves]
        for road in by_spot.get(spot, ()):
            passed.update(road.spots)
            found.append(road.spots[-1])
        for each in found:
            if each not in resting:
                resting.add(each)
                passed.add(each)
                queue.append(each)
    return passed


def never_met(meaning: Meaning) -> Iterator[HeadKey]:
    """Yield the heads that no train reaches although trains reach their sections."""
    reached = reached_spots(meaning)
    places = {place for place, _ in reached}
    for key, spot in meaning.held_at.items():
        if spot[0] in places and spot not in reached and meaning.allows(key[0], key[1]):
            yield key


def derive_duties(meaning: Meaning) -> dict[str, set[str]]:
    """Return the duties of every signal that holds trains, by the kinds of its own arms."""
    found: dict[str, set[str]] = {}
    for arm in meaning.arms:
        if arm.kind in HOLDING_KINDS:
            found.setdefault(arm.signal, set()).update(_duties(meaning, arm))
    for platform_id, platform in meaning.plan.get("platforms", {}).items():
        for track in platform["tracks"]:
            for place in meaning.places_of(track):
                for heading in meaning.stands.get(place, ()):
                    for spot in free_run(meaning, (place, heading)):
                        head = meaning.facing(spot)
                        if head is not None and is_for_trains(meaning, head):
                            found[head.signal].add(f"starter platform {platform_id}")
    return found


def is_for_trains(meaning: Meaning, head: Head) -> bool:
    """Return whether a head is more than a shunt signal."""
    return "stop" in head.kinds and meaning.form(head.signal) != "disc"


def _duties(meaning: Meaning, arm: Arm) -> set[str]:
    head = meaning.head_at_spot[arm.key]
    kinds = {each.kind for each in meaning.arms if (each.signal, each.key) == (arm.signal, arm.key)}
    roads = [road for kind in kinds & {*HOLDING_KINDS} for road in meaning.own(arm.key, kind)]
    places = {place for road in roads for place in road.places}
    duties = set()
    if "stop" in kinds and is_for_trains(meaning, head):
        tracks = {track for each in places & meaning.sections.keys()
                  for track in meaning.tracks_at[each]}  # fmt: skip
        for platform_id, platform in meaning.plan.get("platforms", {}).items():
            if not tracks.isdisjoint(platform["tracks"]):
                duties.add(f"home platform {platform_id}")
    lies = {pair for road in roads for pair in road.lies.items()}
    split = {name for name, _ in lies if sum(other == name for other, _ in lies) > 1}
    for name in places - meaning.tracks_at.keys():
        duties.add(f"junction {name}" if name in split else f"protects {name}")
    held = meaning.held_at.get(arm.key)
    if held is not None and held[0] in meaning.stands:
        duties.add(f"holds {head.track if held[0] in meaning.sections else held[0]}")
    return duties
