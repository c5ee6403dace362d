"""Each rule is documented, reports its failing example and accepts its passing example."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from rules.plans import example_files, example_text, patched, with_check
from trappoint.checking.check import check_content
from trappoint.checking.report import FileReport, Report
from trappoint.model.settings import DEFAULTS, Settings
from trappoint.parts.store_reading import read_store
from trappoint.rules import catalogue
from trappoint.rules.catalogue import all_rules
from trappoint.rules.rule import Rule

SAID = Path(__file__).parent / "said"


def ids(rule: Rule) -> str:
    return rule.id


def asked(rule: Rule) -> Settings:
    """Return settings with which a rule runs: an optional rule needs a level."""
    return Settings({rule.id: rule.level}) if rule.optional else DEFAULTS


def report_on(rule: Rule, example: object) -> Report | FileReport:
    """Return the report on an example."""
    if rule.stage == "store":
        found = read_store(example_text(example), rule.id)
        return FileReport(rule.id, None, found.findings, text=found.text or "", of_store=True)
    files = example_files(example)
    return check_content(example_text(example), rule.id, asked(rule), files)


def lines_of(report: Report | FileReport) -> str:
    """Return the whole report as text, one part a line, so that each changed word shows."""
    lines = [f"holds: {report.holds}"]
    for finding in report.findings:
        place = f"{finding.line}:{finding.column}"
        file = f"{finding.file}:" if finding.file else ""
        lines += [
            f"{file}{place} {finding.level} {finding.rule} {finding.message}",
            f"    at   {finding.pointer}",
            f"    why  {finding.why}",
            f"    fix  {finding.fix}",
            f"    path {' '.join(finding.path)}",
        ]
    return "\n".join(lines) + "\n"


def test_merge_patch_follows_the_rfc() -> None:
    """The examples of RFC 7396, appendix A."""
    cases = [
        ({"a": "b"}, {"a": "c"}, {"a": "c"}),
        ({"a": "b"}, {"b": "c"}, {"a": "b", "b": "c"}),
        ({"a": "b"}, {"a": None}, {}),
        ({"a": "b", "b": "c"}, {"a": None}, {"b": "c"}),
        ({"a": ["b"]}, {"a": "c"}, {"a": "c"}),
        ({"a": "c"}, {"a": ["b"]}, {"a": ["b"]}),
        ({"a": {"b": "c"}}, {"a": {"b": "d", "c": None}}, {"a": {"b": "d"}}),
        ({"a": [{"b": "c"}]}, {"a": [1]}, {"a": [1]}),
        (["a", "b"], ["c", "d"], ["c", "d"]),
        ({"a": "b"}, ["c"], ["c"]),
        ({"e": None}, {"a": 1}, {"e": None, "a": 1}),
        ([1, 2], {"a": "b", "c": None}, {"a": "b"}),
        ({}, {"a": {"bb": {"ccc": None}}}, {"a": {"bb": {}}}),
    ]
    for plan, patch, wanted in cases:
        assert patched(plan, patch) == wanted


def test_ids_are_unique_and_are_words() -> None:
    names = [rule.id for rule in all_rules()]
    assert len(names) == len(set(names))
    assert [name for name in names if not re.fullmatch(r"[a-z]+(-[a-z0-9]+)*", name)] == []
    assert [name for name in names if re.search(r"\d\d", name)] == []


@pytest.mark.parametrize("rule", all_rules(), ids=ids)
def test_is_documented(rule: Rule) -> None:
    assert rule.summary
    first = rule.summary.split()[0]
    assert first[0].islower() or first in ("JSON", "NaN")  # it ends a line of a list
    assert len(rule.why) > 20
    assert rule.why.endswith(".")
    assert rule.source


@pytest.mark.parametrize("rule", all_rules(), ids=ids)
def test_speaks_on_its_failing_example(rule: Rule, rewrite: bool) -> None:
    report = report_on(rule, rule.fails)
    assert report.fault is None
    own = [finding for finding in report.findings if finding.rule == rule.id]
    assert own
    assert {finding.level for finding in own} == {rule.level}
    for finding in own:
        assert finding.line > 0
        assert finding.column > 0
        assert finding.why
        assert finding.fix
    said = SAID / f"{rule.id}.txt"
    if rewrite:
        said.parent.mkdir(exist_ok=True)
        said.write_text(lines_of(report), "utf-8")
    assert lines_of(report) == said.read_text("utf-8")


@pytest.mark.parametrize("rule", all_rules(), ids=ids)
def test_is_silent_on_its_passing_example(rule: Rule) -> None:
    report = report_on(rule, rule.passes)
    assert [(finding.rule, finding.message) for finding in report.findings] == []


def test_nothing_is_said_for_rules_that_are_gone() -> None:
    assert {path.stem for path in SAID.glob("*.txt")} == {rule.id for rule in all_rules()}


def test_a_rule_that_fails_is_named_and_the_others_speak(monkeypatch: pytest.MonkeyPatch) -> None:

    def fail(_: object) -> list[object]:
        raise KeyError("siding")

    broken = [
        with_check(rule, fail) if rule.id == "duty-mismatch" else rule
        for rule in catalogue.FACT_RULES
    ]
    monkeypatch.setattr(catalogue, "FACT_RULES", tuple(broken))
    report = check_content(example_text({"signals": {"6": None}}), "broken")
    assert report.fault == "duty-mismatch"
    assert report.holds is None
    assert {finding.rule for finding in report.findings} == {"fault-in-rule", "unheld-exit"}
