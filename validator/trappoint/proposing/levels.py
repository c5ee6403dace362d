"""Levels of practice: requirements of a proposal beyond a plan that holds.

``least``: no arm gives leave to run through one platform to the next. ``homes``: besides, a home
signal holds trains outside each platform, if there is a length of line between the platform and the
stand before it; and a signal divides neighbouring platforms, and tracks with ``stand: true``.
``full`` and ``at-points``: besides, each platform has a starter at its own end. Afterwards homes
get distants if their track is long enough (``distants``), and at ``full`` a signal divides each
long one-way line (``dividing``). For homes, starters and distants see G. Findlay, The Working and
Management of an English Railway, pp. 82-84; the rest is common practice, no source.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Literal

from trappoint.proposing.need import NONE, Need
from trappoint.proposing.posts import AT_END
from trappoint.topology.sections import joint_partners

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from trappoint.proposing.choice import Choice
    from trappoint.proposing.finest_plan import PostedMove
    from trappoint.proposing.need import Posts

_Back = tuple[int, bool]
"""A state on the way back from a platform, and whether there is a place for a signal on the way."""

Level = Literal["least", "homes", "full", "at-points"]

LEVELS: dict[Level, str] = {
    "least": "the fewest signals: one train at a time between any two of them",
    "homes": "also a home for every platform, so that a train can wait outside while another "
    "stands there, and a signal between any two places where trains stand",
    "full": "also a starter for every platform, distants for the homes where there is room, and "
    "signals that divide a long one-way line, so that trains can follow one another",
    "at-points": "a signal before all points and crossings in each direction, a home and a starter "
    "for every platform; then those close together are made one",
}
"""From each level to what it means for running trains."""


def practice_of(level: Level, *, repair: bool = False) -> Callable[[Choice], list[Need]] | None:
    """Return a function from a choice to the needs of a level; None if it has none."""
    if level == "least":
        return None if repair else lambda choice: list(_ended(choice))
    before = _ended if not repair else _no_needs
    if level == "homes":
        return lambda choice: [*before(choice), *_parted(choice), *_homes(choice)]
    return lambda choice: [
        *before(choice), *_parted(choice), *_starters(choice), *_homes(choice)
    ]  # fmt: skip


def _no_needs(choice: Choice) -> Iterator[Need]:
    yield from ()


def _ended(choice: Choice) -> Iterator[Need]:
    """Yield needs for a signal on each route that runs through one platform to the next.

    No driver can read the road of the next station at the home of this one. (Common practice, no
    source.)
    """
    for passing in choice.passings:
        post = choice.ground.posts[passing.post]
        if post.elsewhere or choice.ground.sidings & {post.track}:
            continue
        here = -1
        for at, state in enumerate(passing.states):
            if not _platforms(choice, state):
                continue
            if here >= 0 and not _one_platform(choice, passing.states[here], state):
                added = choice.free(passing.missing[at] - passing.missing[here])
                if added:
                    gone = choice.free((passing.post, *_one_end(choice, passing.ends)))
                    yield Need(added, gone, f"{post.track} {post.heading}")
                    break
            here = at


def _one_end(choice: Choice, ends: tuple[int, ...]) -> tuple[int, ...]:
    return tuple(number for number in ends if choice.standing[number])[:1]


def _platforms(choice: Choice, state: int) -> set[str]:
    net = choice.finest.net
    tracks = net.tracks_of(net.place_of[state]) if net.place(state).kind == "section" else ()
    return {platform for track in tracks for platform in choice.facts.platforms_at.get(track, ())}


def _one_platform(choice: Choice, one: int, other: int) -> bool:
    return not _platforms(choice, one).isdisjoint(_platforms(choice, other))


def _parted(choice: Choice) -> Iterator[Need]:
    """Yield needs for a signal between two platforms, or two tracks with ``stand: true``."""
    tracks, net = choice.ground.bare.tracks, choice.finest.net
    for chain in choice.finest.chains:
        stands = [
            at
            for at, place in enumerate(chain.places)
            if any(tracks[track].stands_whole for track in net.tracks_of(place))
        ]
        around = zip(stands[-1:], stands[:1], strict=True) if chain.ring and stands[1:] else ()
        for one, other in (*pairwise(stands), *around):
            borders = (
                chain.borders[one:other]
                if one < other
                else (*chain.borders[one:], *chain.borders[:other])
            )
            between = {number for border in borders for number in border}
            places = chain.places[one], chain.places[other]
            if not choice.stand(between) and not _alike(choice, *map(net.tracks_of, places)):
                where = " | ".join(net.places[place].name for place in places)
                yield Need(choice.free(between), NONE, where)


def _alike(choice: Choice, one: tuple[str, ...], other: tuple[str, ...]) -> bool:
    """Return whether two lengths of track serve one platform."""
    served = choice.facts.platforms_at
    return not {p for t in one for p in served.get(t, ())}.isdisjoint(
        p for t in other for p in served.get(t, ())
    )


def _starters(choice: Choice) -> Iterator[Need]:
    """Yield needs for a signal at each end of a platform by which trains leave."""
    ground, served = choice.ground, choice.facts.platforms_at
    partners = joint_partners(ground.bare)
    started = {
        (spot.track, spot.heading)
        for spot, numbers in ground.spots.items()
        if choice.stand(numbers)
    }
    for spot, numbers in ground.spots.items():
        end = spot.track, spot.heading
        if spot.track not in served or spot.at != AT_END or spot.track in ground.in_yards:
            continue
        beyond = partners.get(end, ("", ""))[0]
        along = set(served[spot.track]) & set(served.get(beyond, ()))
        if not along and end not in started:
            yield Need(choice.free(numbers), NONE, f"{spot.track} {spot.heading}")


def _homes(choice: Choice) -> Iterator[Need]:
    """Yield needs for a signal on every way to a platform with line between it and the last stand.

    A track where trains stand is line too, unless it is a platform's or ends at a buffer.
    """
    net = choice.finest.net
    before = _moves_before(choice)
    for stand in net.stands:
        place = net.places[stand.place]
        if place.kind == "section" and choice.facts.platforms_at.keys() & {
            *net.tracks_of(stand.place)
        }:
            for state in stand.states:
                yield from _unguarded(choice, before, state)


def _moves_before(choice: Choice) -> list[list[tuple[int, PostedMove]]]:
    before: list[list[tuple[int, PostedMove]]] = [[] for _ in choice.finest.moves]
    for state, moves in enumerate(choice.finest.moves):
        for move in moves:
            before[move.to].append((state, move))
    return before


def _unguarded(
    choice: Choice, before: list[list[tuple[int, PostedMove]]], arrival: int
) -> Iterator[Need]:
    """Search backwards from a platform to the next stands, along ways without a signal.

    Each state is come to in two ways: with a place for a signal on the way, or without.
    """
    net = choice.finest.net
    came: dict[_Back, tuple[_Back, Posts]] = {}
    queue = [(arrival, False)]
    seen = set(queue)
    for at in queue:
        state, roomy = at
        for earlier, move in before[state]:
            outside = _is_line(choice, earlier)
            if outside and choice.stand(move.posts):
                continue
            missing = choice.free(move.posts) if outside else NONE
            reached = earlier, roomy or bool(missing)
            begins = not outside or earlier in choice.finest.source_states
            if begins and reached[1]:
                where = f"{net.place(earlier).name} > {net.place(arrival).name}"
                yield Need(missing.union(*_posts_back(came, at)), NONE, where)
            if outside and reached not in seen:
                seen.add(reached)
                came[reached] = at, missing
                queue.append(reached)


def _is_line(choice: Choice, state: int) -> bool:
    """Return whether a train in this state is on the line: in no platform, siding or yard."""
    net = choice.finest.net
    place = net.place(state)
    if place.kind != "section":
        return place.kind != "yards"
    tracks = [net.layout.tracks[track] for track in net.tracks_of(net.place_of[state])]
    served = choice.facts.platforms_at
    return not any(
        track.stand and ("buffer" in (track.up.kind, track.down.kind) or track.id in served)
        for track in tracks
    )


def _posts_back(came: dict[_Back, tuple[_Back, Posts]], at: _Back) -> Iterator[Posts]:
    while at in came:
        at, missing = came[at]
        yield missing
