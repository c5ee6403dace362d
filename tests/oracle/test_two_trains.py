"""The oracle itself, on cases worked out by hand.

The verdicts and movements here follow from the definition of "the plan holds" alone; each case
says in words why. No source outside that definition exists for them.
"""

from __future__ import annotations

import json
import random
from pathlib import Path
from typing import Any

import pytest

from amount import amount
from oracle.cases import DECEIVED, DECEIVED_MOVEMENT, LINE, a_plan, movement, runs, without
from oracle.game import OUTSIDE, claims, start_of, steps_of
from oracle.ground import Ground
from oracle.plans import random_plan
from oracle.two_trains import (
    ReplayError,
    TooLargeError,
    holds,
    meeting,
    replay,
    routes_of,
    stands_of,
)

KELPIE_QUAY = Path(__file__).parents[2] / "examples" / "kelpie-quay.layout.json"


def kelpie_quay() -> Any:
    return json.loads(KELPIE_QUAY.read_text(encoding="utf-8"))


# ---- verdicts ----------------------------------------------------------------------------------


def test_kelpie_quay_holds() -> None:
    assert meeting(kelpie_quay()) is None


@pytest.mark.parametrize("signal", ["1", "2", "3", "4", "5", "6", "7"])
def test_kelpie_quay_fails_without_any_one_of_its_signals(signal: str) -> None:
    plan = without(kelpie_quay(), signal)
    found = meeting(plan)
    assert found is not None
    replay(plan, found)


@pytest.mark.parametrize(
    ("signal", "shown"),
    [
        # Out of the siding onto p3 and loop-west while 1L is off for a train from the town.
        (
            "6",
            movement(
                "siding", None,
                "B come-on town town-line", "B take 1 p1 loop-west", *runs("B", "p1", "loop-west"),
                "A set-off up", *runs("A", "p3", "loop-west"),
            ),
        ),
        # Out of main over p1 into the train that waits at 1.
        (
            "3",
            movement("main", None, "B come-on town town-line", "A set-off up",
                     *runs("A", "p1", "town-line")),
        ),
        # In from the town, where a train stands in main: no route needs the points then.
        ("1", movement("main", None, "B come-on town town-line", *runs("B", "p1", "main"))),
    ],
)  # fmt: skip
def test_kelpie_quay_fails_in_the_ways_that_are_worked_out(signal: str, shown: Any) -> None:
    replay(without(kelpie_quay(), signal), shown)
    with pytest.raises(ReplayError, match="holds it"):
        replay(kelpie_quay(), shown)


@pytest.mark.parametrize(
    ("signal", "shown", "reason"),
    [
        # Out of the siding onto p3 while 7R is off: p3 lies for the train from the quarry.
        (
            "6",
            movement(
                "siding", "quarry-line",
                "B set-off up", "B take 7 p2 loop-east p3 loop-west", "A set-off up", "A run p3",
            ),
            "step 4, train A: the other train needs p3 otherwise",
        ),
        # Out of main onto p1 while 5 is off: p1 lies for the train from the loop.
        (
            "3",
            movement(
                "main", "loop-west",
                "B set-off up", "B take 5 p1 town-line", "B run p1", "A set-off up", "A run p1",
            ),
            "step 5, train A: the other train needs p1 otherwise",
        ),
    ],
)  # fmt: skip
def test_points_that_lie_for_another_keep_a_train_off(signal: str, shown: Any, reason: str) -> None:
    with pytest.raises(ReplayError, match=reason):
        replay(without(kelpie_quay(), signal), shown)


def test_kelpie_quay_routes() -> None:
    routes = routes_of(kelpie_quay())
    assert sum(len(each) for each in routes.values()) == 10
    assert routes["4"] == [["p3", "loop-east", "p2", "quarry-line"], ["p3", "siding"]]
    assert routes["7"] == [["p2", "loop-east", "p3", "loop-west"], ["p2", "main"]]


def test_all_track_that_is_joined_without_a_signal_has_one_train_at_a_time() -> None:
    plan = a_plan(LINE)
    assert routes_of(plan) == {}
    assert stands_of(plan) == ["west"]
    assert holds(plan)


def test_a_line_held_both_ways_holds_and_not_one_way() -> None:
    plan = a_plan(LINE, {"W": "west down", "E": "east up"})
    assert holds(plan)
    assert not holds(without(plan, "W"))
    assert not holds(without(plan, "E"))


def test_one_stand_alone_fails_for_a_train_that_comes_on() -> None:
    tracks = {"west": "edge:w joint:j pass", "east": "joint:j buffer"}
    plan = a_plan(tracks, {"E": "east up"})
    assert meeting(plan) == movement(None, "east", "A come-on w west", "A run east")
    closed = a_plan({**tracks, "west": "buffer joint:j pass"}, {"E": "east up"})
    assert stands_of(closed) == ["east"]
    assert holds(closed)


def test_a_stand_emptied_by_one_train_and_filled_by_another() -> None:
    # No stand can be freely reached from another, and every route into z or q has p and s as
    # well; yet one train can be held in z while another comes to s and sets off after it.
    found = meeting(DECEIVED)
    assert found is not None
    replay(DECEIVED, found)
    replay(DECEIVED, DECEIVED_MOVEMENT)
    held = {"track": "s", "for": "down", "arms": [{"id": "S"}]}
    assert holds({**DECEIVED, "signals": {**DECEIVED["signals"], "S": held}})


def test_a_train_may_set_off_from_a_stand_in_the_middle_of_its_route() -> None:
    # The route of W runs through platform m to the east; m is a stand, so the train may turn
    # back there, and find west taken by the train that had the way behind it.
    plan = a_plan(
        {
            "west": "edge:w p.left",
            "bay": "edge:b p.right",
            "m": "p.toe joint:m stand",
            "east": "joint:m edge:e",
        },
        {"W": "west down", "B": "bay down", "E": "east up"},
        points={"p": {"normal": "left"}},
    )
    turned = movement(
        "west", "bay",
        "A set-off down", "A take W p m east", "A run p", "A run m",
        "A set-off up", "A run p", "A run bay",
    )  # fmt: skip
    replay(plan, turned)
    held = {"track": "m", "for": "up", "arms": [{"id": "M"}]}
    with pytest.raises(ReplayError, match="holds it"):
        replay({**plan, "signals": {**plan["signals"], "M": held}}, turned)


# ---- the search itself -------------------------------------------------------------------------


def test_a_search_too_large_says_so() -> None:
    with pytest.raises(TooLargeError):
        meeting(kelpie_quay(), limit=20)


def steps_to_meet(plan: Any) -> int | None:
    """The least number of steps to a meeting, by a search with no economy in it at all."""
    ground = Ground(plan)
    starts = [OUTSIDE, *(start_of(place) for place in ground.stands)]
    reached = {(a, b) for a in starts for b in starts if a != b or a == OUTSIDE}
    latest, steps = reached, 0
    while latest:
        steps += 1
        following = set()
        for a, b in latest:
            for mover, other in ((0, b), (1, a)):
                for act in steps_of(ground, (a, b)[mover]):
                    if not act.allowed(claims(ground, other)):
                        continue
                    if act.after.place == other.place != "":
                        return steps
                    following.add((a, act.after) if mover else (act.after, b))
        latest = following - reached
        reached |= latest
    return None


def test_the_search_finds_a_shortest_movement() -> None:
    lengths = set()
    for seed in range(amount(100, long=3000)):
        plan = random_plan(random.Random(seed), elements=(1, 3))
        found = meeting(plan)
        length = None if found is None else len(found["steps"])
        assert length == steps_to_meet(plan), seed
        lengths.add(length)
    assert None in lengths
    assert len(lengths) > 4
