"""The answers and errors of the simulator."""

from __future__ import annotations

import pytest

from frame.working import within_reach
from trappoint.lever_frame.frame import LockingEntry, Term
from trappoint.lever_frame.simulator import FrameSimulator

FRAME = FrameSimulator(
    ["1", "4", "5"],
    [LockingEntry("1", "released by", (Term("4"),)), LockingEntry("4", "locks", (Term("5"),))],
)


def test_it_says_why() -> None:
    assert FRAME.may_move((), "1").text == "1 is locked: 1 released by 4 (4 is normal)."
    assert FRAME.may_move({"4"}, "5").text == "5 is locked: 4 locks 5 (4 is reversed)."
    told = FRAME.may_move({"1", "4"}, "4")
    assert told.text == "4 is back-locked: 1 released by 4 (1 is reversed)."
    assert [entry.text for entry in told.because] == ["1 released by 4"]
    assert FRAME.may_move((), "4").text == "4 can be pulled."
    assert FRAME.may_move({"4"}, "4").text == "4 can be put back."


def test_levers_that_are_not_there() -> None:
    with pytest.raises(ValueError, match="no lever 7"):
        FRAME.may_move((), "7")
    with pytest.raises(ValueError, match="no lever 7"):
        FRAME.may_move({"7"}, "1")
    with pytest.raises(ValueError, match="no lever 7"):
        FrameSimulator(["1"], [LockingEntry("1", "locks", (Term("7"),))])


def test_a_state_that_is_not_legal() -> None:
    with pytest.raises(ValueError, match="does not allow"):
        FRAME.may_move({"4", "5"}, "1")


def test_levers_that_wait_for_each_other_stay_locked() -> None:
    """There is a state with both reversed, but no way to it."""
    waiting = [
        LockingEntry("1", "released by", (Term("2"),)),
        LockingEntry("2", "released by", (Term("1"),)),
    ]
    frame = FrameSimulator("12", waiting)
    assert frame.legal({"1", "2"})
    assert not within_reach(frame, (), "1")
