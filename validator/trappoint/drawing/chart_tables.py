"""What the sheet for the wall says for the bench: a line for each post, and the parts.

Cells are escaped already, as those of the other tables of the sheet.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.drawing.svg_elements import safe
from trappoint.reporting.fitting_words import carries, full_size, millimetres, where

if TYPE_CHECKING:
    from collections.abc import Sequence

    from trappoint.fitting.posts import Post, PostArm
    from trappoint.parts.telling import PlanSection

DRILL, PARTS = "Where to drill", "Parts"
"""The headings under which it stands."""

HEADS = ["Signal", "Where to drill", "Faces", "What it is", "Arms, from the left, and their height"]


class ExtraRows(NamedTuple):
    """What the sheet shows beside what it always shows; what is empty is not shown."""

    posts: Sequence[Post] = ()
    parts: Sequence[PlanSection] = ()


def post_rows(posts: Sequence[Post]) -> list[list[str]]:
    """Return a row for each post, under ``HEADS``."""
    return [
        [
            safe(post.signal),
            safe(f"{post.place.track}: {where(post)}"),
            safe(post.facing),
            safe(carries(post)),
            safe("; ".join(map(_arm, post.arms))),
        ]
        for post in posts
    ]


def _arm(arm: PostArm) -> str:
    told = f"{arm.id}: {arm.kind}, height {millimetres(arm.height_mm)}"
    return f"{told} ({full_size(arm)})" if full_size(arm) else told
