"""The tracks and elements by which trains leave a yard."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.model.layout import HEADINGS, opposite
from trappoint.topology.sections import joint_partners, yard_members

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.facts.facts import Facts
    from trappoint.model.layout import End, Heading, Yard
    from trappoint.topology.network import Place

ELEMENTS = ("points", "crossings", "turntables")


def ways_out_of_yard(facts: Facts, yard: Yard, onward: int) -> Iterator[tuple[str, Heading]]:
    """Yield each track of a yard that leads straight to a state without a signal at that end.

    The second value is the heading of the trains that leave.
    """
    network, layout = facts.network, facts.layout
    partner = joint_partners(layout)
    signalled = {(head.track, head.heading) for head in network.heads}
    for track in (layout.tracks[id_] for id_ in yard.tracks):
        for heading in track.headings:
            end = track.end(heading)
            if end.kind == "leg":
                leads = _meets(facts, end, onward)
            else:
                beyond = partner.get((track.id, heading)) if end.kind == "joint" else None
                leads = beyond is not None and _is_entered(facts, *beyond, onward)
            if leads and (track.id, heading) not in signalled:
                yield track.id, heading


def elements_out_of_yard(
    facts: Facts, yard: Yard, onward: int
) -> Iterator[tuple[str, str, Heading]]:
    """Yield each element of a yard with a leg to a track outside that leads to a state.

    The second value is that track, the third the heading of the trains that leave over it.
    """
    layout = facts.layout
    yard_of = yard_members(layout)
    for track in layout.tracks.values():
        if yard_of.get(("tracks", track.id)) == yard.id:
            continue
        for heading in HEADINGS:
            found = layout.element(track.end(heading))
            inside = found is not None and yard_of.get((found[0], found[1].id)) == yard.id
            if found is not None and inside and _is_entered(facts, track.id, heading, onward):
                yield found[1].id, track.id, opposite(heading)


def is_between(facts: Facts, yard: Yard, track_id: str) -> bool:
    """Return whether both ends of a track outside a yard meet the yard."""
    layout = facts.layout
    yard_of, partner = yard_members(layout), joint_partners(layout)
    track = layout.tracks[track_id]
    members: list[str | None] = []
    for heading in HEADINGS:
        found = layout.element(track.end(heading))
        beyond = partner.get((track_id, heading), ("", heading))[0]
        met = ("tracks", beyond) if found is None else (found[0], found[1].id)
        members.append(yard_of.get(met))
    return members == [yard.id, yard.id]


def lies_within(facts: Facts, yard: Yard, place: Place) -> bool:
    """Return whether tracks of a yard meet every leg of an element outside it."""
    element = getattr(facts.layout, place.kind)[place.id] if place.kind in ELEMENTS else None
    if element is None:
        return False
    tracks = [facts.layout.tracks[id_] for id_ in yard.tracks]
    met = {end.text for track in tracks for end in (track.up, track.down)}
    return met.issuperset(f"{place.id}.{leg}" for leg in element.legs)


def _meets(facts: Facts, end: End, onward: int) -> bool:
    """Return whether a train in a state has entered an element by this leg."""
    place = facts.network.place(onward)
    is_element = facts.network.is_element[facts.network.place_of[onward]]
    if not is_element or facts.network.way[onward] != end.leg:
        return False
    found = facts.layout.element(end)
    return found is not None and (found[0], found[1].id) == (place.kind, place.id)


def _is_entered(facts: Facts, track_id: str, end: Heading, onward: int) -> bool:
    """Return whether a train that enters a track by one of its ends is then in a state."""
    track = facts.layout.tracks[track_id]
    if not track.allows(opposite(end)):
        return False
    pieces = facts.network.sections.get(track_id)
    if pieces is None:  # in another yard
        return facts.network.place_of[onward] in facts.parts[track_id]
    return pieces[-1 if end == "down" else 0][opposite(end)] == onward
