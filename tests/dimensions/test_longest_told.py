"""Every output with a verdict prints the longest train."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from commands.in_process import trappoint
from commands.running import KELPIE, plan
from commands.running import trappoint as in_own_process
from dimensions.test_longest import kelpie, report
from trappoint.drawing.chart import write_chart
from trappoint.reporting import wording

SAID = "holds, for trains up to 610 mm (siding): no two trains can be brought together"
BARE = kelpie(*({"tracks": {t: {"length_mm": None}}} for t in kelpie()["tracks"]))


def flat(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("form", ["text", "sarif", "junit", "github"])
def test_the_check_says_it(form: str) -> None:
    assert SAID in flat(trappoint("check", KELPIE, "--format", form).stdout)


def test_so_it_does_where_several_plans_are_checked_at_once(tmp_path: Path) -> None:
    plain = tmp_path / "plain.layout.json"
    plain.write_text(json.dumps(BARE), "utf-8")
    for jobs in ("1", "2"):
        done = in_own_process("check", KELPIE, plain, "--jobs", jobs, "--format", "json")
        files = json.loads(done.stdout)["files"]
        assert [file["holds"] for file in files] == [True, True]
        assert {Path(file["file"]).name: file["longest_train_mm"] for file in files} == {
            "kelpie-quay.layout.json": 610,
            "plain.layout.json": None,
        }
        said = flat(in_own_process("check", KELPIE, plain, "--jobs", jobs).stdout)
        assert SAID in said
        assert "plain.layout.json holds: no two trains can be brought together" in said


def test_a_plan_that_does_not_hold_or_cannot_be_read_has_none() -> None:
    failing = json.dumps(kelpie({"signals": {"6": None}}))
    for text in (failing, "{"):
        done = trappoint("check", "-", "--format", "json", given=text.encode())
        (file,) = json.loads(done.stdout)["files"]
        assert file["longest_train_mm"] is None
    assert "for trains" not in trappoint("check", "-", given=failing.encode()).stdout


@pytest.mark.parametrize("form", ["text", "markdown", "html"])
def test_the_table_says_it(form: str) -> None:
    assert f"This plan {SAID}" in flat(trappoint("table", KELPIE, "--format", form).stdout)
    done = trappoint("table", "-", "--format", form, given=json.dumps(BARE).encode())
    assert "This plan holds: no two trains can be brought together" in flat(done.stdout)


def test_the_chart_and_the_fitting_sheet_say_it() -> None:
    assert f"This plan {SAID}" in flat(write_chart(report(kelpie())))
    assert f"This plan {SAID}" in flat(trappoint("fitting", KELPIE).stdout)


def test_the_words() -> None:
    found = report(kelpie({"tracks": {"siding": {"length_mm": None}, "loop-west": {"name": "x"}}}))
    assert wording.verdict_of(found).startswith("holds, for trains up to 900 mm (loop-west): ")
    long = {t: {"length_mm": 12_000} for t in kelpie()["tracks"]}
    found = report(kelpie({"tracks": long}))
    assert wording.verdict_of(found).startswith("holds, for trains up to 12,000 mm (town-line): ")


def modules(text: str, tmp_path: Path) -> set[str]:
    """Return the modules that a check of a plan imports, in a new process."""
    file = tmp_path / "plan.layout.json"
    file.write_text(text, "utf-8")
    program = (
        f"from trappoint.cli import main\nmain(['check', {str(file)!r}])\n"
        "import sys\nprint('\\n' + ' '.join(sys.modules))"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    return {m for m in done.stdout.splitlines()[-1].split() if m.startswith("trappoint.dimensions")}


def test_what_is_not_needed_is_not_imported(tmp_path: Path) -> None:
    assert modules(json.dumps(BARE), tmp_path) == set()
    light = {
        f"trappoint.{name}" for name in ("dimensions", "dimensions.borders", "dimensions.longest")
    }
    assert modules(plan(), tmp_path) == light
