"""The least price, compared with all answers of small problems, and with the dual problem."""

from __future__ import annotations

import itertools
import random

import networkx as nx
import pytest

from trappoint.drawing.placement_problem import PlacementProblem, solve


def problem_of(rng: random.Random, count: int, *, whole: bool = True) -> PlacementProblem:
    problem = PlacementProblem()
    for _ in range(count):
        problem.number(whole=whole)
    for _ in range(rng.randint(1, count)):
        lower, upper = sorted(rng.sample(range(count), 2))
        problem.at_least(lower, upper, rng.choice((0, 1, 1, 2)))
    for _ in range(rng.randint(1, 2 * count)):
        problem.price(rng.choice((0.5, 1.0, 2.0, 3.0)), *rng.sample(range(count), 2))
    return problem


def keeps(problem: PlacementProblem, values: list[float]) -> bool:
    return all(
        values[upper] - values[lower] >= gap - 1e-6 for (lower, upper), gap in problem.apart.items()
    )


def dual_of(problem: PlacementProblem) -> float:
    """The best price of a circulation: by linear duality the least price of the problem.

    A distance to be kept is a pipe without limit that earns that distance; a price on a distance
    is a pipe, either way, as wide as the price. All prices here are halves.
    """
    network = nx.MultiDiGraph()
    network.add_nodes_from(range(problem.count), demand=0)
    for (lower, upper), gap in problem.apart.items():
        network.add_edge(lower, upper, weight=-gap)
    for price, one, other in problem.prices:
        network.add_edge(one, other, capacity=round(2 * price), weight=0)
        network.add_edge(other, one, capacity=round(2 * price), weight=0)
    cost, _ = nx.network_simplex(network)
    return -cost / 2


@pytest.mark.parametrize("seed", range(60))
def test_no_answer_has_a_lower_price(seed: int) -> None:
    problem = problem_of(random.Random(seed), 4)
    answers = itertools.product(range(8), repeat=4)
    least = min(
        problem.cost([float(v) for v in answer])
        for answer in answers
        if keeps(problem, [float(v) for v in answer])
    )
    found = solve(problem)
    assert keeps(problem, found)
    assert problem.cost(found) == pytest.approx(least)
    assert all(value == round(value) for value in found)
    assert dual_of(problem) == pytest.approx(least)


@pytest.mark.parametrize("whole", [True, False])
@pytest.mark.parametrize("count", [12, 40])
def test_the_price_is_that_of_the_dual(count: int, whole: bool) -> None:
    for seed in range(20):
        problem = problem_of(random.Random(seed), count, whole=whole)
        found = solve(problem)
        assert keeps(problem, found)
        assert problem.cost(found) == pytest.approx(dual_of(problem))


def test_an_answer_does_not_depend_on_the_problem_before() -> None:
    for seed in range(60):
        rng = random.Random(seed)
        before = problem_of(rng, rng.choice((5, 20)), whole=rng.random() < 0.5)
        solve(before)
        after = [
            PlacementProblem(before.count, before.whole, apart, before.prices)
            for apart in ({pair: float(rng.choice((0, 1, 2, 3))) for pair in before.apart},) * 2
        ]
        assert solve(after[0], before) == solve(after[1])
        assert after[0].simplex is before.simplex
        assert after[1].simplex is not before.simplex


def test_distances_that_nothing_keeps_are_no_error() -> None:
    problem = problem_of(random.Random(1), 5)
    problem.at_least(0, 1, 1)
    problem.at_least(1, 0, 1)
    assert len(solve(problem)) == problem.count


def test_nothing_to_solve() -> None:
    assert solve(PlacementProblem()) == []
