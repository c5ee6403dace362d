"""Fixes work: each is made, and the plan is checked again.

If the fix of a finding advises a concrete edit (see ``fixing``), the finding must be gone after the
edit, and the edit must not cause another error. Fixing unheld exits one after another must end in a
plan that holds.
"""

from __future__ import annotations

import json
import random
from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import NamedTuple

import pytest

from amount import amount
from oracle.cases import a_plan
from oracle.stations import station_plan
from oracle.two_trains import TooLargeError, holds
from rules.fix_names import unknown_names
from rules.plans import example_text
from slips.fixing import BY_RULE, Edit, edits_of
from slips.meaning import Plan
from slips.rules import BELIEFS
from slips.running import EXAMPLES, drawn, generated
from slips.sites import KINDS
from trappoint import Report, check
from trappoint.core.findings import Finding
from trappoint.rules.catalogue import all_rules

SEEDS = amount(2, long=40)
"""The number of seeds for lines and stations with slips, one of each kind."""

STATIONS = amount(25, long=1000)
"""The number of stations with several slips, without arms for most of their roads."""

ROUNDS = 40
MAX_STATES = 60_000

DISTANT = {"id": "d", "kind": "distant"}
SHUNT = {"id": "2", "kind": "shunt"}
CALLING_ON = {"id": "c", "kind": "calling-on", "under": "2"}
LINE = {"west": "edge:w joint:j", "east": "joint:j edge:e"}


def _at_west(*arms: dict[str, str]) -> Plan:
    plan: Plan = a_plan(LINE, {"1": "west down", "3": "east up"})
    plan["signals"]["1"]["arms"] = list(arms)
    return plan


BARELY_SO: dict[str, Plan] = {
    "a stop arm written under a distant": _at_west(DISTANT, {"id": "1", "under": "d"}),
    "a calling-on arm under a shunt arm": _at_west({"id": "1"}, SHUNT, CALLING_ON),
    "a stub of a track where trains stand": a_plan(
        {"a": "p.left buffer pass", "b": "p.right buffer pass", "road": "p.toe edge:e stand"},
        {"U": "road up 100", "D": "road down 100"},
        points={"p": {"normal": "left"}},
    ),
}
"""Small plans whose findings need another fix than most findings of their rule."""


class Fixed(NamedTuple):
    """A finding on a plan, the edit of its fix, and the reports before and after."""

    plan: str
    finding: Finding
    edit: Edit
    before: Report
    after: Report


@cache
def failing_plans() -> list[tuple[str, Plan]]:
    """Return the failing examples of all rules, the files of slips, random slips and stations."""
    at_random = [*random_slips(), *flawed_stations()]
    return [*examples_of_rules(), *slips_at_hand(), *BARELY_SO.items(), *at_random]


def examples_of_rules() -> Iterator[tuple[str, Plan]]:
    for rule in all_rules():
        if rule.stage in ("plan", "facts", "last"):
            yield from _read(f"rule {rule.id}", example_text(rule.fails))


def slips_at_hand() -> Iterator[tuple[str, Plan]]:
    for path in sorted((EXAMPLES / "slips").glob("*.layout.json")):
        yield from _read(path.name, Path(path).read_text("utf-8"))


def _read(name: str, text: str | bytes) -> Iterator[tuple[str, Plan]]:
    report = check(text)
    if report.layout is not None:
        plan = json.loads(text)
        if "boards" not in plan:
            yield name, plan


def random_slips() -> Iterator[tuple[str, Plan]]:
    for name, plan in generated(0, SEEDS):
        for kind in KINDS:
            for slip in drawn(name, plan, kind, 1):
                yield f"{name}: {kind}: {slip.told}", slip.plan


def flawed_stations() -> Iterator[tuple[str, Plan]]:
    for seed in range(STATIONS):
        yield f"station with flaws {seed}", station_plan(random.Random(seed))


@cache
def report_on(text: str) -> Report:
    return check(text)


@cache
def reports() -> list[Report]:
    """Return the report on each of the failing plans, in their order."""
    return [report_on(json.dumps(plan)) for _, plan in failing_plans()]


@cache
def fixed() -> list[Fixed]:
    plans = zip(failing_plans(), reports(), strict=True)
    return [each for (name, plan), report in plans for each in fixes_made(name, plan, report)]


def fixes_made(name: str, plan: Plan, before: Report) -> Iterator[Fixed]:
    for finding in before.findings:
        for edit in edits_of(plan, finding):
            yield Fixed(name, finding, edit, before, report_on(json.dumps(edit.plan)))


def key(finding: Finding) -> tuple[str, ...]:
    return finding.rule, finding.pointer, finding.message, *finding.path[:1]


def is_gone(each: Fixed) -> bool:
    """Return whether the finding is gone; an exit counts only if it is held."""
    if each.finding.rule == "unheld-exit":
        exits = [(f.pointer, f.path[0]) for f in each.after.findings if f.rule == "unheld-exit"]
        return (each.finding.pointer, each.finding.path[0]) not in exits
    return key(each.finding) not in map(key, each.after.findings)


def new_errors(each: Fixed) -> list[Finding]:
    """Return the new errors at the values written by the edit, except on the author's beliefs."""
    before = set(map(key, each.before.findings))
    return [
        finding
        for finding in each.after.findings
        if finding.level == "error" and key(finding) not in before
        if finding.rule not in BELIEFS and not _was_there(each, finding)
        if any(f"{finding.pointer}/".startswith(f"{at}/") for at in each.edit.at)
    ]


def _was_there(each: Fixed, finding: Finding) -> bool:
    """Return whether a track turned round had the same error at its other end before."""
    if each.finding.rule != "up-meets-up":
        return False
    track = finding.pointer.split("/")[:3]
    return any(
        (other.rule, other.pointer.split("/")[:3]) == (finding.rule, track)
        for other in each.before.findings
    )


def told(each: Fixed, errors: list[Finding]) -> str:
    said = [(f.rule, f.pointer, f.message) for f in errors]
    return f"{each.plan}: {each.finding.message} {each.finding.fix} ({each.edit.told}): {said}"


def test_the_sample_is_worth_its_name() -> None:
    count = Counter(each.finding.rule for each in fixed())
    assert set(count) == set(BY_RULE)
    assert count["unheld-exit"] >= 35
    assert sum(count.values()) >= 200


@pytest.mark.parametrize("rule", BY_RULE)
def test_what_is_fixed_is_gone(rule: str) -> None:
    assert [
        told(each, list(each.after.findings))
        for each in fixed()
        if each.finding.rule == rule and not (is_gone(each) and each.after.layout is not None)
    ] == []


@pytest.mark.parametrize("rule", BY_RULE)
def test_a_fix_is_no_error_itself(rule: str) -> None:
    """If a fix offers several ways, some may cause errors, but not those that add signals."""
    ways: dict[tuple[str, ...], list[Fixed]] = {}
    for each in fixed():
        if each.finding.rule == rule:
            ways.setdefault((each.plan, *key(each.finding)), []).append(each)
    bad = [[each for each in found if new_errors(each)] for found in ways.values()]
    every = rule in ("unheld-exit", "platform-without-starter", "unreachable-track")
    assert [
        told(each, new_errors(each))
        for wrong, found in zip(bad, ways.values(), strict=True)
        for each in wrong
        if every or len(wrong) == len(found)
    ] == []


def test_fixes_name_only_what_their_plans_have() -> None:
    named = [
        (finding.fix, unknown_names(finding.fix, plan))
        for (_, plan), report in zip(failing_plans(), reports(), strict=True)
        for finding in report.findings
    ]
    assert len(named) >= 300
    assert [each for each in named if each[1]] == []


def unheld(report: Report) -> list[Finding]:
    return [each for each in report.findings if each.rule == "unheld-exit"]


def test_a_plan_that_is_fixed_step_by_step_holds_in_the_end() -> None:
    done = 0
    for name, given in failing_plans():
        plan = {key: value for key, value in given.items() if key != "accept"}
        report = report_on(json.dumps(plan))
        rounds = 0
        while report.holds is False:
            edits = [edit for each in unheld(report) for edit in edits_of(plan, each)[:1]]
            assert edits, name
            plan = edits[0].plan
            report = report_on(json.dumps(plan))
            rounds += 1
            assert rounds <= ROUNDS, name
        if rounds:
            done += 1
            assert report.holds is True, name
            try:
                assert holds(plan, MAX_STATES), name
            except TooLargeError:
                continue
    assert done >= 30


# ---- these tests can fail ----------------------------------------------------------------------


BALLOON = a_plan(
    {"line": "edge:w p.toe", "loop": "p.left p.right"},
    {"1": "line down"},
    points={"p": {"normal": "left"}},
)


def test_a_signal_without_a_route_would_be_noticed() -> None:
    stem = {**BALLOON, "signals": {}}
    (finding,) = unheld(check(json.dumps(stem)))
    for edit in edits_of(stem, finding):
        each = Fixed("stem", finding, edit, check(json.dumps(stem)), check(json.dumps(edit.plan)))
        assert new_errors(each) == []
        alone = {**edit.plan, "signals": dict(list(edit.plan["signals"].items())[:1])}
        each = each._replace(after=check(json.dumps(alone)))
        assert [error.rule for error in new_errors(each)] == ["signal-without-route"]


def test_a_fix_that_changes_nothing_would_be_noticed() -> None:
    before = check(json.dumps(BALLOON))
    finding = next(each for each in before.findings if each.rule == "signal-without-route")
    edit = Edit(BALLOON, (), "nothing")
    assert not is_gone(Fixed("balloon", finding, edit, before, before))
