"""Needs: changes to a choice of posts that every plan that holds has made."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable

Posts = frozenset[int]
NONE: Posts = frozenset()


def that_stand(posts: Iterable[int]) -> Posts:
    """Return posts as negative numbers, which mean "stands" in a set of missing posts."""
    return frozenset(-1 - number for number in posts)


class TooManyRoads(Exception):  # noqa: N818 # it is no fault, only a question too large
    """A choice of signals leaves too many routes to analyse. The message is the signal's id."""


class Need(NamedTuple):
    """One of ``added`` must stand, or one of ``gone`` must not."""

    added: Posts
    gone: Posts
    where: str
    """The place of the collision, for the message if no change is possible."""
