"""Where on the tracks a train stands: the stretches that a place has."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.operation.standing import places_named

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.facts.facts import Facts
    from trappoint.topology.sections import Piece

Stretch = tuple[str, float | None, float | None]
"""A track, and the cuts between which the stretch lies, in mm from its up end; None for its end."""


def stretches_of(facts: Facts, name: str) -> tuple[Stretch, ...]:
    """Return the stretches of the place that a name means, as ``places_named`` reads it.

    The name of a track means its own stretches alone, though its section may go on over a joint.
    Empty for a place beyond the edge of the plan. Raises ``NoPlace`` for any other name.
    """
    found = [each for place in places_named(facts, name) for each in _at(facts, place)]
    if name in facts.layout.tracks:
        found = [each for each in found if each[0] == name]
    return tuple(dict.fromkeys(found))


def _at(facts: Facts, place: int) -> Iterator[Stretch]:
    network = facts.network
    if place in network.pieces:
        yield from (_stretch(facts, piece) for piece in network.pieces[place])
    else:
        yield from ((track, None, None) for track in network.tracks_of(place))


def _stretch(facts: Facts, piece: Piece) -> Stretch:
    cuts = facts.network.cuts[piece.track]
    after = cuts[piece.part - 1] if piece.part else None
    before = cuts[piece.part] if piece.part < len(cuts) else None
    return piece.track, after, before
