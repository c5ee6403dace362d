"""Conditional locking: a complete published test, worked on the simulator.

Source: Indian Railways, Signal Engineering Manual, chapter 12, p. 267: "1 is released by 3 when 2
is normal".
"""

from __future__ import annotations

from itertools import product

from frame.working import all_states, moved
from trappoint.lever_frame.frame import LockingEntry, Term
from trappoint.lever_frame.simulator import FrameSimulator

ENTRY = LockingEntry("1", "released by", (Term("3"),), (Term("2", "normal"),))
FRAME = FrameSimulator("123", [ENTRY])
NORMAL: frozenset[str] = frozenset()


def test_its_words() -> None:
    assert ENTRY.text == "1 released by 3 when 2 normal"


def test_all_normal_1_is_locked() -> None:
    assert FRAME.may_move(NORMAL, "1").status == "locked"


def test_with_2_pulled() -> None:
    state = moved(FRAME, NORMAL, "2")
    assert FRAME.may_move(state, "1").free
    state = moved(FRAME, state, "1")
    assert FRAME.may_move(state, "3").status == "locked"
    assert FRAME.may_move(state, "2").status == "back-locked"
    state = moved(FRAME, state, "1")
    assert moved(FRAME, state, "2") == NORMAL


def test_with_3_pulled() -> None:
    state = moved(FRAME, NORMAL, "3")
    assert FRAME.may_move(state, "1").free
    state = moved(FRAME, state, "1")
    assert FRAME.may_move(state, "2").status == "locked"
    assert FRAME.may_move(state, "3").status == "back-locked"


def test_all_states() -> None:
    """The logic that satisfies every step: 1 reversed only with 2 or 3; neither moves then."""
    for state in all_states("123"):
        assert FRAME.legal(state) is ("1" not in state or bool(state & {"2", "3"}))
        if FRAME.legal(state) and "1" in state:
            assert not FRAME.may_move(state, "2").free
            assert not FRAME.may_move(state, "3").free


def test_either_of_two_conditions_breaks_the_release() -> None:
    """The same page: "1 released by 4 with 2 and 3 normal"."""
    when = (Term("2", "normal"), Term("3", "normal"))
    entry = LockingEntry("1", "released by", (Term("4"),), when)
    assert entry.text == "1 released by 4 when 2 and 3 normal"
    frame = FrameSimulator("1234", [entry])
    for two, three, four in product((False, True), repeat=3):
        pulled = {"2": two, "3": three, "4": four}
        state = frozenset(lever for lever, over in pulled.items() if over)
        assert frame.may_move(state, "1").free is (two or three or four)


def test_a_conditional_lock_only_forbids_all_three() -> None:
    frame = FrameSimulator("123", [LockingEntry("1", "locks", (Term("2"),), (Term("3"),))])
    assert [sorted(s) for s in all_states("123") if not frame.legal(s)] == [["1", "2", "3"]]
    assert frame.may_move({"1"}, "2").free
    assert frame.may_move({"1", "2"}, "3").status == "locked"


def test_both_ways() -> None:
    frame = FrameSimulator("89", [LockingEntry("8", "locks both ways", (Term("9"),))])
    assert frame.may_move({"8"}, "9").status == "locked"
    assert frame.may_move({"8", "9"}, "9").status == "back-locked"
    assert frame.may_move({"9"}, "9").free
