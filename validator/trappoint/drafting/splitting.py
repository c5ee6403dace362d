"""Where the roads of a signal part: what shows, before any choice is made, how many arms it needs.

A signal has one road more for each points that its trains meet facing. A *split* is one way from a
post to such points: it counts where the post stands and none stands on that way. The ways beyond
must come to an end somewhere, whatever posts stand there; that is looked for.
"""

from __future__ import annotations

from collections import deque
from typing import TYPE_CHECKING, NamedTuple

from trappoint.network import build_network
from trappoint.routes import group_switches

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterator, Mapping

    from trappoint.drafting.posts import Ground
    from trappoint.network import Exit, Network
    from trappoint.routes import Together

MOST_STATES = 300
"""States that are gone through for one post, the nearest first."""

MOST_MISSING = 5
"""A split behind more posts than this says next to nothing."""

MOST_STEPS = 1_000
"""Moves tried to find that a way comes to an end."""


class Split(NamedTuple):
    """Points that trains from a post meet facing, on one way there."""

    post: int
    missing: frozenset[int]
    """The posts on the way, of which none may stand."""
    more: int
    """The roads that it adds."""


class _Way(NamedTuple):
    state: int
    path: frozenset[int]
    needs: Mapping[int, str]
    missing: frozenset[int]
    counts: bool = True
    """False beyond a turntable's road that is not its first: the lies do not tell it apart."""


class WaysOn:
    """The ways on from every post of a plan on which all of them stand."""

    def __init__(self, ground: Ground) -> None:
        """Derive what is alike for all choices of posts."""
        layout = ground.layout(range(len(ground.posts)))
        self.net = build_network(layout)
        self.together = group_switches(layout, self.net)
        number_of = {post.name: number for number, post in enumerate(ground.posts)}
        self.posts = [number_of[head.signal] for head in self.net.heads]
        """The post of each head."""
        self.fixed = [not ground.posts[number].free for number in self.posts]
        rivals = {number: frozenset(numbers) for numbers in ground.rivals for number in numbers}
        self.rivals = rivals
        """From a post to all of those for its spot."""

    def splits(
        self, chosen: frozenset[int] | None = None, most: int = MOST_STATES
    ) -> Iterator[Split]:
        """Yield the splits of every post, those near it first.

        ``chosen``: only those that count in this choice of posts, however many are missing on the
        way. ``most``: the states that are gone through for one post.
        """
        for head, described in enumerate(self.net.heads):
            counts = chosen is None or self.posts[head] in chosen
            if counts and described.stops and self.net.held_at[head] >= 0:
                yield from self._splits_of(head, chosen, most)

    def _splits_of(self, head: int, chosen: frozenset[int] | None, most: int) -> Iterator[Split]:
        starts = self.net.starts(head)
        queue = deque(_Way(one.to, frozenset((one.to,)), {}, frozenset()) for one in starts)
        for _ in range(most):
            if not queue:
                return
            way = queue.popleft()
            if _ends_all(self.net, way.state) or way.state == self.net.held_at[head]:
                continue
            parting: dict[str, None] = {}
            for exit_ in self.net.exits[way.state]:
                onward = self._onward(way, exit_, chosen)
                if onward is None:
                    continue
                if exit_.element >= 0 and self._ends(onward, head):
                    parting[exit_.lie] = None
                queue.append(onward)
            if len(parting) > 1 and way.counts:
                yield Split(self.posts[head], way.missing, len(parting) - 1)

    def _ends(self, way: _Way, head: int) -> bool:
        traps = self.net.drags  # no arm is needed for a road that only catches
        return self.net.place_of[way.state] not in traps and come_to_end(
            self.net, self.together, way, self._bars, self.net.held_at[head], traps
        )

    def _bars(self, exit_: Exit) -> bool:
        """Tell whether routes end here, whatever is chosen."""
        return exit_.head >= 0 and self.fixed[exit_.head] and self.net.heads[exit_.head].stops

    def _onward(self, way: _Way, exit_: Exit, chosen: frozenset[int] | None) -> _Way | None:
        if self._bars(exit_) or exit_.to in way.path:
            return None
        needs = set_lie(self.together, way.needs, exit_)
        if needs is None:
            return None
        missing = way.missing
        if exit_.head >= 0 and self.net.heads[exit_.head].stops:
            post = self.posts[exit_.head]
            spot = self.rivals.get(post, frozenset((post,)))
            missing |= spot
            if spot & chosen if chosen is not None else len(missing) > MOST_MISSING:
                return None
        first = exit_.element >= 0 or exit_ is self.net.exits[way.state][0]
        return _Way(exit_.to, way.path | {exit_.to}, needs, missing, way.counts and first)


def set_lie(together: Together, needs: Mapping[int, str], exit_: Exit) -> Mapping[int, str] | None:
    """Return what is needed of the levers once this move is made; None where it cannot be."""
    if exit_.element < 0:
        return needs
    lever = together.lever_of[exit_.element]
    word = together.word(exit_.element, exit_.lie)
    given = needs.get(lever)
    if given is None:
        return {**needs, lever: word}
    return needs if given == word else None


def come_to_end(
    net: Network,
    together: Together,
    way: _Way,
    bars: Callable[[Exit], bool],
    home: int,
    avoid: Collection[int] = (),
) -> bool:
    """Tell whether a way can be followed to where it must end, whatever posts stand there.

    ``home``: the state before the post that it comes from: round a ring it ends there again.
    ``avoid``: places that it must not come to.
    """
    pending = [way]
    for _ in range(MOST_STEPS):
        if not pending:
            return False
        at = pending.pop()
        if at.state == home or _ends_all(net, at.state):
            return True
        for exit_ in net.exits[at.state]:
            if bars(exit_):
                return True
            if exit_.to in at.path or net.place_of[exit_.to] in avoid:
                continue
            needs = set_lie(together, at.needs, exit_)
            if needs is not None:
                pending.append(_Way(exit_.to, at.path | {exit_.to}, needs, at.missing))
    return False


def _ends_all(net: Network, state: int) -> bool:
    """Tell whether every route that comes here ends here."""
    return net.terminal[state] or net.place(state).kind == "yards"


def sure_beyond(
    net: Network,
    together: Together,
    path: tuple[int, ...],
    needs: Mapping[int, str],
    bars: Callable[[Exit], bool],
    home: int,
    lacked: int,
) -> bool:
    """Tell whether a route goes on to some end, not by way of what it lacks, whatever stands."""
    way = _Way(path[-1], frozenset(path), needs, frozenset())
    return come_to_end(net, together, way, bars, home, (lacked,))
