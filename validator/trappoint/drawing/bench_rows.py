"""Rows of the signal chart for the workbench: a row for each post, and the parts.

Cells are escaped markup, as in the other tables of the chart.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.drawing.svg_elements import safe
from trappoint.model.names import Names
from trappoint.reporting.fitting_words import (
    carries,
    full_size,
    millimetres,
    title_of,
    where,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from trappoint.fitting.posts import Post, PostArm
    from trappoint.model.layout import Layout
    from trappoint.parts.telling import PlanSection

DRILL, PARTS = "Where to drill", "Parts"
"""The headings of the two sections."""

HEADS = [
    "Signal",
    "Where to drill",
    "Faces",
    "What to fit",
    "Arms, from the left, and their height",
]


class ExtraRows(NamedTuple):
    """Optional sections of the chart; an empty one is left out."""

    posts: Sequence[Post] = ()
    parts: Sequence[PlanSection] = ()


def post_rows(posts: Sequence[Post], layout: Layout) -> list[list[str]]:
    """Return a row for each post, under ``HEADS``."""
    names = Names(layout)
    return [
        [
            safe(title_of(post)),
            safe(f"{names.called('tracks', post.place.track)}: {where(post)}"),
            safe(post.facing),
            safe(carries(post)),
            safe("; ".join(map(_arm, post.arms))),
        ]
        for post in posts
    ]


def _arm(arm: PostArm) -> str:
    text = f"{arm.id}: {arm.kind}, height {millimetres(arm.height_mm)}"
    return f"{text} ({full_size(arm)})" if full_size(arm) else text
