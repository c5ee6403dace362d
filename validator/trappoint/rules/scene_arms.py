"""Rules on the arms that are off in a scene: the points, the trains and the other arms."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.findings import pointer_to
from trappoint.core.quoting import listed
from trappoint.interlocking.conflicts import meeting_keys, routes_conflict, runs_along
from trappoint.rules.route_phrases import (
    MAX_NAMES,
    MAX_ROADS,
    at_start,
    names_in_words,
    places_called,
    road,
    sees_to_it,
    some_names,
    thing,
    tracks_over,
)
from trappoint.rules.rule import BOARD_OF_TRADE, Rule
from trappoint.rules.scenes import SceneState, example_scene

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.core.findings import Finding
    from trappoint.facts.facts import Facts

AGAINST_POINTS = Rule(
    id="scene-arm-against-points",
    level="error",
    stage="facts",
    summary="an arm that is off while its points lie wrong for it",
    why="An arm may be off only while the points of its route lie for it.",
    source=(
        f"{BOARD_OF_TRADE}, rule 7a: a signal cannot be lowered until the points are set for it"
    ),
    fails=example_scene(off=["1L"]),
    passes=example_scene(off=["1L"], points={"p1": "reverse"}),
)


@AGAINST_POINTS.checked_by
def _against_points(facts: Facts) -> Iterator[Finding]:
    for scene in facts.layout.scenes.values():
        state = SceneState(facts, scene)
        for index, arm in state.off:
            routes = facts.assignment.routes_of[arm]
            if routes and not state.set_routes(arm):
                name = facts.assignment.arms[arm].id
                nearest, wrong = _wrong_points(state, routes)
                yield AGAINST_POINTS.finding(
                    pointer_to("scenes", scene.id, "off", index),
                    f"{at_start(thing(facts, 'arms', name))} must stay on: its route "
                    f"{road(facts, nearest)} needs {listed([w.needed for w in wrong], 'and')}, and "
                    f"{listed([w.lies for w in wrong], 'and')}.",
                    f"Set these points as {name} needs them, or take {name} out of `off`.",
                    path=(scene.id, name, *tracks_over(facts, [nearest])),
                    why=sees_to_it(facts),
                )


class _WrongPoints(NamedTuple):
    """Points that lie wrong for a route, in words."""

    needed: str
    """``p7 right``."""
    lies: str
    """``p7 is left``."""


def _wrong_points(state: SceneState, routes: tuple[int, ...]) -> tuple[int, list[_WrongPoints]]:
    """Return the route with the fewest wrong points, and these points."""
    nearest, best = routes[0], list[_WrongPoints]()
    for number in routes:
        wrong = []
        for place, lie in state.facts.routes.all[number].lies.items():
            name = state.facts.network.places[place].id
            switch = state.facts.layout.switch(name)
            lies = state.lies.get(place, "")
            if switch is not None and lies != lie:
                kind = "points" if name in state.facts.layout.points else "crossings"
                called = state.facts.names.called(kind, name)
                wrong.append(_WrongPoints(f"{called} {lie}", f"{name} is {lies}"))
        if not best or len(wrong) < len(best):
            nearest, best = number, wrong
    return nearest, best


OCCUPIED = Rule(
    id="scene-road-occupied",
    level="error",
    stage="facts",
    summary="an arm that is off for a route on which a train stands",
    why="A stop arm that is off tells the driver that the line is clear to the next stop signal.",
    source="common practice, no source: absolute block, one train in one section at a time",
    fails=example_scene(off=["1R"], trains={"main": True}),
    passes=example_scene(off=["1R"], trains={"loop-west": True}),
)


@OCCUPIED.checked_by
def _occupied(facts: Facts) -> Iterator[Finding]:
    for scene in facts.layout.scenes.values():
        state = SceneState(facts, scene)
        for index, arm in state.off:
            if facts.assignment.arms[arm].kind == "calling-on":
                continue
            name = facts.assignment.arms[arm].id
            for route in state.set_routes(arm):
                taken = state.in_the_way(route)
                if taken:
                    yield OCCUPIED.finding(
                        pointer_to("scenes", scene.id, "off", index),
                        f"{at_start(thing(facts, 'arms', name))} must stay on: a train stands on "
                        f"its route, in {listed([_called(facts, id_) for id_ in taken], 'and')}.",
                        f"Take {name} out of `off`, or take the train out of {taken[0]}; to run up "
                        "to a standing train, add a calling-on arm.",
                        path=dict.fromkeys((scene.id, name, *taken, *tracks_over(facts, [route]))),
                    )
                    break


def _called(facts: Facts, track: str) -> str:
    """Return the name of a track or a yard with its id."""
    return facts.names.called("yards" if track in facts.layout.yards else "tracks", track)


CONFLICTING = Rule(
    id="scene-arms-conflict",
    level="error",
    stage="facts",
    summary="two arms off that must never be off together",
    why="Each of the two arms lets a train run where the other lets another train run.",
    source=(
        f"{BOARD_OF_TRADE}, rule 7b: no two signals that can lead to a collision "
        "may be shown at once"
    ),
    fails=example_scene(off=["1R", "7L"]),
    passes=example_scene(off=["1R", "2"]),
)


@CONFLICTING.checked_by
def _conflicting(facts: Facts) -> Iterator[Finding]:
    for scene in facts.layout.scenes.values():
        state = SceneState(facts, scene)
        for index, arm, others in _near(state):
            for other in others:
                met = _clash(state, arm, other)
                if arm == other or met is None:
                    continue
                set_by = _switches(state, arm, other)
                otherwise = f", or set {names_in_words(set_by, 'or')} another way" if set_by else ""
                places = list(places_called(facts, met[: MAX_NAMES + 1]).values())
                over = f": as the points lie, both routes run over {names_in_words(places)}"
                one, two = facts.assignment.arms[other].id, facts.assignment.arms[arm].id
                both = [facts.names.called("arms", id_) for id_ in (two, one)]
                yield CONFLICTING.finding(
                    pointer_to("scenes", scene.id, "off", index),
                    f"Arms {listed(both, 'and')} must never be off together{over if met else ''}.",
                    f"Take {two} or {one} out of `off`{otherwise}.",
                    path=(scene.id, two, one, *met, *set_by),
                    why=sees_to_it(facts),
                )


def _near(state: SceneState) -> Iterator[tuple[int, int, list[int]]]:
    """Yield each arm that is off: its index, its number, and earlier arms that may conflict.

    Routes that conflict share a key of ``meeting_keys``.
    """
    facts = state.facts
    at: dict[int, list[int]] = {}
    for position, (index, arm) in enumerate(state.off):
        keys = meeting_keys(facts.routes, facts.together, state.set_routes(arm))
        near = {before for key in keys for before in at.get(key, ())}
        yield index, arm, [state.off[before][1] for before in sorted(near)]
        for key in keys:
            at.setdefault(key, []).append(position)


def _clash(state: SceneState, arm: int, other: int) -> list[str] | None:
    """Return the places shared by two conflicting set routes of two arms, None if none conflict."""
    network, routes = state.facts.network, state.facts.routes.all
    for mine in state.set_routes(arm):
        for theirs in state.set_routes(other):
            if routes_conflict(routes[mine], routes[theirs]) is not None:
                places = sorted(routes[mine].places & routes[theirs].places)
                return some_names(network.places[place].name for place in places)
    return None


def _switches(state: SceneState, *arms: int) -> list[str]:
    """Return the points and slips that the set routes of some arms need."""
    places, routes = state.facts.network.places, state.facts.routes.all
    numbers = [number for arm in arms for number in state.set_routes(arm)[:MAX_ROADS]]
    return some_names(places[place].id for number in numbers for place in routes[number].lies)


SHUNT_ON = Rule(
    id="scene-shunt-signal-on",
    level="error",
    stage="facts",
    summary="an arm that is off while a shunt signal on its route is on",
    why="A train would run past a signal at danger.",
    source="common practice, no source: the shunt signals on a main route are taken off first",
    fails={
        "signals": {
            "8": {
                "track": "loop-east",
                "for": "up",
                "form": "disc",
                "arms": [{"id": "8", "kind": "shunt"}],
            }
        },
        **example_scene(off=["7R"], points={"p2": "reverse"}),
    },
    passes={
        "signals": {
            "8": {
                "track": "loop-east",
                "for": "up",
                "form": "disc",
                "arms": [{"id": "8", "kind": "shunt"}],
            }
        },
        **example_scene(off=["7R", "8"], points={"p2": "reverse"}),
    },
)


@SHUNT_ON.checked_by
def _shunt_on(facts: Facts) -> Iterator[Finding]:
    for scene in facts.layout.scenes.values():
        state = SceneState(facts, scene)
        off = {arm for _, arm in state.off}
        for index, arm in state.off:
            for number in state.set_routes(arm):
                route = facts.routes.all[number]
                for head in route.past:
                    clear = any(
                        facts.assignment.head_of[other] == head
                        and any(
                            runs_along(route, facts.routes.all[r]) for r in state.set_routes(other)
                        )
                        for other in off
                    )
                    if not clear:
                        signal = facts.network.heads[head].signal
                        name = facts.assignment.arms[arm].id
                        yield SHUNT_ON.finding(
                            pointer_to("scenes", scene.id, "off", index),
                            f"{at_start(thing(facts, 'arms', name))} must stay on: "
                            f"{thing(facts, 'signals', signal)} on its route is at danger.",
                            f"Add the shunt arm of signal {signal} for this route to `off`, or "
                            f"take {name} out of `off`.",
                            path=(scene.id, name, signal, *tracks_over(facts, [number])),
                            why=sees_to_it(facts),
                        )


TOO_SOON = Rule(
    id="scene-distant-too-soon",
    level="error",
    stage="facts",
    summary="a distant that is off while a stop arm that it repeats is on",
    why="The driver would run fast towards a signal at danger.",
    source=(
        f"{BOARD_OF_TRADE}, rule 7f: a distant is off only while all stop signals of its box for "
        "the line are off"
    ),
    fails={
        "signals": {
            "8": {
                "track": "quarry-line",
                "for": "up",
                "at_mm": 900,
                "arms": [{"id": "8", "kind": "distant"}],
            }
        },
        **example_scene(off=["8"]),
    },
    passes={
        "signals": {
            "8": {
                "track": "quarry-line",
                "for": "up",
                "at_mm": 900,
                "arms": [{"id": "8", "kind": "distant"}],
            }
        },
        **example_scene(off=["7L", "8"]),
    },
)


@TOO_SOON.checked_by
def _too_soon(facts: Facts) -> Iterator[Finding]:
    if not facts.layout.scenes:
        return
    from trappoint.interlocking.distants import clear_for

    distants = {distant.arm.id: distant for distant in facts.distants}
    for scene in facts.layout.scenes.values():
        state = SceneState(facts, scene)
        off = {arm for _, arm in state.off}
        for index, name in enumerate(scene.off):
            if name in distants:
                keeps = clear_for(facts, distants[name], off, state.lies)
                if keeps is not None:
                    yield TOO_SOON.finding(
                        pointer_to("scenes", scene.id, "off", index),
                        f"{at_start(thing(facts, 'arms', name, 'distant'))} must stay on: {keeps}.",
                        f"Take {name} out of `off`, or add every stop arm that it repeats to "
                        "`off`.",
                        path=(scene.id, name),
                    )
