"""One gantry for two tracks side by side, instead of two posts.

Two tracks that meet at points run close together before them, and a post between them has no room:
so the arm of the right-hand track stands on one gantry with its neighbour's. (No signal within 4 ft
6 in of the rails: G. Findlay, The Working and Management of an English Railway, p. 84. One gantry
instead is common practice, no source.)
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.proposing.roads import MOST_DOLLS

if TYPE_CHECKING:
    from collections import Counter
    from collections.abc import Mapping

    from trappoint.model.layout import Heading, Layout
    from trappoint.proposing.posts import PostGround

LEFT_TO_RIGHT = ("right", "middle", "left")
"""The legs of points from left to right for a driver who runs to the toe."""


def gantries(
    ground: PostGround, chosen: frozenset[int], arms: Counter[int]
) -> Mapping[int, tuple[int, ...]]:
    """Return the new posts that share a gantry, from left to right, by the first of each group."""
    at = {
        (ground.posts[number].track, ground.posts[number].heading): number
        for number in chosen
        if ground.posts[number].new and ground.posts[number].track not in ground.sidings
    }
    found: dict[int, tuple[int, ...]] = {}
    for points in ground.bare.points.values():
        ends = _ends_at(ground.bare, points.id)
        numbers = tuple(at[ends[leg]] for leg in LEFT_TO_RIGHT if ends.get(leg) in at)
        together = sum(arms[number] for number in numbers)
        # A track round to the same points may have both its ends here.
        if len({*numbers}) > 1 and _one_way(ground, numbers) and together <= MOST_DOLLS:
            found[numbers[0]] = numbers
    return found


def _one_way(ground: PostGround, numbers: tuple[int, ...]) -> bool:
    """Return whether some posts are on several tracks, and all for one heading."""
    posts = [ground.posts[number] for number in numbers]
    tracks = {post.track for post in posts}
    return len(tracks) == len(posts) and len({post.heading for post in posts}) == 1


def _ends_at(layout: Layout, points: str) -> dict[str, tuple[str, Heading]]:
    """Return the track at each leg of some points, with the heading of a train that runs to it."""
    found: dict[str, tuple[str, Heading]] = {}
    for track in layout.tracks.values():
        for heading in track.headings:
            end = track.end(heading)
            if end.kind == "leg" and end.name == points:
                found[end.leg] = track.id, heading
    return found
