"""Free ends of tracks: buffers and edges, and what depends on an edge that goes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.quoting import listed
from trappoint.laying.mending import replace
from trappoint.laying.refusing import Refused
from trappoint.model.building import build_layout
from trappoint.source.reading import Unreadable, read_document

if TYPE_CHECKING:
    from trappoint.laying.draft import Draft
    from trappoint.model.layout import End, Layout


def free_end(draft: Draft, track: str, end: str) -> str:
    """Return what a free end of a track meets. Raises ``Refused`` if the end is not free."""
    text = str(draft.thing("tracks", track)[end])
    if text != "buffer" and not text.startswith("edge:"):
        raise Refused(
            f"The {end} end of {track} meets {text} already.",
            "Choose an end at a buffer or an edge.",
        )
    hold_no_join(draft, text)
    return text


def hold_no_join(draft: Draft, text: str) -> None:
    """Refuse to change an edge that is joined to a board."""
    name = text.removeprefix("edge:")
    joins = [join for join in draft.tree.get("joins", ()) if isinstance(join, dict)]  # type: ignore[union-attr]  # a list
    if text.startswith("edge:") and any(f":{name}" in (join["a"], join["b"]) for join in joins):
        raise Refused(
            f"Edge {name} is joined to a board.", "Take out the join first, or change another end."
        )


def layout_without_boards(text: str) -> Layout | None:
    """Return the layout of a plan whose boards are not at hand, for offers; None if unreadable.

    Its edges that are joined to a board are joints, as in the assembled plan.
    """
    document = read_document(text, "<text>")
    if isinstance(document, Unreadable):
        return None
    plan = document.data
    joined = {text for join in plan.get("joins", ()) for text in (join["a"], join["b"])}
    tracks = {}
    for key, track in plan["tracks"].items():
        ends = {side: str(track[side]) for side in ("up", "down")}
        names = {side: text.removeprefix("edge:") for side, text in ends.items()}
        joints = {
            side: f"joint::{name}"
            for side, name in names.items()
            if name != ends[side] and f":{name}" in joined
        }
        tracks[key] = {**track, **joints}
    return build_layout({**plan, "tracks": tracks})


def is_joined(end: End) -> bool:
    """Return whether an end of an assembled plan is an edge that is joined to a board."""
    return end.kind == "joint" and ":" in end.name


def meet_instead(draft: Draft, track: str, end: str, text: str) -> str:
    """Let an end of a track meet something else; references to its edge go if no track has it.

    Returns a sentence on what went with the edge; empty if nothing did.
    """
    old = draft.thing("tracks", track)[end]
    draft.thing("tracks", track)[end] = text
    draft.touch("tracks", track)
    ends = [each[side] for each in draft.things("tracks").values() for side in ("up", "down")]
    if not old.startswith("edge:") or old in ends:
        return ""
    gone = replace(draft, {("edges", old.removeprefix("edge:")): ()})
    return went(gone)


def went(gone: tuple[str, ...]) -> str:
    """Return a sentence on the things that went with another one; empty if none did."""
    if not gone:
        return ""
    words = listed(tuple(dict.fromkeys(gone)), "and")
    return f"{words[0].upper()}{words[1:]} went with it."
