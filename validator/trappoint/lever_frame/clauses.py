"""Clauses over the levers of a frame, and the search for a state that meets all of them.

Levers are numbered from 0; a set of levers is an ``int`` with one bit for each. A clause requires
that some lever of one set is reversed or some lever of another set is normal. Every entry of a
frame's locking is one such clause, and the state with all levers normal meets all of them.

The locking of a large frame is local: the search visits only clauses whose levers it has reversed.
This does not help with some artificial frames, so the search counts its work and has a limit.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

MAX_LOOKS = 25_000_000
"""Most work on one frame, in clauses and levers visited. 941 levers along a line of stations need
130,000; 62 levers for sixteen roads that each meet sixteen others in one track need 10,000,000."""


class TooMuchLocking(Exception):  # noqa: N818 # it is no fault, only an answer that was not found
    """Raised when the locking of a frame needs more work than `MAX_LOOKS`."""


class Effort:
    """The work that is left; a count, not a time, so a plan has the same answer everywhere."""

    def __init__(self) -> None:
        self.left = MAX_LOOKS

    def spend(self, looks: int) -> None:
        """Count work. Raises ``TooMuchLocking`` beyond the limit."""
        self.left -= looks
        if self.left < 0:
            raise TooMuchLocking


class Clause(NamedTuple):
    """A requirement: some lever of the first set is reversed, or one of the second is normal."""

    rev: int
    nor: int

    def without(self, lever: int) -> Clause:
        """Return the clause without one lever."""
        keep = ~(1 << lever)
        return Clause(self.rev & keep, self.nor & keep)

    @property
    def size(self) -> int:
        """The number of levers in the clause."""
        return self.rev.bit_count() + self.nor.bit_count()


def bits(levers: int) -> Iterator[int]:
    """Yield the numbers of the levers in a set, in ascending order."""
    while levers:
        lowest = levers & -levers
        yield lowest.bit_length() - 1
        levers ^= lowest


class Clauses:
    """Clauses, indexed by the levers that they require to be normal.

    A clause is met while one of these levers is normal, so the search visits it only when the last
    of them is reversed.
    """

    def __init__(self, clauses: Iterable[Clause] = (), effort: Effort | None = None) -> None:
        self.effort = effort or Effort()
        self._times: Counter[Clause] = Counter()
        self._asking: dict[int, dict[Clause, None]] = {}
        """The clauses that require each lever to be normal; at -1 those that require none."""
        for clause in clauses:
            self.add(clause)

    def add(self, clause: Clause) -> None:
        """Add a clause; equal clauses are counted."""
        self._times[clause] += 1
        for lever in bits(clause.nor) if clause.nor else (-1,):
            self._asking.setdefault(lever, {})[clause] = None

    def discard(self, clause: Clause) -> None:
        """Remove a clause, one count at a time."""
        self._times[clause] -= 1
        if not self._times[clause]:
            for lever in bits(clause.nor) if clause.nor else (-1,):
                del self._asking[lever][clause]

    def asking(self, levers: int) -> Iterator[Clause]:
        """Yield the clauses that require one of these levers to be normal."""
        for lever in bits(levers):
            yield from self._asking.get(lever, ())

    def can_keep(
        self, rev: int = 0, nor: int = 0, *, ignoring: int = 0, more: Clauses | None = None
    ) -> bool:
        """Return whether some state with these levers reversed and those normal meets all clauses.

        Clauses ignore the ``ignored`` levers; the state must meet ``more`` clauses too. Raises
        ``TooMuchLocking`` beyond the limit.

        The search leaves levers normal unless a clause requires the opposite. So it hardly ever
        backtracks, and its work does not grow with the number of states. Method: M. Davis, G.
        Logemann and D. Loveland, A machine program for theorem-proving, Communications of the ACM
        5, 1962.
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
                alone = bool(waiting)  # clauses with a choice come last
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
        """Return whether every state that meets these clauses meets ``clause`` too."""
        return not self.can_keep(clause.nor, clause.rev)
