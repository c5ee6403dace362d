"""Test that each slip is a small change to a good plan, with exactly the expected findings."""

from __future__ import annotations

from difflib import ndiff

import pytest

import trappoint
from examples.folder import EXAMPLES, PLAN, SLIPS, Slip, compare, names_in, slips_on_page

ON_PAGE = slips_on_page()

MAX_CHANGED = 8
"""Most lines that differ between a slip and its plan, old and new lines counted.

A slip may exchange two ends, or remove a signal of several lines with its lever.
"""


def slip_ids(slip: Slip) -> str:
    return slip.name


def test_the_page_lists_every_slip() -> None:
    assert [slip.name for slip in ON_PAGE] == names_in(SLIPS)
    assert len(ON_PAGE) >= 12


def test_nothing_else_lies_in_the_folder() -> None:
    names = names_in(SLIPS)
    wanted = {SLIPS / f"{name}{ending}" for name in names for ending in (PLAN, ".expect")}
    assert set(SLIPS.iterdir()) == wanted


@pytest.mark.parametrize("slip", ON_PAGE, ids=slip_ids)
def test_is_found_exactly(slip: Slip, rewrite: bool) -> None:
    report = trappoint.check(SLIPS / f"{slip.name}{PLAN}")
    assert report.fault is None
    lines = [f"{f.line}:{f.column} {f.level} {f.rule} {f.message}\n" for f in report.findings]
    assert lines
    compare(SLIPS / f"{slip.name}.expect", "".join(lines), rewrite=rewrite)
    assert report.holds is slip.holds
    assert slip.rule in {finding.rule for finding in report.findings}


@pytest.mark.parametrize("slip", ON_PAGE, ids=slip_ids)
def test_is_one_slip_in_a_good_plan(slip: Slip) -> None:
    base = (EXAMPLES / f"{slip.base}{PLAN}").read_text("utf-8")
    base = base.replace('"../schema/', '"../../schema/')
    text = (SLIPS / f"{slip.name}{PLAN}").read_text("utf-8")
    changed = [
        line for line in ndiff(base.splitlines(), text.splitlines()) if line[0] in ("+", "-")
    ]
    assert 0 < len(changed) <= MAX_CHANGED
