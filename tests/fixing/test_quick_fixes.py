"""Quick fixes: each, pressed, removes its finding, and leaves the plan without a new error."""

from __future__ import annotations

import json
from collections import Counter
from typing import TYPE_CHECKING

import pytest

from amount import amount, is_long
from rules.plans import example_files, example_text
from service.conftest import EXAMPLES
from slips.running import drawn
from slips.sites import KINDS
from trappoint.checking.check import check_content
from trappoint.fixing.quick_fixes import MAX_FIXES, quick_fixes
from trappoint.laying.steps import lay
from trappoint.rules.catalogue import all_rules

if TYPE_CHECKING:
    from trappoint.checking.report import Report
    from trappoint.core.findings import Finding
    from trappoint.fixing.quick_fixes import QuickFix
    from trappoint.source.files import FilesAtHand

RULES = [rule for rule in all_rules() if rule.stage != "store"]


def pressed(text: str, fix: QuickFix) -> str:
    """Return the text after a fix."""
    assert (fix.step is None) != (fix.text is None)
    return fix.text if fix.text is not None else lay(text, [fix.step or {}]).text


def key_of(finding: Finding) -> tuple[str, str, str]:
    return finding.rule, finding.pointer, finding.message


def fixed(report: Report, files: FilesAtHand | None = None) -> list[str]:
    """Press each fix by itself; return the rules of the findings that they remove."""
    found = []
    for fix in quick_fixes(report):
        finding = report.findings[fix.finding]
        after = check_content(pressed(report.text or "", fix), "plan", files=files)
        assert key_of(finding) not in map(key_of, after.findings), fix
        if report.layout is not None and fix.step is not None:
            errors = {each.rule for each in after.findings if each.level == "error"}
            assert errors <= {each.rule for each in report.findings}, fix
        assert fix.label[0].isupper()
        assert not fix.label.endswith(".")
        found.append(finding.rule)
    return found


def test_the_examples_of_all_rules() -> None:
    rules = Counter[str]()
    for rule in RULES:
        text, files = example_text(rule.fails), example_files(rule.fails)
        rules.update(fixed(check_content(text, "plan", files=files), files))
    assert len(rules) >= 30, rules


def test_the_slips_that_are_shipped() -> None:
    names = Counter[bool]()
    for path in sorted((EXAMPLES / "slips").glob("*.layout.json")):
        names[bool(fixed(check_content(path.read_bytes(), path.name)))] += 1
    assert names[True] > 2 * names[False]


@pytest.mark.parametrize("name", ["kelpie-quay", *(["selkie-harbour"] if is_long() else [])])
def test_slips_at_random(name: str) -> None:
    """One slip of each kind that people make, and more with ``--long``."""
    plan = json.loads((EXAMPLES / f"{name}.layout.json").read_text("utf-8"))
    rules = Counter[str]()
    for kind in KINDS:
        for slip in drawn(name, plan, kind, amount(1, long=20)):
            text = json.dumps(slip.plan, indent=2)
            rules.update(fixed(check_content(text, "plan")))
    assert len(rules) >= 5, rules


def test_a_plan_without_findings_has_no_fixes() -> None:
    assert quick_fixes(check_content((EXAMPLES / "kelpie-quay.layout.json").read_bytes(), "")) == []


def test_their_number_has_a_limit() -> None:
    tracks = ",".join(f'"t{n}": {{"up": "edge:a{n}", "down": "bufer"}}' for n in range(200))
    report = check_content(f'{{"format": "trappoint-layout/1", "tracks": {{{tracks}}}}}', "")
    assert len(report.findings) >= 200
    assert len(quick_fixes(report)) == MAX_FIXES
