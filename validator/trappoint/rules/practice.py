"""Rules of good practice, beyond a plan that holds, each with its source."""

from __future__ import annotations

from itertools import islice, pairwise
from typing import TYPE_CHECKING

from trappoint.core.findings import pointer_to
from trappoint.core.quoting import listed
from trappoint.rules.route_phrases import at_start, place_called, thing
from trappoint.rules.rule import BOARD_OF_TRADE, FINDLAY, Rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.core.findings import Finding
    from trappoint.facts.facts import Facts
    from trappoint.verdict.deadlock import Standstill

_HALT = (
    '{"format": "trappoint-layout/1", "tracks": {"line": {"up": "edge:x", "down": "joint:1"}, '
    '"halt": {"up": "joint:1", "down": "joint:2"}, '
    '"end": {"up": "joint:2", "down": "buffer", "running": "down", "stand": false}}, '
    '"platforms": {"A": {"tracks": ["halt"]}}, '
    '"signals": {"1": {"track": "line", "for": "down", "arms": [{"id": "1"}]}, '
    '"2": {"track": "halt", "for": "up", "arms": [{"id": "2"}]}%s}}'
)

WITHOUT_HOME = Rule(
    id="platform-without-home",
    level="warning",
    stage="facts",
    summary="a platform without a home signal",
    why="A train must be able to wait at a signal outside until the platform is free.",
    source=f"{FINDLAY}, pp. 82-84: home signals",
    fails={
        "signals": {
            "1": {"arms": [{"id": "1L", "to": "loop-west"}]},
            "7": {"arms": [{"id": "7R", "to": "loop-west"}]},
        }
    },
    passes={},
)


@WITHOUT_HOME.checked_by
def _without_home(facts: Facts) -> Iterator[Finding]:
    duties = {duty for found in facts.duties.of_arm for duty in found}
    in_yards = {track for yard in facts.layout.yards.values() for track in yard.tracks}
    for platform in facts.layout.platforms.values():
        outside = not in_yards.issuperset(platform.tracks)
        if outside and f"home platform {platform.id}" not in duties:
            yield WITHOUT_HOME.finding(
                pointer_to("platforms", platform.id),
                f"{at_start(thing(facts, 'platforms', platform.id))} has no home signal: no arm "
                "gives leave to run in to "
                f"{listed([facts.names.called('tracks', id_) for id_ in platform.tracks], 'or')}.",
                "Put a stop signal where trains for this platform wait, with an arm for "
                f"{listed(platform.tracks, 'or')}.",
                path=(platform.id,),
                at_key=True,
            )


WITHOUT_STARTER = Rule(
    id="platform-without-starter",
    level="warning",
    stage="facts",
    summary="a platform without a starter",
    why="A train at a platform needs a signal that gives it leave to start.",
    source=f"{FINDLAY}, pp. 82-84: platform starters",
    fails=_HALT % "",
    passes=_HALT % ', "3": {"track": "halt", "for": "down", "arms": [{"id": "3"}]}',
)


@WITHOUT_STARTER.checked_by
def _without_starter(facts: Facts) -> Iterator[Finding]:
    network = facts.network
    served = {
        track: platform.id
        for platform in facts.layout.platforms.values()
        for track in platform.tracks
    }
    unheld = {failure.run.start for failure in facts.verdict.failures}
    for run in facts.free_runs:
        if run.start in unheld or run.stand < 0:
            continue  # Another rule reports an unheld exit as an error.
        place = network.stands[run.stand].place
        beside = [track for track in network.tracks_of(place) if track in served]
        if not beside or network.places[place].kind != "section":
            continue
        held = any(network.facing[state] >= 0 for state in run.came_from)
        if not held and run.reached:
            piece, way = network.last_piece(run.start)
            platform = served[beside[0]]
            yield WITHOUT_STARTER.finding(
                pointer_to("tracks", piece.track, way),
                f"{at_start(thing(facts, 'platforms', platform))} has no starter for {way} trains "
                f"on {facts.names.called('tracks', piece.track)}.",
                f"Put a stop signal for {way} trains at the {way} end of {piece.track}.",
                path=(platform, piece.track),
            )


WITHOUT_LOCK = Rule(
    id="facing-points-without-lock",
    level="warning",
    stage="facts",
    summary="facing points on a passenger road without a lock",
    why="Points that move under a train, or are not fully closed, derail it; a lock prevents that.",
    source=(f"{BOARD_OF_TRADE}, rule 5: all facing points to have locks and detection"),
    fails={},
    passes={"points": {"p1": {"lock": True}, "p2": {"lock": True}, "p3": {"lock": True}}},
    optional=True,
)


@WITHOUT_LOCK.checked_by
def _without_lock(facts: Facts) -> Iterator[Finding]:
    served = {t for platform in facts.layout.platforms.values() for t in platform.tracks}
    network, reported = facts.network, set()
    for route in facts.routes.all:
        pieces = (network.pieces.get(network.place_of[state], ()) for state in route.path)
        tracks = {piece.track for section in pieces for piece in section}
        tracks.add(network.heads[route.head].track)
        disc = network.layout.signals[network.heads[route.head].signal].form == "disc"
        if route.shunting or not route.needs_arm or disc or not tracks & served:
            continue
        for state in route.path:
            place = network.place(state)
            facing = place.kind == "points" and network.way[state] == "toe"
            points = facts.layout.points.get(place.id)
            if not facing or points is None or points.trap:
                continue
            if place.id not in reported and not points.lock:
                reported.add(place.id)
                called = at_start(thing(facts, "points", place.id))
                yield WITHOUT_LOCK.finding(
                    place.pointer,
                    f"{called}, facing for passenger trains, have no lock.",
                    f'Add "lock": true to {place.id}, once they have a facing-point lock.',
                    path=(place.id,),
                    at_key=True,
                )


WITHOUT_TRAP = Rule(
    id="siding-without-trap",
    level="warning",
    stage="facts",
    summary="a siding that joins a running line without trap points",
    why="A vehicle that runs away in the siding would foul the running line.",
    source="common practice, no source: in Britain, trap points at the exit of a siding",
    fails={},
    passes={"points": {"p3": {"trap": True}}},
    optional=True,
)


@WITHOUT_TRAP.checked_by
def _without_trap(facts: Facts) -> Iterator[Finding]:
    served = {t for platform in facts.layout.platforms.values() for t in platform.tracks}
    served |= {track for yard in facts.layout.yards.values() for track in yard.tracks}
    guarded = _beside_traps(facts)
    for track in facts.layout.tracks.values():
        ends = {heading: track.end(heading) for heading in track.headings}
        dead = [heading for heading, end in ends.items() if end.kind == "buffer"]
        if len(dead) != 1 or track.id in served or not track.stand:
            continue
        for heading, end in ends.items():
            points = facts.layout.points.get(end.name) if end.kind == "leg" else None
            if points is not None and heading not in dead and end.leg in points.lies:
                if points.trap or points.id in guarded:
                    continue
                yield WITHOUT_TRAP.finding(
                    pointer_to("tracks", track.id, heading),
                    f"{at_start(thing(facts, 'tracks', track.id))} joins the running line at "
                    f"{points.id} without trap points.",
                    f'Add points with "trap": true between {track.id} and {points.id}, and a short '
                    "track from them to a buffer.",
                    path=(track.id, points.id),
                )


def _beside_traps(facts: Facts) -> set[str]:
    """Return the points and slips that are worked together with trap points."""
    points = facts.layout.points
    return {
        name
        for group in facts.layout.worked_together
        if any(points[member].trap for member in group if member in points)
        for name in group
    }


_NO_SOURCE = "common practice, no source"

NUMBERS_SKIP = Rule(
    id="signal-numbers-skip",
    level="note",
    stage="facts",
    summary="signal numbers with a gap",
    why="A gap in the numbers makes people look for a missing signal.",
    source=_NO_SOURCE,
    fails={
        "signals": {
            "9": {
                "track": "quarry-line",
                "for": "up",
                "at_mm": 900,
                "arms": [{"id": "9", "kind": "distant"}],
            }
        }
    },
    passes={},
    optional=True,
)


@NUMBERS_SKIP.checked_by
def _numbers_skip(facts: Facts) -> Iterator[Finding]:
    numbers = sorted({int(name) for name in facts.layout.signals if name.isdigit()})
    gaps = (
        (after, gap)
        for after, following in pairwise(numbers)
        for gap in range(after + 1, following)
    )
    for after, gap in islice(gaps, 20):
        yield NUMBERS_SKIP.finding(
            pointer_to("signals", str(after)),
            f"The numbers of the signals skip {gap}, between {after} and {numbers[-1]}.",
            "Number the signals without gaps, or keep the gap for a later signal.",
            at_key=True,
        )


NO_OVERLAP = Rule(
    id="no-overlap",
    level="note",
    stage="facts",
    summary="a stop signal right before points or a crossing",
    why="A train may overrun a signal, so there should be an overlap beyond it.",
    source=(
        f"{FINDLAY}, p. 83: junction signals far enough from the fouling point to allow a small "
        "overrun; the lengths of overlaps vary, and 440 yards beyond a British home signal is an "
        "unconfirmed value"
    ),
    fails={},
    passes=_HALT % ', "3": {"track": "halt", "for": "down", "arms": [{"id": "3"}]}',
    optional=True,
)


@NO_OVERLAP.checked_by
def _no_overlap(facts: Facts) -> Iterator[Finding]:
    network = facts.network
    for number, head in enumerate(network.heads):
        if head.elsewhere:
            continue
        beyond = [network.place(exit_.to) for exit_ in network.starts(number)]
        fouled = [place.id for place in beyond if place.kind not in ("section", "yards")]
        if fouled and head.stops:
            yield NO_OVERLAP.finding(
                pointer_to("signals", head.signal),
                f"{at_start(thing(facts, 'signals', head.signal))} is right before {fouled[0]}: a "
                "train that overruns it is at once foul of another road.",
                f"Put it farther back along {head.track} (`at_mm`).",
                path=(head.signal, *fouled),
                at_key=True,
            )


STANDSTILL = Rule(
    id="standstill",
    level="note",
    stage="facts",
    summary="two signals at which trains can meet face to face with no way on for either",
    why="Neither train can then move until one sets back past a signal.",
    source="common practice, no source",
    fails=(
        '{"format": "trappoint-layout/1", "tracks": {"a": {"up": "buffer", "down": "joint:1"}, '
        '"line": {"up": "joint:1", "down": "joint:2"}, "b": {"up": "joint:2", "down": "buffer"}}, '
        '"signals": {"1": {"track": "a", "for": "down", "arms": [{"id": "1"}]}, '
        '"2": {"track": "b", "for": "up", "arms": [{"id": "2"}]}}}'
    ),
    passes=(
        '{"format": "trappoint-layout/1", "tracks": {"a": {"up": "edge:x", "down": "joint:1"}, '
        '"line": {"up": "joint:1", "down": "joint:2"}, "b": {"up": "joint:2", "down": "buffer"}}, '
        '"signals": {"1": {"track": "a", "for": "down", "arms": [{"id": "1"}]}, '
        '"2": {"track": "b", "for": "up", "arms": [{"id": "2"}]}}}'
    ),
)


@STANDSTILL.checked_by
def _standstills(facts: Facts) -> Iterator[Finding]:
    from trappoint.verdict.deadlock import find_standstills

    network = facts.network
    for found in find_standstills(facts):
        one, other = (network.heads[head] for head in found.heads)
        places = [network.place(network.held_at[head]) for head in found.heads]
        here, there = (place_called(facts, place) for place in places)
        yield STANDSTILL.finding(
            pointer_to("signals", one.signal),
            f"A train held at {thing(facts, 'signals', one.signal)} in {here} and a train held at "
            f"{thing(facts, 'signals', other.signal)} in {there} can stand face to face, with no "
            "way on for either.",
            "Hold one of the trains farther back, where the other can pass, or add a loop.",
            path=(one.signal, places[0].name, other.signal, places[1].name),
            why=_how_they_come_there(facts, found),
            at_key=True,
        )


def _how_they_come_there(facts: Facts, found: Standstill) -> str:
    from trappoint.rules.movement_phrases import steps_in_words

    return f"How they get there: {steps_in_words(facts, found.starts, found.steps)}"
