"""A piece of a track between two cuts, for loops and pairs of crossovers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.laying.draft import measure_of
from trappoint.laying.forking import other_hand, put_points
from trappoint.laying.measures import Word, mm
from trappoint.laying.posts import Cut
from trappoint.laying.refusing import Refused
from trappoint.laying.splitting import cut_of

if TYPE_CHECKING:
    from trappoint.laying.draft import Draft
    from trappoint.laying.forking import Fork
    from trappoint.model.layout import Layout

CUTS = Word(("ends", "within"))
"""Where a piece of a track lies: between points right at its ends, or with track on both sides."""


def fork_twice(
    draft: Draft, track: str, hand: str, at: str, from_mm: float | None, to_mm: float | None
) -> tuple[Fork, Fork]:
    """Put points at both ends of a piece of a track, with their toes away from it.

    ``ends`` puts them right beyond the signals at both ends of the track. ``within`` leaves a third
    of it on each side of the piece. Measures count if they are given. ``hand`` is the side of the
    legs that no track meets yet, as seen running down. Platforms serve the piece. Raises
    ``Refused``.
    """
    near, far = _cuts(draft, track, at, from_mm, to_mm)
    outer = draft.thing("tracks", track)["up"].startswith(("buffer", "edge:"))
    keeps = "up" if outer and not near.short else "down"
    first = put_points(draft, near, "down", hand, keeps=keeps)
    far = far._replace(track=first.parts.down)
    last = put_points(draft, far, "up", other_hand(hand), keeps="up")
    _sole_platforms(draft, (first.parts.up, last.parts.up, last.parts.down), last.parts.up)
    return first._replace(parts=first.parts._replace(down=last.parts.up)), last


def _cuts(
    draft: Draft, track: str, at: str, from_mm: float | None, to_mm: float | None
) -> tuple[Cut, Cut]:
    """Return the cut at the up end of the piece, and then that at its down end of what is left."""
    length = measure_of(draft.thing("tracks", track), "length_mm")
    if from_mm is not None or to_mm is not None:
        return _measured_cuts(draft, track, length, from_mm, to_mm)
    if at == "ends":
        return Cut(track, None, "up", "up", length), Cut(track, None, "down", "down", length)
    if length is None:
        return Cut(track, None), Cut(track, None)
    third = round(length / 3) or length / 3
    return Cut(track, third, length=length), Cut(track, length - 2 * third, length=length - third)


def _measured_cuts(
    draft: Draft, track: str, length: float | None, from_mm: float | None, to_mm: float | None
) -> tuple[Cut, Cut]:
    if from_mm is not None and to_mm is not None and from_mm >= to_mm:
        raise Refused(
            f"The piece would begin at {mm(from_mm)} and end at {mm(to_mm)}.",
            "Give the two places in their order from the up end.",
        )
    near = Cut(track, None, "up", "up", length)
    if from_mm is not None:
        near = cut_of(draft, track, "", from_mm)
    begins = near.at_mm or 0
    left = None if length is None else length - begins
    if to_mm is None:
        return near, Cut(track, None, "down", "down", left)
    cut_of(draft, track, "", to_mm)
    return near, Cut(track, to_mm - begins, length=left)


def usual_cuts(layout: Layout, track: str) -> str:
    """Return where a piece of a track usually lies: within a line that leaves the plan or ends."""
    ends = (layout.tracks[track].up, layout.tracks[track].down)
    return "within" if any(end.kind in ("edge", "buffer") for end in ends) else "ends"


def _sole_platforms(draft: Draft, parts: tuple[str, ...], served: str) -> None:
    """Let platforms beside several parts of what was one track serve only one of them."""
    for key, platform in draft.things("platforms").items():
        own = [track for track in platform["tracks"] if track in parts]
        if own and own != [served]:
            at = platform["tracks"].index(own[0])
            left = [track for track in platform["tracks"] if track not in own]
            platform["tracks"] = [*left[:at], served, *left[at:]]
            draft.touch("platforms", key)
