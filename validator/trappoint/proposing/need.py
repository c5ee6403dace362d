"""What would have to differ in a choice of posts: posts that are missing, posts that stand."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable

Posts = frozenset[int]
NONE: Posts = frozenset()


def that_stand(posts: Iterable[int]) -> Posts:
    """Return what says that posts stand, among what says that others are missing."""
    return frozenset(-1 - number for number in posts)


class TooManyRoads(Exception):  # noqa: N818 # it is no fault, only a question too large
    """A choice of signals leaves more routes than can be followed. Names the signal."""


class Need(NamedTuple):
    """One of ``added`` must stand, or one of ``gone`` must not."""

    added: Posts
    gone: Posts
    where: str
    """What goes wrong otherwise, for a plan in which none of it can be done."""
