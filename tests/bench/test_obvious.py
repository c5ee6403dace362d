"""The obvious way comes to the same routes and conflicts: it is a rival, and it is a witness."""

from __future__ import annotations

from collections import Counter
from itertools import combinations

import pytest

from bench.obvious import all_paths, conflicting
from large.railway import railway, written
from trappoint.checking.check import load
from trappoint.facts.facts import Facts
from trappoint.interlocking.conflicts import routes_conflict


@pytest.mark.parametrize(("points", "seed"), [(3, 0), (20, 1), (60, 2), (120, 3)])
def test_the_same_routes_and_conflicts(points: int, seed: int) -> None:
    facts = Facts(load(written(railway(points, seed))))
    routes = facts.routes.all
    paths = all_paths(facts.network, facts.together)
    assert Counter(
        (path.head, path.places, tuple(sorted(path.needs.items()))) for path in paths
    ) == (
        Counter((route.head, route.places, tuple(sorted(route.needs.items()))) for route in routes)
    )
    assert conflicting(paths) == sum(
        routes_conflict(one, other) is not None for one, other in combinations(routes, 2)
    )


@pytest.mark.parametrize(("points", "seed"), [(20, 1), (60, 2), (120, 3)])
def test_arms_that_can_not_meet_are_never_compared_and_none_is_missed(
    points: int, seed: int
) -> None:
    """The table compares neighbours alone; here every arm is compared with every other."""
    facts = Facts(load(written(railway(points, seed))))
    routes, own = facts.routes.all, facts.assignment.routes_of
    always = {
        (one, other)
        for one, other in combinations(range(len(own)), 2)
        if own[one] and own[other]
        if all(routes_conflict(routes[a], routes[b]) for a in own[one] for b in own[other])
    }
    derived = {
        (one, conflict.other)
        for one, conflicts in enumerate(facts.conflicts)
        for conflict in conflicts
        if conflict.when is None and one < conflict.other
    }
    assert derived == always
