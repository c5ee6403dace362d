"""Narrowing of a need: posts without effect on whether trains reach a place are left out.

A post has an effect only if trains cannot reach the place with every other post as it helps them
most. The search tries the need without each post in turn.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.proposing.splitting import bars, set_lie

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from trappoint.proposing.finest_plan import Finest, PostedMove
    from trappoint.proposing.need import Need, Posts

MAX_STATES = 400
"""The greatest number of states of a plan to narrow needs for."""

MAX_WAYS = 3_000
"""The greatest number of ways of one search, counting each set of lies."""


def narrowed(finest: Finest, place: int, need: Need) -> Need:
    """Return the need without posts that have no effect."""
    if len(finest.moves) > MAX_STATES or _Search(finest, place, need.added, need.gone).found():
        return need
    added, gone = need.added, need.gone
    for number in sorted(gone):
        if not _Search(finest, place, added, gone - {number}).found():
            gone -= {number}
    for number in sorted(added):
        if not _Search(finest, place, added - {number}, gone).found():
            added -= {number}
    return need._replace(added=added, gone=gone)


class _On(NamedTuple):
    """A train on its way."""

    state: int
    free: bool
    """True without a route: points may lie differently for each move."""
    lies: frozenset[tuple[int, str]] = frozenset()
    passed: bool = False
    """True on a route that has passed the place: it counts if the route ends somewhere."""


class _Search:
    """A search for a train's way to a place, with some posts missing and some standing.

    All other posts stand or are missing as it helps the train.
    """

    def __init__(self, finest: Finest, place: int, missing: Posts, standing: Posts) -> None:
        self.finest = finest
        self.place = place
        self.missing = missing
        self.standing = standing

    def found(self) -> bool:
        """Return whether a train reaches the place; also True beyond ``MAX_WAYS`` ways."""
        net = self.finest.net
        begins = [state for stand in net.stands for state in stand.states]
        begins += [entry.state for entry in net.entries]
        pending = [_On(state, free=True) for state in begins]
        seen = set(pending)
        while pending:
            at = pending.pop()
            if net.place_of[at.state] == self.place and at.free:
                return True
            if len(seen) > MAX_WAYS:
                return True
            for onward in self._onward(at):
                if onward.passed and onward.free:
                    return True
                if onward not in seen:
                    seen.add(onward)
                    pending.append(onward)
        return False

    def _onward(self, at: _On) -> Iterator[_On]:
        for move in self.finest.moves[at.state]:
            held, may = self._held(move)
            if at.free or held or may:
                # From a signal it goes on by a new route; where one ended, it counts.
                if at.passed:
                    yield _On(at.state, free=True, passed=True)
                if held or may:
                    yield from self._by_route(move, {})
            if not held:
                if at.free:
                    if self.finest.lets(move, {}):
                        yield _On(move.to, free=True)
                else:
                    yield from self._by_route(move, dict(at.lies), passed=at.passed)

    def _by_route(
        self, move: PostedMove, needs: Mapping[int, str], *, passed: bool = False
    ) -> Iterator[_On]:
        net = self.finest.net
        more = set_lie(needs, move)
        if more is None:
            return
        passed = passed or net.place_of[move.to] == self.place
        ends = net.terminal[move.to] or net.limit[move.to] or net.place(move.to).kind == "yards"
        if ends:
            yield _On(move.to, free=True, passed=passed)
        else:
            yield _On(move.to, False, frozenset(more.items()), passed)

    def _held(self, move: PostedMove) -> tuple[bool, bool]:
        """Return whether a stop signal stands at a move, and whether it could have one."""
        if bars(self.finest, move) or not self.standing.isdisjoint(move.stops):
            return True, True
        return False, any(number not in self.missing for number in move.stops)
