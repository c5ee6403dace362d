"""Test that a whole means the same after each of its boards is written out or shortened."""

from __future__ import annotations

import json

import pytest

from amount import is_long
from boards.test_cut_plans import cuts
from boards.wholes import checked
from tidy.test_length import Plan, at_length
from trappoint import Report
from trappoint.tidying.length import Length


def told(report: Report) -> object:
    found = [(f.rule, f.level, f.place, f.message, f.why, f.fix, f.path) for f in report.findings]
    table = report.table
    return report.holds, sorted(found), table and table.to_json()


def anew(plan: Plan, length: Length) -> Plan:
    written: Plan = json.loads(at_length(json.dumps(plan), length))
    return written


WAYS: list[tuple[Length, bool]] = [("explicit", False), ("short", True)]
MORE_WAYS: list[tuple[Length, bool]] = [("explicit", True), ("short", False)]


@pytest.mark.parametrize(("length", "turn"), WAYS + MORE_WAYS * is_long())
def test_wholes_of_random_boards_mean_the_same(length: Length, turn: bool) -> None:
    """One board is turned round if ``turn``.

    The test skips a whole with its own signals or yards on a board: roads end sooner there.
    """
    changed = 0
    for name, _, parts in cuts(2, turn=turn):
        if parts.whole.keys() & {"signals", "yards"}:
            continue
        boards = {key: anew(board, length) for key, board in parts.boards.items()}
        whole = anew(parts.whole, length)
        changed += boards != parts.boards
        assert told(checked(whole, boards)) == told(checked(parts.whole, parts.boards)), name
    assert changed > 20
