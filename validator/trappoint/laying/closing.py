"""Closing up: two tracks become one again when the thing between them is taken out."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.laying.draft import measure_of, spelled, value_of
from trappoint.laying.mending import replace
from trappoint.laying.naming import fresh_numbered
from trappoint.laying.posts import Spot, move_posts, spot_of_arm

if TYPE_CHECKING:
    from trappoint.laying.draft import Draft

End = tuple[str, str]
"""A track and one of its ends, ``up`` or ``down``."""

ALIKE = ("running", "radius_mm", "curve", "gradient_percent", "rank", "draw")
"""The keys that two tracks must share to become one."""


def ends_at(draft: Draft, text: str) -> list[End]:
    """Return the track ends that meet a leg or a joint."""
    return [
        (key, end)
        for key, track in draft.things("tracks").items()
        for end in ("up", "down")
        if track[end] == text
    ]


def set_end(draft: Draft, end: End, text: str) -> None:
    """Let an end of a track meet something else."""
    draft.thing("tracks", end[0])[end[1]] = text
    draft.touch("tracks", end[0])


def close_up(draft: Draft, one: End, other: End) -> tuple[str, dict[str, str]]:
    """Join two track ends between which nothing is left.

    The two tracks become one if they are alike and no signal loses its place; else they meet at a
    joint. Returns a sentence, and the id of a track that went with the one that it is part of.
    """
    merge = _merge_of(draft, one, other)
    if merge is None:
        text = f"joint:{fresh_numbered(draft, 'joints', 'j')}"
        for end in (one, other):
            set_end(draft, end, text)
        return f"Tracks {one[0]} and {other[0]} meet at {text.replace(':', ' ')}.", {}
    _merge(draft, merge)
    return f"Tracks {merge.up} and {merge.down} are one, {merge.kept}.", {merge.gone: merge.kept}


class _Merge(NamedTuple):
    """Two tracks that become one, the down end of the one at the up end of the other."""

    up: str
    down: str
    kept: str
    """The id that stays."""

    @property
    def gone(self) -> str:
        """The id that goes."""
        return self.down if self.kept == self.up else self.up


def _merge_of(draft: Draft, one: End, other: End) -> _Merge | None:
    """Return how two tracks become one; None if they cannot."""
    if one[0] == other[0] or one[1] == other[1]:
        return None
    up, down = (one[0], other[0]) if one[1] == "down" else (other[0], one[0])
    first, second = draft.thing("tracks", up), draft.thing("tracks", down)
    told = [key for key in ("name", "note") if key in first and key in second]
    if told or any(first.get(key) != second.get(key) for key in ALIKE):
        return None
    if _yards_of(draft, up) != _yards_of(draft, down) or not _signals_stay(draft, up, down):
        return None
    return _Merge(up, down, _kept(draft, up, down))


def _yards_of(draft: Draft, track: str) -> list[str]:
    return [key for key, yard in draft.things("yards").items() if track in yard.get("tracks", ())]


def _signals_stay(draft: Draft, up: str, down: str) -> bool:
    """Return whether each signal on the two tracks has a place on the one."""
    spots = [
        (spot, heading)
        for signal in draft.things("signals").values()
        for arm in signal["arms"]
        for spot, heading in (spot_of_arm(signal, arm),)
        if spot.track in (up, down)
    ]
    if spots and _yards_of(draft, up):
        return False
    if measure_of(draft.thing("tracks", up), "length_mm") is not None:
        return True
    return all(
        spot.at is not None or heading == "up" if spot.track == up
        else spot.at is None and heading == "down"
        for spot, heading in spots
    )  # fmt: skip


def _kept(draft: Draft, up: str, down: str) -> str:
    """Return the id that stays: ``main`` of ``main`` and ``main-2``, else the first in the plan."""
    for one, other in ((up, down), (down, up)):
        root, _, number = other.rpartition("-")
        if root == one and number.isdigit():
            return one
    order = list(draft.things("tracks"))
    return min(up, down, key=order.index)


def _merge(draft: Draft, merge: _Merge) -> None:
    first, second = draft.thing("tracks", merge.up), draft.thing("tracks", merge.down)
    lengths = [measure_of(track, "length_mm") for track in (first, second)]

    def place(spot: Spot, heading: str) -> Spot:
        at = spot.at
        if spot.track == merge.up and at is None and heading == "down":
            at = first.get("length_mm")
        elif spot.track == merge.down and (at is not None or heading == "up"):
            at = spelled((lengths[0] or 0) + (value_of(at) if at is not None else 0))
        return Spot(merge.kept, at)

    move_posts(draft, (merge.up, merge.down), place)
    stands = [track["stand"] for track in (first, second) if "stand" in track]
    kept = draft.thing("tracks", merge.kept)
    for key in ("name", "note"):
        told = first.get(key, second.get(key))
        if told is not None:
            kept[key] = told
    kept.update(up=first["up"], down=second["down"])
    kept.pop("stand", None)
    if True in stands or len(stands) == 2:
        kept["stand"] = True in stands
    if None in lengths:
        kept.pop("length_mm", None)
    else:
        kept["length_mm"] = spelled(sum(length or 0 for length in lengths))
    draft.touch("tracks", merge.kept)
    replace(draft, {("tracks", merge.gone): (merge.kept,)})
    draft.remove("tracks", merge.gone)
