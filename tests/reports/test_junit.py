"""Test results in XML, read back by an independent library."""

from __future__ import annotations

import json
from pathlib import Path
from xml.etree import ElementTree

import pytest
from junitparser import Failure, JUnitXml, Skipped, TestCase, TestSuite

from commands.running import BAD, GOOD, ROOT, plan, trappoint
from trappoint.core.findings import CAUTION_SHORT

pytestmark = pytest.mark.usefixtures("quick")


def suites(text: str) -> list[TestSuite]:
    """Return the suites of an XML text; assert that their counts are right."""
    found = list(JUnitXml.fromstring(text.encode("ascii")))
    for suite in found:
        counted = (suite.tests, suite.failures, suite.errors, suite.skipped)
        suite.update_statistics()  # type: ignore[no-untyped-call]
        assert counted == (suite.tests, suite.failures, suite.errors, suite.skipped)
    return found


def failed(case: TestCase) -> bool:
    return any(isinstance(result, Failure) for result in case.result)


def check(*words: str, given: str) -> tuple[int, TestSuite]:
    done = trappoint("check", "--format", "junit", *words, "-", given=given.encode())
    (suite,) = suites(done.stdout)
    return done.returncode, suite


def test_one_suite_for_each_plan_and_one_test_for_each_finding() -> None:
    own = json.loads(trappoint("check", "--format", "json", "examples", cwd=ROOT).stdout)["files"]
    done = trappoint("check", "--format", "junit", "examples", cwd=ROOT)
    assert done.returncode == 1
    found = suites(done.stdout)
    root = ElementTree.fromstring(done.stdout)  # noqa: S314 - it comes from this program
    said = [out.text or "" for out in root.iterfind("*/system-out")]
    assert all(CAUTION_SHORT in text for text in said)
    assert len(said) == len(own)
    assert [suite.name for suite in found] == [file["file"] for file in own]
    for suite, file in zip(found, own, strict=True):
        errors = [f for f in file["findings"] if f["level"] == "error"]
        assert suite.failures == len(errors)
        # Accepted findings are skipped tests; the JSON report leaves them out.
        assert suite.tests - suite.skipped == len(file["findings"]) + (not errors)
        told = [case for case in suite if failed(case)]
        assert [case.result[0].type for case in told] == [f["rule"] for f in errors]
        assert [case.result[0].message for case in told] == [f["message"] for f in errors]
        told_of = suite.properties()  # type: ignore[no-untyped-call]
        holds = {known.name: known.value for known in told_of}["holds"]
        assert holds == {True: "true", False: "false", None: "unknown"}[file["holds"]]


def test_a_plan_without_findings_is_a_test_that_passed() -> None:
    code, suite = check(given=GOOD)
    assert (code, suite.tests, suite.failures) == (0, 1, 0)


def test_the_place_is_told() -> None:
    _, suite = check(given=BAD)
    (case,) = suite
    assert case.name == "unheld-exit at /tracks/siding/up"
    number = 1 + next(n for n, line in enumerate(BAD.splitlines()) if '"siding":' in line)
    assert case.result[0].text.startswith(f"standard input:{number}:22 error unheld-exit\n")
    assert "How they meet:" in case.result[0].text


@pytest.mark.parametrize(("floor", "failures"), [("error", 0), ("warning", 1), ("note", 1)])
def test_failures_are_what_the_exit_code_is_about(floor: str, failures: int) -> None:
    text = plan(accept=[{"rule": "unheld-exit", "at": "siding", "because": "gone"}])
    code, suite = check("--fail-on", floor, given=text)
    assert (code, suite.failures) == (failures, failures)


def test_what_is_accepted_or_known_is_left_out(tmp_path: Path) -> None:
    signals = {k: v for k, v in json.loads(GOOD)["signals"].items() if k not in ("3", "6")}
    entry = {"rule": "unheld-exit", "at": "siding", "because": "x"}
    path = tmp_path / "a.layout.json"
    path.write_text(plan(signals=signals, accept=[entry]), "utf-8")
    base = tmp_path / "base.json"
    trappoint("check", "--write-baseline", base, path)
    done = trappoint("check", "--format", "junit", "--baseline", base, path)
    assert done.returncode == 0
    (suite,) = suites(done.stdout)
    left_out = [case for case in suite if any(isinstance(r, Skipped) for r in case.result)]
    assert len(left_out) == suite.skipped >= 2
    told = " ".join(case.result[0].message for case in left_out)
    assert "accepted by the plan itself" in told
    assert "known from the baseline" in told


def test_odd_signs_are_still_xml(tmp_path: Path) -> None:
    """Test names with markup, quotes and characters that XML forbids."""
    name = 'a<b>&"c"\n\x01\u2028d.layout.json'
    (tmp_path / name).write_text(plan(**{"<&\u0001\"']]>": 1}), "utf-8")
    done = trappoint("check", "--format", "junit", name, cwd=tmp_path)
    assert done.returncode == 1
    (suite,) = suites(done.stdout)
    assert suite.name == 'a<b>&"c"\n\\x01\u2028d.layout.json'
    assert suite.failures == 1


def test_no_file_is_still_xml() -> None:
    done = trappoint("check", "--format", "junit", "nowhere.layout.json")
    assert done.returncode == 2
    assert suites(done.stdout) == []
