"""Clauses over the levers of a frame, and whether they can all be kept.

Levers are numbered from 0; a set of levers is an ``int`` with one bit for each. A clause says that
some lever of one set is reversed or some lever of another one is normal. Every entry of a frame's
locking is one such clause, and with all levers normal every one of them is kept.

However large a frame is, its locking is local: a search looks only at clauses whose levers it has
reversed. Frames can be made up for which that is no help; so what is looked at is counted.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

MAX_LOOKS = 25_000_000
"""What is looked at for one frame. One of 941 levers along a line of stations needs 130,000; one of
62 levers for sixteen roads that meet sixteen in one track, each to each, needs 10,000,000."""


class TooMuchLocking(Exception):  # noqa: N818 # it is no fault, only an answer that was not found
    """The locking of a frame was given up: there is more to look at than may be."""


class Effort:
    """What may still be looked at: counted, not timed, so that a plan has one answer everywhere."""

    def __init__(self) -> None:
        self.left = MAX_LOOKS

    def spend(self, looks: int) -> None:
        """Count what is looked at. Raises ``TooMuchLocking`` where it is too much."""
        self.left -= looks
        if self.left < 0:
            raise TooMuchLocking


class Clause(NamedTuple):
    """One of these levers is reversed, or one of those is normal."""

    rev: int
    nor: int

    def without(self, lever: int) -> Clause:
        """Return the clause that is left when nothing is asked of one lever."""
        keep = ~(1 << lever)
        return Clause(self.rev & keep, self.nor & keep)

    @property
    def size(self) -> int:
        """How many levers it names."""
        return self.rev.bit_count() + self.nor.bit_count()


def bits(levers: int) -> Iterator[int]:
    """Yield the numbers of the levers of a set, the lowest first."""
    while levers:
        lowest = levers & -levers
        yield lowest.bit_length() - 1
        levers ^= lowest


class Clauses:
    """Clauses, found by the levers that they ask to be normal.

    As long as one of these is normal the clause is kept, whatever else: it is looked at when the
    last of them is reversed.
    """

    def __init__(self, clauses: Iterable[Clause] = (), effort: Effort | None = None) -> None:
        self.effort = effort or Effort()
        self._times: Counter[Clause] = Counter()
        self._asking: dict[int, dict[Clause, None]] = {}
        """From each lever to the clauses that ask it to be normal; from -1 to those that ask none
        to be."""
        for clause in clauses:
            self.add(clause)

    def add(self, clause: Clause) -> None:
        """Add a clause; one that is there already is there once more."""
        self._times[clause] += 1
        for lever in bits(clause.nor) if clause.nor else (-1,):
            self._asking.setdefault(lever, {})[clause] = None

    def discard(self, clause: Clause) -> None:
        """Take a clause away, as often as it is to be taken away."""
        self._times[clause] -= 1
        if not self._times[clause]:
            for lever in bits(clause.nor) if clause.nor else (-1,):
                del self._asking[lever][clause]

    def asking(self, levers: int) -> Iterator[Clause]:
        """Yield the clauses that ask some of these levers to be normal."""
        for lever in bits(levers):
            yield from self._asking.get(lever, ())

    def can_keep(
        self, rev: int = 0, nor: int = 0, *, ignoring: int = 0, more: Clauses | None = None
    ) -> bool:
        """Return whether a state keeps every clause, with these levers reversed and those normal.

        Of the levers that are ignored, clauses ask nothing; ``more`` clauses are kept too. Raises
        ``TooMuchLocking`` where that cannot be found out soon.

        The search leaves levers normal unless a clause asks for more, so that it hardly ever has to
        turn back: it does not grow with the number of states. (The method is that of Davis,
        Logemann and Loveland, Communications of the ACM 5, 1962.)
        """
        if rev & nor:
            return False
        both = (self,) if more is None else (self, more)
        first = [clause for part in both for clause in part._asking.get(-1, ())]
        first += [clause for part in both for clause in part.asking(rev | ignoring)]
        branches = [(rev, nor, first)]
        while branches:
            rev, nor, waiting = branches.pop()
            later: list[Clause] = []
            while waiting or later:
                self.effort.spend(1)
                alone = bool(waiting)  # what leaves a choice is looked at last
                clause = waiting.pop() if alone else later.pop()
                asks_rev, asks_nor = clause.rev & ~ignoring, clause.nor & ~ignoring
                if asks_rev & rev or asks_nor & ~rev:
                    continue
                free = asks_rev & ~nor
                lever = free & -free
                if not free:
                    break
                if free != lever:
                    if alone:
                        later.append(clause)
                        continue
                    self.effort.spend(len(later))
                    branches.append((rev, nor | lever, [*later, clause]))
                rev |= lever
                waiting += [clause for part in both for clause in part.asking(lever)]
            else:
                return True
        return False

    def imply(self, clause: Clause) -> bool:
        """Return whether a clause is kept in every state that keeps these."""
        return not self.can_keep(clause.nor, clause.rev)
