"""Rules on where trains can run: every signal has routes, every track and signal is reached."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import pointer_to
from trappoint.rules.route_phrases import barred_beyond, tell_barred, tell_clash
from trappoint.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.core.findings import Finding
    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Head, Layout


def _reached(facts: Facts) -> set[int]:
    """Return every state to which some train can come, other trains left out of account."""
    network, routes = facts.network, facts.routes
    halted = {state for stand in network.stands for state in stand.states}
    halted.update(entry.state for entry in network.entries)
    passed = set(halted)
    waiting = list(halted)
    while waiting:
        onward: list[int] = []
        for exit_ in network.exits[waiting.pop()]:
            if exit_.head < 0 or exit_.head in routes.overflowed_heads:
                onward.append(exit_.to)
                continue
            for number in routes.of_head[exit_.head]:
                # Only at its end may it go on as it likes: on the way its road is set.
                passed.update(routes.all[number].path)
                onward.append(routes.all[number].path[-1])
        for state in onward:
            if state not in halted:
                halted.add(state)
                waiting.append(state)
    return halted | passed


def _thirteen_loops() -> str:
    """Thirteen loops one after another without a signal between them: 8,192 roads for one arm."""
    import json

    tracks = {"west": {"up": "edge:west", "down": "p1.toe"}}
    points: dict[str, dict[str, str]] = {}
    for number in range(1, 14):
        one, other = f"p{2 * number - 1}", f"p{2 * number}"
        points |= {one: {"normal": "left"}, other: {"normal": "right"}}
        onward = f"p{2 * number + 1}.toe" if number < 13 else "edge:east"
        tracks |= {
            f"left{number}": {"up": f"{one}.left", "down": f"{other}.right"},
            f"right{number}": {"up": f"{one}.right", "down": f"{other}.left"},
            f"line{number}": {"up": f"{other}.toe", "down": onward},
        }
    signals = {"1": {"track": "west", "for": "down", "form": "disc", "arms": [{"id": "1"}]}}
    return json.dumps(
        {"format": "trappoint-layout/1", "tracks": tracks, "points": points, "signals": signals}
    )


TOO_MANY_ROUTES = Rule(
    id="too-many-routes",
    level="error",
    stage="facts",
    summary="a signal with more routes than can be followed",
    why=(
        "A signal that leads to thousands of roads says nothing to a driver, and cannot be checked."
    ),
    source="the format: at most 4,096 routes for one signal",
    fails=_thirteen_loops,
    passes={},
    binding=True,
)


@TOO_MANY_ROUTES.checked_by
def _too_many(facts: Facts) -> Iterator[Finding]:
    for head in facts.routes.overflowed_heads:
        if facts.routes.untried is not None and head >= facts.routes.untried:
            break
        signal = facts.network.heads[head].signal
        yield TOO_MANY_ROUTES.finding(
            facts.network.heads[head].pointer,
            f"Signal {signal} has more routes than can be followed (4,096 for one signal).",
            "Put stop signals on the way, so that routes end sooner; or make the tracks beyond it "
            "a yard.",
            path=(signal,),
            at_key=True,
        )


WITHOUT_ROUTE = Rule(
    id="signal-without-route",
    level="error",
    stage="facts",
    summary="a stop signal that can give leave for nothing",
    why="A stop signal with no route can never be taken off: mostly it faces the wrong way.",
    source="follows from what a route is; common practice, no source",
    fails={"signals": {"6": {"for": "down"}}},
    passes={},
)


@WITHOUT_ROUTE.checked_by
def _without_route(facts: Facts) -> Iterator[Finding]:
    from trappoint.rules.loops import advise_beyond, serves_turned

    network = facts.network
    for number, head in enumerate(network.heads):
        if (
            head.elsewhere
            or facts.routes.of_head[number]
            or number in facts.routes.overflowed_heads
        ):
            continue
        pointer = pointer_to("signals", head.signal)
        yard = facts.yard_of_track.get(head.track)
        if network.held_at[number] < 0 and yard is not None:
            yield WITHOUT_ROUTE.finding(
                pointer,
                f"Signal {head.signal} stands inside yard {yard}: it holds nobody there.",
                f"Put it where {head.track} leaves the yard, or take it out: in a yard trains "
                "move by hand signals.",
                path=(head.signal, yard),
                at_key=True,
            )
            continue
        track = facts.layout.tracks[head.track]
        if not track.allows(head.heading):
            turn = "Let it face the other way (`for`)"
            turn = turn if serves_turned(facts, number) else "Take it out"
            yield WITHOUT_ROUTE.finding(
                pointer,
                f"Signal {head.signal} is for {head.heading} trains, but trains run only "
                f"{track.running} on {track.id}.",
                f"{turn}, or change the `running` of {track.id}.",
                path=(head.signal, track.id),
                at_key=True,
            )
            continue
        end = track.end(head.heading).text
        loop = advise_beyond(facts, number)
        if loop is not None:
            yield WITHOUT_ROUTE.finding(
                pointer,
                f"Signal {head.signal} has no route: from {head.track}, {head.heading} towards "
                f"{end}, all ways lead {loop.told}.",
                loop.fix,
                path=(head.signal, head.track, *loop.tracks),
                at_key=True,
            )
            continue
        barred = barred_beyond(facts, number)
        yield WITHOUT_ROUTE.finding(
            pointer,
            f"Signal {head.signal} has no route: from {head.track}, {head.heading} towards {end}, "
            "no train can run on to another signal or to the end of a track."
            f"{tell_clash(facts, number)}{tell_barred(barred)}",
            "Look which way it faces (`for`), which track it stands on, and the `running` of the "
            "tracks beyond it.",
            path=(head.signal, head.track, *barred),
            at_key=True,
        )


UNREACHABLE = Rule(
    id="unreachable-track",
    level="warning",
    stage="facts",
    summary="a track to which no train can ever come",
    why=(
        "Track that no train can use is mostly cut off by a wrong `running` or a signal with no "
        "route."
    ),
    source="follows from the moves; common practice, no source",
    fails={
        "tracks": {
            "loop-east": {"running": "up"},
            "main": {"running": "up"},
            "town-line": {"running": "up"},
            "quarry-line": {"running": "down"},
        }
    },
    passes={},
)

NO_STAND = Rule(
    id="nowhere-to-stand",
    level="warning",
    stage="facts",
    summary="a plan in which no train may stand anywhere",
    why="Trains start from stands; without one, a plan holds only because nothing can move.",
    source="follows from what a stand is; common practice, no source",
    fails=(
        '{"format": "trappoint-layout/1", '
        '"tracks": {"round": {"up": "joint:j", "down": "joint:j"}}}'
    ),
    passes={},
)


@UNREACHABLE.checked_by
def _unreachable(facts: Facts) -> Iterator[Finding]:
    network = facts.network
    if not network.stands and not network.entries:
        yield NO_STAND.finding(
            "/tracks",
            "There is no track on which a train may stand, so nothing can be checked.",
            'Give a track a platform, a buffer or an edge, or write "stand": true.',
            at_key=True,
        )
        return
    reached = _reached(facts)
    places = {network.place_of[state] for state in reached}
    unreached = [
        number
        for number, place in enumerate(network.places)
        # Only strays come to a drag.
        if place.kind == "section" and number not in places and number not in network.drags
    ]
    if not unreached:
        return
    from trappoint.rules.loops import advise_for_unreached

    advice = advise_for_unreached(facts, reached)
    told: set[str] = set()
    for number in unreached:
        place = network.places[number]
        for track in network.tracks_of(number):
            if track not in told:
                told.add(track)
                yield UNREACHABLE.finding(
                    pointer_to("tracks", track),
                    f"No train can ever come to {track if place.id != track else place.name}.",
                    advice.get(
                        number,
                        "Look at `running` here and on the tracks beside it, at the ends that it "
                        "names, and at signals that have no route.",
                    ),
                    path=(track,),
                    at_key=True,
                )


NEVER_MET = Rule(
    id="unreachable-signal",
    level="warning",
    stage="facts",
    summary="a signal to which no train ever comes",
    why="It can be taken off for nobody: it faces the wrong way, or a stand is forgotten.",
    source="follows from the moves; common practice, no source",
    fails={"tracks": {"siding": {"stand": False}}},
    passes={},
)


@NEVER_MET.checked_by
def _never_met(facts: Facts) -> Iterator[Finding]:
    network = facts.network
    if not network.stands and not network.entries:
        return
    reached = _reached(facts)
    places = {network.place_of[state] for state in reached}
    for number, head in enumerate(network.heads):
        state = network.held_at[number]
        known = state >= 0 and state not in reached and network.place_of[state] in places
        if known and facts.layout.tracks[head.track].allows(head.heading):
            yield NEVER_MET.finding(
                pointer_to("signals", head.signal),
                f"No train ever comes to signal {head.signal}: none can run {head.heading} on "
                f"{head.track}.",
                _where_never_met(facts.layout, head),
                path=(head.signal, head.track),
                at_key=True,
            )


def _where_never_met(layout: Layout, head: Head) -> str:
    if layout.tracks[head.track].stand:
        return "Let it face the other way (`for`), move it along the track, or take it out."
    return (
        f"Look which way it faces (`for`); or, if trains turn back on {head.track}, write "
        '"stand": true there.'
    )
