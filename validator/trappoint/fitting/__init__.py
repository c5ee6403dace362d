"""From the plan to the layout: where each post goes, and in which order signals are fitted."""

from __future__ import annotations

from trappoint.fitting.order import Exit, Stage, Work, order_of_work
from trappoint.fitting.posts import Place, Post, PostArm, posts_of

__all__ = [
    "Exit",
    "Place",
    "Post",
    "PostArm",
    "Stage",
    "Work",
    "order_of_work",
    "posts_of",
]
