"""The verdict for three trains is that for two."""

from __future__ import annotations

import random
from collections import Counter
from typing import Any

import pytest

from amount import amount
from oracle.cases import DECEIVED, FOLLOWED, HELD_REVERSE, LINE, a_plan, step, trapped
from oracle.game import OUTSIDE
from oracle.ground import Ground
from oracle.pairs import meeting_of_two
from oracle.plans import random_plan
from oracle.search import MovementJson, search
from oracle.three_trains import LIMIT, meeting_of_three, replay_three
from oracle.two_trains import ReplayError, TooLargeError, holds

THROAT = a_plan(
    {
        "t": "edge:t p.toe",
        "l": "p.left q.toe stand",
        "r": "p.right buffer",
        "ll": "q.left buffer",
        "lr": "q.right edge:r",
    },
    {"T": "t down", "LU": "l up", "LD": "l down", "R": "r up", "LL": "ll up", "LR": "lr up"},
    points={"p": {"normal": "left"}, "q": {"normal": "left"}},
)


@pytest.mark.parametrize("signal", [None, *THROAT["signals"]])
def test_three_trains_in_a_throat_come_to_the_verdict_of_two(signal: str | None) -> None:
    kept = {key: value for key, value in THROAT["signals"].items() if key != signal}
    plan = {**THROAT, "signals": kept}
    found = meeting_of_three(plan)
    assert (found is None) == holds(plan) == (signal is None)
    if found is not None:
        replay_three(plan, found)


@pytest.mark.parametrize(
    "plan",
    [
        a_plan(LINE, {"W": "west down", "E": "east up"}),
        a_plan(LINE, {"W": "west down"}),
        DECEIVED,
        {**DECEIVED, "signals": DECEIVED["signals"] | a_plan({}, {"S": "s down"})["signals"]},
    ],
)
def test_three_trains_come_to_the_verdict_of_two(plan: Any) -> None:
    assert (meeting_of_three(plan) is None) == holds(plan)


def test_three_trains_on_random_plans_come_to_the_verdict_of_two() -> None:
    verdicts = Counter[bool]()
    for seed in range(amount(60, long=1000)):
        plan = random_plan(random.Random(seed), elements=(1, 3))
        try:
            found = meeting_of_three(plan, limit=60_000)
        except TooLargeError:
            continue
        assert (found is None) == holds(plan), seed
        verdicts[found is None] += 1
    assert verdicts[True] > 10
    assert verdicts[False] > 10


@pytest.mark.parametrize(
    ("more_traps", "number"), [(False, amount(60, long=3000)), (True, amount(250, long=8000))]
)
def test_three_trains_on_small_plans_with_traps_come_to_the_verdict_of_two(
    more_traps: bool, number: int
) -> None:
    seen = Counter[Any]()
    seed = 0
    while seen["plans"] < number:
        seed += 1
        plan = a_small_plan(random.Random(seed), more_traps)
        if plan is None:
            continue
        ground = Ground(plan)
        found, of_two = search(ground, 3, LIMIT), search(ground, 2, LIMIT)
        assert (found is None) == (of_two is None), seed
        assert steps_in(meeting_of_two(ground, LIMIT)) == steps_in(of_two), seed
        if found is not None:
            replay_three(plan, found)
        guard = ground.guards == ground.elements.trap_groups
        seen.update(["plans", ("holds" if found is None else "fails", guard)])
    assert seen["holds", True] > 20
    assert seen["fails", True] > 20
    if more_traps:
        assert seen["fails", False] > 1
        assert seen["holds", False]


def steps_in(movement: MovementJson | None) -> int | None:
    return None if movement is None else len(movement["steps"])


def a_small_plan(rng: random.Random, more_traps: bool) -> Any:
    """A random plan with trap points and at most eight places, or None if it came out otherwise.

    With more traps: most points are, many share a lever, and some signals and stands are gone.
    """
    plan = random_plan(rng, elements=(1, 4))
    points = plan.get("points", {})
    if more_traps:
        for each in points.values():
            each["trap"] = rng.random() < 0.7
        pairs = [each for each in points if points[each].get("kind") != "three-way"]
        if len(pairs) > 1 and rng.random() < 0.6:
            plan["worked_together"] = [rng.sample(pairs, rng.randint(2, len(pairs)))]
        for track in plan["tracks"].values():
            if rng.random() < 0.2:
                track["stand"] = rng.random() < 0.5
        for signal in [each for each in plan["signals"] if rng.random() < 0.07]:
            del plan["signals"][signal]
    if not any(each.get("trap") for each in points.values()):
        return None
    places = {place for place, _ in Ground(plan).ways_out}
    return plan if len(places) <= 8 else None


def test_a_trap_that_a_third_train_could_hold_reverse_keeps_nobody_back() -> None:
    # The way of A needs s reverse, and with it the trap. So B runs out of the siding into the
    # bay, where C stands. The trap does not guard, and two trains come to that too.
    moved = three(
        ["line", "siding", "bay"],
        "A set-off down", "A take L s right", "B set-off down", "B run q", "B run bay",
    )  # fmt: skip
    replay_three(HELD_REVERSE, moved)
    assert meeting_of_three(HELD_REVERSE) is not None
    assert not holds(HELD_REVERSE)
    # Where the lever works the trap alone, it guards.
    apart = {key: value for key, value in HELD_REVERSE.items() if key != "worked_together"}
    assert meeting_of_three(apart) is None
    assert holds(apart)
    with pytest.raises(ReplayError, match="no move leads from q to bay"):
        replay_three(apart, moved)


def test_promises_and_groups_under_both_others_forbid() -> None:
    # With A on its way to the left, the trap is normal for it; with C on s, for that one.
    out = ["B set-off down", "B run q", "B run bay"]
    way = ["A set-off down", "A take L s left"]
    with pytest.raises(ReplayError, match="no move leads from q to bay"):
        replay_three(HELD_REVERSE, three(["line", "siding", "bay"], *way, *out))
    with pytest.raises(ReplayError, match="no move leads from q to bay"):
        replay_three(HELD_REVERSE, three(["line", "siding", None], *way, "A run s", *out))


@pytest.mark.parametrize("plan", [FOLLOWED, trapped(), trapped(together=True)])
def test_three_trains_come_to_the_verdict_of_two_behind_trap_points(plan: Any) -> None:
    assert (meeting_of_three(plan) is None) == holds(plan)


def three(starts: list[str | None], *steps: str) -> Any:
    return {"starts": dict(zip("ABC", starts, strict=True)), "steps": [step(s) for s in steps]}


def test_each_train_is_under_the_rules_against_both_others() -> None:
    west = ["A set-off down", "A take T p r"]
    with pytest.raises(ReplayError, match="p is promised to the other"):
        replay_three(THROAT, three(["t", "ll", "l"], *west, "C set-off up", "C take LU p t"))
    with pytest.raises(ReplayError, match="l is occupied by the other"):
        replay_three(THROAT, three(["t", "ll", "l"], "B set-off up", "B take LL q l"))
    with pytest.raises(ReplayError, match="have not met"):
        replay_three(THROAT, three(["t", "ll", "l"], *west, "B set-off up", "C set-off down",
                                   "C take LD q lr"))  # fmt: skip
    with pytest.raises(ReplayError, match="start in one place"):
        replay_three(THROAT, three(["t", None, "t"]))
    with pytest.raises(ReplayError, match="does not say where A and B and C start"):
        replay_three(THROAT, {"starts": {"A": "t", "B": "l"}, "steps": []})


def test_any_number_of_trains_are_outside() -> None:
    plan = a_plan(LINE, {"W": "west down", "E": "east up"})
    assert Ground(plan).come_on == [("w", ("west", "down")), ("e", ("east", "up"))]
    assert OUTSIDE.place == ""
    on = ["A come-on w west", "B come-on e east"]
    with pytest.raises(ReplayError, match="west is occupied by"):
        replay_three(plan, three([None, None, None], *on, "C come-on w west"))
