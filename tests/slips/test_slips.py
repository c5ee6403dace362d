"""The check finds every slip of a sample, and reports nothing false about any of them.

``python -m slips`` makes many more. The last tests prove that the others fail if they should:
without a rule, its slips count as missed, and a false finding counts as false.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from functools import cache

import pytest

from amount import amount
from slips.judging import Base, Outcome, base_of, judge, said_of
from slips.kinds import Slip
from slips.meaning import Plan
from slips.rules import COUNTING, FORM, PROVED, SECOND_OPINION
from slips.running import NO_SLIP, Result, drawn, examples, generated, results
from slips.sites import KINDS
from trappoint.core.findings import Finding
from trappoint.rules.catalogue import all_rules

SEEDS = amount(2, long=40)
"""The number of seeds; most lead to a line and a station."""

MAX_POINTS = amount(40, long=1000)
"""The most points of an example: in larger ones, the search mostly reaches its limit."""

OF_EACH = amount(1, long=4)
"""The number of slips of each kind in each plan."""


@cache
def plans() -> list[tuple[str, Plan]]:
    small = [(name, plan) for name, plan in examples() if len(plan["points"]) <= MAX_POINTS]
    return [*small, *generated(0, SEEDS)]


@cache
def bases() -> list[tuple[Base, Outcome]]:
    """Return the plans ready for slips, each with the judgement on the plan as it is."""
    return [base_of(name, plan) for name, plan in plans()]


@cache
def judged() -> list[Result]:
    return [each for base in bases() for each in results(*base, OF_EACH)]


def test_the_sample_is_worth_its_name() -> None:
    assert len(judged()) >= 200
    assert len(plans()) >= 6
    kinds = Counter(each.kind for each in judged())
    assert set(kinds) == {NO_SLIP, *KINDS}
    verdicts = Counter(each.outcome.verdict for each in judged())
    assert verdicts["caught"] > 2 * verdicts["right"] > 0


@pytest.mark.parametrize("kind", [NO_SLIP, *KINDS])
def test_none_is_missed_and_nothing_false_is_said(kind: str) -> None:
    of_kind = [each for each in judged() if each.kind == kind]
    assert of_kind
    bad = [
        f"{each.outcome.verdict}: {each.plan}: {each.told}: {each.outcome.why}"
        for each in of_kind
        if each.outcome.verdict not in ("caught", "right")
    ]
    assert bad == []


def test_every_kind_has_its_rules_and_every_rule_named_is_one() -> None:
    assert set(COUNTING) == set(KINDS)
    known = {rule.id for rule in all_rules()}
    assert set().union(*COUNTING.values(), FORM, PROVED, SECOND_OPINION) <= known


# ---- these tests can fail ----------------------------------------------------------------------

KEPT_SILENT = {
    "unheld-exit": "signal left out",
    "unreachable-signal": "stand forgotten",
    "trap-not-worked-together": "trap points not worked together",
    "arms-out-of-order": "arms of a bracket swapped",
    "route-without-arm": "arm left out",
    "crossover-not-worked-together": "crossover ends not worked together",
    "crossover-never-set": "wrong normal",
    "distant-repeats-wrong-arm": "distant repeating the wrong arm",
    "duty-mismatch": "belief wrong",
    "scene-arm-against-points": "scene with points forgotten",
    "unknown-reference": "id mistyped",
    "open-joint": "joint mistyped",
}
"""For some rules, a kind of slip that sometimes only this rule reports."""

ENOUGH = amount(2, long=100)
"""The number of missed slips after which the test of a rule ends."""


def slips_of(kind: str) -> Iterator[tuple[Base, Slip]]:
    for base, _ in bases():
        yield from ((base, each) for each in drawn(base.name, base.plan, kind, 4))


@pytest.mark.parametrize("rule", KEPT_SILENT)
def test_a_slip_is_missed_where_its_rule_is_kept_silent(rule: str) -> None:
    kind = KEPT_SILENT[rule]
    verdicts: Counter[str] = Counter()
    for base, slip in slips_of(kind):
        report = said_of(slip)
        if any(finding.rule == rule for finding in report.findings):
            left = tuple(finding for finding in report.findings if finding.rule != rule)
            outcome = judge(base, kind, slip, report._replace(findings=left))
            verdicts[outcome.verdict if outcome is not None else ""] += 1
            if verdicts["missed"] == ENOUGH:
                break
    assert verdicts["missed"]
    assert not verdicts["right"]


UNTRUE = (
    Finding("unheld-exit", "error", "/tracks/nowhere", "A train runs away."),
    Finding("arms-out-of-order", "error", "/signals/1", "Arms stand wrongly.", path=("1", "2")),
    Finding("unknown-reference", "error", "/tracks", "Nothing is called x.", path=("x",)),
    Finding("never-heard-of", "error", "/tracks", "Something is wrong."),
)


@pytest.mark.parametrize("untrue", UNTRUE, ids=lambda finding: finding.rule)
def test_an_untrue_finding_is_noticed(untrue: Finding) -> None:
    base, slip = next(slips_of("arms of a bracket swapped"))
    report = said_of(slip)
    outcome = judge(base, "arms of a bracket swapped", slip, report)
    assert outcome is not None
    assert outcome.verdict == "caught"
    lying = report._replace(findings=(*report.findings, untrue))
    outcome = judge(base, "arms of a bracket swapped", slip, lying)
    assert outcome is not None
    assert outcome.verdict == "false"


def test_a_wrong_verdict_is_noticed() -> None:
    base, slip = next(slips_of("arms of a bracket swapped"))
    outcome = judge(base, "arms of a bracket swapped", slip, said_of(slip)._replace(holds=False))
    assert outcome is not None
    assert outcome.verdict == "false"
