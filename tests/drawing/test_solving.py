"""The least price, held against trying all answers, and each way to solve against the other."""

from __future__ import annotations

import itertools
import random

import pytest

from trappoint.drawing.solving import Problem, has_highs, solve


def problem_of(rng: random.Random, count: int) -> Problem:
    problem = Problem()
    for _ in range(count):
        problem.number(whole=True)
    for _ in range(rng.randint(1, count)):
        lower, upper = sorted(rng.sample(range(count), 2))
        problem.at_least(lower, upper, rng.choice((0, 1, 1, 2)))
    for _ in range(rng.randint(1, 2 * count)):
        problem.price(rng.choice((0.5, 1.0, 2.0, 3.0)), *rng.sample(range(count), 2))
    return problem


def keeps(problem: Problem, values: list[float]) -> bool:
    return all(
        values[upper] - values[lower] >= gap - 1e-6 for (lower, upper), gap in problem.apart.items()
    )


@pytest.mark.parametrize("seed", range(60))
def test_both_ways_find_the_least_price(seed: int) -> None:
    problem = problem_of(random.Random(seed), 4)
    answers = itertools.product(range(8), repeat=4)
    least = min(
        problem.cost([float(v) for v in answer])
        for answer in answers
        if keeps(problem, [float(v) for v in answer])
    )
    plain = solve(problem, highs=False)
    assert keeps(problem, plain)
    assert problem.cost(plain) == pytest.approx(least)
    assert all(value == round(value) for value in plain)
    if has_highs():
        best = solve(problem, highs=True)
        assert keeps(problem, best)
        assert problem.cost(best) == pytest.approx(least)


@pytest.mark.parametrize("count", [12, 40])
def test_the_plain_way_costs_no_more_than_highs(count: int) -> None:
    if not has_highs():
        pytest.skip("highspy is not installed")
    for seed in range(20):
        problem = problem_of(random.Random(seed), count)
        plain, best = solve(problem, highs=False), solve(problem, highs=True)
        assert keeps(problem, plain)
        assert problem.cost(plain) == pytest.approx(problem.cost(best))


def test_nothing_to_solve() -> None:
    assert solve(Problem()) == []
