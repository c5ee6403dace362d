"""Verbs: points in a track, with a new track from them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.laying.draft import Draft
from trappoint.laying.forking import (
    add_points,
    lay_track,
    named,
    outer,
    put_points,
    sentence,
)
from trappoint.laying.lines import end_words
from trappoint.laying.measures import (
    HAND,
    HEADING,
    LENGTH,
    NAME,
    OUTER,
    POSITION,
    TRACK,
    Fresh,
    Quantity,
)
from trappoint.laying.naming import fresh, fresh_numbered
from trappoint.laying.offering import NO_NAME, Ask, Offer, choice, of_length, offering
from trappoint.laying.refusing import Refused
from trappoint.laying.splitting import Where, cut_of, split
from trappoint.laying.verb import verb
from trappoint.laying.yarding import join_yard
from trappoint.model.layout import HEADINGS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.laying.offering import Spot
    from trappoint.model.layout import End, Layout

CROSSING_NUMBER = Quantity(1, 100, "the N of a crossing of 1 in N")


@verb(
    "put-in-points",
    "Puts points into a track, with a new track from them to a buffer or an edge.",
    track=TRACK,
    at=Where(),
    at_mm=POSITION,
    for_=HEADING,
    hand=HAND,
    ends=OUTER,
    points=Fresh("points"),
    leg=Fresh("tracks"),
    name=NAME,
    length_mm=LENGTH,
    crossing_number=CROSSING_NUMBER,
)
def put_in_points(
    draft: Draft,
    track: str,
    at: str = "middle",
    at_mm: float | None = None,
    for_: str = "down",
    hand: str = "left",
    ends: str = "buffer",
    points: str | None = None,
    leg: str | None = None,
    name: str | None = None,
    length_mm: float | None = None,
    crossing_number: float | None = None,
) -> str:
    """Put points into a track, facing the trains ``for`` which they are."""
    cut = cut_of(draft, track, at, at_mm)
    running = draft.thing("tracks", track).get("running")
    fork = put_points(draft, cut, for_, hand, points, crossing_number=crossing_number)
    if leg is None:
        leg = fresh(draft, "tracks", "siding" if ends == "buffer" else "branch", name)
    end = outer(draft, ends, leg)
    lay_track(
        draft,
        leg,
        fork.leg,
        end,
        for_,
        fork.last(draft),
        running=running if end != "buffer" else None,
        length_mm=length_mm,
        name=named(name, leg),
    )
    if end == "buffer":
        join_yard(draft, "tracks", leg, ("points", fork.points))
    return sentence(
        f"Points {fork.points} lead from {fork.toe} to {fork.straight} and to {leg}, "
        f"which ends at {end_words(end)}.",
        fork.parts.said,
    )


@verb(
    "put-in-three-way-points",
    "Puts three-way points into a track, with two new tracks from them.",
    track=TRACK,
    at=Where(),
    at_mm=POSITION,
    for_=HEADING,
    ends=OUTER,
    points=Fresh("points"),
)
def put_in_three_way_points(
    draft: Draft,
    track: str,
    at: str = "middle",
    at_mm: float | None = None,
    for_: str = "down",
    ends: str = "buffer",
    points: str | None = None,
) -> str:
    """Put in three-way points; the track goes straight on over their middle leg."""
    if ends.startswith("edge:"):
        raise Refused("Two tracks cannot have one edge.", "Give edge, and each gets its own.")
    key = points or fresh_numbered(draft, "points", "p")
    add_points(draft, key, "middle", kind="three-way")
    toe, middle = f"{key}.toe", f"{key}.middle"
    met = (toe, middle) if for_ == "down" else (middle, toe)
    running = draft.thing("tracks", track).get("running")
    parts = split(draft, cut_of(draft, track, at, at_mm), *met)
    join_yard(draft, "points", key, ("tracks", parts.up), ("tracks", parts.down))
    new = []
    for hand in ("left", "right"):
        leg = fresh(draft, "tracks", "siding" if ends == "buffer" else "branch")
        end = outer(draft, ends, leg)
        way = running if end != "buffer" else None
        lay_track(draft, leg, f"{key}.{hand}", end, for_, track, running=way)
        if end == "buffer":
            join_yard(draft, "tracks", leg, ("points", key))
        new.append(leg)
    return sentence(f"Three-way points {key} lead from {track} to {' and '.join(new)}.", parts.said)


# --- offers


def met(end: End) -> str:
    """Return words for what an end of a track meets."""
    return f"{end.name}.{end.leg}" if end.kind == "leg" else end_words(end.text)


def where_asks(layout: Layout, track: str) -> tuple[Ask, ...]:
    """Return the questions for a place on a track."""
    given = layout.tracks[track]
    choices = [
        ("middle", "In the middle"),
        ("up", f"At the up end, by {met(given.up)}"),
        ("down", f"At the down end, by {met(given.down)}"),
    ]
    choices += [
        (f"beyond {signal.id}", f"Beyond signal {signal.name or signal.id}")
        for signal in layout.signals.values()
        if signal.track == track
    ]
    measure = Ask("at_mm", "Or from the up end", "number", unit="mm", optional=True)
    return (choice("at", "Where", *choices), *((measure,) if given.length_mm else ()))


def facing_ask(spot: Spot, label: str = "The toe faces") -> Ask:
    """Return the question for the trains that meet points facing: first those that run there."""
    track = spot.layout.tracks[spot.key]
    words = [(way, f"trains running {way}, to {met(track.end(way))}") for way in HEADINGS]
    if track.running == "up":
        words.reverse()
    return choice("for", label, *words)


HAND_ASK = choice("hand", "From the toe, to the", ("left", "left"), ("right", "right"))
ENDS_ASK = choice("ends", "The new track ends", ("buffer", "at a buffer"), ("edge", "off the plan"))


@offering("tracks", 20)
def offer_points(spot: Spot) -> Iterator[Offer]:
    """Offer points in a track."""
    asks = (
        *where_asks(spot.layout, spot.key),
        facing_ask(spot),
        HAND_ASK,
        ENDS_ASK,
        NO_NAME,
        of_length(),
    )
    yield Offer("Put in points", {"do": "put-in-points", "track": spot.key}, asks)


@offering("tracks", 55)
def offer_three_way(spot: Spot) -> Iterator[Offer]:
    """Offer three-way points in a track."""
    asks = (*where_asks(spot.layout, spot.key), facing_ask(spot), ENDS_ASK)
    yield Offer(
        "Put in three-way points", {"do": "put-in-three-way-points", "track": spot.key}, asks
    )
