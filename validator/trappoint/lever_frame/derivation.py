"""The entries of a frame, derived from the locking table and reduced to the necessary ones.

It never enumerates states: to see whether an entry follows from the others, it searches for one
state that meets them and breaks the entry (``trappoint.lever_frame.clauses``).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.lever_frame.clauses import Clause, Clauses, bits
from trappoint.lever_frame.demands import (
    Demand,
    Hold,
    demand_conflicts,
    demand_roads,
    demand_shunts,
    required_holds,
)
from trappoint.lever_frame.distants import demand_distants
from trappoint.lever_frame.frame import FrameTable, LockingEntry, Term
from trappoint.lever_frame.levers import read_frame
from trappoint.lever_frame.points import interlock_points as interlock

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from trappoint.facts.facts import Facts
    from trappoint.lever_frame.levers import Frame, FrameRoad


class _Item(NamedTuple):
    """An entry in the making: its demand and its holds."""

    entry: LockingEntry
    clause: Clause | None
    holds: tuple[Hold, ...]


def derive_frame(facts: Facts, *, interlock_points: bool = True) -> FrameTable:
    """Derive the lever frame of a plan; the number of its routes must be within the limit."""
    frame = read_frame(facts.layout)
    roads_of = _roads(frame, facts)
    demands = list(_demands(frame, facts, roads_of))
    if interlock_points:
        demands += interlock(frame, facts)
    demands = _shorten(frame, demands)
    clauses = Clauses((demand.clause for demand in demands), frame.effort)
    holds = [
        hold for lever, roads in roads_of.items() for hold in required_holds(frame, lever, roads)
    ]
    holds = _widen(clauses, holds)
    held = _Held(holds)
    items = [_item(frame, demand, clauses, held) for demand in demands]
    items += _both_ways(frame, holds)
    kept = _least(frame, items)
    order = {lever.number: index for index, lever in enumerate(frame.levers)}
    entries = sorted(
        (item.entry for item in kept),
        key=lambda e: (order[e.lever], e.relation != "released by", [order[n] for n in e.levers]),
    )
    _note_the_stuck(frame, demands, clauses)
    return FrameTable(frame.levers, tuple(entries), tuple(dict.fromkeys(frame.notes)))


def _roads(frame: Frame, facts: Facts) -> dict[int, list[FrameRoad]]:
    """Return the roads of each lever with an arm that gives leave for a route."""
    found: dict[int, list[FrameRoad]] = {}
    arms_of: dict[int, list[int]] = {}
    for number, arm in enumerate(facts.assignment.arms):
        arms_of.setdefault(frame.lever_of_arm.get(arm.id, -1), []).append(number)
    for lever, works in enumerate(frame.levers):
        if works.works not in ("stop", "shunt", "calling-on", "arms"):
            continue
        own = arms_of.get(lever, [])
        if any(facts.assignment.routes_of[number] for number in own):
            found[lever] = frame.roads(facts, own)
        else:
            frame.notes.append(
                f"Lever {works.number}: its arms give leave for no route, so no locking is derived "
                "for it."
            )
    return found


def _demands(frame: Frame, facts: Facts, roads_of: dict[int, list[FrameRoad]]) -> Iterator[Demand]:
    for one, other in frame.shared:
        yield Demand(Clause(0, 1 << one | 1 << other), one, other)
    for lever, roads in roads_of.items():
        yield from demand_roads(frame, lever, roads)
        yield from demand_shunts(frame, facts, lever, roads)
    yield from demand_conflicts(frame, facts, roads_of)
    yield from demand_distants(frame, facts)


def _shorten(frame: Frame, demands: Iterable[Demand]) -> list[Demand]:
    """Return the demands without conditions that always hold, each clause once."""
    found = {demand.clause: demand for demand in reversed(list(demands))}
    result = list(found.values())[::-1]
    clauses = Clauses((demand.clause for demand in result), frame.effort)
    for index, demand in enumerate(result):
        clause = demand.clause
        keep = {demand.lever, demand.about}
        # Remove levers that must be normal first: `released by 7 or 8` reads best.
        for lever in (*bits(clause.nor), *bits(clause.rev)):
            if clause.size > 2 and lever not in keep and clauses.imply(clause.without(lever)):
                clause = clause.without(lever)
        clauses.discard(demand.clause)
        clauses.add(clause)
        result[index] = demand._replace(clause=clause)
    return list({demand.clause: demand for demand in result}.values())


class _Held:
    """Holds by the lever that they hold, as clauses for the states in which it is free."""

    def __init__(self, holds: Iterable[Hold] = ()) -> None:
        self._unheld: dict[int, Clauses] = {}
        for hold in holds:
            self.add(hold)

    def add(self, hold: Hold) -> None:
        self._unheld.setdefault(hold.held, Clauses()).add(self._clause(hold))

    def discard(self, hold: Hold) -> None:
        self._unheld[hold.held].discard(self._clause(hold))

    @staticmethod
    def _clause(hold: Hold) -> Clause:
        return Clause(hold.nor, hold.rev | 1 << hold.lever)

    def unheld(self, lever: int) -> Clauses | None:
        """Return the clauses for the states in which nothing holds a lever."""
        return self._unheld.get(lever)


def _moves(clauses: Clauses, others: _Held, hold: Hold) -> bool:
    """Return whether, in some state, a hold alone would keep its lever from moving.

    A state that breaks no clause with the lever in either position meets all clauses without it.
    """
    return clauses.can_keep(
        hold.rev | 1 << hold.lever,
        hold.nor,
        ignoring=1 << hold.held,
        more=others.unheld(hold.held),
    )


def _widen(clauses: Clauses, holds: list[Hold]) -> list[Hold]:
    """Return the holds without the conditions that can go without holding more."""
    held = _Held(holds)
    result: dict[Hold, None] = {}
    for hold in holds:
        wider = hold
        for lever in bits(hold.rev | hold.nor):
            keep = ~(1 << lever)
            tried = wider._replace(rev=wider.rev & keep, nor=wider.nor & keep)
            if not _moves(clauses, held, tried):
                wider = tried
        result[wider] = None
    return list(result)


def _both_ways(frame: Frame, holds: list[Hold]) -> Iterator[_Item]:
    for hold in holds:
        entry = LockingEntry(
            frame.number(hold.lever),
            "locks both ways",
            (Term(frame.number(hold.held)),),
            _terms(frame, hold.rev, hold.nor),
        )
        yield _Item(entry, None, (hold,))


def _terms(frame: Frame, rev: int, nor: int) -> tuple[Term, ...]:
    return tuple(
        Term(frame.number(lever), "reversed" if rev >> lever & 1 else "normal")
        for lever in bits(rev | nor)
    )


def _item(frame: Frame, demand: Demand, clauses: Clauses, held: _Held) -> _Item:
    """Return the entry for a demand: the lever that locks or releases, and the conditions."""
    own = 1 << demand.lever
    clause, number = demand.clause, frame.number(demand.lever)
    rev, nor = clause.rev, clause.nor & ~own
    if not rev | nor:
        return _Item(LockingEntry(number, "stays normal"), clause, ())
    about = demand.about
    if about < 0 or not (rev | nor) >> about & 1:
        about = (nor or rev).bit_length() - 1
    one = 1 << about
    if nor & one:
        when = _terms(frame, nor & ~one, rev)
        return _Item(LockingEntry(number, "locks", (Term(frame.number(about)),), when), clause, ())
    named = [Hold(demand.lever, lever, 0, 0) for lever in bits(rev | nor)]
    alone = (rev | nor) == one
    if demand.special and not alone and not any(_moves(clauses, held, hold) for hold in named):
        # All levers that a conditional release would hold are held already.
        when = _terms(frame, nor, rev & ~one)
        entry = LockingEntry(number, "released by", (Term(frame.number(about)),), when)
        return _Item(entry, clause, tuple(named))
    either = (*_terms(frame, rev, 0), *_terms(frame, 0, nor))
    return _Item(LockingEntry(number, "released by", either), clause, ())


def _least(frame: Frame, items: list[_Item]) -> list[_Item]:
    """Remove, one by one, each entry that follows from the remaining ones.

    Long entries are tried first, and locking between arms before locking with points.
    """
    clauses = Clauses((item.clause for item in items if item.clause is not None), frame.effort)
    held = _Held(hold for item in items for hold in item.holds)
    left_out: set[int] = set()
    for number in sorted(range(len(items)), key=lambda n: (-_weight(items[n]), -n)):
        item = items[number]
        if item.clause is not None:
            clauses.discard(item.clause)
        for hold in item.holds:
            held.discard(hold)
        needed = item.clause is not None and not clauses.imply(item.clause)
        if not needed and not any(_moves(clauses, held, hold) for hold in item.holds):
            left_out.add(number)
            continue
        if item.clause is not None:
            clauses.add(item.clause)
        for hold in item.holds:
            held.add(hold)
    return [item for number, item in enumerate(items) if number not in left_out]


def _weight(item: _Item) -> int:
    if item.clause is None:
        return 1000 + len(item.entry.levers)
    return len(item.entry.levers)


def _note_the_stuck(frame: Frame, demands: list[Demand], clauses: Clauses) -> None:
    """Add a note for each lever that cannot be reversed in any state."""
    fixed = {demand.lever for demand in demands if demand.clause.size == 1}
    for lever in range(len(frame.levers)):
        if lever not in fixed and not clauses.can_keep(1 << lever):
            frame.notes.append(
                f"Lever {frame.number(lever)} cannot be reversed: the levers that release it and "
                "those that it locks exclude each other."
            )
