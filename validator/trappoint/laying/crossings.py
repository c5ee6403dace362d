"""Verbs: diamonds and slips."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.laying.approach import Ways
from trappoint.laying.crossovers import reached
from trappoint.laying.draft import Draft
from trappoint.laying.forking import sentence
from trappoint.laying.measures import POSITION, TRACK, Fresh, Thing, Word
from trappoint.laying.mending import replace
from trappoint.laying.naming import fresh_numbered
from trappoint.laying.offering import Offer, choice, offering
from trappoint.laying.points import where_asks
from trappoint.laying.refusing import Refused
from trappoint.laying.splitting import Where, cut_of, split
from trappoint.laying.verb import verb
from trappoint.laying.yarding import join_yard
from trappoint.model.references import SWITCHES

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.laying.offering import Spot

KINDS = {"diamond": "a diamond", "single-slip": "a single slip", "double-slip": "a double slip"}
KIND = Word(tuple(KINDS))


@verb(
    "put-in-crossing",
    "Lets two tracks cross, on a diamond or a slip.",
    track=TRACK,
    other=TRACK,
    kind=KIND,
    at=Where(),
    at_mm=POSITION,
    other_at=Where(),
    other_at_mm=POSITION,
    crossing=Fresh("crossings"),
)
def put_in_crossing(
    draft: Draft,
    track: str,
    other: str,
    kind: str = "diamond",
    at: str = "middle",
    at_mm: float | None = None,
    other_at: str = "middle",
    other_at_mm: float | None = None,
    crossing: str | None = None,
) -> str:
    """Put in a crossing: ``track`` is its road a, ``other`` its road b."""
    if track == other:
        raise Refused(f"{track} cannot cross itself.", "Choose another track.")
    same = Ways(draft.layout()).senses(track).get(other, True)
    key = crossing or fresh_numbered(draft, "crossings", "x")
    draft.add("crossings", key, {} if kind == "diamond" else {"kind": kind})
    first = split(draft, cut_of(draft, track, at, at_mm), f"{key}.a1", f"{key}.a2")
    legs = (f"{key}.b1", f"{key}.b2") if same else (f"{key}.b2", f"{key}.b1")
    second = split(draft, cut_of(draft, other, other_at, other_at_mm), *legs)
    met = (first.up, first.down, second.up, second.down)
    join_yard(draft, "crossings", key, *(("tracks", each) for each in met))
    return sentence(
        f"Tracks {track} and {other} cross on {KINDS[kind]}, {key}.", first.said, second.said
    )


@verb(
    "change-crossing",
    "Makes a diamond a slip, or a slip a diamond.",
    crossing=Thing(("crossings",)),
    kind=KIND,
)
def change_crossing(draft: Draft, crossing: str, kind: str) -> str:
    """Change the kind of a crossing. A diamond has no lie, so nothing works it or needs it."""
    thing = draft.thing("crossings", crossing)
    if kind == "diamond":
        replace(draft, {("crossings", crossing): ()}, only=SWITCHES)
        thing = draft.thing("crossings", crossing)
        thing.pop("kind", None)
    else:
        thing["kind"] = kind
    draft.touch("crossings", crossing)
    return f"Crossing {crossing} is {KINDS[kind]}."


@offering("tracks", 60)
def offer_crossing(spot: Spot) -> Iterator[Offer]:
    """Offer a crossing with another track."""
    others = reached(spot.layout, spot.key)
    if others:
        names = ((each, spot.layout.tracks[each].name or each) for each in others)
        yield Offer(
            "Cross another track",
            {"do": "put-in-crossing", "track": spot.key},
            (
                choice("other", "Which", *names),
                choice("kind", "On", *KINDS.items()),
                *where_asks(spot.layout, spot.key),
            ),
        )


@offering("crossings", 10)
def offer_kinds(spot: Spot) -> Iterator[Offer]:
    """Offer the other kinds of crossing."""
    now = spot.layout.crossings[spot.key].kind
    for kind, words in KINDS.items():
        if kind != now:
            step: dict[str, object] = {"do": "change-crossing", "crossing": spot.key, "kind": kind}
            yield Offer(f"Make it {words}", step)
