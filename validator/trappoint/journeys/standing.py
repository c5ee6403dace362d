"""Where trains stand: from names to places."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.journeys.finding import Goal
from trappoint.layout import HEADINGS

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.facts import Facts
    from trappoint.journeys.finding import Finder
    from trappoint.layout import Heading


class Stood(NamedTuple):
    """A train that stands somewhere before anything moves."""

    train: str
    """What it is called."""
    nodes: tuple[int, ...]
    """The nodes at one of which it stands: several where it is not said in which part of a track
    that signals cut."""
    takes: frozenset[int]
    """The places that no other train may have while it has not moved: all that it may be in."""


class NoPlace(Exception):  # noqa: N818 # a slip of the one who asks
    """A name that means no place, or none in which a train may stand; the message says so."""


def places_named(facts: Facts, name: str) -> tuple[int, ...]:
    """Return the places that a name means: a track, a part of one, a platform, a yard, an edge.

    A part is written as places are named everywhere (``main.2``), an edge as in the plan
    (``edge:town``). Raises ``NoPlace`` for a name that means none.
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
    from trappoint.nearest import nearest

    layout = facts.layout
    names = [*layout.tracks, *layout.platforms, *layout.yards]
    near = nearest(name, names)
    hint = f" Is {near} meant?" if near else ""
    return f"There is no track, platform, yard or edge called {name} in this plan.{hint}"


def _at_edge(facts: Facts, name: str) -> set[int]:
    found: set[int] = set()
    for track in facts.layout.tracks.values():
        parts = facts.parts[track.id]
        if track.up.text == name:
            found.add(parts[0])
        if track.down.text == name:
            found.add(parts[-1])
    if not found:
        raise NoPlace(_unknown(facts, name))
    return found


def stands_named(facts: Facts, name: str) -> tuple[int, ...]:
    """Return the places that a name means in which a train may stand.

    Raises ``NoPlace`` where there is none.
    """
    found = tuple(p for p in places_named(facts, name) if p in facts.network.stand_at)
    if not found:
        raise NoPlace(
            f"No train may stand in {name}: it serves no platform, and ends at no buffer or edge. "
            f"Give its track `stand`, or choose another."
        )
    return found


def goal_named(facts: Facts, name: str, heading: Heading | None = None) -> Goal:
    """Return the goal that a name means. Raises ``NoPlace`` where no train may stand there."""
    places = stands_named(facts, name)
    if heading is None and name.startswith("edge:"):
        # Off the plan it goes by that end alone, in the heading that leads there.
        ends = {
            _way(facts, track.id, way)
            for track in facts.layout.tracks.values()
            for way in HEADINGS
            if track.end(way).text == name and track.id in facts.network.sections
        }
        return Goal(frozenset(places), ends.pop() if len(ends) == 1 else None)
    if heading is not None and name in facts.network.sections:
        heading = _way(facts, name, heading)
    return Goal(frozenset(places), heading)


def _way(facts: Facts, track: str, heading: Heading) -> Heading | None:
    """Return a track's heading as its section at that end names it; None in a yard."""
    states = facts.network.sections[track][-1 if heading == "down" else 0]
    return facts.network.heading(states[heading])


def stood(finder: Finder, train: str, name: str) -> Stood:
    """Return where a train stands of which it is said that it stands in ``name``.

    A train may be said to stand where none may set off: then it is in the way, and does not move.
    """
    facts = finder.facts
    places = places_named(facts, name)
    nodes = tuple(finder.standing(p) for p in places if p in facts.network.stand_at)
    return Stood(train, nodes, frozenset(places))


def first_shared(trains: Iterable[Stood]) -> tuple[Stood, Stood] | None:
    """Return two trains that are said to stand in one place, None where there are none."""
    at: dict[int, Stood] = {}
    for train in trains:
        for place in train.takes:
            if place in at:
                return at[place], train
        at.update(dict.fromkeys(train.takes, train))
    return None
