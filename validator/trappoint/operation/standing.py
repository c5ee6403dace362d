"""Where trains stand: the places that names mean."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.model.layout import HEADINGS
from trappoint.operation.journey_search import Goal

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Heading, Layout, Scene
    from trappoint.operation.journey_search import Finder


class Stood(NamedTuple):
    """A standing train, before any train moves."""

    train: str
    """The id of the train, or other words for it."""
    nodes: tuple[int, ...]
    """The nodes at which it may stand: several if signals divide its track and the plan does not
    name a part of it."""
    takes: frozenset[int]
    """The places in which it may be: no other train may have them until it has moved."""
    length_mm: float | None = None
    """The length of the train; None if unknown."""


class NoPlace(Exception):  # noqa: N818 # a mistake in the question, not in the program
    """Raised for a name that means no place or scene, or no place in which a train may stand."""


def scene_named(layout: Layout, name: str) -> Scene:
    """Return the scene with this id. Raises ``NoPlace`` if there is none."""
    if name in layout.scenes:
        return layout.scenes[name]
    from trappoint.core.quoting import listed
    from trappoint.core.spelling import nearest

    scenes = list(layout.scenes)
    near = nearest(name, scenes)
    if near:
        hint = f" Is {near} meant?"
    else:
        hint = f" Its scenes: {listed(scenes, 'and')}." if scenes else " It has no scenes."
    raise NoPlace(f"There is no scene called {name} in this plan.{hint}")


def places_named(facts: Facts, name: str) -> tuple[int, ...]:
    """Return the places of a track, a part of a track, a platform, a yard or an edge.

    A part has the form ``main.2``, an edge the form ``edge:town``. Raises ``NoPlace`` for any other
    name.
    """
    layout, parts = facts.layout, facts.parts
    if name in layout.tracks or name in layout.yards:
        return tuple(parts[name])
    if name in layout.platforms:
        tracks = layout.platforms[name].tracks
        return tuple(dict.fromkeys(p for track in tracks for p in places_named(facts, track)))
    if name.startswith("edge:"):
        return tuple(sorted(_at_edge(facts, name)))
    for number, place in enumerate(facts.network.places):
        if place.kind in ("section", "yards") and place.name == name:
            return (number,)
    raise NoPlace(_unknown(facts, name))


def _unknown(facts: Facts, name: str) -> str:
    from trappoint.core.spelling import nearest

    layout = facts.layout
    names = [*layout.tracks, *layout.platforms, *layout.yards]
    near = nearest(name, names)
    hint = f" Is {near} meant?" if near else ""
    return f"There is no track, platform, yard or edge called {name} in this plan.{hint}"


def _at_edge(facts: Facts, name: str) -> set[int]:
    parts = facts.parts
    found = {parts[track][-1 if end == "down" else 0] for track, end in _edges(facts, name)}
    if not found:
        raise NoPlace(_unknown(facts, name))
    return found


def stands_named(facts: Facts, name: str) -> tuple[int, ...]:
    """Return the places of ``places_named`` in which a train may stand.

    Raises ``NoPlace`` if there are none.
    """
    found = tuple(p for p in places_named(facts, name) if p in facts.network.stand_at)
    if not found:
        raise NoPlace(
            f"No train may stand in {name}: it serves no platform, and ends at no buffer or edge. "
            f"Set `stand` to true on its track, or choose another track."
        )
    return found


def goal_named(facts: Facts, name: str, heading: Heading | None = None) -> Goal:
    """Return the goal that a name means. Raises ``NoPlace`` if no train may stand there."""
    places = frozenset(stands_named(facts, name))
    if heading is not None:
        return Goal(places, states_named(facts, name, heading))
    if name.startswith("edge:"):
        # The train leaves the plan by that end, in the heading that leads to it.
        return Goal(places, _states_to_edge(facts, name) or None, leaves=True)
    return Goal(places)


def states_named(facts: Facts, name: str, heading: Heading) -> frozenset[int]:
    """Return the states of the places that a name means, in one heading.

    The heading is that of the named track, of the track at the edge, or of each track of the
    platform. A yard has no heading, and so no states.
    """
    network, platform = facts.network, facts.layout.platforms.get(name)
    if name in network.sections:
        states = [each[heading] for each in network.sections[name]]
    elif platform is not None:
        states = [s for track in platform.tracks for s in states_named(facts, track, heading)]
    elif name.startswith("edge:"):
        ends = [_at_end(facts, track, end) for track, end in _edges(facts, name)]
        states = [each[heading] for each in ends if each]
    else:
        places = places_named(facts, name)
        states = [s for p in places for s in network.states_of[p] if network.way[s] == heading]
    return frozenset(state for state in states if network.heading(state) is not None)


def _states_to_edge(facts: Facts, name: str) -> frozenset[int]:
    ends = ((_at_end(facts, track, end), end) for track, end in _edges(facts, name))
    return frozenset(each[end] for each, end in ends if each)


def _edges(facts: Facts, name: str) -> Iterator[tuple[str, Heading]]:
    """Yield the tracks that end at an edge, each with the heading that leads to it.

    At a held edge this is the piece of track beyond it, on which trains wait to come on.
    """
    for track in facts.network.layout.tracks.values():
        for heading in HEADINGS:
            if track.end(heading).text == name:
                yield track.id, heading


def _at_end(facts: Facts, track: str, end: Heading) -> Mapping[Heading, int]:
    """Return the states of the section at one end of a track; empty for a track inside a yard."""
    pieces = facts.network.sections.get(track)
    return pieces[-1 if end == "down" else 0] if pieces is not None else {}


def stood(finder: Finder, train: str, name: str) -> Stood:
    """Return the standing train of an entry of the plan: ``train`` stands in ``name``.

    A train in a place that is no stand has no nodes: it is in the way, and cannot move.
    """
    facts = finder.facts
    places = places_named(facts, name)
    nodes = tuple(finder.standing(p) for p in places if p in facts.network.stand_at)
    return Stood(train, nodes, frozenset(places), length_of(facts, train))


def length_of(facts: Facts, train: str) -> float | None:
    """Return the length of a train in mm; None if unknown."""
    listed = facts.layout.trains.get(train)
    return None if listed is None else listed.length_mm


def first_shared(trains: Iterable[Stood]) -> tuple[Stood, Stood] | None:
    """Return the first two trains that share a place; None if there are none."""
    at: dict[int, Stood] = {}
    for train in trains:
        for place in train.takes:
            if place in at:
                return at[place], train
        at.update(dict.fromkeys(train.takes, train))
    return None
