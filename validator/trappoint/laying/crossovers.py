"""Verbs: a crossover between two tracks, and a scissors."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.laying.approach import Ways
from trappoint.laying.draft import Draft
from trappoint.laying.forking import (
    lay_track,
    opposite,
    other_hand,
    put_points,
    sentence,
    work_together,
)
from trappoint.laying.loops import SIDE
from trappoint.laying.measures import HAND, HEADING, POSITION, TRACK, Fresh
from trappoint.laying.naming import fresh, fresh_numbered
from trappoint.laying.offering import Ask, Offer, choice, offering
from trappoint.laying.pieces import fork_twice, usual_cuts
from trappoint.laying.points import facing_ask, where_asks
from trappoint.laying.refusing import Refused
from trappoint.laying.splitting import Where, cut_of
from trappoint.laying.verb import verb
from trappoint.laying.yarding import join_yard

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.laying.forking import Fork
    from trappoint.laying.offering import Spot
    from trappoint.model.layout import End, Layout

MOST_CHOICES = 12
"""The most tracks to choose from in an offer."""


@verb(
    "lay-crossover",
    "Lays a crossover from one track to another; one lever works its two points.",
    track=TRACK,
    to=TRACK,
    for_=HEADING,
    hand=HAND,
    at=Where(),
    at_mm=POSITION,
    to_at=Where(),
    to_at_mm=POSITION,
    link=Fresh("tracks"),
)
def lay_crossover(
    draft: Draft,
    track: str,
    to: str,
    for_: str = "down",
    hand: str | None = None,
    at: str = "middle",
    at_mm: float | None = None,
    to_at: str = "middle",
    to_at_mm: float | None = None,
    link: str | None = None,
) -> str:
    """Lay a crossover, which trains ``for`` take facing, from ``track`` to ``to``.

    ``hand`` is the side of the other track as a driver of these trains sees it.
    """
    same = _two_tracks(draft, track, to)
    hand = hand or _seen(side_of(draft.layout(), track, to), for_)
    first = put_points(draft, cut_of(draft, track, at, at_mm), for_, hand)
    back = opposite(for_) if same else for_
    second = put_points(draft, cut_of(draft, to, to_at, to_at_mm), back, hand)
    key = _link(draft, first, second, for_, link)
    work_together(draft, first.points, second.points)
    said = (
        f"Track {key} leads from {track} to {to}, over points {first.points} and "
        f"{second.points}, both worked by one lever."
    )
    return sentence(
        said,
        *(f"{fork.parts.up}: {fork.parts.said}" for fork in (first, second) if fork.parts.said),
    )


def _two_tracks(draft: Draft, track: str, to: str) -> bool:
    """Return whether down is the same way on both tracks. Raises ``Refused`` for one track."""
    if track == to:
        raise Refused(f"{track} cannot cross over to itself.", "Choose another track.")
    return Ways(draft.layout()).senses(track).get(to, True)


def _seen(side: str, heading: str) -> str:
    return side if heading == "down" else other_hand(side)


def _link(draft: Draft, one: Fork, other: Fork, facing: str, key: str | None = None) -> str:
    key = key or fresh(draft, "tracks", "crossover")
    lay_track(draft, key, one.leg, other.leg, facing, other.last(draft))
    join_yard(draft, "tracks", key, ("points", one.points), ("points", other.points))
    return key


@verb(
    "lay-scissors",
    "Lays two crossovers between two tracks, which cross each other on a diamond.",
    track=TRACK,
    to=TRACK,
    hand=HAND,
    from_mm=POSITION,
    to_mm=POSITION,
)
def lay_scissors(
    draft: Draft,
    track: str,
    to: str,
    hand: str | None = None,
    from_mm: float | None = None,
    to_mm: float | None = None,
) -> str:
    """Lay a scissors. ``hand`` is the side of the other track as seen running down.

    ``from_mm`` and ``to_mm`` are the places of its points on ``track``.
    """
    same = _two_tracks(draft, track, to)
    hand = hand or side_of(draft.layout(), track, to)
    own = _between(draft, track, hand, "down", (from_mm, to_mm))
    beyond = _between(draft, to, other_hand(hand), "down" if same else "up", (None, None))
    diamond = fresh_numbered(draft, "crossings", "x")
    draft.add("crossings", diamond, {})
    corners = [("points", fork.points) for fork in (*own, *beyond)]
    join_yard(draft, "crossings", diamond, *corners)
    roads = [(own[0], beyond[1], "a"), (beyond[0], own[1], "b")]
    if hand == "left":
        roads.reverse()
    for (near, far, _), road in zip(roads, "ab", strict=True):
        facing = near.facing
        for begins, ends in ((near.leg, f"{diamond}.{road}1"), (f"{diamond}.{road}2", far.leg)):
            key = fresh(draft, "tracks", "crossover")
            lay_track(draft, key, begins, ends, facing, far.last(draft))
            join_yard(draft, "tracks", key, *corners)
        work_together(draft, near.points, far.points)
    return f"A scissors joins {track} and {to}; its two crossovers cross on diamond {diamond}."


def _between(
    draft: Draft,
    track: str,
    hand: str,
    heading: str,
    measures: tuple[float | None, float | None],
) -> tuple[Fork, Fork]:
    """Put points into a track for a scissors; return first those that trains ``heading`` face."""
    at = usual_cuts(draft.layout(), track)
    seen = _seen(hand, heading)
    first, last = fork_twice(draft, track, seen, at, *measures)
    return (first, last) if heading == "down" else (last, first)


# --- offers


def side_of(layout: Layout, track: str, other: str) -> str:
    """Return the side on which another track lies, seen running down; a guess if it is not known.

    It is known if the two tracks part at the same points.
    """
    for one in ("up", "down"):
        end = layout.tracks[track].end(one)
        legs = [
            e for e in (layout.tracks[other].up, layout.tracks[other].down) if e.name == end.name
        ]
        points = layout.points.get(end.name) if end.kind == "leg" and legs else None
        lies = points.lies if points is not None else ()
        if legs and legs[0].leg in lies and end.leg in lies:
            right = lies.index(legs[0].leg) > lies.index(end.leg)
            return "right" if right == (one == "up") else "left"
    return "right"


def reached(layout: Layout, track: str) -> list[str]:
    """Return the tracks to which a crossover can sensibly lead, the likeliest first.

    Tracks to which a train runs on anyway are left out.
    """
    ways = Ways(layout)
    onward = {other for heading in ("down", "up") for other, _ in ways.onward((track, heading))}
    near = {track}
    for _ in range(2):
        ends = {end.name for each in near for end in _ends(layout, each) if end.kind == "leg"}
        near |= {
            each.id
            for each in layout.tracks.values()
            if any(e.name in ends for e in _ends(layout, each.id))
        }
    own = [each for each in layout.tracks if "/" not in each and each != track]
    found = [each for each in own if each not in onward]
    found.sort(key=lambda each: _unlikely(layout, track, each, near))
    return found[:MOST_CHOICES]


def _ends(layout: Layout, track: str) -> tuple[End, End]:
    return layout.tracks[track].up, layout.tracks[track].down


def _unlikely(layout: Layout, track: str, other: str, near: set[str]) -> tuple[bool, bool, bool]:
    """Return a key by which likelier tracks sort first: parallel ones of some importance."""
    one, two = layout.tracks[track], layout.tracks[other]
    kinds = [{end.kind for end in _ends(layout, each)} for each in (track, other)]
    drag = two.stand_by == "said" and not two.stand
    return drag, kinds[0] != kinds[1] or one.stand != two.stand, other not in near


@offering("tracks", 40)
def offer_crossovers(spot: Spot) -> Iterator[Offer]:
    """Offer a crossover and a scissors to the tracks that can be reached."""
    others = reached(spot.layout, spot.key)
    if not others:
        return
    to = choice("to", "To", *((each, spot.layout.tracks[each].name or each) for each in others))
    facing = facing_ask(spot, "Crossed facing by")
    side = Ask("hand", "The other track lies on the", "choice", None, SIDE.choices, optional=True)
    where = where_asks(spot.layout, spot.key)
    yield Offer(
        "Cross over to ...", {"do": "lay-crossover", "track": spot.key}, (to, facing, side, *where)
    )
    yield Offer(
        "Lay a scissors crossover to ...", {"do": "lay-scissors", "track": spot.key}, (to, side)
    )
