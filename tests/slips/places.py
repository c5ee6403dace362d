"""Where trains come to on a plan, and what each signal is there for, without the library."""

from __future__ import annotations

from oracle.ground import Spot
from slips.meaning import HeadKey, Meaning, Road


def free_run(meaning: Meaning, spot: Spot) -> dict[Spot, None]:
    """The spots to which a train comes from one without passing a signal, itself included."""
    found = {spot: None}
    queue = [spot]
    for each in queue:
        for way in meaning.ways_out.get(each, ()):
            for move in way.moves if way.head is None else ():
                if move.to not in found:
                    found[move.to] = None
                    queue.append(move.to)
    return found


def reached_spots(meaning: Meaning) -> set[Spot]:
    """Every spot to which a train can come that has the plan for itself."""
    by_spot: dict[Spot, list[Road]] = {}
    for roads in meaning.roads.values():
        for road in roads:
            by_spot.setdefault(road.start, []).append(road)
    queue = [(place, heading) for place, ways in meaning.stands.items() for heading in ways]
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


def derive_duties(meaning: Meaning) -> dict[str, set[str]]:
    """The duties of every signal that holds trains."""
    found: dict[str, set[str]] = {}
    for key in meaning.heads:
        found.setdefault(key[0], set()).update(_duties(meaning, key))
    for platform_id, platform in meaning.plan.get("platforms", {}).items():
        for track in platform["tracks"]:
            for place in meaning._sections.get(track, []):
                for heading in meaning.stands.get(place, ()):
                    for spot in free_run(meaning, (place, heading)):
                        head = meaning.facing(spot)
                        stops = head is not None and "stop" in head.kinds
                        if head is not None and stops and meaning.form(head.signal) != "disc":
                            found[head.signal].add(f"starter platform {platform_id}")
    return found


def _duties(meaning: Meaning, key: HeadKey) -> set[str]:
    roads = meaning.roads.get((key, "stop"), []) + meaning.roads.get((key, "shunt"), [])
    kinds = meaning.heads[key].kinds
    duties = set()
    if "stop" in kinds and meaning.form(key[0]) != "disc":
        for platform_id, platform in meaning.plan.get("platforms", {}).items():
            tracks = {meaning.track_of.get(place) for road in roads for place in road.places}
            if not tracks.isdisjoint(platform["tracks"]):
                duties.add(f"home platform {platform_id}")
    lies = {(n, lie) for road in roads if not road.trapped for n, lie in road.lies.items()}
    split = {name for name, _ in lies if sum(other == name for other, _ in lies) > 1}
    yards = meaning.plan.get("yards", {})
    elements = {place for road in roads for place in road.places if place not in yards}
    for name in elements - meaning.track_of.keys():
        duties.add(f"junction {name}" if name in split else f"protects {name}")
    held = meaning.held_at.get(key)
    if held is not None and held[0] in meaning.stands:
        duties.add(f"holds {key[1] if held[0] not in yards else held[0]}")
    return duties
