"""Exchanging up and down of a track, with all that mentions them there."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.boards.turning import OTHER, OTHER_HAND
from trappoint.laying.draft import Draft, measure_of, spelled, value_of
from trappoint.laying.forking import sentence
from trappoint.laying.measures import TRACK, Things
from trappoint.laying.offering import Offer, offering
from trappoint.laying.refusing import Refused
from trappoint.laying.verb import verb

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.laying.draft import Thing
    from trappoint.laying.offering import Spot
    from trappoint.model.layout import Layout


@verb(
    "turn-round",
    "Exchanges up and down of one or more tracks; signals stay where they are.",
    track=Things(TRACK),
)
def turn_round(draft: Draft, track: tuple[str, ...]) -> str:
    """Turn tracks round."""
    layout = draft.layout()
    for each in track:
        if not can_turn(layout, each):
            raise Refused(
                f"A signal on {each} has a measure from its up end, and {each} has no length.",
                f"Give the length of {each} first.",
            )
        turn(draft, each)
    words = "Track" if len(track) == 1 else "Tracks"
    return sentence(f"{words} {' and '.join(track)}: up and down are exchanged.")


def can_turn(layout: Layout, track: str) -> bool:
    """Return whether every measure along a track can be taken from its other end."""
    if layout.tracks[track].length_mm is not None:
        return True
    signals = all(s.at_mm is None for s in layout.signals.values() if s.track == track)
    return signals and all(arm.at_mm is None for arm in layout.arms() if arm.track == track)


def turn(draft: Draft, track: str) -> None:
    """Exchange up and down of a track that can be turned."""
    thing = draft.thing("tracks", track)
    thing["up"], thing["down"] = thing["down"], thing["up"]
    if "running" in thing:
        thing["running"] = OTHER[thing["running"]]
    if "gradient_percent" in thing:
        thing["gradient_percent"] = spelled(-value_of(thing["gradient_percent"]))
    if "curve" in thing:
        thing["curve"] = OTHER_HAND[thing["curve"]]
    draft.touch("tracks", track)
    length = measure_of(thing, "length_mm")
    for key, signal in draft.things("signals").items():
        own = signal["track"] == track
        arms = [arm for arm in signal["arms"] if arm.get("track", signal["track"]) == track]
        if not own and not arms:
            continue
        draft.touch("signals", key)
        headings = {id(arm): arm.get("for", signal["for"]) for arm in signal["arms"]}
        if own:
            _turn_post(signal, length)
        for arm in signal["arms"]:
            _turn_arm(signal, arm, headings[id(arm)], length, here=arm in arms)


def _turn_arm(signal: Thing, arm: Thing, heading: str, length: float | None, *, here: bool) -> None:
    """Give an arm its heading and measure; on another track it keeps those that it had."""
    wanted = OTHER[heading] if here else heading
    if wanted == signal["for"]:
        arm.pop("for", None)
    else:
        arm["for"] = wanted
    if here and "at_mm" in arm and length is not None:
        arm["at_mm"] = _from_other_end(arm["at_mm"], length)


def _turn_post(post: Thing, length: float | None) -> None:
    post["for"] = OTHER[post["for"]]
    if "at_mm" in post and length is not None:
        post["at_mm"] = _from_other_end(post["at_mm"], length)


def _from_other_end(at: object, length: float) -> object:
    from trappoint.tidying.tree import Number

    return spelled(max(length - value_of(at), 0)) if isinstance(at, Number) else at


@offering("tracks", 95)
def offer_turning(spot: Spot) -> Iterator[Offer]:
    """Offer to exchange up and down."""
    if can_turn(spot.layout, spot.key):
        yield Offer("Exchange up and down", {"do": "turn-round", "track": spot.key})
