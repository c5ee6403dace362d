"""The places of signals and arms along tracks, and moving them when the tracks change."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.laying.draft import spelled, value_of
from trappoint.tidying.tree import Number

if TYPE_CHECKING:
    from collections.abc import Callable, Collection

    from trappoint.laying.draft import Draft, Thing


class Spot(NamedTuple):
    """A track and a place on it."""

    track: str
    at: Number | None
    """From the up end; None right at the end that the trains run to."""


class Cut(NamedTuple):
    """The place of a cut through a track."""

    track: str
    at_mm: float | None
    """The exact place; None if it is right at an end, or not known."""
    short: str = ""
    """The end right at which the cut is, ``up`` or ``down``; empty if both parts have a length."""
    beyond: str = ""
    """For a cut right beyond a signal at an end: the end at which that stands."""
    length: float | None = None
    """The length of the track in mm; None if it is not known."""
    past: str = ""
    """For a cut right beyond a signal along the track: the end that its trains run to."""


class Parts(NamedTuple):
    """The two parts of a track that was cut: their ids."""

    up: str
    down: str
    said: str
    """A sentence on the length; empty if there was none."""


def spot_after(cut: Cut, parts: Parts, heading: str, at: Number | None) -> Spot:
    """Return where an arm stands after the cut; ``at`` is its place on the whole track."""
    place = None if at is None else value_of(at)
    if place is None or place == (cut.length if heading == "down" else 0):
        if cut.beyond == heading:  # It stands before the cut, not beyond it.
            return Spot(parts.up if heading == "down" else parts.down, None)
        return Spot(parts.down if heading == "down" else parts.up, None)
    if cut.short:
        return Spot(parts.down if cut.short == "up" else parts.up, at)
    if cut.at_mm is None or place < cut.at_mm:
        return Spot(parts.up, at)
    if place == cut.at_mm:
        return Spot(parts.up if heading == "down" else parts.down, None)
    return Spot(parts.down, spelled(place - cut.at_mm))


def spot_of_arm(signal: Thing, arm: Thing) -> tuple[Spot, str]:
    """Return where an arm stands, and the heading of its trains."""
    track = str(arm.get("track", signal["track"]))
    inherited = signal.get("at_mm") if track == signal["track"] else None
    heading = str(arm.get("for", signal["for"]))
    return Spot(track, arm.get("at_mm", inherited)), heading


def move_posts(draft: Draft, tracks: Collection[str], place: Callable[[Spot, str], Spot]) -> None:
    """Move all signals and arms on some tracks; ``place`` maps an old spot and heading to the new.

    Duties such as ``holds siding`` follow a signal to its new track.
    """
    for name, signal in draft.things("signals").items():
        arms = [spot_of_arm(signal, arm) for arm in signal["arms"]]
        if not {signal["track"], *(spot.track for spot, _ in arms)} & set(tracks):
            continue
        draft.touch("signals", name)
        moved = [place(spot, way) if spot.track in tracks else spot for spot, way in arms]
        own = Spot(signal["track"], signal.get("at_mm"))
        if own.track in tracks:
            old, own = own, place(own, signal["for"])
            _put(signal, own)
            _mend_duties(signal, old.track, own.track)
        for arm, spot in zip(signal["arms"], moved, strict=True):
            if spot == own:
                for key in ("track", "at_mm"):
                    arm.pop(key, None)
            else:
                _put(arm, spot, own)


def _put(post: Thing, spot: Spot, own: Spot | None = None) -> None:
    """Write the track and the place of a signal, or of an arm whose signal stands at ``own``."""
    if own is None or spot.track != own.track:
        post["track"] = spot.track
    else:
        post.pop("track", None)
    if spot.at is None:
        post.pop("at_mm", None)
    elif post.get("at_mm") != spot.at:
        post["at_mm"] = spot.at


def _mend_duties(signal: Thing, old: str, new: str) -> None:
    if "duties" in signal and new != old:
        signal["duties"] = [
            f"holds {new}" if duty == f"holds {old}" else duty for duty in signal["duties"]
        ]
