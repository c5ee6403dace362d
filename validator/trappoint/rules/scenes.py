"""Rules on the points of scenes, and on scenes that leave their arms open."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import pointer_to
from trappoint.core.quoting import listed
from trappoint.model.layout import lie_of, lie_word
from trappoint.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.core.findings import Finding
    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Scene


class SceneState:
    """The state in a scene: how every switch lies, which arms are off, where trains stand."""

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
        """Return the routes of an arm whose points all lie for them."""
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

        If signals cut a track into sections, the train may stand in any of them, so the train
        blocks only a route that has all of these sections.
        """
        return self.taken.get(route, [])

    @property
    def taken(self) -> dict[int, list[str]]:
        """From each route on which the scene has trains to the tracks and yards of these trains."""
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


def example_scene(**given: object) -> dict[str, object]:
    """Return a merge patch with one scene: an example of the rules on scenes."""
    return {"scenes": {"noon": given}}


POINTS_APART = Rule(
    id="scene-points-apart",
    level="error",
    stage="facts",
    summary="a scene in which points worked together lie differently",
    why="One lever moves them all, so nobody can set such a scene.",
    source="common practice, no source: one lever works both ends of a crossover",
    fails={"worked_together": [["p1", "p2"]], **example_scene(points={"p1": "reverse"})},
    passes={
        "worked_together": [["p1", "p2"]],
        **example_scene(points={"p1": "reverse", "p2": "reverse"}),
    },
)


@POINTS_APART.checked_by
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
                lies = listed([f"{name} {word}" for name, word in words.items()], "and")
                given = [name for name in group if name in scene.points]
                key = given[0] if given else group[0]
                yield POINTS_APART.finding(
                    pointer_to("scenes", scene.id, "points", key),
                    f"Points worked together lie differently in scene "
                    f"{facts.names.called('scenes', scene.id)}: {lies}.",
                    f"Set {listed(group, 'and')} all normal or all reverse.",
                    path=(scene.id, *group),
                )


OPEN = Rule(
    id="scene-open",
    level="note",
    stage="facts",
    summary="a scene with trains, but without arms or points",
    why="From the places of the trains, the check derives the arms that may be off.",
    source="the format: scenes",
    fails=example_scene(trains={"main": True}),
    passes=example_scene(trains={"main": True}, off=["1L"], points={"p1": "reverse"}),
)


@OPEN.checked_by
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
        yield OPEN.finding(
            pointer_to("scenes", scene.id),
            f"With the trains of scene {facts.names.called('scenes', scene.id)}, any one of these "
            f"arms may be off: {listed(may, 'or')}."
            if may
            else f"With the trains of scene {facts.names.called('scenes', scene.id)}, no arm may "
            "be off.",
            "Add `off` with the arms that are off, and `points` with the points that are not "
            "normal.",
            path=(scene.id, *may),
            at_key=True,
        )
