"""Levels of practice: what a proposal asks for beyond a plan that holds.

``least``: nothing. ``homes``: a train for a platform can be held outside it, on a length of line
between it and the stand that it comes from, wherever there is such a length. ``full``: besides,
every train at a platform starts from a signal at the platform's own end, and homes have distants
where their track is long enough. Homes, starters and distants: Findlay, Working and Management of
an English Railway, pp. 82-84.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from trappoint.drafting.needing import Need

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from trappoint.drafting.needing import Choice
    from trappoint.network import Network

_Back = tuple[int, bool]
"""A state on the way back from a platform, and whether there is a place for a signal on the way."""

Level = Literal["least", "homes", "full"]

LEVELS: dict[Level, str] = {
    "least": "it holds, and each road has an arm",
    "homes": "and trains for each platform can be held outside it",
    "full": "and platforms have starters of their own, homes their distants",
}


def practice_of(level: Level) -> Callable[[Choice], list[Need]] | None:
    """Return what gives the needs of a level; None where there are none."""
    if level == "least":
        return None
    if level == "homes":
        return lambda choice: list(_homes(choice))
    return lambda choice: [*_starters(choice), *_homes(choice)]


def _starters(choice: Choice) -> Iterator[Need]:
    """A signal at the end of each platform track beyond which trains run on."""
    served = choice.facts.platforms_at
    for (track, heading), numbers in choice.ground.at_end.items():
        if track in served and not any(map(choice.stands, numbers)):
            yield Need(frozenset(numbers), frozenset(), f"{track} {heading}")


def _homes(choice: Choice) -> Iterator[Need]:
    """A signal on every way to a platform, where there is line between it and where trains stand.

    A track where trains stand is line too, unless it is a platform's or ends at a buffer.
    """
    net = choice.net
    served = choice.facts.platforms_at
    before = _moves_before(net)
    for stand in net.stands:
        place = net.places[stand.place]
        if place.kind == "section" and place.id in served:
            for state in stand.states:
                yield from _unguarded(choice, before, state)


def _moves_before(net: Network) -> list[list[int]]:
    before: list[list[int]] = [[] for _ in net.exits]
    for state, exits in enumerate(net.exits):
        for exit_ in exits:
            before[exit_.to].append(state)
    return before


def _unguarded(choice: Choice, before: list[list[int]], arrival: int) -> Iterator[Need]:
    """Walk back from a platform to where else trains stand, as long as no signal is on the way.

    Each state is come to in two ways: with a place for a signal on the way, or without.
    """
    net = choice.net
    came: dict[_Back, tuple[_Back, frozenset[int]]] = {}
    queue = [(arrival, False)]
    seen = set(queue)
    for at in queue:
        state, roomy = at
        for earlier in before[state]:
            outside = _is_line(choice, earlier)
            facing = net.facing[earlier] >= 0 and _leaves(net, earlier, state)
            if outside and facing:
                continue
            missing = choice.missing_between(earlier, state) if outside else frozenset()
            reached = earlier, roomy or bool(missing)
            if not outside:
                if reached[1] and net.place_of[earlier] != net.place_of[arrival]:
                    where = f"{net.place(earlier).name} > {net.place(arrival).name}"
                    yield Need(missing.union(*_posts_back(came, at)), frozenset(), where)
            elif reached not in seen:
                seen.add(reached)
                came[reached] = at, missing
                queue.append(reached)


def _is_line(choice: Choice, state: int) -> bool:
    """Tell whether a train in this state is on the line: in no platform, siding or yard."""
    net = choice.net
    place = net.place(state)
    if place.kind != "section":
        return place.kind != "yards"
    track = net.layout.tracks[place.id]
    ends = track.up.kind, track.down.kind
    return not track.stand or ("buffer" not in ends and track.id not in choice.facts.platforms_at)


def _leaves(net: Network, state: int, to: int) -> bool:
    return any(exit_.to == to and exit_.head >= 0 for exit_ in net.exits[state])


def _posts_back(
    came: dict[_Back, tuple[_Back, frozenset[int]]], at: _Back
) -> Iterator[frozenset[int]]:
    while at in came:
        at, missing = came[at]
        yield missing
