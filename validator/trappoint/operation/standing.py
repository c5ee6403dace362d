"""Where trains stand: from names to places."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.model.layout import HEADINGS
from trappoint.operation.journey_search import Goal

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Heading
    from trappoint.operation.journey_search import Finder


class Stood(NamedTuple):
    """A train that stands somewhere before anything moves."""

    train: str
    """What it is called."""
    nodes: tuple[int, ...]
    """The nodes at one of which it stands: several where it is not said in which part of a track
    that signals cut."""
    takes: frozenset[int]
    """The places that no other train may have while it has not moved: all that it may be in."""
    length_mm: float | None = None
    """How long it is; None if that is not known."""


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
    places = frozenset(stands_named(facts, name))
    if heading is not None:
        return Goal(places, states_named(facts, name, heading))
    if name.startswith("edge:"):
        # Off the plan it goes by that end alone, in the heading that leads there.
        return Goal(places, _states_to_edge(facts, name) or None, leaves=True)
    return Goal(places)


def states_named(facts: Facts, name: str, heading: Heading) -> frozenset[int]:
    """Return the states of all that a name means, in one heading.

    It is that of the track that is named, or that has the edge; for a platform that of each of its
    tracks. A yard has none.
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
    """Yield the tracks that end at an edge, with the heading that leads there.

    At a held edge it is the piece of track beyond it, where trains wait to come on.
    """
    for track in facts.network.layout.tracks.values():
        for heading in HEADINGS:
            if track.end(heading).text == name:
                yield track.id, heading


def _at_end(facts: Facts, track: str, end: Heading) -> Mapping[Heading, int]:
    """Return the states of the piece at an end of a track; none where that is in a yard whole."""
    pieces = facts.network.sections.get(track)
    return pieces[-1 if end == "down" else 0] if pieces is not None else {}


def stood(finder: Finder, train: str, name: str) -> Stood:
    """Return where a train stands of which it is said that it stands in ``name``.

    A train may be said to stand where none may set off: then it is in the way, and does not move.
    """
    facts = finder.facts
    places = places_named(facts, name)
    nodes = tuple(finder.standing(p) for p in places if p in facts.network.stand_at)
    return Stood(train, nodes, frozenset(places), length_of(facts, train))


def length_of(facts: Facts, train: str) -> float | None:
    """Return how long a train is by its id, in mm; None if that is not known."""
    listed = facts.layout.trains.get(train)
    return None if listed is None else listed.length_mm


def first_shared(trains: Iterable[Stood]) -> tuple[Stood, Stood] | None:
    """Return two trains that are said to stand in one place, None if there are none."""
    at: dict[int, Stood] = {}
    for train in trains:
        for place in train.takes:
            if place in at:
                return at[place], train
        at.update(dict.fromkeys(train.takes, train))
    return None
