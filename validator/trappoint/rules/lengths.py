"""Rules on lengths: trains too long for a place, and platforms longer than their track.

They check only lengths that the plan gives.
"""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING

from trappoint.core.findings import pointer_to
from trappoint.core.quoting import millimetres as mm
from trappoint.rules.route_phrases import at_start, places_called, thing
from trappoint.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.core.findings import Finding
    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Layout, Platform, Train


def _measured(facts: Facts) -> list[tuple[Train, float]]:
    """Return the trains with a length, each with that length in millimetres."""
    trains = facts.layout.trains.values()
    return [(train, train.length_mm) for train in trains if train.length_mm is not None]


def _longest_stand(facts: Facts) -> float:
    """Return the room of the longest stand in millimetres, infinite if it is unknown."""
    # Yards, tracks without a length and stands beyond held edges may take any train.
    network = facts.network
    beyond = any(network.places[stand.place].elsewhere for stand in network.stands)
    if facts.layout.yards or not network.stands or beyond:
        return inf
    from trappoint.dimensions.rooms import derive_rooms

    stands = [room for room in derive_rooms(facts) if room.stand]
    return max((inf if r.at_most_mm is None else r.at_most_mm for r in stands), default=inf)


_Misplaced = tuple[str, str, "Train", float, float, tuple[str, ...]]
"""A scene, a track with a train, the train, its length, the room there, and the places there."""


def _misplaced(facts: Facts) -> Iterator[_Misplaced]:
    """Yield each train of a scene that does not fit on its track."""
    layout = facts.layout
    placed = [
        (scene.id, where, layout.trains[train])
        for scene in layout.scenes.values()
        for where, train in scene.trains.items()
        if isinstance(train, str) and train in layout.trains and where in layout.tracks
    ]
    if not any(train.length_mm for _, _, train in placed):
        return
    from trappoint.dimensions.rooms import derive_rooms

    rooms = {room.place: room.at_most_mm for room in derive_rooms(facts)}
    for scene, where, train in placed:
        places = tuple(facts.network.places[place].name for place in facts.parts[where])
        found = [rooms.get(name) for name in places]
        lengths = [length for length in found if length is not None]
        # On a track of several sections, the train may be in the longest of them.
        if train.length_mm is None or len(lengths) < len(found):
            continue
        if train.length_mm > max(lengths):
            yield scene, where, train, train.length_mm, max(lengths), places


NOWHERE = Rule(
    id="train-fits-nowhere",
    level="warning",
    stage="facts",
    summary="a train that is longer than every stand",
    why="On every stand, its end would be on points or beyond a signal.",
    source="geometry: a train must fit between the signals or fouling places at both ends",
    fails={
        "tracks": {
            "town-line": {"up": "buffer", "length_mm": 1500},
            "quarry-line": {"down": "buffer", "length_mm": 1200},
        },
        "trains": {"long": {"length_mm": 1600}},
    },
    passes={
        "tracks": {
            "town-line": {"up": "buffer", "length_mm": 1500},
            "quarry-line": {"down": "buffer", "length_mm": 1200},
        },
        "trains": {"long": {"length_mm": 600}},
    },
)


@NOWHERE.checked_by
def _fits_nowhere(facts: Facts) -> Iterator[Finding]:
    trains = _measured(facts)
    longest = _longest_stand(facts) if trains else inf
    for train, length in trains:
        if length > longest:
            yield NOWHERE.finding(
                pointer_to("trains", train.id, "length_mm"),
                f"{at_start(thing(facts, 'trains', train.id))} is {mm(length)} long and fits no "
                f"stand: the longest has room for {mm(longest)}.",
                "Shorten the train, or lengthen a stand.",
                path=(train.id,),
            )


LONGER = Rule(
    id="train-longer-than-room",
    level="note",
    stage="facts",
    summary="a train longer than a place in which signals let it stop",
    why=(
        "Its rear would be on points, foul of another track or in the section behind, so the "
        "verdict does not cover this train."
    ),
    source="geometry; the format, under Lengths: a train at rest must leave all behind it clear",
    fails={"trains": {"goods": {"length_mm": 950}}},
    passes={"trains": {"goods": {"length_mm": 610}}},
)


@LONGER.checked_by
def _longer_than_room(facts: Facts) -> Iterator[Finding]:
    trains = _measured(facts)
    longest = facts.longest_train if trains else None
    if longest is None or all(length <= longest.mm for _, length in trains):
        return
    from trappoint.dimensions.longest import UNSEEN_MM

    rests = sorted(facts.rests, key=lambda rest: rest.behind.surely_mm)
    most, in_scenes = _longest_stand(facts), _places_in_scenes(facts)
    for train, length in trains:
        # Other rules report a train that fits no stand, and a train of a scene.
        short = [
            rest
            for rest in rests
            if length > rest.behind.surely_mm + UNSEEN_MM
            and (train.id, rest.place) not in in_scenes
        ]
        if not short or length > most:
            continue
        least, places = short[0], len({rest.place for rest in short})
        sure = "" if least.behind.surely_mm == least.behind.at_most_mm else "at least "
        others = f" {_places(places - 1)} too short for it." if places > 1 else ""
        called = places_called(facts, (least.place,))[least.place]
        yield LONGER.finding(
            pointer_to("trains", train.id, "length_mm"),
            f"{at_start(thing(facts, 'trains', train.id))} is {mm(length)} long, but signals let "
            f"it stop in {called}, which has room for {sure}{mm(least.behind.surely_mm)}.{others}",
            f"Shorten the train, lengthen {least.track}, or keep the train out of there.",
            path=(train.id, least.track),
        )


def _places(count: int) -> str:
    return "1 more place is" if count == 1 else f"{count:,} more places are"


def _places_in_scenes(facts: Facts) -> set[tuple[str, str]]:
    found = ((train.id, places) for _, _, train, _, _, places in _misplaced(facts))
    return {(train, place) for train, places in found for place in places}


TOO_LONG = Rule(
    id="train-too-long-for-its-place",
    level="warning",
    stage="facts",
    summary="a train in a scene that is too long for its track",
    why="Its end would be on points, foul of another track or beyond a signal.",
    source="geometry: a train must fit between the signals or fouling places at both ends",
    fails={
        "trains": {"long": {"length_mm": 620}},
        "scenes": {"waiting": {"trains": {"siding": "long"}, "off": ["3"]}},
    },
    passes={
        "trains": {"long": {"length_mm": 600}},
        "scenes": {"waiting": {"trains": {"siding": "long"}, "off": ["3"]}},
    },
)


@TOO_LONG.checked_by
def _too_long(facts: Facts) -> Iterator[Finding]:
    for scene, where, train, length, takes, _ in _misplaced(facts):
        yield TOO_LONG.finding(
            pointer_to("scenes", scene, "trains", where),
            f"{at_start(thing(facts, 'trains', train.id))} is {mm(length)} long, too long for "
            f"{facts.names.called('tracks', where)}, which has room for {mm(takes)}.",
            "Put the train on a longer track, or shorten it.",
            path=(scene, where, train.id),
        )


LONG_PLATFORM = Rule(
    id="platform-longer-than-track",
    level="warning",
    stage="facts",
    summary="a platform longer than the track beside it",
    why="A train on this track cannot stand along the whole platform.",
    source="geometry: a platform ends where its tracks end",
    fails={"platforms": {"B": {"length_mm": 950}}},
    passes={"platforms": {"B": {"length_mm": 900}}},
)


@LONG_PLATFORM.checked_by
def _long_platform(facts: Facts) -> Iterator[Finding]:
    layout = facts.layout
    for platform in layout.platforms.values():
        if platform.length_mm is None:
            continue
        for track_id, length in _alongside(layout, platform):
            if platform.length_mm > length:
                yield LONG_PLATFORM.finding(
                    pointer_to("platforms", platform.id, "length_mm"),
                    f"{at_start(thing(facts, 'platforms', platform.id))} is "
                    f"{mm(platform.length_mm)} long, but {facts.names.called('tracks', track_id)} "
                    f"beside it is only {mm(length)} long.",
                    f"Shorten the platform, correct the length of {track_id}, or add the tracks "
                    "that continue beside it to `tracks`.",
                    path=(platform.id, track_id),
                )


def _alongside(layout: Layout, platform: Platform) -> Iterator[tuple[str, float]]:
    """Yield each track of a platform that no other of its tracks continues, with its length."""
    met: dict[str, list[str]] = {}
    along: set[str] = set()
    for track_id in platform.tracks:
        track = layout.tracks[track_id]
        for end in (track.up, track.down):
            if end.kind in ("leg", "joint"):
                name = f"{end.kind} {end.name}"
                met.setdefault(name, []).append(track_id)
                # The legs of points are side by side; other ends may be one after the other.
                if end.kind == "joint" or end.name not in layout.points or end.leg == "toe":
                    along.add(name)
    carried = {t for name in along if len(set(met[name])) > 1 for t in met[name]}
    for track_id in platform.tracks:
        length = layout.tracks[track_id].length_mm
        if length is not None and track_id not in carried:
            yield track_id, length
