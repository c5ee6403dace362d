"""Clauses over the levers of a frame, and whether they can all be kept.

Levers are numbered from 0; a set of levers is an ``int`` with one bit for each. A clause says that
some lever of one set is reversed or some lever of another one is normal. Every entry of a frame's
locking is one such clause, and with all levers normal every one of them is kept.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator


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


def find_state(clauses: Iterable[Clause], rev: int = 0, nor: int = 0) -> int | None:
    """Find a state that keeps every clause, with these levers reversed and those normal.

    Returns the set of levers reversed, None where there is no such state. The search forces what
    must be so and tries the rest with the levers normal, so that it hardly ever has to turn back:
    it does not grow with the number of states. (The method is that of Davis, Logemann and
    Loveland, Communications of the ACM 5, 1962.)
    """
    if rev & nor:
        return None
    return _search(list(dict.fromkeys(clauses)), rev, nor)


def _search(clauses: list[Clause], rev: int, nor: int) -> int | None:
    while True:
        forced_rev = forced_nor = 0
        left: list[Clause] = []
        for clause in clauses:
            if clause.rev & rev or clause.nor & nor:
                continue
            free_rev, free_nor = clause.rev & ~nor, clause.nor & ~rev
            free = free_rev | free_nor
            if not free:
                return None
            if free & (free - 1):
                left.append(clause)
            else:
                forced_rev |= free_rev
                forced_nor |= free_nor
        if forced_rev & forced_nor:
            return None
        if not (forced_rev or forced_nor):
            break
        rev |= forced_rev
        nor |= forced_nor
        clauses = left
    for clause in left:
        if not clause.nor & ~rev:
            # All levers left alone stay normal; this clause alone would not be kept so.
            lever = clause.rev & ~nor
            lever &= -lever
            found = _search(left, rev | lever, nor)
            return found if found is not None else _search(left, rev, nor | lever)
    return rev


def follows(clauses: Iterable[Clause], clause: Clause) -> bool:
    """Tell whether a clause is kept in every state that keeps the others."""
    return find_state(clauses, clause.nor, clause.rev) is None
