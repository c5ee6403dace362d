"""Rules on where trains can run: each signal has a route, and trains reach each track."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import pointer_to
from trappoint.rules.route_phrases import (
    at_start,
    barred_beyond,
    barred_in_words,
    clash_in_words,
    place_called,
    thing,
)
from trappoint.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.core.findings import Finding
    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Head, Layout


def _reached(facts: Facts) -> set[int]:
    """Return every state that a train can reach, with no other train in the way."""
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
                # A train may choose its way only at the end of a route.
                passed.update(routes.all[number].path)
                onward.append(routes.all[number].path[-1])
        for state in onward:
            if state not in halted:
                halted.add(state)
                waiting.append(state)
    return halted | passed


def _thirteen_loops() -> str:
    """Return a plan of thirteen loops in a row without signals: 8,192 routes for one arm."""
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
    summary="a signal with too many routes to analyse",
    why="A signal with thousands of routes means nothing to a driver, and is too much to check.",
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
            f"{at_start(thing(facts, 'signals', signal))} has more than 4,096 routes, too many to "
            "analyse.",
            "Put stop signals along the way, so that routes end sooner; or make the tracks beyond "
            f"signal {signal} a yard.",
            path=(signal,),
            at_key=True,
        )


WITHOUT_ROUTE = Rule(
    id="signal-without-route",
    level="error",
    stage="facts",
    summary="a stop signal without a route",
    why="A stop signal without a route can never be taken off; most often it faces the wrong way.",
    source="the format: what a route is",
    fails={"signals": {"6": {"for": "down"}}},
    passes={},
)


@WITHOUT_ROUTE.checked_by
def _without_route(facts: Facts) -> Iterator[Finding]:
    network = facts.network
    for number, head in enumerate(network.heads):
        if (
            head.elsewhere
            or facts.routes.of_head[number]
            or number in facts.routes.overflowed_heads
        ):
            continue
        from trappoint.rules.loops import advise_beyond, serves_turned

        pointer = pointer_to("signals", head.signal)
        signal = at_start(thing(facts, "signals", head.signal))
        on = facts.names.called("tracks", head.track)
        yard = facts.yard_of_track.get(head.track)
        if network.held_at[number] < 0 and yard is not None:
            yield WITHOUT_ROUTE.finding(
                pointer,
                f"{signal} is inside {thing(facts, 'yards', yard)}, where it holds no train.",
                f"Put it at the end of {head.track} that leads out of the yard, or take it out: in "
                "a yard, trains move by hand signals.",
                path=(head.signal, yard),
                at_key=True,
            )
            continue
        track = facts.layout.tracks[head.track]
        if not track.allows(head.heading):
            turn = "Turn it round (`for`)"
            turn = turn if serves_turned(facts, number) else "Take it out"
            yield WITHOUT_ROUTE.finding(
                pointer,
                f"{signal} is for {head.heading} trains, but trains run only {track.running} on "
                f"{on}.",
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
                f"{signal} has no route: from {on}, {head.heading} towards {end}, all ways lead "
                f"{loop.round}.",
                loop.fix,
                path=(head.signal, head.track, *loop.tracks),
                at_key=True,
            )
            continue
        barred = barred_beyond(facts, number)
        yield WITHOUT_ROUTE.finding(
            pointer,
            f"{signal} has no route: from {on}, {head.heading} towards {end}, no train can run on "
            "to another signal or to the end of a track."
            f"{clash_in_words(facts, number)}{barred_in_words(barred)}",
            "Correct its `for`, its `track` or the `running` of the tracks beyond it.",
            path=(head.signal, head.track, *barred),
            at_key=True,
        )


UNREACHABLE = Rule(
    id="unreachable-track",
    level="warning",
    stage="facts",
    summary="a track that no train can ever reach",
    why="Most often a wrong `running` or a signal without a route cuts such a track off.",
    source="the format: which moves a track and its ends allow",
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
    summary="a plan without a stand",
    why="Trains start from stands; a plan without stands holds only because nothing can move.",
    source="the format: what a stand is",
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
            "No track is a stand, so there is nothing to check.",
            'Add a platform, a buffer or an edge to a track, or add "stand": true to it.',
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
    reported: set[str] = set()
    for number in unreached:
        place = network.places[number]
        for track in network.tracks_of(number):
            if track not in reported:
                reported.add(track)
                called = facts.names.called("tracks", track)
                called = called if place.id != track else place_called(facts, place)
                yield UNREACHABLE.finding(
                    pointer_to("tracks", track),
                    f"No train can ever reach {called}.",
                    advice.get(
                        number,
                        "Correct its ends, the `running` here and on the tracks beside it, or the "
                        "signals without a route.",
                    ),
                    path=(track,),
                    at_key=True,
                )


NEVER_MET = Rule(
    id="unreachable-signal",
    level="warning",
    stage="facts",
    summary="a signal that no train ever reaches",
    why="Either the signal faces the wrong way, or a stand is missing.",
    source="the format: which moves a track and its ends allow",
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
                f"No train ever reaches {thing(facts, 'signals', head.signal)}: none can run "
                f"{head.heading} on {facts.names.called('tracks', head.track)}.",
                _where_never_met(facts.layout, head),
                path=(head.signal, head.track),
                at_key=True,
            )


def _where_never_met(layout: Layout, head: Head) -> str:
    if layout.tracks[head.track].stand:
        return "Turn it round (`for`), move it along the track, or take it out."
    return (
        f'Turn it round (`for`); or, if trains turn back on {head.track}, add "stand": true to '
        f"{head.track}."
    )
