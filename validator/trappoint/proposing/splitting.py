"""Facing points beyond a signal: they show how many arms it needs before a choice is made.

A signal has another road for each points that its trains meet facing. A *split* is one way from a
post to such points. It counts if that post stands and no other post stands on the way. The ways
beyond the points must end somewhere under every choice of posts; the search makes sure of that.
"""

from __future__ import annotations

from collections import deque
from typing import TYPE_CHECKING, NamedTuple

from trappoint.proposing.finest_plan import finest_of

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping

    from trappoint.proposing.finest_plan import Finest, PostedMove
    from trappoint.proposing.posts import PostGround

MAX_STATES = 300
"""The greatest number of states of the search for one post, the nearest first."""

MAX_MISSING = 8
"""The greatest number of missing posts before a split that is useful."""

MAX_STEPS = 1_000
"""The greatest number of moves of the search for the end of a way."""


class Split(NamedTuple):
    """Points that trains from a post meet facing, and one way to them."""

    post: int
    missing: frozenset[int]
    """The posts on the way; none of them may stand."""
    more: int
    """The roads that it adds."""
    disc: bool = False
    """True if a way leads off into sidings: all these ways of a post add one disc together."""


class SplitWay(NamedTuple):
    """The beginning of a way that a route may take."""

    state: int
    path: frozenset[int]
    needs: Mapping[int, str]
    missing: frozenset[int]
    counts: bool = True
    """False beyond any but the first road of a turntable: no lies distinguish these roads."""


class WaysOn:
    """The ways onwards from every post of the finest plan."""

    def __init__(self, ground: PostGround) -> None:
        """Derive the finest plan, which all choices share."""
        self.ground = ground
        self.finest = finest_of(ground, frozenset())
        net = self.finest.net
        self._armless = net.drags | {
            place
            for place in range(len(net.places))
            if not ground.sidings.isdisjoint(net.tracks_of(place))
        }
        """The places for which no arm of its own is needed: drags, and sidings with their discs."""

    def splits(
        self, chosen: frozenset[int] | None = None, most: int = MAX_STATES
    ) -> Iterator[Split]:
        """Yield the splits of every post, those near it first.

        ``chosen``: only the splits that count in this choice, with any number of missing posts on
        the way. ``most``: the greatest number of states of the search for one post.
        """
        if self.ground.odd:
            return  # Such a post changes the ways.
        for state, moves in enumerate(self.finest.moves):
            for move in moves:
                for post in move.stops:
                    counts = chosen is None or post in chosen
                    if counts and not self._shunts(post):
                        yield from self._splits_of(post, state, move, chosen, most)

    def _shunts(self, post: int) -> bool:
        """Return whether some of a post's roads may have no stop arm of their own.

        That is so with shunt arms, in a siding, and with a neighbour's arm, which serves all its
        roads.
        """
        given = self.ground.posts[post]
        shunts = given.elsewhere or any(head.shunts for head in given.heads)
        return shunts or self.ground.shunts_from(post)

    def _splits_of(
        self, post: int, home: int, first: PostedMove, chosen: frozenset[int] | None, most: int
    ) -> Iterator[Split]:
        finest = self.finest
        queue = deque([SplitWay(first.to, frozenset((first.to,)), {}, frozenset())])
        for _ in range(most):
            if not queue:
                return
            way = queue.popleft()
            if ends_all(finest, way.state) or way.state == home:
                continue
            parting: dict[str, None] = {}
            aside: dict[str, None] = {}
            for move in finest.moves[way.state]:
                onward = self._onward(way, move, chosen)
                if onward is None:
                    continue
                if move.lever >= 0 and self._ends(onward, home, self._armless):
                    parting[move.word] = None
                elif move.lever >= 0 and self._ends(onward, home, finest.net.drags):
                    aside[move.word] = None
                queue.append(onward)
            if len(parting) > 1 and way.counts:
                yield Split(post, way.missing, len(parting) - 1)
            if parting and aside.keys() - parting.keys() and self.ground.readable(post):
                yield Split(post, way.missing, 1, disc=True)

    def _ends(self, way: SplitWay, home: int, armless: set[int]) -> bool:
        if self.finest.net.place_of[way.state] in armless:
            return False
        return come_to_end(self.finest, way, home, armless, at_limits=False)

    def _onward(
        self, way: SplitWay, move: PostedMove, chosen: frozenset[int] | None
    ) -> SplitWay | None:
        if bars(self.finest, move) or move.to in way.path:
            return None
        needs = set_lie(way.needs, move)
        if needs is None:
            return None
        missing = way.missing
        if move.stops:
            missing = missing.union(move.stops)
            if (
                not chosen.isdisjoint(move.stops)
                if chosen is not None
                else (len(missing) > MAX_MISSING)
            ):
                return None
        first = move.lever >= 0 or move is self.finest.moves[way.state][0]
        return SplitWay(move.to, way.path | {move.to}, needs, missing, way.counts and first)


def bars(finest: Finest, move: PostedMove, *, shunting: bool = False) -> bool:
    """Return whether routes end at this move under every choice."""
    posts = move.posts if shunting else move.stops
    return any(not finest.ground.posts[number].free for number in posts)


def set_lie(needs: Mapping[int, str], move: PostedMove) -> Mapping[int, str] | None:
    """Return the lies that a way needs with this move; None if they contradict."""
    if move.lever < 0:
        return needs
    given = needs.get(move.lever)
    if given is None:
        return {**needs, move.lever: move.word}
    return needs if given == move.word else None


def come_to_end(
    finest: Finest,
    way: SplitWay,
    home: int,
    avoid: Collection[int] = (),
    *,
    shunting: bool = False,
    at_limits: bool = True,
) -> bool:
    """Return whether a way reaches a place where it ends under every choice of posts.

    ``home`` is the state before its post, where a way round a ring ends again. ``avoid`` holds
    places that it must not enter. ``at_limits``: a limit is such an end.
    """
    net = finest.net
    pending = [way]
    for _ in range(MAX_STEPS):
        if not pending:
            return False
        at = pending.pop()
        if at.state == home or ends_all(finest, at.state) or (at_limits and net.limit[at.state]):
            return True
        for move in finest.moves[at.state]:
            if bars(finest, move, shunting=shunting):
                return True
            if move.to in at.path or net.place_of[move.to] in avoid:
                continue
            needs = set_lie(at.needs, move)
            if needs is not None:
                pending.append(SplitWay(move.to, at.path | {move.to}, needs, at.missing))
    return False


def ends_all(finest: Finest, state: int) -> bool:
    """Return whether every route ends at a state under every choice of posts."""
    return finest.net.terminal[state] or finest.net.place(state).kind == "yards"
