"""Verb: a third leg for points, which makes them three-way points."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.laying.closing import ends_at, set_end
from trappoint.laying.draft import Draft
from trappoint.laying.forking import lay_track, named, other_hand, outer
from trappoint.laying.leg_curves import rename_curves
from trappoint.laying.lines import end_words
from trappoint.laying.measures import HAND, LENGTH, NAME, OUTER, POINTS, Fresh
from trappoint.laying.naming import fresh
from trappoint.laying.offering import NO_NAME, Offer, choice, of_length, offering
from trappoint.laying.points import ENDS_ASK
from trappoint.laying.refusing import Refused
from trappoint.laying.setting import lies_of
from trappoint.laying.verb import verb
from trappoint.laying.yarding import join_yard

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.laying.offering import Spot


@verb(
    "add-leg",
    "Adds a third leg to points, with a new track from it: they are three-way points then.",
    points=POINTS,
    hand=HAND,
    ends=OUTER,
    leg=Fresh("tracks"),
    name=NAME,
    length_mm=LENGTH,
)
def add_leg(
    draft: Draft,
    points: str,
    hand: str = "left",
    ends: str = "buffer",
    leg: str | None = None,
    name: str | None = None,
    length_mm: float | None = None,
) -> str:
    """Add a leg outside the one on the same hand, which becomes the middle one."""
    thing = draft.thing("points", points)
    if thing.get("kind") == "three-way":
        raise Refused(f"Points {points} have three legs.", "Put further points into one of them.")
    if any(points in group for group in draft.layout().worked_together):
        raise Refused(
            f"Points {points} are worked together with others, which three-way points cannot be.",
            "Put further points into one of the legs.",
        )
    for lies in lies_of(draft, points):
        word = _meant(str(lies[points]), str(thing["normal"]))
        lies[points] = "middle" if word == hand else word
    for met in ends_at(draft, f"{points}.{hand}"):
        set_end(draft, met, f"{points}.middle")
    thing["kind"] = "three-way"
    other = other_hand(hand)
    rename_curves(draft, points, {hand: "middle", other: other})
    if thing["normal"] == hand:
        thing["normal"] = "middle"
    draft.touch("points", points)
    beside, end = ends_at(draft, f"{points}.toe")[0]
    key = leg or fresh(draft, "tracks", "siding" if ends == "buffer" else "branch", name)
    far = outer(draft, ends, key)
    new = {"length_mm": length_mm, "name": named(name, key)}
    lay_track(draft, key, f"{points}.{hand}", far, end, beside, **new)
    if far == "buffer":
        join_yard(draft, "tracks", key, ("points", points))
    return f"Points {points} lead to {key} too, which ends at {end_words(far)}."


def _meant(word: str, normal: str) -> str:
    """Return the lie that a word means at points with two legs."""
    return {"normal": normal, "reverse": other_hand(normal)}.get(word, word)


@offering("points", 70)
def offer_leg(spot: Spot) -> Iterator[Offer]:
    """Offer a third leg."""
    groups = (member for group in spot.layout.worked_together for member in group)
    if spot.layout.points[spot.key].kind == "turnout" and spot.key not in groups:
        hand = choice("hand", "From the toe, on the far", ("left", "left"), ("right", "right"))
        step: dict[str, object] = {"do": "add-leg", "points": spot.key}
        yield Offer("Add a third leg", step, (hand, ENDS_ASK, NO_NAME, of_length()))
