"""Rules on scenes: points, arms and trains must agree, as the locking would have it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import pointer_to
from trappoint.core.quoting import listed
from trappoint.interlocking.conflicts import meeting_keys, routes_conflict, runs_along
from trappoint.model.layout import lie_of, lie_word
from trappoint.rules.route_phrases import MAX_ROADS, road, some_names, tell_names, tracks_over
from trappoint.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.core.findings import Finding
    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Scene


class SceneState:
    """What a scene sets: how every switch lies, which arms are off, which places are taken."""

    def __init__(self, facts: Facts, scene: Scene) -> None:
        self.facts = facts
        self.scene = scene
        self.lies = dict(facts.normal_lies)
        for name, word in scene.points.items():
            switch = facts.layout.switch(name)
            for number in facts.switches_named.get(name, ()):
                if number in self.lies and switch is not None:
                    self.lies[number] = lie_of(switch, word) or self.lies[number]
        numbers = facts.arm_number
        self.off = [
            (index, numbers[name]) for index, name in enumerate(scene.off) if name in numbers
        ]
        self.parts = facts.parts
        self._set: dict[int, list[int]] = {}
        self._taken: dict[int, list[str]] | None = None

    def set_routes(self, arm: int) -> list[int]:
        """Return the routes of an arm for which all points lie."""
        if arm not in self._set:
            self._set[arm] = [
                number
                for number in self.facts.assignment.routes_of[arm]
                if all(
                    self.lies.get(place) == lie
                    for place, lie in self.facts.routes.all[number].lies.items()
                )
            ]
        return self._set[arm]

    def in_the_way(self, route: int) -> list[str]:
        """Return the tracks and yards of a route on which the scene has a train.

        On a track that signals cut, the train may stand in any part: only a route that has them
        all is surely blocked.
        """
        return self.taken.get(route, [])

    @property
    def taken(self) -> dict[int, list[str]]:
        """From each route on which the scene has a train to the tracks and yards where it has."""
        if self._taken is None:
            self._taken = {}
            routes = self.facts.routes
            for name in self.scene.trains:
                if name in self.parts:
                    first, *others = self.parts[name]
                    for route in routes.having[first]:
                        if routes.all[route].places.issuperset(others):
                            self._taken.setdefault(route, []).append(name)
        return self._taken


def _points_apart(facts: Facts) -> Iterator[Finding]:
    groups_of: dict[str, list[int]] = {}
    for number, members in enumerate(facts.layout.worked_together):
        for member in members:
            groups_of.setdefault(member, []).append(number)
    for scene in facts.layout.scenes.values():
        touched = {number for name in scene.points for number in groups_of.get(name, ())}
        for group in (facts.layout.worked_together[number] for number in sorted(touched)):
            words: dict[str, str] = {}
            for name in group:
                switch = facts.layout.switch(name)
                lie = lie_of(switch, scene.points.get(name, "normal")) if switch else None
                if switch is not None and lie is not None:
                    words[name] = lie_word(switch, lie)
            if len(set(words.values())) > 1:
                told = listed([f"{name} {word}" for name, word in words.items()], "and")
                given = [name for name in group if name in scene.points]
                key = given[0] if given else group[0]
                yield POINTS_APART.finding(
                    pointer_to("scenes", scene.id, "points", key),
                    f"{told}: these are worked together, so that all lie normal or all reverse.",
                    f"Give all of {listed(group, 'and')} the same, or none of them.",
                    path=(scene.id, *group),
                )


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
    """Return the places that two roads set for two arms share, None where no roads conflict."""
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


def _open(facts: Facts) -> Iterator[Finding]:
    leading = {
        number: arm.id
        for number, arm in enumerate(facts.assignment.arms)
        if arm.kind != "calling-on" and facts.assignment.routes_of[number]
    }
    for scene in facts.layout.scenes.values():
        if scene.off or scene.points or not scene.trains:
            continue
        state = SceneState(facts, scene)
        kept = {
            arm
            for route in state.taken
            for arm in facts.assignment.speaking.get(route, ())
            if all(other in state.taken for other in facts.assignment.routes_of[arm])
        }
        may = [name for number, name in leading.items() if number not in kept]
        told = listed(may, "and") if may else "none"
        yield OPEN.finding(
            pointer_to("scenes", scene.id),
            f"With trains as they stand, these arms may be off, each by itself: {told}.",
            "Say which are (`off`), and which points are not normal (`points`).",
            path=(scene.id, *may),
            at_key=True,
        )


def _scene(**given: object) -> dict[str, object]:
    return {"scenes": {"noon": given}}


POINTS_APART = Rule(
    "scene-points-apart",
    "error",
    "facts",
    "a scene in which points worked together lie differently",
    "One lever moves them: such a scene can not be set.",
    "common practice, no source: the ends of a crossover are worked by one lever",
    {"worked_together": [["p1", "p2"]], **_scene(points={"p1": "reverse"})},
    {"worked_together": [["p1", "p2"]], **_scene(points={"p1": "reverse", "p2": "reverse"})},
    _points_apart,
)

AGAINST_POINTS = Rule(
    "scene-arm-against-points",
    "error",
    "facts",
    "an arm that is off while its points lie otherwise",
    "The locking would not let this arm be taken off.",
    "Board of Trade requirements 1892, rule 7a: a signal can not be lowered until the points are "
    "set for it",
    _scene(off=["1L"]),
    _scene(off=["1L"], points={"p1": "reverse"}),
    _against_points,
)

OCCUPIED = Rule(
    "scene-road-occupied",
    "error",
    "facts",
    "an arm that is off for a road on which a train stands",
    "A stop arm that is off says that the road is empty as far as the next one.",
    "absolute block: one train in one section at a time",
    _scene(off=["1R"], trains={"main": True}),
    _scene(off=["1R"], trains={"loop-west": True}),
    _occupied,
)

CONFLICTING = Rule(
    "scene-arms-conflict",
    "error",
    "facts",
    "two arms off that may never be off together",
    "The locking would not let the second of them be taken off.",
    "Board of Trade requirements 1892, rule 7b: no two signals that can lead to a collision may be "
    "shown at once",
    _scene(off=["1R", "7L"]),
    _scene(off=["1R", "2"]),
    _conflicting,
)

SHUNT_ON = Rule(
    "scene-shunt-signal-on",
    "error",
    "facts",
    "an arm that is off while a shunt signal on its road is on",
    "A train would run past a signal at danger.",
    "common practice, no source: shunt signals that a main route passes are taken off first",
    {
        "signals": {
            "8": {
                "track": "loop-east",
                "for": "up",
                "form": "disc",
                "arms": [{"id": "8", "kind": "shunt"}],
            }
        },
        **_scene(off=["7R"], points={"p2": "reverse"}),
    },
    {
        "signals": {
            "8": {
                "track": "loop-east",
                "for": "up",
                "form": "disc",
                "arms": [{"id": "8", "kind": "shunt"}],
            }
        },
        **_scene(off=["7R", "8"], points={"p2": "reverse"}),
    },
    _shunt_on,
)

TOO_SOON = Rule(
    "scene-distant-too-soon",
    "error",
    "facts",
    "a distant that is off while a stop arm that it speaks for is on",
    "The driver would run fast towards a signal at danger.",
    "Board of Trade requirements 1892, rule 7f; a distant is off only when all stop signals of its "
    "box for the line are off",
    {
        "signals": {
            "8": {
                "track": "quarry-line",
                "for": "up",
                "at_mm": 900,
                "arms": [{"id": "8", "kind": "distant"}],
            }
        },
        **_scene(off=["8"]),
    },
    {
        "signals": {
            "8": {
                "track": "quarry-line",
                "for": "up",
                "at_mm": 900,
                "arms": [{"id": "8", "kind": "distant"}],
            }
        },
        **_scene(off=["7L", "8"]),
    },
    _too_soon,
)

OPEN = Rule(
    "scene-open",
    "note",
    "facts",
    "a scene that says only where trains stand",
    "Which arms may then be off follows from the locking.",
    "follows from the locking table",
    _scene(trains={"main": True}),
    _scene(trains={"main": True}, off=["1L"], points={"p1": "reverse"}),
    _open,
)
