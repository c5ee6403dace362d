"""A signal before all points and crossings in each direction, then those close together made one.

Many modellers begin so; it is common practice, no source. Every platform has a home and a starter
besides. If two signals for one direction are close together, the farther one goes, as far as the
nearer one then still does the duties of both. The plan must hold, and trains must reach all track.
Every platform keeps its home and its starter, and no bracket has more than three arms.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.dimensions.scales import ratio_of
from trappoint.proposing.choice import Choice
from trappoint.proposing.need import TooManyRoads
from trappoint.proposing.optimising import CompleteChoice, NoChoice
from trappoint.proposing.posts import AT_END
from trappoint.proposing.reaching import reached_states
from trappoint.proposing.roads import faults_in, roads_in

if TYPE_CHECKING:
    from trappoint.model.layout import Layout
    from trappoint.proposing.need import Need
    from trappoint.proposing.optimising import Chooser
    from trappoint.proposing.posts import PostGround, PostSpot

COACH_MM = 25_000
"""The length of a long coach at full size, in mm: nothing can stand between two nearer signals."""

WITHOUT_SCALE_MM = 300
"""How close signals are made one in a plan without a scale, in mm."""

MAX_LOOKS = 60
"""The greatest number of choices to look at for unmet needs."""


def close_mm_of(layout: Layout) -> int:
    """Return the distance below which two signals are made one, in mm, from the scale."""
    ratio = ratio_of(layout)
    return WITHOUT_SCALE_MM if ratio is None else round(COACH_MM / ratio)


def at_points(chooser: Chooser, close_mm: float) -> CompleteChoice:
    """Return the choice of a signal before all points, with those closer than this made one.

    Raises NoChoice if the plan does not hold with any.
    """
    choice = _with_all(chooser)
    posts = _made_one(chooser, choice, close_mm)
    arms = roads_in(Choice(chooser.ground, posts))
    worth = chooser.wishes.worth(posts, arms.arms)
    return CompleteChoice(posts, arms.arms, False, worth, 0, arms.over(chooser.ground))


def _with_all(chooser: Chooser) -> Choice:
    """Return the choice with every post before points or at a platform, and what it still needs."""
    ground = chooser.ground
    posts = frozenset(
        number
        for spot, numbers in ground.spots.items()
        if _is_wanted(ground, spot)
        for number in numbers
        if ground.posts[number].new
    )
    needs: list[Need] = []
    for _ in range(MAX_LOOKS):
        choice = Choice(ground, posts)
        needs = chooser.lacking(choice)
        unmet = _unmet(choice)
        if not needs and not unmet:
            return choice
        posts -= unmet if not needs else frozenset()
        before = posts
        for need in needs:
            if not need.added.isdisjoint(posts):
                continue
            if need.added:
                posts |= {max(need.added, key=lambda number: _room(ground, number))}
            elif not need.gone & before - posts:
                posts -= {min(need.gone)} if need.gone else frozenset()
        if posts == before and not unmet:
            break
    raise NoChoice("; ".join(need.where for need in needs[:3]))


def _unmet(choice: Choice) -> frozenset[int]:
    """Return the new posts to which no train ever comes, as on a crossover between two lines."""
    halted, _ = reached_states(choice)
    return frozenset(
        choice.post_of(head, shunting=False)
        for number, head in enumerate(choice.net.heads)
        if head.stops and choice.net.held_at[number] not in halted
    ) & frozenset(n for n, post in enumerate(choice.ground.posts) if post.new)


def _is_wanted(ground: PostGround, spot: PostSpot) -> bool:
    track = ground.bare.tracks[spot.track]
    beside = any(track.id in platform.tracks for platform in ground.bare.platforms.values())
    return spot.at == AT_END and (track.end(spot.heading).kind == "leg" or beside)


def _room(ground: PostGround, number: int) -> tuple[bool, float]:
    track = ground.bare.tracks[ground.posts[number].track]
    return track.id not in ground.sidings, track.length_mm or 0


def _made_one(chooser: Chooser, choice: Choice, close_mm: float) -> frozenset[int]:
    """Return the posts without those that stand close behind others, as far as that can be."""
    ground = chooser.ground
    close = [
        number
        for number in choice.chosen
        if ground.posts[number].new and _is_close(ground, number, close_mm)
    ]
    close.sort(key=lambda number: (_room(ground, number)[1], number))
    most = len(faults_in(choice)), roads_in(choice).over(ground)
    return _without(chooser, choice.chosen, close, most)


def _is_close(ground: PostGround, number: int, close_mm: float) -> bool:
    """Return whether a post stands closer than this to the end where its trains come from.

    A track without a length that links two elements counts as close.
    """
    track = ground.bare.tracks[ground.posts[number].track]
    beside = any(track.id in platform.tracks for platform in ground.bare.platforms.values())
    if track.stand or beside:
        return False
    if track.length_mm is None:
        return track.up.kind == track.down.kind == "leg"
    return track.length_mm <= close_mm


def _without(
    chooser: Chooser, posts: frozenset[int], close: list[int], most: tuple[int, int]
) -> frozenset[int]:
    """Remove close posts, all at once if that is possible, or else half by half."""
    if not close:
        return posts
    fewer = posts - {*close}
    if _does_all(chooser, fewer, most):
        return fewer
    if len(close) == 1:
        return posts
    for half in (close[: len(close) // 2], close[len(close) // 2 :]):
        posts = _without(chooser, posts, half, most)
    return posts


def _does_all(chooser: Chooser, posts: frozenset[int], most: tuple[int, int]) -> bool:
    try:
        choice = Choice(chooser.ground, posts)
        if chooser.lacking(choice):
            return False
        faults, over = most
        return len(faults_in(choice)) <= faults and roads_in(choice).over(chooser.ground) <= over
    except TooManyRoads:
        return False


__all__ = ["at_points", "close_mm_of"]
