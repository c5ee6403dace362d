"""The reason for each conflict of a printed table, found with a SAT solver.

Two arms are off together, each for a train at its own signal, as far as the table allows; their
trains run along their routes in any order. With the whole table, no two trains meet or run against
each other. Without one of the conflicts they do, or the two routes need a lever group to lie two
ways at once.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable
from itertools import product
from typing import Literal, TypeVar

from proof.printed import Arms, Grant, Lock, Printed
from proof.roads import Lies
from proof.routes import OTHER_SENSE, are_opposed, runs_along
from proof.sat import Sat

Key = TypeVar("Key", bound=Hashable)
Reason = Literal["meeting", "standing", "opposed", "points", "none"]
"""``meeting``: they meet, though neither train stood in the other one's road at first;
``standing``: one runs through the place of the other; ``opposed``: they pass a joint, a cut or an
end of a track in opposite directions; ``points``: the lies contradict each other."""


class Reasons:
    """The questions about one table."""

    def __init__(self, printed: Printed) -> None:
        self.printed = printed
        self.grants = [*printed.spoken, *printed.called]
        self.sat = Sat()
        self.off = [self.sat.variables(len(self.grants)) for _ in range(2)]
        for each in self.off:
            self.sat.exactly_one(each)
        self.arm = self._told_by(lambda grant: [grant.arm])
        self.out = {pair: self.sat.variable() for pair in printed.locks}
        self.clear = self.sat.variable()
        for one, other in product(range(len(self.grants)), repeat=2):
            self._exclude(one, other)
        self.meet = self._somewhere()
        self.opposed = self._against()
        self.differ = self._differently()

    def __enter__(self) -> Reasons:
        return self

    def __exit__(self, *_: object) -> None:
        self.sat.__exit__()

    def _told_by(self, tell: Callable[[Grant], Iterable[Key]]) -> list[dict[Key, int]]:
        """For each train: variables that are true if its grant has a feature."""
        found = []
        for each in self.off:
            telling: dict[Key, list[int]] = {}
            for grant, variable in zip(self.grants, each, strict=True):
                for key in tell(grant):
                    telling.setdefault(key, []).append(variable)
            found.append({key: self.sat.either(those) for key, those in telling.items()})
        return found

    def _exclude(self, one: int, other: int) -> None:
        first, second = self.grants[one], self.grants[other]
        both = -self.off[0][one], -self.off[1][other]
        along = runs_along(first.route, second.route) or runs_along(second.route, first.route)
        if first.arm == second.arm or along:
            self.sat.add(*both)
            return
        for lock in self.printed.forbidding(first, second)[:1]:
            self.sat.add(*both, self.out[lock.arms])
        stands = first.route.start[0], second.route.start[0]
        if stands[0] in second.route.places or stands[1] in first.route.places:
            self.sat.add(*both, -self.clear)

    def _somewhere(self) -> int:
        first, second = self._told_by(lambda grant: sorted(grant.route.places))
        return self.sat.either(
            [self.sat.all_of([first[x], second[x]]) for x in sorted(first.keys() & second.keys())]
        )

    def _against(self) -> int:
        first, second = self._told_by(lambda grant: sorted(grant.route.passes))
        opposite = [(told, (told[0], OTHER_SENSE[told[1]])) for told in sorted(first)]
        return self.sat.either(
            [self.sat.all_of([first[x], second[y]]) for x, y in opposite if y in second]
        )

    def _differently(self) -> int:
        def worked(grant: Grant) -> Iterable[tuple[str, str]]:
            return (self.printed.roads.levers_of(dict(grant.route.lies)) or {}).items()

        first, second = self._told_by(worked)
        return self.sat.either(
            [
                self.sat.all_of([first[one], second[other]])
                for one, other in product(first, second)
                if one[0] == other[0] and one[1] != other[1]
            ]
        )

    def together(self) -> tuple[Grant, Grant] | None:
        """Return two routes that the whole table allows together though they meet, None if none."""
        for wrong in (self.meet, self.opposed):
            if self.sat.is_possible([wrong, -self.differ, *self._all_in()]):
                one, other = (self.grants[self.sat.the_true_one(each)] for each in self.off)
                return one, other
        return None

    def _all_in(self, but: Arms | None = None) -> list[int]:
        return [out if pair == but else -out for pair, out in self.out.items()]

    def of(self, pair: Arms) -> Reason:
        """Return the effects of taking the conflicts of two arms out of the table."""
        arms = [telling.get(arm) for telling, arm in zip(self.arm, pair, strict=True)]
        assumed = [*(arm for arm in arms if arm is not None), *self._all_in(but=pair)]
        if None in arms:
            return "none"
        if all(lock.by == "points" for lock in self.printed.locks[pair]):
            return "points" if self.sat.is_possible([self.differ, *assumed]) else "none"
        met = [self.meet, -self.differ, *assumed]
        if self.sat.is_possible([self.clear, *met]):
            return "meeting"
        if self.sat.is_possible(met):
            return "standing"
        against = self.sat.is_possible([self.opposed, -self.differ, *assumed])
        return "opposed" if against else "none"

    def misplaced(self, lock: Lock) -> list[tuple[Grant, Grant]]:
        """Return the pairs of routes that a row forbids without its reason.

        A pair may be forbidden together with another if points cannot distinguish the two. For a
        row without any pair, or without one for its reason, all pairs of its arms are returned.
        """
        first, second = ([grant for grant in self.grants if grant.arm == arm] for arm in lock.arms)
        pairs = list(product(first, second))
        spoken_of = [pair for pair in pairs if lock in self.printed.forbidding(*pair)]
        right = [pair for pair in spoken_of if self._has_reason(lock, *pair)]
        if not right:
            return pairs
        lies = [dict(one.route.lies) | dict(other.route.lies) for one, other in right]
        return [
            (one, other)
            for one, other in spoken_of
            if (one, other) not in right
            and not any(_agree(dict(one.route.lies) | dict(other.route.lies), m) for m in lies)
        ]

    def _has_reason(self, lock: Lock, one: Grant, other: Grant) -> bool:
        differ = self.printed.lie_differently(one, other)
        if lock.by == "points":
            return differ
        # An unconditional conflict may be by locking for some routes and by points for the rest.
        shared = bool(one.route.places & other.route.places)
        shared = shared or are_opposed(one.route, other.route)
        return shared or (differ and lock.when is None)


def _agree(one: Lies, other: Lies) -> bool:
    return all(other.get(name, lie) == lie for name, lie in one.items())
