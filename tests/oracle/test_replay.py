"""A movement that is not one is refused, each for its own reason."""

from __future__ import annotations

from typing import Any

import pytest

from oracle.cases import DECEIVED, DECEIVED_MOVEMENT, a_plan, movement, step
from oracle.two_trains import ReplayError, replay


@pytest.mark.parametrize(
    ("refused", "reason"),
    [
        (movement("west", "z"), "B cannot start in z"),
        (movement("west", "west"), "start in one place"),
        (movement(None, None), "have not met"),
        (movement(None, "q2", "A run s"), "it is outside"),
        (movement(None, "q2", "A set-off down"), "it is outside"),
        (movement(None, "q2", "A leave"), "it is outside"),
        (movement(None, "q2", "A come-on w s"), "no train comes on at w to s"),
        (movement(None, "q2", "A come-on x west"), "no train comes on at x to west"),
        (movement(None, "q2", "A come-on q q2"), "q2 is occupied by the other"),
        (movement("west", "q2", "A come-on w west"), "on the plan already"),
        (movement("west", "q2", "A leave"), "no heading yet"),
        (movement("west", "q2", "A set-off down", "A leave"), "cannot leave the plan from west"),
        ({"starts": {"A": "west"}, "steps": []}, "does not say where"),
        (movement("west", "q2", "C run s"), "no train 'C'"),
        (movement("west", "q2", "A fly s"), "nothing called 'fly'"),
        (movement("west", "q2", "A run s"), "no heading yet"),
        (movement("west", "q2", "A take W s p z"), "no heading yet"),
        (movement("west", "q2", "A set-off"), "cannot set off None"),
        (movement("west", "q2", "A set-off sideways"), "cannot set off sideways"),
        (movement("west", "q2", "A set-off down", "A run s"), "signal W holds it"),
        (movement("west", "q2", "A set-off up", "A run s"), "no move leads"),
        (movement("west", "q2", "A set-off up", "A take W s p z"), "W does not face it"),
        (movement("west", "q2", "A set-off down", "A take W s p"), "no route over"),
        (movement("west", "q2", "A set-off down", "A take W s p z", "A run p"), "follow its route"),
        (
            movement("west", "q2", "A set-off down", "A take W s p z", "A take W s p z"),
            "still has promised places ahead",
        ),
        (
            movement("west", "q2", *(["A set-off down", "A take W s p z", "A run s", "A run p"]),
                     "A set-off up"),
            "p is no stand",
        ),
        (movement("west", "s", "A set-off down", "A take W s p z"), "occupied by the other"),
        (
            movement("west", "q2", "A set-off down", "A take W s p z", "B set-off up",
                     "B take Q q p s"),
            "promised to the other",
        ),
        (movement("west", "q2", "A set-off down"), "have not met"),
        ({**DECEIVED_MOVEMENT, "steps": DECEIVED_MOVEMENT["steps"][:-1]}, "have not met"),
        (
            {**DECEIVED_MOVEMENT, "steps": [*DECEIVED_MOVEMENT["steps"], step("A set-off down")]},
            "have met already",
        ),
    ],
)  # fmt: skip
def test_replay_refuses(refused: Any, reason: str) -> None:
    with pytest.raises(ReplayError, match=reason):
        replay(DECEIVED, refused)


def test_replay_follows_a_step_that_can_be_done_in_two_ways() -> None:
    # From the turntable onto the loop by either of its ends: only going round by one of them
    # comes past the signal, the other is free to run back onto the turntable.
    plan = a_plan(
        {"home": "edge:h t.r1", "loop": "t.r2 t.r3", "shed": "t.r4 buffer"},
        {"D": "loop down"},
        turntables={"t": {"roads": ["r1", "r2", "r3", "r4"]}},
    )
    runs = ["A set-off down", "A run t", "A run loop"]
    replay(plan, movement("home", "shed", *runs, "A run t", "A run shed"))
    with pytest.raises(ReplayError, match="have not met"):
        replay(plan, movement("home", "shed", *runs, "A take D t home"))
