"""One moment on the diagram: how points lie, which arms are off, where trains stand.

A scene of the plan is a moment, and so is a road that is set; the road is lit too.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.quoting import listed
from trappoint.model.names import Names, with_id

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from trappoint.model.layout import Crossing, Layout, Points, Scene
    from trappoint.operation.orders import JourneyOrder
    from trappoint.operation.road import Road

Thing = tuple[str, str]
"""Kind (``tracks``, ``points``, ``crossings``, ``turntables``) and id."""


Stretch = tuple[str, float | None, float | None]
"""A track, and the cuts between which the stretch lies, in mm from its up end; None for its end."""


class StandingTrain(NamedTuple):
    """A train and the place in which it stands."""

    train: str
    """Its id; empty for a train that the plan does not list."""
    name: str
    """Its name, or its id if it has none; empty for a train that the plan does not list."""
    place: str
    """The place in words."""
    on: tuple[Stretch, ...]
    """The stretches of the place: the train stands on one of them."""

    @property
    def words(self) -> str:
        """The train and its place: ``The Cove express (express) at Platform 3 (j-platform-3)``."""
        return f"{with_id(self.name, self.train) or 'a train'} at {self.place}"


class Moment(NamedTuple):
    """How points lie, which arms are off, where trains stand, and what is lit."""

    title: str
    """The words after the title of the plan: ``scene The Cove connection``."""
    lies: Mapping[str, tuple[str, ...]]
    """The lies of points and slips; all others lie normal. A road may need several lies of the
    same points, one after the other."""
    off: frozenset[str]
    trains: tuple[StandingTrain, ...]
    lit: frozenset[Thing] = frozenset()
    """Everything that the lit road runs over; empty without one."""

    def lies_of(self, switch: Points | Crossing) -> tuple[str, ...]:
        """Return how points or a slip lie; empty for a diamond."""
        found = self.lies.get(switch.id)
        if found is None:
            return () if switch.normal is None else (switch.normal,)
        return found

    def words(self, layout: Layout) -> str:
        """Return the moment in sentences: the points that do not lie normal, arms, trains."""
        off = [arm.id for arm in layout.arms() if arm.id in self.off]
        trains = [train.words for train in self.trains]
        parts = [
            self.lies_in_words(layout),
            f"Arms off: {listed(off, 'and')}." if off else "All arms are on.",
            *([f"Trains: {'; '.join(trains)}."] if trains else []),
        ]
        return f"{self.title[:1].upper()}{self.title[1:]}. {' '.join(parts)}"

    def lies_in_words(self, layout: Layout) -> str:
        """Return a sentence on the points and slips that do not lie normal."""
        points = [f"{name} {lie}" for name, lie in self.not_normal(layout)]
        return (
            f"Points not normal: {listed(points, 'and')}." if points else "All points lie normal."
        )

    def not_normal(self, layout: Layout) -> Iterator[tuple[str, str]]:
        """Yield the points and slips that do not lie normal, with their lie in words."""
        for name, lies in self.lies.items():
            switch = layout.switch(name)
            if switch is not None and lies != (switch.normal,):
                words = {switch.normal: "normal", switch.reverse: "reverse"}
                told = (f"{words[lie]} ({lie})" if lie in words else lie for lie in lies)
                yield name, ", then ".join(told)


def moment_of_scene(layout: Layout, scene: Scene) -> Moment:
    """Return the moment of a scene. Names that the plan does not have are left out."""
    names = Names(layout)
    return Moment(
        f"scene {names.name('scenes', scene.id) or scene.id}",
        scene_lies(layout, scene.points),
        frozenset(scene.off),
        tuple(_in_scene(layout, names, scene)),
    )


def scene_lies(layout: Layout, points: Mapping[str, str]) -> dict[str, tuple[str, ...]]:
    """Return the lies that the words of a scene mean: ``normal``, ``reverse`` or a lie itself."""
    found: dict[str, tuple[str, ...]] = {}
    for name, word in points.items():
        switch = layout.switch(name)
        if switch is not None:
            lie = {"normal": switch.normal, "reverse": switch.reverse}.get(word, word)
            if lie in switch.lies:
                found[name] = (str(lie),)
    return found


def _in_scene(layout: Layout, names: Names, scene: Scene) -> Iterator[StandingTrain]:
    for place, train in scene.trains.items():
        key = train if isinstance(train, str) else ""
        kind = "tracks" if place in layout.tracks else "yards"
        tracks = layout.yards[place].tracks if place in layout.yards else (place,)
        on: tuple[Stretch, ...] = tuple((t, None, None) for t in tracks if t in layout.tracks)
        if on:
            name = names.name("trains", key) or key
            yield StandingTrain(key, name, names.called(kind, place), on)


def moment_of_road(road: Road, layout: Layout) -> Moment | None:
    """Return the moment in which the last move of a road is set; None for a road without orders.

    Points that the road needs in several lies have all of them. Trains that move first stand where
    they moved to. Trains beyond the edge of the plan are left out.
    """
    if not road.orders:
        return None
    order, asked, names = road.orders[-1], road.asked, Names(layout)
    lies = scene_lies(layout, layout.scenes[asked.scene].points) if asked.scene else {}
    title = f"road from {road.called.place(asked.start)} to {road.called.place(asked.to)}"
    if asked.scene:
        title += f" in scene {names.name('scenes', asked.scene) or asked.scene}"
    trains = []
    for train, place, on in road.stands:
        key = train if train in layout.trains else ""
        name = names.name("trains", key) or key
        trains.append(StandingTrain(key, name, road.called.place(place), on))
    return Moment(
        title,
        lies | _lies_on(order),
        frozenset(_off_on(order)),
        tuple(train for train in trains if train.on),
        frozenset(_things_on(layout, order)),
    )


def _lies_on(order: JourneyOrder) -> dict[str, tuple[str, ...]]:
    lies: dict[str, dict[str, None]] = {}
    for stage in order.stages:
        for locked in stage.locked:
            lies.setdefault(locked.switch, {})[locked.lie] = None
    return {name: tuple(own) for name, own in lies.items()}


def _off_on(order: JourneyOrder) -> Iterator[str]:
    for stage in order.stages:
        for work in stage.works:
            if work.do == "off":
                yield from work.names


def _things_on(layout: Layout, order: JourneyOrder) -> Iterator[Thing]:
    yield from order.things
    for kind, name in order.things:
        if kind == "yards":
            yield from (("tracks", track) for track in layout.yards[name].tracks)
