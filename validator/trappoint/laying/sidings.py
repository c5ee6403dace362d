"""Verbs: sidings, and trap points at the exit of a track."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.laying.draft import Draft, measure_of
from trappoint.laying.forking import (
    lay_track,
    named,
    opposite,
    other_hand,
    put_points,
    sentence,
    work_together,
)
from trappoint.laying.measures import (
    END,
    HAND,
    HEADING,
    LENGTH,
    NAME,
    POSITION,
    TRACK,
    YES,
    Fresh,
)
from trappoint.laying.naming import fresh, fresh_numbered
from trappoint.laying.offering import NO_NAME, Ask, Offer, of_length, offering
from trappoint.laying.points import HAND_ASK, facing_ask, where_asks
from trappoint.laying.posts import Cut
from trappoint.laying.refusing import Refused
from trappoint.laying.splitting import Where, cut_of
from trappoint.laying.verb import verb
from trappoint.laying.yarding import join_yard

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.laying.offering import Spot


@verb(
    "lay-siding",
    "Lays a siding from points in a track to a buffer, with trap points if that is wanted.",
    track=TRACK,
    at=Where(),
    at_mm=POSITION,
    for_=HEADING,
    hand=HAND,
    name=NAME,
    siding=Fresh("tracks"),
    length_mm=LENGTH,
    trap=YES,
)
def lay_siding(
    draft: Draft,
    track: str,
    at: str = "middle",
    at_mm: float | None = None,
    for_: str = "down",
    hand: str = "left",
    name: str | None = None,
    siding: str | None = None,
    length_mm: float | None = None,
    trap: bool = False,
) -> str:
    """Lay a siding. Trap points at its exit are worked together with its points."""
    fork = put_points(draft, cut_of(draft, track, at, at_mm), for_, hand)
    key = siding or fresh(draft, "tracks", "siding", name)
    lay_track(
        draft,
        key,
        fork.leg,
        "buffer",
        for_,
        fork.last(draft),
        length_mm=length_mm,
        name=named(name, key),
    )
    join_yard(draft, "tracks", key, ("points", fork.points))
    toe = draft.called("tracks", fork.toe)
    said = f"Track {key} leaves {toe} at points {fork.points} and ends at a buffer."
    more = ""
    if trap:
        more = _trap(draft, key, opposite(for_), fork.points, other_hand(hand))
    return sentence(said, more, fork.parts.said)


@verb(
    "put-in-trap-points",
    "Puts trap points at one end of a track, with a drag that ends at a buffer.",
    track=TRACK,
    end=END,
    hand=HAND,
)
def put_in_trap_points(draft: Draft, track: str, end: str, hand: str | None = None) -> str:
    """Put in trap points; they are worked together with the points whose leg is at that end."""
    points, _, leg = draft.thing("tracks", track)[end].partition(".")
    given = draft.things("points").get(points)
    if given is None or leg not in ("left", "right"):
        raise Refused(
            f"The {end} end of {track} meets no leg of points.",
            "Put trap points where a track joins another one at points.",
        )
    together = points if given.get("kind") != "three-way" else None
    return _trap(draft, track, end, together, hand or other_hand(leg))


def _trap(draft: Draft, track: str, end: str, together: str | None, hand: str) -> str:
    """Put trap points before what the end of a track meets, with a drag on one hand."""
    if draft.thing("tracks", track).get("running") == opposite(end):
        raise Refused(
            f"No train leaves {track} at its {end} end, because it runs one way.",
            "Put trap points at the other end.",
        )
    trap = fresh_numbered(draft, "points", "p")
    length = measure_of(draft.thing("tracks", track), "length_mm")
    cut = Cut(track, None, end, end, length)
    lead = {"keeps": opposite(end), "stem": f"{track}-lead"}
    fork = put_points(draft, cut, end, hand, trap, **lead, trap=True)
    draft.thing("points", trap)["normal"] = hand
    drag = fresh(draft, "tracks", f"{track}-drag")
    lay_track(draft, drag, fork.leg, "buffer", end, fork.last(draft), stand=False)
    join_yard(draft, "tracks", drag, ("points", trap))
    if together is not None:
        work_together(draft, together, trap)
    with_ = f", worked together with {together}" if together else ""
    return f"Trap points {trap} turn strays from {track} into {drag}{with_}."


@offering("tracks", 10)
def offer_siding(spot: Spot) -> Iterator[Offer]:
    """Offer a siding from a track."""
    trap = Ask("trap", "With trap points", "yes", value=False)
    asks = (
        *where_asks(spot.layout, spot.key),
        facing_ask(spot),
        HAND_ASK,
        NO_NAME,
        of_length(),
        trap,
    )
    yield Offer("Lay a siding here", {"do": "lay-siding", "track": spot.key}, asks)


@offering("tracks", 50, part=True)
def offer_trap_points(spot: Spot) -> Iterator[Offer]:
    """Offer trap points where a track joins another one."""
    track = spot.layout.tracks[spot.key]
    end = track.up if spot.part == "up" else track.down
    found = spot.layout.element(end)
    if found is None or found[0] != "points" or end.leg not in ("left", "right"):
        return
    if track.running != opposite(spot.part) and not spot.layout.points[end.name].trap:
        step: dict[str, object] = {"do": "put-in-trap-points", "track": spot.key, "end": spot.part}
        yield Offer("Put in trap points", step)
