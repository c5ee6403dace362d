"""The locking between points levers.

Rule 7d of the Board of Trade requirements, 1892 (in W. H. Mills, Railway Construction, 1898), asks
that points are interlocked with each other, if possible, to avoid a collision. The locking table
does not give this locking: it lists only the arms that must not be off together. This module adds
it by the following rule:

Position A of one lever and position B of another exclude each other if every route that needs A
conflicts with every route that needs B, and the points do not prevent some of these conflicts. No
two trains can use A and B at once, and locking between the points replaces locking between arms.

- Reversed and reversed (``5 locks 6``) restricts no train: arms that may be off together need no
  such pair, and the points that they do not need can be normal.
- Reversed and normal (``5 released by 6``) restricts no train if the lever that releases the other
  can always be reversed: no other points release it or lock it.

Practice varied. The nine-lever junction printed in the report "Exposition at Vienna", 1873, pp. 492
to 495, has such locking (lever 5 cannot be pulled for the main down line). The junction of figure
498 in Mills leaves the points free of each other (row D to A: levers 9 and 8).
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
    """Yield the locking between points levers that restricts no train."""
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
    """Return, by points lever, the routes that need it reversed and those that need it normal."""
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
    """Return whether each of ``ones`` conflicts with each of ``others``, some not by points."""
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
