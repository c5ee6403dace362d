"""A published nine-lever frame for a double-track junction, row by row.

Source: report headed "Exposition at Vienna" (International Exhibition of 1873), printed pp. 492,
494 and 495. The columns of the table are reconstructed from the order of its text and its footnote.
"""

from __future__ import annotations

import pytest

from frame.plans import as_layout, junction_1873
from frame.working import all_states, behaviour, moved, reached, simulate, within_reach
from trappoint.checking.frame import frame_table
from trappoint.lever_frame.frame import FrameTable, LockingEntry, Term

PRINTED = {
    # route: (pulled, in order), locked, free, back-locked
    "main up": (("3", "2"), {"1", "4", "5"}, {"6", "7", "8", "9"}, {"3"}),
    "main down": (("6", "8", "9"), {"1", "4", "5", "7"}, {"2", "3"}, {"6", "8"}),
    "branch up": (("5", "4", "1"), {"2", "3", "6", "8"}, {"7", "9"}, {"5", "4"}),
    "branch down": (("7", "9"), {"6", "8"}, {"1", "2", "3", "4", "5"}, {"7"}),
}


def term(lever: str) -> tuple[Term, ...]:
    return (Term(lever),)


MODERN = (
    # The same junction as a modern table, in full: two of its entries follow from the others.
    LockingEntry("1", "released by", term("4")),
    LockingEntry("2", "released by", term("3")),
    LockingEntry("3", "locks", term("5")),
    LockingEntry("4", "released by", term("5")),
    LockingEntry("4", "locks", term("6")),
    LockingEntry("5", "locks", term("6")),
    LockingEntry("7", "locks", term("6")),
    LockingEntry("8", "released by", term("6")),
    LockingEntry("8", "locks", term("5")),
    LockingEntry("9", "released by", (Term("7"), Term("8"))),
)


@pytest.fixture(scope="module")
def table() -> FrameTable:
    return frame_table(as_layout(junction_1873()))


def test_the_entries(table: FrameTable) -> None:
    assert [entry.text for entry in table.entries] == [
        "1 released by 4",
        "2 released by 3",
        "3 locks 5",
        "4 released by 5",
        "5 locks 6",
        "7 locks 6",
        "8 released by 6",
        "9 released by 7 or 8",
    ]
    assert table.notes == ()


def test_27_of_512_states_are_legal(table: FrameTable) -> None:
    """The number was found by enumerating the modern table of the same junction."""
    frame = simulate(table)
    legal = [frame.legal(state) for state in all_states(frame.levers)]
    assert (sum(legal), len(legal)) == (27, 512)


def test_the_modern_table_says_the_same(table: FrameTable) -> None:
    assert behaviour(simulate(table)) == behaviour(simulate(table, MODERN))


@pytest.mark.parametrize("route", PRINTED)
def test_printed_row(table: FrameTable, route: str) -> None:
    pulled, locked, free, back_locked = PRINTED[route]
    frame = simulate(table)
    state: frozenset[str] = frozenset()
    for lever in pulled:
        state = moved(frame, state, lever)
    others = [lever for lever in frame.levers if lever not in pulled]
    reach = {lever for lever in others if within_reach(frame, state, lever)}
    assert set(others) - reach == locked
    assert reach == free
    told = {lever: frame.may_move(state, lever).status for lever in frame.levers}
    assert {lever for lever in pulled if told[lever] == "back-locked"} == back_locked
    assert all(told[lever] == "locked" for lever in locked)


def test_footnote(table: FrameTable) -> None:
    """9 is not locked in row 3: with 6 normal a train coming down goes on to the branch."""
    frame = simulate(table)
    state = frozenset({"5", "4", "1", "7"})
    assert frame.legal(state)
    assert frame.may_move(state, "9").free
    assert not within_reach(frame, frozenset({"5", "4", "1"}), "8")


def test_5_and_6_are_never_both_reversed(table: FrameTable) -> None:
    frame = simulate(table)
    both = [state for state in all_states(frame.levers) if {"5", "6"} <= state]
    assert len(both) == 128
    assert not any(frame.legal(state) for state in both)


def test_every_legal_state_can_be_reached(table: FrameTable) -> None:
    moves = behaviour(simulate(table))
    assert reached(moves) == set(moves)


@pytest.mark.parametrize("left_out", range(8))
def test_no_entry_follows_from_the_others(table: FrameTable, left_out: int) -> None:
    rest = [entry for index, entry in enumerate(table.entries) if index != left_out]
    assert behaviour(simulate(table, rest)) != behaviour(simulate(table))


def test_points_left_free_of_each_other() -> None:
    """Without locking among points the arms of the two crossing roads lock each other.

    That 5 and 6 lock each other follows from no conflict of arms: it is the practice of the Board
    of Trade requirements 1892, rule 7d, and allows 5 states fewer.
    """
    table = frame_table(as_layout(junction_1873()), interlock_points=False)
    texts = [entry.text for entry in table.entries]
    assert "4 locks 8" in texts
    assert "5 locks 6" not in texts
    legal = set(behaviour(simulate(table)))
    assert len(legal) == 32
    interlocked = set(behaviour(simulate(frame_table(as_layout(junction_1873())))))
    assert interlocked < legal
    assert all({"5", "6"} <= state for state in legal - interlocked)


def test_normal_for_the_main_line_both_times() -> None:
    """With points 6 normal for the main line too, 5 is released by 6 instead.

    The junction is the same, so that the same arms can be off together.
    """
    plan = junction_1873()
    plan["points"]["p6"]["normal"] = "right"
    table = frame_table(as_layout(plan))
    assert "5 released by 6" in [entry.text for entry in table.entries]

    def off(frame: FrameTable) -> set[frozenset[str]]:
        return {state - {"5", "6"} for state in behaviour(simulate(frame))}

    assert off(table) == off(frame_table(as_layout(junction_1873())))
