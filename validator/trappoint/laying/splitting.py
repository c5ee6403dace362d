"""Cutting a track in two, and what its signals, platforms, yards and arms mean then."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from trappoint.laying.approach import Ways
from trappoint.laying.draft import measure_of, spelled
from trappoint.laying.measures import LONGEST_MM, mm
from trappoint.laying.naming import MAX_ID, fresh
from trappoint.laying.posts import Cut, Parts, move_posts, spot_after
from trappoint.laying.refusing import Refused
from trappoint.laying.yarding import mend_yards
from trappoint.model.layout import HOLDING

if TYPE_CHECKING:
    from trappoint.laying.draft import Draft, Thing
    from trappoint.model.layout import Arm, Layout

PLACES = ("middle", "up", "down")
"""Where a track can be cut without a measure."""


class Where(NamedTuple):
    """A place to read: a word, or ``beyond SIGNAL``."""

    told: str = "middle, up, down, or beyond and the id of a signal on the track"

    def read(self, draft: Draft, where: str, value: object) -> str:
        """Return the text."""
        if isinstance(value, str):
            word, _, name = value.partition(" ")
            if value in PLACES or (word == "beyond" and name in draft.things("signals")):
                return value
        raise Refused(
            f"{where[:1].upper() + where[1:]} says no place of a track.", f"Give {self.told}."
        )


def cut_of(draft: Draft, track: str, at: str, at_mm: float | None) -> Cut:
    """Return the cut at a place; ``at_mm`` counts if it is given. Raises ``Refused``."""
    length = measure_of(draft.thing("tracks", track), "length_mm")
    if at_mm is not None:
        if at_mm <= 0 or (length is not None and at_mm >= length):
            most = f"less than {length:g}" if length is not None else "a larger number"
            raise Refused(
                f"{mm(at_mm)} from the up end is not between the ends of {track}.",
                f"Give more than 0 and {most}.",
            )
        return Cut(track, at_mm, length=length)
    if at == "middle":
        half = None if length is None else round(length / 2) or length / 2
        return Cut(track, half, length=length)
    if at in ("up", "down"):
        return Cut(track, None, at, length=length)
    return _beyond(draft, track, at.partition(" ")[2], length)


def _beyond(draft: Draft, track: str, name: str, length: float | None) -> Cut:
    signal = draft.thing("signals", name)
    if signal["track"] != track:
        raise Refused(
            f"Signal {name} is not on {track}.", "Name a signal on the track, or a place."
        )
    at, heading = measure_of(signal, "at_mm"), signal["for"]
    if at is None or at == (length if heading == "down" else 0):
        return Cut(track, None, heading, heading, length=length)
    return Cut(track, at, past=heading, length=length)


def split(
    draft: Draft,
    cut: Cut,
    up_meets: str,
    down_meets: str,
    *,
    stands: bool = True,
    keeps: str | None = None,
    stem: str | None = None,
) -> Parts:
    """Cut a track in two: the up part ends at ``up_meets``, the down part begins at ``down_meets``.

    The part with most of the track keeps the id, or the one that ``keeps`` names. Signals keep
    their end and their place. If the plan says that the track is a stand, both parts are, or
    without ``stands`` that with the id. ``stem`` is the id of the other part, if that is free.
    """
    layout = draft.layout()
    old = draft.thing("tracks", cut.track)
    lengths = _lengths(cut)
    up_keeps = _up_keeps(cut, old, lengths) if keeps is None else keeps == "up"
    other = fresh(draft, "tracks", stem or _numbered(cut.track))
    parts = Parts(
        cut.track if up_keeps else other,
        other if up_keeps else cut.track,
        _said(cut),
    )
    new = {
        key: value
        for key, value in old.items()
        if key not in ("up", "down", "name", "note", "length_mm", "stand")
    }
    if old.get("stand") is False or ("stand" in old and stands and not cut.short):
        new["stand"] = old["stand"]
    ends = {parts.up: (old["up"], up_meets), parts.down: (down_meets, old["down"])}
    draft.add("tracks", other, new, cut.track)
    for part, (up, down) in ends.items():
        track = draft.thing("tracks", part)
        track.update(up=up, down=down)
        _give_length(track, lengths[0 if part == parts.up else 1])
        draft.touch("tracks", part)
    move_posts(draft, (cut.track,), lambda spot, heading: spot_after(cut, parts, heading, spot.at))
    _mend_arms(draft, layout, cut, parts)
    _mend_platforms(draft, layout, cut, parts, lengths)
    mend_yards(draft, layout, cut, parts)
    return parts


def _numbered(track: str) -> str:
    """Return the id after that of a track: ``main-2`` for ``main``; fresh ids count on from it."""
    root, _, number = track.rpartition("-")
    return track if root and number.isdigit() else f"{track[: MAX_ID - 2]}-2"


def _lengths(cut: Cut) -> tuple[float | None, float | None]:
    if cut.short:
        return (None, cut.length) if cut.short == "up" else (cut.length, None)
    if cut.at_mm is None:
        return None, None
    return cut.at_mm, None if cut.length is None else cut.length - cut.at_mm


def _up_keeps(cut: Cut, old: Thing, lengths: tuple[float | None, float | None]) -> bool:
    """Return whether the up part keeps the id: it has most of the track, or its outer end."""
    if cut.short:
        return cut.short == "down"
    outer = [old[end].startswith(("buffer", "edge:")) for end in ("up", "down")]
    if outer[0] != outer[1]:
        return bool(outer[0])
    up, down = lengths
    return up is None or down is None or up >= down


def _give_length(track: Thing, length: float | None) -> None:
    if length is None or not 0 < length <= LONGEST_MM:
        track.pop("length_mm", None)
    elif measure_of(track, "length_mm") != length:
        track["length_mm"] = spelled(length)


def _said(cut: Cut) -> str:
    if cut.length is None:
        return ""
    if cut.short or cut.at_mm is None:
        return f"The length stays with {cut.track}: measure it again."
    return f"The length is divided at {mm(cut.at_mm)}."


# --- arms that lead to the track


def _mend_arms(draft: Draft, layout: Layout, cut: Cut, parts: Parts) -> None:
    """Let the arms whose roads run over the track name the part at the far end of their roads."""
    named = [arm for arm in layout.arms() if cut.track in arm.to]
    if not named:
        return
    ways, arms = Ways(layout), draft.arms()
    for arm in named:
        found = {_far_part(layout, cut, parts, arm, h) for h in ways.headings(arm, cut.track)}
        if len(found) == 1:
            to = arms[arm.id]["to"]
            new = found.pop()
            arms[arm.id]["to"] = _exchanged(to, cut.track, new)
            if new != cut.track:
                draft.touch("signals", arm.signal)


def _exchanged(to: Any, old: str, new: str) -> Any:
    return new if isinstance(to, str) else [new if name == old else name for name in to]


def _far_part(layout: Layout, cut: Cut, parts: Parts, arm: Arm, heading: str) -> str:
    """Return the part in which a road over the track ends, or by which it leaves the track."""
    near, far = (parts.up, parts.down) if heading == "down" else (parts.down, parts.up)
    kinds = HOLDING if arm.kind == "shunt" else ("stop",)
    own = arm.at_mm if arm.track == cut.track else None
    if own is not None and spot_after(cut, parts, heading, spelled(own)).track == far:
        return far
    for other in layout.arms():
        if (other.track, other.heading) != (cut.track, heading) or other.kind not in kinds:
            continue
        at = None if other.at_mm is None else spelled(other.at_mm)
        if spot_after(cut, parts, heading, at).track == near and _is_beyond(other, own, heading):
            return near
    return far


def _is_beyond(other: Arm, own: float | None, heading: str) -> bool:
    if own is None or other.at_mm is None:
        return True
    return other.at_mm > own if heading == "down" else other.at_mm < own


# --- platforms


def _mend_platforms(
    draft: Draft, layout: Layout, cut: Cut, parts: Parts, lengths: tuple[float | None, float | None]
) -> None:
    """Let a platform serve the part where it has room; both parts if that leaves it open.

    The rest of a track past a signal serves no platform if it is too short for a train: no train
    stood there before the cut.
    """
    ids = (parts.up, parts.down)
    rest = _rest(draft, layout, cut, parts, lengths)
    for key, platform in draft.things("platforms").items():
        if cut.track not in platform["tracks"]:
            continue
        length = measure_of(platform, "length_mm") or 0
        rooms = [part for part, room in zip(ids, lengths, strict=True) if (room or 0) >= length > 0]
        if cut.short:
            rooms = [cut.track]
        elif rest is not None:
            rooms = [part for part in ids if part != rest]
        served = rooms if len(rooms) == 1 else list(ids)
        at = platform["tracks"].index(cut.track)
        if served != [cut.track]:
            platform["tracks"][at : at + 1] = served
            draft.touch("platforms", key)


def _rest(
    draft: Draft, layout: Layout, cut: Cut, parts: Parts, lengths: tuple[float | None, float | None]
) -> str | None:
    """Return the part past a signal along the track, if it is too short for any train."""
    if not cut.past or cut.at_mm is None:
        return None
    part, room = (parts.up, lengths[0]) if cut.past == "up" else (parts.down, lengths[1])
    if draft.thing("tracks", part)[cut.past].startswith(("buffer", "edge:")):
        return None
    for head in layout.holding_heads():
        at = head.at_mm
        farther = at is None or (at > cut.at_mm if cut.past == "down" else at < cut.at_mm)
        if farther and (head.track, head.heading) == (cut.track, cut.past):
            return None
    shortest = layout.shortest_train_mm
    return part if room is None or shortest is None or shortest > room else None
