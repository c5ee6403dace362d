"""The least price, held against trying all answers; and both ways to solve keep what is asked."""

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
def test_answers_keep_what_is_asked_and_highs_finds_the_least(seed: int) -> None:
    problem = problem_of(random.Random(seed), 4)
    answers = itertools.product(range(8), repeat=4)
    least = min(
        problem.cost([float(v) for v in answer])
        for answer in answers
        if keeps(problem, [float(v) for v in answer])
    )
    plain = solve(problem, highs=False)
    assert keeps(problem, plain)
    assert problem.cost(plain) >= least - 1e-6
    assert all(value == round(value) for value in plain)
    if has_highs():
        best = solve(problem, highs=True)
        assert keeps(problem, best)
        assert problem.cost(best) == pytest.approx(least)


def test_the_plain_way_is_seldom_much_dearer() -> None:
    if not has_highs():
        pytest.skip("highspy is not installed")
    dearer = 0
    for seed in range(40):
        problem = problem_of(random.Random(seed), 12)
        best = problem.cost(solve(problem, highs=True))
        dearer += problem.cost(solve(problem, highs=False)) > best * 1.25 + 1
    assert dearer <= 4


def test_nothing_to_solve() -> None:
    assert solve(Problem()) == []
