"""Rules on the arms that are off in a scene: the locking and the trains must allow them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import pointer_to
from trappoint.core.quoting import listed
from trappoint.interlocking.conflicts import meeting_keys, routes_conflict, runs_along
from trappoint.model.layout import lie_word
from trappoint.rules.route_phrases import MAX_ROADS, road, some_names, tell_names, tracks_over
from trappoint.rules.rule import Rule
from trappoint.rules.scenes import SceneState, example_scene

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.core.findings import Finding
    from trappoint.facts.facts import Facts

AGAINST_POINTS = Rule(
    id="scene-arm-against-points",
    level="error",
    stage="facts",
    summary="an arm that is off while its points lie otherwise",
    why="The locking would not let this arm be taken off.",
    source=(
        "Board of Trade requirements 1892, rule 7a: a signal cannot be lowered until the points "
        "are set for it"
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
                    f"{name} is off for the road {road(facts, nearest)}, but {listed(wrong, 'and')}"
                    ".",
                    f"Set these points as {name} needs them, or put {name} to danger.",
                    path=(scene.id, name, *tracks_over(facts, [nearest])),
                )


def _wrong_points(state: SceneState, routes: tuple[int, ...]) -> tuple[int, list[str]]:
    """Return the route that is nearest to being set, and tell what stands against it."""
    nearest, best = routes[0], list[str]()
    for number in routes:
        wrong = []
        for place, lie in state.facts.routes.all[number].lies.items():
            name = state.facts.network.places[place].id
            switch = state.facts.layout.switch(name)
            lies = state.lies.get(place, "")
            if switch is not None and lies != lie:
                wrong.append(f"{name} lies {lie_word(switch, lies)} ({lies}) and not {lie}")
        if not best or len(wrong) < len(best):
            nearest, best = number, wrong
    return nearest, best


OCCUPIED = Rule(
    id="scene-road-occupied",
    level="error",
    stage="facts",
    summary="an arm that is off for a road on which a train stands",
    why="A stop arm that is off says that the road is empty as far as the next one.",
    source="absolute block: one train in one section at a time",
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
                        f"{name} is off for a road on which a train stands: "
                        f"{listed(taken, 'and')}.",
                        f"Put {name} to danger, or take the train out of {taken[0]}; to run up to "
                        "a standing train there are calling-on arms.",
                        path=dict.fromkeys((scene.id, name, *taken, *tracks_over(facts, [route]))),
                    )
                    break


CONFLICTING = Rule(
    id="scene-arms-conflict",
    level="error",
    stage="facts",
    summary="two arms off that may never be off together",
    why="The locking would not let the second of them be taken off.",
    source=(
        "Board of Trade requirements 1892, rule 7b: no two signals that can lead to a collision "
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
                otherwise = f", or set {tell_names(set_by, 'or')} otherwise" if set_by else ""
                over = f": as the points lie, both roads lead over {tell_names(met)}"
                one, two = facts.assignment.arms[other].id, facts.assignment.arms[arm].id
                yield CONFLICTING.finding(
                    pointer_to("scenes", scene.id, "off", index),
                    f"{two} and {one} may never be off together{over if met else ''}.",
                    f"Put {two} or {one} to danger{otherwise}.",
                    path=(scene.id, two, one, *met, *set_by),
                )


def _near(state: SceneState) -> Iterator[tuple[int, int, list[int]]]:
    """Yield each arm that is off, its index first, with those before it that it may clash with.

    Roads that conflict have something in common: see ``meeting_keys``.
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
    """Return the places that two roads set for two arms share, None if no roads conflict."""
    network, routes = state.facts.network, state.facts.routes.all
    for mine in state.set_routes(arm):
        for theirs in state.set_routes(other):
            if routes_conflict(routes[mine], routes[theirs]) is not None:
                places = sorted(routes[mine].places & routes[theirs].places)
                return some_names(network.places[place].name for place in places)
    return None


def _switches(state: SceneState, *arms: int) -> list[str]:
    """Return the points and slips that the roads set for some arms need."""
    places, routes = state.facts.network.places, state.facts.routes.all
    numbers = [number for arm in arms for number in state.set_routes(arm)[:MAX_ROADS]]
    return some_names(places[place].id for number in numbers for place in routes[number].lies)


SHUNT_ON = Rule(
    id="scene-shunt-signal-on",
    level="error",
    stage="facts",
    summary="an arm that is off while a shunt signal on its road is on",
    why="A train would run past a signal at danger.",
    source="common practice, no source: shunt signals that a main route passes are taken off first",
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
                            f"{name} is off, but signal {signal} on its road is at danger.",
                            f"Take off the shunt arm of signal {signal} for this road too, or put "
                            f"{name} to danger.",
                            path=(scene.id, name, signal, *tracks_over(facts, [number])),
                        )


TOO_SOON = Rule(
    id="scene-distant-too-soon",
    level="error",
    stage="facts",
    summary="a distant that is off while a stop arm that it speaks for is on",
    why="The driver would run fast towards a signal at danger.",
    source=(
        "Board of Trade requirements 1892, rule 7f; a distant is off only when all stop signals of "
        "its box for the line are off"
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
                        f"Distant {name} is off, but {keeps}.",
                        f"Put {name} on, or take off every stop arm that it speaks for.",
                        path=(scene.id, name),
                    )
