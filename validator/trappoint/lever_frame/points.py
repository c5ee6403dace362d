"""Points locked among themselves.

*Points, if possible, interlocked among themselves to avoid collision*: Board of Trade requirements
1892, rule 7d (in Mills, Railway Construction, 1898). It does not follow from the locking table,
which only says which arms may not be off together. The rule by which it is done here:

Two positions of two points levers are kept apart when every route that needs the one conflicts with
every route that needs the other, and for some of these pairs no points see to it. Then nothing
can be run at once by the two, and the locking between the points does the work of locking between
the arms.

- Reversed and reversed (``5 locks 6``) hinders nothing: whatever may be off together needs no such
  pair, and all points that it does not need can be normal.
- Reversed and normal (``5 released by 6``) hinders nothing as long as a lever that releases others
  is itself free to be reversed: neither released by further points nor locked with any.

Practice differed. The nine-lever junction shown in Vienna in 1873 has its points locked so (*5
cannot be pulled* while the main down line is signalled); the junction of Mills' figure 498, 1898,
has them free of each other (row D to A: levers 9 and 8 are *left free*).
"""

from __future__ import annotations

from itertools import combinations, permutations
from typing import TYPE_CHECKING

from trappoint.interlocking.conflicts import routes_conflict
from trappoint.lever_frame.clauses import Clause, bits
from trappoint.lever_frame.demands import Demand
from trappoint.lever_frame.levers import FrameRoad

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.facts.facts import Facts
    from trappoint.lever_frame.levers import Frame


def interlock_points(frame: Frame, facts: Facts) -> Iterator[Demand]:
    """Yield the locking of points among themselves that hinders nothing."""
    over, back = _users(frame, facts)
    levers = sorted(over.keys() | back.keys())
    busy = {lever for pair in frame.shared for lever in pair}
    for one, other in combinations(levers, 2):
        if _exclude(frame, facts, over.get(one, []), over.get(other, [])):
            busy |= {one, other}
            yield Demand(Clause(0, 1 << one | 1 << other), one, other)
    releasing: set[int] = set()
    for one, other in permutations(levers, 2):
        if other in busy or one in releasing:
            continue
        if _exclude(frame, facts, over.get(one, []), back.get(other, [])):
            busy.add(one)
            releasing.add(other)
            yield Demand(Clause(1 << other, 1 << one), one, other)


def _users(
    frame: Frame, facts: Facts
) -> tuple[dict[int, list[FrameRoad]], dict[int, list[FrameRoad]]]:
    """Return the routes that need each points lever reversed, and those that need it normal."""
    over: dict[int, list[FrameRoad]] = {}
    back: dict[int, list[FrameRoad]] = {}
    for number in range(len(facts.routes.all)):
        needs = frame.needs(facts, number)
        if needs is not None:
            road = FrameRoad(-1, number, *needs)
            for lever in bits(road.rev):
                over.setdefault(lever, []).append(road)
            for lever in bits(road.nor):
                back.setdefault(lever, []).append(road)
    return over, back


def _exclude(frame: Frame, facts: Facts, ones: list[FrameRoad], others: list[FrameRoad]) -> bool:
    """Return whether all of these conflict with all of those, and some not by points already."""
    direct = False
    for one in ones:
        frame.effort.spend(len(others))
        for other in others:
            if one.rev & other.nor or one.nor & other.rev:
                continue
            if one.route == other.route:
                return False
            routes = facts.routes.all
            if routes_conflict(routes[one.route], routes[other.route]) is None:
                return False
            direct = True
    return direct
