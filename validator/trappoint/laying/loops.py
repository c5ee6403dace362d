"""Verbs: loops beside a track, balloon loops, and triangles."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.laying.draft import Draft
from trappoint.laying.ending import free_end, meet_instead
from trappoint.laying.forking import (
    add_points,
    lay_track,
    named,
    opposite,
    other_hand,
    put_points,
    sentence,
)
from trappoint.laying.measures import END, HAND, LENGTH, NAME, POINTS, POSITION, TRACK, Fresh
from trappoint.laying.naming import fresh, fresh_numbered
from trappoint.laying.offering import NO_NAME, Offer, choice, of_length, offering
from trappoint.laying.pieces import CUTS, fork_twice, usual_cuts
from trappoint.laying.refusing import Refused
from trappoint.laying.splitting import cut_of
from trappoint.laying.verb import verb
from trappoint.laying.yarding import join_yard

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.laying.offering import Spot
    from trappoint.model.layout import Layout


@verb(
    "lay-loop",
    "Lays a loop beside a track, with points at both ends of the loop.",
    track=TRACK,
    at=CUTS,
    from_mm=POSITION,
    to_mm=POSITION,
    hand=HAND,
    name=NAME,
    loop=Fresh("tracks"),
    length_mm=LENGTH,
)
def lay_loop(
    draft: Draft,
    track: str,
    at: str | None = None,
    from_mm: float | None = None,
    to_mm: float | None = None,
    hand: str = "left",
    name: str | None = None,
    loop: str | None = None,
    length_mm: float | None = None,
) -> str:
    """Lay a loop, a stand. ``hand`` is its side as a driver running down sees it.

    The track beside the loop keeps the platforms, and with ``ends`` also the id and the signals.
    """
    at = at or usual_cuts(draft.layout(), track)
    first, last = fork_twice(draft, track, hand, at, from_mm, to_mm)
    beside = first.parts.down
    key = loop or fresh(draft, "tracks", "loop", name)
    running = draft.thing("tracks", beside).get("running")
    lay_track(
        draft,
        key,
        first.leg,
        last.leg,
        "down",
        beside,
        running=running,
        stand=True,
        length_mm=length_mm,
        name=named(name, key),
    )
    join_yard(draft, "tracks", key, ("points", first.points), ("points", last.points))
    side = draft.called("tracks", beside)
    said = f"Track {key} lies beside {side}, between points {first.points} and {last.points}."
    return sentence(said, last.parts.said and "Measure the lengths again.")


@offering("tracks", 5)
def offer_loop(spot: Spot) -> Iterator[Offer]:
    """Offer a loop beside a track."""
    words = [("ends", "Beside all of it"), ("within", "Beside the middle of it")]
    if usual_cuts(spot.layout, spot.key) == "within":
        words.reverse()
    yield Offer(
        "Lay a loop here",
        {"do": "lay-loop", "track": spot.key},
        (choice("at", "Where", *words), SIDE, NO_NAME, of_length()),
    )


SIDE = choice("hand", "Running down, on the", ("left", "left"), ("right", "right"))
"""The question for the side of a track."""


# --- balloon loops


@verb(
    "lay-balloon-loop",
    "Lays a loop at a free end of a track, by which trains come back turned.",
    track=TRACK,
    end=END,
    hand=HAND,
    name=NAME,
    loop=Fresh("tracks"),
    length_mm=LENGTH,
)
def lay_balloon_loop(
    draft: Draft,
    track: str,
    end: str,
    hand: str = "left",
    name: str | None = None,
    loop: str | None = None,
    length_mm: float | None = None,
) -> str:
    """Lay a balloon loop. Its points normally lie for the leg on ``hand``."""
    free_end(draft, track, end)
    points = fresh_numbered(draft, "points", "p")
    add_points(draft, points, hand)
    gone = meet_instead(draft, track, end, f"{points}.toe")
    key = loop or fresh(draft, "tracks", "balloon-loop", name)
    lay_track(
        draft,
        key,
        f"{points}.{hand}",
        f"{points}.{other_hand(hand)}",
        end,
        track,
        length_mm=length_mm,
        name=named(name, key),
    )
    for kind, new in (("points", points), ("tracks", key)):
        join_yard(draft, kind, new, ("tracks", track))
    return sentence(
        f"Trains from {draft.called('tracks', track)} turn round on {key}, beyond points {points}.",
        gone,
    )


@offering("tracks", 40, part=True)
def offer_balloon_loop(spot: Spot) -> Iterator[Offer]:
    """Offer a balloon loop at a free end."""
    track = spot.layout.tracks[spot.key]
    if (track.up if spot.part == "up" else track.down).kind in ("buffer", "edge"):
        step: dict[str, object] = {"do": "lay-balloon-loop", "track": spot.key, "end": spot.part}
        yield Offer("Lay a balloon loop here", step, (NO_NAME, of_length()))


# --- triangles


@verb(
    "lay-triangle",
    "Joins the two tracks that part at points by a third one, as a triangle.",
    points=POINTS,
    left_mm=POSITION,
    right_mm=POSITION,
    name=NAME,
    track=Fresh("tracks"),
    length_mm=LENGTH,
)
def lay_triangle(
    draft: Draft,
    points: str,
    left_mm: float | None = None,
    right_mm: float | None = None,
    name: str | None = None,
    track: str | None = None,
    length_mm: float | None = None,
) -> str:
    """Lay the third side of a triangle; the measures are the places of its points."""
    sides = triangle_sides(draft.layout(), points)
    if sides is None:
        raise Refused(
            f"The legs of {points} do not lead to two tracks of their own.",
            "Lay a triangle where two tracks part.",
        )
    corners = []
    for hand, at_mm in (("left", left_mm), ("right", right_mm)):
        side, end = sides[hand]
        cut = cut_of(draft, side, "middle", at_mm)
        # From the far side of the corner, the other branch lies on the same hand.
        corners.append(put_points(draft, cut, end, hand))
    key = track or fresh(draft, "tracks", "triangle", name)
    one, other = corners
    facing = opposite(one.facing)
    lay_track(
        draft,
        key,
        one.leg,
        other.leg,
        facing,
        other.last(draft),
        length_mm=length_mm,
        name=named(name, key),
    )
    said = f"Track {key} is the third side of a triangle, from {one.points} to {other.points}."
    return sentence(said, *(corner.parts.said for corner in corners))


def triangle_sides(layout: Layout, points: str) -> dict[str, tuple[str, str]] | None:
    """Return for each hand the track at that leg and its end there; None if there are not two."""
    found = {
        end.leg: (track.id, side)
        for track in layout.tracks.values()
        for side, end in (("up", track.up), ("down", track.down))
        if end.name == points and end.leg in ("left", "right")
    }
    plain = layout.points[points].kind == "turnout" and len(found) == 2
    return found if plain and found["left"][0] != found["right"][0] else None


@offering("points", 60)
def offer_triangle(spot: Spot) -> Iterator[Offer]:
    """Offer a triangle at a junction."""
    if triangle_sides(spot.layout, spot.key) is not None:
        step: dict[str, object] = {"do": "lay-triangle", "points": spot.key}
        yield Offer("Lay a triangle here", step, (NO_NAME, of_length()))
