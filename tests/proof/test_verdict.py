"""A SAT solver proves the verdict of the check from the plan and its printed table.

Every plan that holds has an invariant, checked by a second solver. Every other plan has a run,
checked step by step, and the movements of the check are followed on the ground. ``pytest --long
tests/proof`` takes more plans (see ``plans``).
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pytest

from amount import amount
from proof.hand import CASES
from proof.movement import NoMovementError, follow, tell
from proof.plans import EXAMPLES, TIMES, Checked, checked, held, large, small, station
from proof.printed import Printed
from proof.prover import Proof, prove
from proof.roads import Roads
from proof.steps import check_invariant
from proof.system import System

SHOWN = sorted(EXAMPLES.glob("*.layout.json"))
SLIPS = sorted((EXAMPLES / "slips").glob("*.layout.json"))


def assert_proved(found: Checked, name: str) -> Proof:
    system = System(found.printed)
    proof = prove(system)
    assert proof.holds is found.holds, name
    if proof.run is not None:
        follow(system.roads, tell(system, proof.run))
    assert_shown(found, name)
    return proof


def assert_shown(found: Checked, name: str) -> None:
    """A plan that fails has movements, and each can be followed."""
    assert bool(found.movements) is not found.holds, name
    for movement in found.movements:
        follow(found.printed.roads, movement)


def assert_settled(found: Checked, name: str) -> None:
    """A plan that holds has a proof; a movement that can be followed proves that a plan fails."""
    if found.holds:
        assert_proved(found, name)
    else:
        assert_shown(found, name)


def run_table(path: Path) -> Printed:
    """Return the table as the command prints it, as routes on the plan."""
    words = [sys.executable, "-m", "trappoint", "table", "--format", "json", str(path)]
    done = subprocess.run(words, capture_output=True, check=False, encoding="utf-8")
    assert done.stdout, done.stderr
    return Printed(Roads(json.loads(path.read_text("utf-8"))), json.loads(done.stdout))


@pytest.mark.parametrize("path", SHOWN, ids=lambda path: path.stem)
def test_examples_by_the_command(path: Path) -> None:
    found = checked(path)
    assert found is not None
    assert_proved(found._replace(printed=run_table(path)), path.name)


def test_plans_worked_out_by_hand() -> None:
    for name, (plan, holds) in CASES.items():
        found = checked(json.dumps(plan))
        assert found is not None
        assert found.holds is holds, name
        assert_proved(found, name)


def test_slips() -> None:
    proved: Counter[bool] = Counter()
    for path in SLIPS:
        found = checked(path)
        if found is not None:
            proved[assert_proved(found, path.name).holds] += 1
    assert proved[True] >= 5
    assert proved[False] >= 5


SMALL = 30 * TIMES
LARGE = [
    (points, seed)
    for points, first, number in (
        (20, 0, 4),
        (30, 0, 2),
        (40, 12, amount(0, long=1)),
        (60, 1, amount(0, long=1)),
    )
    for seed in range(first, first + number * TIMES)
]


def test_small_random_plans() -> None:
    """The solver finds a run of its own through every plan that fails."""
    verdicts: Counter[bool] = Counter()
    for seed in range(5000, 5000 + SMALL):
        verdicts[assert_proved(small(seed), f"seed {seed}").holds] += 1
    assert min(verdicts[True], verdicts[False]) > SMALL // 5


@pytest.mark.parametrize("draw", [held, station])
def test_random_plans_with_held_edges_and_of_stations(draw: Callable[[int], Checked]) -> None:
    verdicts: Counter[bool] = Counter()
    for seed in range(5000, 5000 + SMALL):
        found = draw(seed)
        assert_settled(found, f"seed {seed}")
        verdicts[found.holds] += 1
    assert min(verdicts[True], verdicts[False]) > SMALL // 5


@pytest.mark.parametrize(("points", "seed"), LARGE)
def test_large_random_plans(points: int, seed: int) -> None:
    """Plans with more pairs of positions than ``tests/oracle`` can search."""
    assert_settled(large(points, seed), f"{points} points, seed {seed}")


def test_there_are_large_plans_of_both_kinds() -> None:
    verdicts = [large(points, seed).holds for points, seed in LARGE]
    assert min(verdicts.count(True), verdicts.count(False)) >= 2


# ---- a frame without release allows less, but no other plan holds


def test_locked_to_the_end_it_is_the_same() -> None:
    """No verdict depends on the release of a route behind the train, or on points alone."""
    for seed in range(7000, 7000 + SMALL // 2):
        found = small(seed)
        assert prove(System(found.printed, strict=True)).holds is found.holds, f"seed {seed}"


# ---- without one conflict of the table, trains meet


def test_without_a_conflict_of_kelpie_quay_two_trains_meet() -> None:
    """Some conflicts alone keep trains apart; the ground, without a table, refuses the run."""
    found = kelpie()
    met = {}
    for arms, locks in found.printed.locks.items():
        system = System(found.printed.without(*arms))
        proof = prove(system)
        if proof.run is not None:
            met[arms] = tell(system, proof.run)
            assert [lock.by for lock in locks] == ["direct"]
            with pytest.raises(NoMovementError, match="'take'"):
                follow(system.roads, met[arms])
    # Into one track from both ends, and out of two tracks on to one line.
    assert {("1R", "7L"), ("1L", "7R"), ("1L", "6")} <= met.keys()
    # A train at 3 stands in the way of 1R, as the ground shows without the table.
    assert ("1R", "3") not in met


# ---- the prover itself


def kelpie() -> Checked:
    found = checked(EXAMPLES / "kelpie-quay.layout.json")
    assert found is not None
    return found


def looked_at(system: System) -> bool:
    """Return whether no reachable pair of states is a meeting, by trying all of them."""
    starts = system.starts
    pairs = [(one, two) for one in starts for two in starts if system.are_starts((one, two))]
    seen = set(pairs)
    for pair in pairs:
        for moving, other in (pair, pair[::-1]):
            let = [n for n in system.asked[moving] if system.may(n, other)]
            for after in (*system.plain[moving], *let):
                if system.meet((after, other)):
                    return False
                if (after, other) not in seen and (other, after) not in seen:
                    seen.add((after, other))
                    pairs.append((after, other))
    return True


def without_direct(found: Checked) -> Printed:
    """Return the same table without any direct conflict."""
    printed = found.printed
    for arms, locks in found.printed.locks.items():
        if any(lock.by == "direct" for lock in locks):
            printed = printed.without(*arms)
    return printed


@pytest.mark.parametrize("strict", [False, True])
def test_the_prover_finds_what_looking_at_every_pair_finds(strict: bool) -> None:
    fallen = 0
    for seed in range(9000, 9000 + amount(8, long=40)):
        found = small(seed)
        whole = System(found.printed, strict=strict)
        assert prove(whole).holds is looked_at(whole), f"seed {seed}"
        less = System(without_direct(found), strict=strict)
        assert prove(less).holds is looked_at(less), f"seed {seed}, no direct conflicts"
        fallen += found.holds and not prove(less).holds
    assert fallen


def test_an_invariant_with_something_missing_is_refused() -> None:
    found = kelpie()
    system = System(found.printed)
    invariant = prove(system).invariant
    check_invariant(system, invariant)
    refused = 0
    for cube in invariant:
        if cube[0] == cube[1]:
            with pytest.raises(AssertionError):
                check_invariant(system, [other for other in invariant if other != cube])
            refused += 1
    assert refused > 5
    with pytest.raises(AssertionError):
        check_invariant(System(without_direct(found)), invariant)
    start = (frozenset({("at", "siding")}), frozenset({("at", "main")}))
    with pytest.raises(AssertionError):
        check_invariant(system, [*invariant, start, start[::-1]])
