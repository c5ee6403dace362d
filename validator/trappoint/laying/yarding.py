"""Which new track and points belong to a yard."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.laying.draft import spelled
from trappoint.laying.posts import spot_after
from trappoint.model.layout import HEADINGS

if TYPE_CHECKING:
    from trappoint.laying.draft import Draft, Thing
    from trappoint.laying.posts import Cut, Parts
    from trappoint.model.layout import End, Layout


def join_yard(draft: Draft, kind: str, key: str, *beside: tuple[str, str]) -> None:
    """Let a new thing belong to the yard to which all these things belong, if there is one."""
    for name, yard in draft.things("yards").items():
        if all(other in yard.get(kind_, ()) for kind_, other in beside):
            own = yard.setdefault(kind, [])
            if key not in own:
                own.append(key)
            draft.touch("yards", name)


def mend_yards(draft: Draft, layout: Layout, cut: Cut, parts: Parts) -> None:
    """Let the parts of a track that was cut belong to its yard.

    Beyond an exit signal of a yard, its track is outside. ``layout`` is the plan before the cut.
    """
    for key, yard in draft.things("yards").items():
        if cut.track not in yard.get("tracks", ()):
            continue
        out = {
            parts.down if heading == "down" else parts.up
            for heading in HEADINGS
            if _leads_out(layout, yard, layout.tracks[cut.track].end(heading))
            and _held_before(layout, cut, parts, heading)
        }
        own = [part for part in (parts.up, parts.down) if part not in out]
        at = yard["tracks"].index(cut.track)
        yard["tracks"][at : at + 1] = own or [cut.track]
        draft.touch("yards", key)


def _leads_out(layout: Layout, yard: Thing, end: End) -> bool:
    """Return whether an end of a track of a yard leads straight out of it."""
    if end.kind == "joint":
        met = (each.id for each in layout.tracks.values() if end in (each.up, each.down))
        return not all(track in yard["tracks"] for track in met)
    element = layout.element(end)
    return end.kind == "edge" or (element is not None and end.name not in yard.get(element[0], ()))


def _held_before(layout: Layout, cut: Cut, parts: Parts, heading: str) -> bool:
    """Return whether a signal for trains with this heading stands before the cut."""
    near = parts.up if heading == "down" else parts.down
    heads = (h for h in layout.holding_heads() if (h.track, h.heading) == (cut.track, heading))
    return any(
        spot_after(cut, parts, heading, None if h.at_mm is None else spelled(h.at_mm)).track == near
        for h in heads
    )
