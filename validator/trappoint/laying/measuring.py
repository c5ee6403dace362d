"""Verbs: the length of a track, the way that trains run on it, and whether they stand there."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.laying.draft import Draft, measure_of, spelled
from trappoint.laying.lines import RUNNING
from trappoint.laying.measures import LENGTH, TRACK, Word, mm
from trappoint.laying.offering import Offer, of_length, offering
from trappoint.laying.verb import verb

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.laying.offering import Spot
    from trappoint.model.layout import Layout


@verb(
    "set-length",
    "Gives a track its length; signals at its down end stay there.",
    track=TRACK,
    length_mm=LENGTH,
)
def set_length(draft: Draft, track: str, length_mm: float) -> str:
    """Write the length of a track."""
    thing = draft.thing("tracks", track)
    old, new = measure_of(thing, "length_mm"), spelled(length_mm)
    thing["length_mm"] = new
    draft.touch("tracks", track)
    for key, signal in draft.things("signals").items():
        for post in (signal, *signal["arms"]):
            here = post.get("track", signal["track"]) == track
            down = post.get("for", signal["for"]) == "down"
            if here and down and old is not None and measure_of(post, "at_mm") == old:
                post["at_mm"] = new
                draft.touch("signals", key)
    return f"Track {draft.called('tracks', track)} is {mm(length_mm)} long."


@verb("run", "Says which way trains run on a track.", track=TRACK, running=RUNNING)
def run(draft: Draft, track: str, running: str) -> str:
    """Write ``running``; both is the default and is left out."""
    thing = draft.thing("tracks", track)
    if running == "both":
        thing.pop("running", None)
    else:
        thing["running"] = running
    draft.touch("tracks", track)
    ways = "both ways" if running == "both" else running
    return f"Trains run {ways} on {draft.called('tracks', track)}."


STAND = Word(("yes", "no", "usual"))


@verb(
    "stand", "Says whether trains may stand on a track and set off again.", track=TRACK, stand=STAND
)
def stand(draft: Draft, track: str, stand: str) -> str:
    """Write ``stand``, or leave it to the default."""
    thing = draft.thing("tracks", track)
    if stand == "usual":
        thing.pop("stand", None)
    else:
        thing["stand"] = stand == "yes"
    draft.touch("tracks", track)
    may = draft.layout().tracks[track].stand
    return f"Trains {'may' if may else 'do not'} stand on {draft.called('tracks', track)}."


USUAL_MM = 1000
"""The length of a track to begin with; its author replaces it by the measured one."""


def _room(layout: Layout, track: str) -> float:
    """Return a length for a track without one, beyond all signals that have a measure on it."""
    posts = [(signal.track, signal.at_mm) for signal in layout.signals.values()]
    posts += [(arm.track, arm.at_mm) for arm in layout.arms()]
    return max([USUAL_MM, *(at + 100 for on, at in posts if on == track and at is not None)])


@offering("tracks", 80)
def offer_measures(spot: Spot) -> Iterator[Offer]:
    """Offer a length, the other ways of running, and the other answer to whether trains stand."""
    track = spot.layout.tracks[spot.key]
    here: dict[str, object] = {"track": spot.key}
    label = "Change its length" if track.length_mm else "Give its length"
    asked = of_length(value=track.length_mm or _room(spot.layout, spot.key))
    yield Offer(label, {"do": "set-length", **here}, (asked,))
    if track.stand:
        yield Offer("No train stands here", {"do": "stand", **here, "stand": "no"})
    else:
        yield Offer("Trains stand here", {"do": "stand", **here, "stand": "yes"})
    for running, words in (("both", "both ways"), ("down", "down only"), ("up", "up only")):
        if running != track.running:
            yield Offer(f"Trains run {words}", {"do": "run", **here, "running": running})
