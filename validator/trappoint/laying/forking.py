"""Helpers of several verbs of track: points put into a track, and new track laid from them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from trappoint.laying.draft import as_tree
from trappoint.laying.naming import fresh, fresh_numbered, slug
from trappoint.laying.posts import Parts
from trappoint.laying.splitting import split
from trappoint.laying.yarding import join_yard

if TYPE_CHECKING:
    from trappoint.laying.draft import Draft
    from trappoint.laying.posts import Cut
    from trappoint.tidying.tree import Number

Measured = dict[str, Any]
"""Further keys of a thing, as plain data; those that are None are left out."""


class Fork(NamedTuple):
    """Points in a track."""

    points: str
    parts: Parts
    leg: str
    """The leg that no track meets yet, such as ``p4.left``."""
    facing: str
    """The heading of the trains that meet the points at the toe."""

    @property
    def toe(self) -> str:
        """The part of the track at the toe."""
        return self.parts.up if self.facing == "down" else self.parts.down

    def last(self, draft: Draft) -> str:
        """Return the part that comes last in the plan."""
        order = list(draft.things("tracks"))
        return max(self.parts.up, self.parts.down, key=order.index)

    @property
    def straight(self) -> str:
        """The part of the track at the other leg."""
        return self.parts.down if self.facing == "down" else self.parts.up


def other_hand(hand: str) -> str:
    """Return the other hand."""
    return "right" if hand == "left" else "left"


def opposite(heading: str) -> str:
    """Return the other heading, or the other end."""
    return "up" if heading == "down" else "down"


def put_points(
    draft: Draft,
    cut: Cut,
    facing: str,
    hand: str,
    points: str | None = None,
    keeps: str | None = None,
    stem: str | None = None,
    **more: Any,
) -> Fork:
    """Put points into a track, with the toe towards the trains that they face.

    The leg on the side of ``hand``, as seen from the toe, is still to be met; the points normally
    lie for the other one.
    """
    key = points or fresh_numbered(draft, "points", "p")
    straight = other_hand(hand)
    add_points(draft, key, straight, **more)
    toe, leg = f"{key}.toe", f"{key}.{straight}"
    ends = (toe, leg) if facing == "down" else (leg, toe)
    parts = split(draft, cut, *ends, keeps=keeps, stem=stem)
    join_yard(draft, "points", key, ("tracks", parts.up), ("tracks", parts.down))
    return Fork(key, parts, f"{key}.{hand}", facing)


def add_points(draft: Draft, key: str, normal: str, **more: Any) -> None:
    """Add points to the plan."""
    draft.add("points", key, {"normal": normal, **measured(more)})


def work_together(draft: Draft, *switches: str) -> None:
    """Let one lever work points and slips."""
    draft.list_of("worked_together").append(list(switches))
    for key in switches:
        draft.touch("points", key)


def lay_track(
    draft: Draft, key: str, begins: str, ends: str, facing: str, after: str, **more: Any
) -> str:
    """Lay a track that a train with the heading ``facing`` runs from ``begins`` to ``ends``."""
    up, down = (begins, ends) if facing == "down" else (ends, begins)
    draft.add("tracks", key, {"up": up, "down": down, **measured(more)}, after)
    return key


def outer(draft: Draft, ends: str, track: str) -> str:
    """Return the text of an outer end: a new edge gets its name from the track there."""
    return f"edge:{fresh(draft, 'edges', track)}" if ends == "edge" else ends


def named(name: str | None, key: str) -> str | None:
    """Return the name of a thing; None if its id says the same."""
    return name if name and slug(name) != key else None


def measured(more: Measured) -> dict[str, Number | Any]:
    """Return keys for the tree, without those that are None."""
    return {key: as_tree(value) for key, value in more.items() if value is not None}


def sentence(*parts: str) -> str:
    """Return sentences in one text, without the empty ones."""
    return " ".join(filter(None, parts))
