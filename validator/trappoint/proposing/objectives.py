"""The objectives to minimise: signals and arms, their cost, or changes."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from trappoint.parts.integer_programme import Programme, Terms
    from trappoint.proposing.choice import Choice
    from trappoint.proposing.need import Need
    from trappoint.proposing.posts import PostGround


@dataclass
class Objective:
    """The number of new signals and arms, to be minimised."""

    ground: PostGround
    practice: Callable[[Choice], list[Need]] | None = None
    """A function to the further needs of a choice, by its level of practice; None if none."""

    def worth(self, posts: frozenset[int], arms: Counter[int]) -> int:
        """Return the number of new signals and of arms of a choice."""
        return arms.total() + len(posts & self.new)

    @cached_property
    def new(self) -> frozenset[int]:
        """The posts that the plan does not have yet."""
        return frozenset(n for n, post in enumerate(self.ground.posts) if post.new)

    @cached_property
    def old(self) -> frozenset[int]:
        """The posts of the plan that may go."""
        return frozenset(n for n, p in enumerate(self.ground.posts) if p.free and not p.new)

    def terms(
        self, programme: Programme, posts: Sequence[int], arms: Sequence[int]
    ) -> tuple[Terms, list[Terms]]:
        """Return the terms of the worth for the programme, and those that decide between equals."""
        signals = {posts[number]: 1 for number in self.new}
        # Fewer posts come before nearer ones: one wish is settled sooner than two.
        heavy, far = len(self.new) + 1, self._far(posts)
        return signals | dict.fromkeys(arms, 1), [
            {post: heavy + far.get(post, 0) for post in signals}
        ]

    def _far(self, posts: Sequence[int]) -> Terms:
        """Return the terms that count new posts away from stands."""
        tracks = self.ground.bare.tracks
        return {
            posts[number]: 1
            for number in self.new
            if not tracks[self.ground.posts[number].track].stand
        }


class FewestChanges(Objective):
    """The number of signals that a repair adds, removes or moves, to be minimised."""

    def worth(self, posts: frozenset[int], arms: Counter[int]) -> int:
        """Return the number of changed signals: a removed one and an added one count as a move."""
        return max(len(posts & self.new), len(self.old - posts))

    def terms(
        self, programme: Programme, posts: Sequence[int], arms: Sequence[int]
    ) -> tuple[Terms, list[Terms]]:
        """Return the same for the programme."""
        changed = programme.unknown(len(posts))
        added = {posts[number]: -1 for number in self.new}
        kept = {posts[number]: 1 for number in self.old}
        programme.ask({changed: 1, **added}, least=0)
        programme.ask({changed: 1, **kept}, least=len(self.old))
        both = {unknown: -factor for unknown, factor in (added | kept).items()}
        return {changed: 1}, [both, dict.fromkeys(arms, 1), self._far(posts)]


class Prices(NamedTuple):
    """Prices of signals by the piece, in hundredths, and the numbers that the club owns."""

    mounts: tuple[int, ...]
    """The price of a mount for one arm, for two, and so on."""
    own_mounts: tuple[int, ...]
    arm: int
    own_arms: int


NO_PRICES = Prices((), (), 0, 0)


@dataclass
class LeastCost(Objective):
    """The cost of new signals, to be minimised; then their number and that of arms."""

    prices: Prices = NO_PRICES

    def worth(self, posts: frozenset[int], arms: Counter[int]) -> int:
        """Return the cost of the new signals, in hundredths."""
        prices = self.prices
        wanted = Counter(min(arms[post], len(prices.mounts)) for post in posts & self.new)
        cost = prices.arm * max(0, sum(arms[post] for post in posts & self.new) - prices.own_arms)
        for dolls, (price, owned) in enumerate(zip(prices.mounts, prices.own_mounts, strict=True)):
            cost += price * max(0, wanted[dolls + 1] - owned)
        return cost

    def terms(
        self, programme: Programme, posts: Sequence[int], arms: Sequence[int]
    ) -> tuple[Terms, list[Terms]]:
        """Return the same for the programme."""
        prices, most = self.prices, len(self.prices.mounts)
        of_kind: list[Terms] = [{} for _ in range(most)]
        for number in self.new:
            mounts = [programme.unknown(1) for _ in range(most)]
            programme.ask({posts[number]: 1, **dict.fromkeys(mounts, -1)}, least=0, most=0)
            # The mount of the most dolls stands for all that are larger.
            dolls = {mount: dolls for dolls, mount in enumerate(mounts[:-1], 1)}
            programme.ask({arms[number]: -1, **dolls, mounts[-1]: LARGE}, least=0)
            for mounts_of_kind, mount in zip(of_kind, mounts, strict=True):
                mounts_of_kind[mount] = 1
        worth: Terms = {}
        for price, owned, wanted in zip(prices.mounts, prices.own_mounts, of_kind, strict=True):
            bought = programme.unknown(len(posts))
            programme.ask({bought: 1, **dict.fromkeys(wanted, -1)}, least=-owned)
            worth[bought] = price
        bought = programme.unknown(LARGE)
        new_arms = dict.fromkeys((arms[number] for number in self.new), -1)
        programme.ask({bought: 1, **new_arms}, least=-prices.own_arms)
        worth[bought] = prices.arm
        pieces, last = super().terms(programme, posts, arms)
        return worth, [pieces, *last]


LARGE = 4096
"""A number greater than the arms of any signal."""
