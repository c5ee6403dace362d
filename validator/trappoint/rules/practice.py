"""Advice: what good practice asks for beyond a plan that holds. Each with its source."""

from __future__ import annotations

from itertools import islice, pairwise
from typing import TYPE_CHECKING

from trappoint.core.findings import pointer_to
from trappoint.core.quoting import listed
from trappoint.rules.holding import tell_steps
from trappoint.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.core.findings import Finding
    from trappoint.facts.facts import Facts


def _without_home(facts: Facts) -> Iterator[Finding]:
    duties = {duty for found in facts.duties.of_arm for duty in found}
    in_yards = {track for yard in facts.layout.yards.values() for track in yard.tracks}
    for platform in facts.layout.platforms.values():
        outside = not in_yards.issuperset(platform.tracks)
        if outside and f"home platform {platform.id}" not in duties:
            yield WITHOUT_HOME.finding(
                pointer_to("platforms", platform.id),
                f"Platform {platform.id} has no home signal: no arm gives leave to run in to "
                f"{listed(platform.tracks, 'or')}.",
                "Put a stop signal where trains for this platform wait, with an arm for it.",
                path=(platform.id,),
                at_key=True,
            )


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
            continue  # What is unheld is reported already, as an error.
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
                f"Platform {platform} has no starting signal for {way} trains on {piece.track}.",
                f"Put a stop signal for {way} trains at the {way} end of {piece.track}.",
                path=(platform, piece.track),
            )


def _on_one_doll(facts: Facts) -> Iterator[Finding]:
    assignment = facts.assignment
    dolls: dict[tuple[int, int], list[int]] = {}
    for number, arm in enumerate(assignment.arms):
        if arm.kind == "stop":
            dolls.setdefault((assignment.head_of[number], arm.doll), []).append(number)
    for numbers in dolls.values():
        roads = {route for number in numbers for route in assignment.routes_of[number]}
        if len(numbers) > 1 and len(roads) > 1:
            names = [assignment.arms[number].id for number in numbers]
            arm = assignment.arms[numbers[0]]
            yield ON_ONE_DOLL.finding(
                pointer_to("signals", arm.signal, "arms", arm.index),
                f"Arms {listed(names, 'and')} stand one above another for different roads.",
                "Give each road a doll of its own, side by side on a bracket.",
                path=names,
            )


def _heights(facts: Facts) -> Iterator[Finding]:
    assignment = facts.assignment
    of_head: dict[int, list[tuple[int, float, int]]] = {}
    for number, arm in enumerate(assignment.arms):
        ranks = [rank for route in assignment.routes_of[number] if (rank := _rank(facts, route))]
        if arm.kind == "stop" and arm.height_mm is not None and ranks:
            head = assignment.head_of[number]
            of_head.setdefault(head, []).append((min(ranks), arm.height_mm, number))
    for entries in of_head.values():
        highest = max(entry[1] for entry in entries)
        for rank, height, number in entries:
            if height >= highest:
                continue  # None is higher, of whatever rank.
            for other_rank, other_height, other in entries:
                if rank < other_rank and height < other_height:
                    arm, higher = assignment.arms[number], assignment.arms[other]
                    yield AGAINST_RANK.finding(
                        pointer_to("signals", arm.signal, "arms", arm.index, "height_mm"),
                        f"Arm {arm.id} is for the more important road (rank {rank}), but stands "
                        f"lower than {higher.id} (rank {other_rank}).",
                        f"Make {arm.id} at least as high as {higher.id}, or put the ranks right.",
                        path=(arm.id, higher.id),
                    )


def _rank(facts: Facts, route: int) -> int | None:
    """Return the rank of the last track of a route that has one."""
    for state in reversed(facts.routes.all[route].path):
        if facts.network.place(state).kind != "section":
            continue
        for track in reversed(facts.network.tracks_run(state)):
            rank = facts.layout.tracks[track].rank
            if rank is not None:
                return rank
    return None


def _without_lock(facts: Facts) -> Iterator[Finding]:
    served = {t for platform in facts.layout.platforms.values() for t in platform.tracks}
    network, told = facts.network, set()
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
            if place.id not in told and not points.lock:
                told.add(place.id)
                yield WITHOUT_LOCK.finding(
                    place.pointer,
                    f"Points {place.id} are met facing by passenger trains, and no lock is noted.",
                    f'Note a facing-point lock: "lock": true on {place.id}.',
                    path=(place.id,),
                    at_key=True,
                )


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
                    f"Siding {track.id} joins the running line at {points.id} without trap points.",
                    "Put trap points on the siding before it joins (`trap` on their points, with "
                    "a short track to a buffer or sand drag).",
                    path=(track.id, points.id),
                )


def _beside_traps(facts: Facts) -> set[str]:
    """Return what is worked together with trap points, which then guard it."""
    points = facts.layout.points
    return {
        name
        for group in facts.layout.worked_together
        if any(points[member].trap for member in group if member in points)
        for name in group
    }


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
            f"There is no signal {gap}, though there are {after} and {numbers[-1]}.",
            "Number the signals without gaps, or keep the gap for one to come.",
            at_key=True,
        )


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
                f"Signal {head.signal} stands right before {fouled[0]}: a train that runs past it "
                "is foul of another road at once.",
                f"Put it farther back (`at_mm`), so that a length of {head.track} lies between.",
                path=(head.signal, *fouled),
                at_key=True,
            )


def _standstills(facts: Facts) -> Iterator[Finding]:
    from trappoint.verdict.deadlock import find_standstills

    network = facts.network
    for found in find_standstills(facts):
        one, other = (network.heads[head] for head in found.heads)
        places = [network.place(network.held_at[head]).name for head in found.heads]
        story = tell_steps(found.starts, found.steps)
        yield STANDSTILL.finding(
            pointer_to("signals", one.signal),
            f"A train held at signal {one.signal} in {places[0]} and one at signal {other.signal} "
            f"in {places[1]} stand face to face: neither has a way on.",
            "Let one of them wait farther back, where the other can pass; or give a loop a second "
            "road.",
            path=(one.signal, places[0], other.signal, places[1]),
            why=story,
            at_key=True,
        )


_HALT = (
    '{"format": "trappoint-layout/1", "tracks": {"line": {"up": "edge:x", "down": "joint:1"}, '
    '"halt": {"up": "joint:1", "down": "joint:2"}, '
    '"end": {"up": "joint:2", "down": "buffer", "running": "down", "stand": false}}, '
    '"platforms": {"A": {"tracks": ["halt"]}}, '
    '"signals": {"1": {"track": "line", "for": "down", "arms": [{"id": "1"}]}, '
    '"2": {"track": "halt", "for": "up", "arms": [{"id": "2"}]}%s}}'
)

_NO_SOURCE = "common practice, no source"

WITHOUT_HOME = Rule(
    "platform-without-home",
    "warning",
    "facts",
    "a platform to which no signal admits trains",
    "Before every platform there should be a signal at which a train can wait until it is free.",
    "Findlay, Working and Management of an English Railway, pp. 82-84: home signals",
    {
        "signals": {
            "1": {"arms": [{"id": "1L", "to": "loop-west"}]},
            "7": {"arms": [{"id": "7R", "to": "loop-west"}]},
        }
    },
    {},
    _without_home,
)

WITHOUT_STARTER = Rule(
    "platform-without-starter",
    "warning",
    "facts",
    "a platform from which trains leave past no signal",
    "A train at a platform needs a signal that tells when it may leave.",
    "Findlay, Working and Management of an English Railway, pp. 82-84: platform starters",
    _HALT % "",
    _HALT % ', "3": {"track": "halt", "for": "down", "arms": [{"id": "3"}]}',
    _without_starter,
)

ON_ONE_DOLL = Rule(
    "junction-arms-on-one-doll",
    "note",
    "facts",
    "arms for different roads one above another",
    "Side by side, as the roads lie, they are read at a glance; one above another they must be "
    "counted.",
    "Findlay, p. 83: junction signals never one above another; the Board of Trade requirements of "
    "1892, rule 3, still allowed it (top arm for the line on the left)",
    {
        "signals": {
            "1": {
                "arms": [
                    {"id": "1L", "to": "loop-west", "doll": 1},
                    {"id": "1R", "to": "main", "doll": 1},
                ]
            }
        }
    },
    {},
    _on_one_doll,
)

AGAINST_RANK = Rule(
    "arm-height-against-rank",
    "note",
    "facts",
    "an arm for the more important road that stands lower than its neighbour",
    "The higher arm is read as the one for the faster or more important road.",
    "present-day British practice: the higher arm is for the more important road",
    {
        "tracks": {"main": {"rank": 1}, "loop-west": {"rank": 2}},
        "signals": {
            "1": {
                "arms": [
                    {"id": "1L", "to": "loop-west", "height_mm": 90},
                    {"id": "1R", "to": "main", "height_mm": 70},
                ]
            }
        },
    },
    {
        "tracks": {"main": {"rank": 1}, "loop-west": {"rank": 2}},
        "signals": {
            "1": {
                "arms": [
                    {"id": "1L", "to": "loop-west", "height_mm": 70},
                    {"id": "1R", "to": "main", "height_mm": 90},
                ]
            }
        },
    },
    _heights,
)

WITHOUT_LOCK = Rule(
    "facing-points-without-lock",
    "warning",
    "facts",
    "facing points on a passenger road with no lock noted",
    "Points that move under a train, or do not close, split it; a lock holds and proves them.",
    "Board of Trade requirements 1892, rule 5: all facing points to have locks and detection",
    {},
    {"points": {"p1": {"lock": True}, "p2": {"lock": True}, "p3": {"lock": True}}},
    _without_lock,
    optional=True,
)

WITHOUT_TRAP = Rule(
    "siding-without-trap",
    "warning",
    "facts",
    "a siding that joins a running line without trap points",
    "A vehicle that runs away in the siding would foul the running line.",
    "trap points are required at siding exits in British practice (safety points, Board of Trade "
    "requirements 1892, rule 5)",
    {},
    {"points": {"p3": {"trap": True}}},
    _without_trap,
    optional=True,
)

NUMBERS_SKIP = Rule(
    "signal-numbers-skip",
    "note",
    "facts",
    "signal numbers with a gap",
    "A gap in the numbers makes people look for a signal that is not there.",
    _NO_SOURCE,
    {
        "signals": {
            "9": {
                "track": "quarry-line",
                "for": "up",
                "at_mm": 900,
                "arms": [{"id": "9", "kind": "distant"}],
            }
        }
    },
    {},
    _numbers_skip,
    optional=True,
)

NO_OVERLAP = Rule(
    "no-overlap",
    "note",
    "facts",
    "a stop signal right before points or a crossing",
    "Trains do not stop to the inch: between a signal and the place that it guards some length is "
    "left free.",
    "overlap beyond a home signal, 440 yards in British absolute block, 120 m to 400 m elsewhere; "
    "junction signals far enough from the fouling point to allow a small overrun (Findlay, p. 83)",
    {},
    _HALT % ', "3": {"track": "halt", "for": "down", "arms": [{"id": "3"}]}',
    _no_overlap,
    optional=True,
)

STANDSTILL = Rule(
    "standstill",
    "note",
    "facts",
    "two trains that can be brought face to face with no way on for either",
    "The locking lets both come there; then neither can move until one sets back past a signal.",
    "follows from the routes; common practice, no source",
    '{"format": "trappoint-layout/1", "tracks": {"a": {"up": "buffer", "down": "joint:1"}, '
    '"line": {"up": "joint:1", "down": "joint:2"}, "b": {"up": "joint:2", "down": "buffer"}}, '
    '"signals": {"1": {"track": "a", "for": "down", "arms": [{"id": "1"}]}, '
    '"2": {"track": "b", "for": "up", "arms": [{"id": "2"}]}}}',
    '{"format": "trappoint-layout/1", "tracks": {"a": {"up": "edge:x", "down": "joint:1"}, '
    '"line": {"up": "joint:1", "down": "joint:2"}, "b": {"up": "joint:2", "down": "buffer"}}, '
    '"signals": {"1": {"track": "a", "for": "down", "arms": [{"id": "1"}]}, '
    '"2": {"track": "b", "for": "up", "arms": [{"id": "2"}]}}}',
    _standstills,
)
