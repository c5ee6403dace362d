"""The search for a state that meets all clauses, against all states."""

from __future__ import annotations

import random
from itertools import product

import pytest

from trappoint.lever_frame.clauses import Clause, Clauses, Effort, TooMuchLocking

LEVERS = 6
STATES = [
    sum(up << lever for lever, up in enumerate(ups)) for ups in product((0, 1), repeat=LEVERS)
]


def draw(dice: random.Random) -> Clause:
    rev = dice.getrandbits(LEVERS) & dice.getrandbits(LEVERS)
    return Clause(rev, dice.getrandbits(LEVERS) & dice.getrandbits(LEVERS) & ~rev)


def keeps(state: int, clause: Clause, ignoring: int = 0) -> bool:
    return bool((clause.rev & state | clause.nor & ~state) & ~ignoring)


@pytest.mark.parametrize("seed", range(4))
def test_they_can_be_kept_just_where_some_state_keeps_them(seed: int) -> None:
    dice = random.Random(seed)
    answers = []
    for _ in range(400):
        clauses = [draw(dice) for _ in range(dice.randint(1, 9))]
        gone = [clauses.pop() for _ in range(dice.randint(0, 2)) if clauses]
        others = [draw(dice) for _ in range(dice.randint(0, 3))]
        known = Clauses([*clauses, *gone, *clauses[:1]])
        for clause in (*gone, *clauses[:1]):
            known.discard(clause)
        rev, nor = dice.getrandbits(LEVERS) & 3, dice.getrandbits(LEVERS) & 12
        free = 1 << dice.randrange(LEVERS) if dice.random() < 0.5 else 0
        rev, nor = rev & ~free, nor & ~free
        more = Clauses(Clause(c.rev & ~free, c.nor & ~free) for c in others)
        wanted = any(
            state & rev == rev
            and not state & nor
            and all(keeps(state, clause, free) for clause in (*clauses, *others))
            for state in STATES
        )
        answers.append(wanted)
        assert known.can_keep(rev, nor, ignoring=free, more=more) is wanted
    assert 100 < sum(answers) < 300


def test_what_follows_is_kept_in_every_state_that_keeps_the_others() -> None:
    dice = random.Random(7)
    answers = []
    for _ in range(400):
        clauses, clause = [draw(dice) for _ in range(dice.randint(1, 9))], draw(dice)
        wanted = all(
            keeps(state, clause)
            for state in STATES
            if all(keeps(state, other) for other in clauses)
        )
        answers.append(wanted)
        assert Clauses(clauses).imply(clause) is wanted
    assert 50 < sum(answers) < 350


def test_a_search_without_end_is_given_up() -> None:
    """Pigeons in too few holes: no search of this kind refutes these quickly."""
    pigeons, holes = 9, 8
    effort = Effort()
    effort.left = 20_000
    lever = {pair: 1 << n for n, pair in enumerate(product(range(pigeons), range(holes)))}
    clauses = Clauses((), effort)
    for pigeon in range(pigeons):
        clauses.add(Clause(sum(lever[pigeon, hole] for hole in range(holes)), 0))
        for other in range(pigeon):
            for hole in range(holes):
                clauses.add(Clause(0, lever[pigeon, hole] | lever[other, hole]))
    with pytest.raises(TooMuchLocking):
        clauses.can_keep()
