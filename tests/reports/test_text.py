"""The text report: verdict first, findings by cause, a screenful, totals, colours."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path
from typing import Any

import pytest

from commands.running import BAD, EXAMPLES, GOOD, flat, plan, trappoint
from trappoint.core.findings import CAUTION_SHORT

pytestmark = pytest.mark.usefixtures("quick")

EXPECTED = Path(__file__).parent / "expected"


def without_signals() -> dict[str, Any]:
    """Return Kelpie Quay without signals."""
    found: dict[str, Any] = json.loads(GOOD)
    del found["signals"]
    return found


def many_findings() -> str:
    """Return Kelpie Quay without signal 6, with wrong beliefs and an extra platform."""
    given = json.loads(BAD)
    for signal in given["signals"].values():
        for arm in signal["arms"]:
            arm["expects"] = {"p1": "normal", "p2": "reverse"}
    given["platforms"]["C"] = {"tracks": ["siding"]}
    return json.dumps(given, indent=2)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "good.layout.json").write_text(GOOD, "utf-8")
    (tmp_path / "bad.layout.json").write_text(BAD, "utf-8")
    (tmp_path / "bare.layout.json").write_text(json.dumps(without_signals()), "utf-8")
    (tmp_path / "many.layout.json").write_text(many_findings(), "utf-8")
    (tmp_path / "broken.layout.json").write_text('{"title": ', "utf-8")
    return tmp_path


def assert_printed(name: str, printed: str, *, rewrite: bool) -> None:
    """Compare output with a file of expected output; ``rewrite`` overwrites the file first."""
    golden = EXPECTED / name
    if rewrite:
        golden.parent.mkdir(exist_ok=True)
        golden.write_text(printed, "utf-8")
    assert printed == golden.read_text("utf-8")


def test_a_folder(folder: Path, rewrite: bool) -> None:
    """Test plans that hold, fail, lack signals, have many findings or are not JSON."""
    done = trappoint("check", ".", cwd=folder)
    assert done.returncode == 1
    assert_printed("folder.txt", done.stdout, rewrite=rewrite)


def test_a_screenful(folder: Path, rewrite: bool) -> None:
    """Test that the first finding of each rule comes before any second finding."""
    done = trappoint("check", "many.layout.json", cwd=folder)
    assert_printed("screenful.txt", done.stdout, rewrite=rewrite)
    lines = done.stdout.partition("\n\n")[2].partition("\nAnd ")[0].splitlines()
    assert 20 < len(lines) <= 40
    headings = re.findall(r"^(error|warning|note) ([a-z-]+)$", done.stdout, re.MULTILINE)
    assert len(set(headings)) == len(headings) > 1
    assert headings == sorted(headings, key=lambda h: ["error", "warning", "note"].index(h[0]))


def test_all_findings(folder: Path, rewrite: bool) -> None:
    """Test that neighbouring findings share one fix, below the last of them."""
    done = trappoint("check", "--all", "many.layout.json", cwd=folder)
    assert_printed("all.txt", done.stdout, rewrite=rewrite)
    short = trappoint("check", "many.layout.json", cwd=folder).stdout
    (left,) = re.findall(r"^And (\d+) more findings: run again with `--all`.$", short, re.MULTILINE)
    places = re.compile(r"^many.layout.json:\d+:\d+$", re.MULTILINE)
    whole = len(places.findall(done.stdout))
    assert len(places.findall(short)) + int(left) == whole
    for form in ("json", "junit", "github", "sarif"):
        machine = trappoint("check", "--format", form, "many.layout.json", cwd=folder).stdout
        assert (
            machine
            == trappoint("check", "--all", "--format", form, "many.layout.json", cwd=folder).stdout
        )
    data = json.loads(trappoint("check", "--format", "json", "many.layout.json", cwd=folder).stdout)
    assert len(data["files"][0]["findings"]) == whole


def test_a_reason_is_printed_once_in_a_run(folder: Path) -> None:
    (folder / "bad2.layout.json").write_text(BAD, "utf-8")
    done = trappoint("check", "bad.layout.json", "bad2.layout.json", cwd=folder)
    assert done.stdout.count("\nerror unheld-exit\n") == 2
    assert done.stdout.count("  why  ") == 1
    assert done.stdout.count("  how  ") == 2
    assert "\n2 plans: 2 do not hold; 2 errors.\n" in done.stdout


def test_totals_count_stores_and_excluded_plans(folder: Path) -> None:
    shutil.copy(EXAMPLES / "kelpie-quay.store.json", folder)
    names = ("good.layout.json", "bad.layout.json", "broken.layout.json", "bare.layout.json")
    words = ("check", *names, "kelpie-quay.store.json", "--exclude", "bare*")
    done = trappoint(*words, cwd=folder)
    assert done.stderr == "trappoint: bare.layout.json is excluded.\n"
    assert flat(done.stdout).endswith(
        "3 plans: 1 holds, 1 does not, 1 cannot be judged; 1 store; 1 excluded; 2 errors. "
        f"{CAUTION_SHORT}"
    )
    quiet = trappoint(*words, "--quiet", cwd=folder)
    assert "plans:" not in quiet.stdout


def test_one_plan_has_no_totals(folder: Path) -> None:
    done = trappoint("check", "good.layout.json", cwd=folder)
    assert "plan:" not in done.stdout
    assert len(done.stdout.splitlines()) == 4


def test_a_plan_without_signals_gets_three_lines(folder: Path) -> None:
    (folder / "a bay.layout.json").write_text(json.dumps(without_signals()), "utf-8")
    done = trappoint("check", "a bay.layout.json", cwd=folder)
    assert done.returncode == 1
    assert done.stdout.splitlines() == [
        "a bay.layout.json does not hold: it has no signals yet.",
        "  Draft them: trappoint propose 'a bay.layout.json'",
        "  9 findings: run again with `--all`.",
        *CAUTION_SHORT.replace(" people", "\npeople").splitlines(),
    ]
    whole = trappoint("check", "--all", "a bay.layout.json", cwd=folder)
    assert whole.stdout.count("a bay.layout.json:1:") == 9
    assert "propose" not in whole.stdout


def test_standard_input_without_signals_names_no_command() -> None:
    given = json.dumps(without_signals()).encode()
    done = trappoint("check", "-", given=given)
    assert done.stdout.splitlines()[:2] == [
        "standard input does not hold: it has no signals yet.",
        "  9 findings: run again with `--all`.",
    ]
    named = trappoint("check", "-", "--stdin-filename", "nowhere.layout.json", given=given)
    assert "propose" not in named.stdout


def test_a_plan_without_signals_and_another_mistake_is_reported_in_full(folder: Path) -> None:
    given = without_signals()
    given["tracks"]["main"]["up"] = "p9.right"
    (folder / "bare.layout.json").write_text(json.dumps(given), "utf-8")
    done = trappoint("check", "bare.layout.json", cwd=folder)
    assert "propose" not in done.stdout
    assert "p9" in done.stdout


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({}, "32"),
        ({"accept": [{"rule": "standstill", "at": "/tracks/main", "because": "x"}]}, "33"),
        ({"scenes": {"noon": {"off": ["1L"]}}}, "31"),
    ],
)
def test_green_is_for_a_plan_with_nothing_to_mend(changes: dict[str, Any], code: str) -> None:
    done = trappoint("check", "--colour", "always", "-", given=plan(**changes).encode())
    verdict = done.stdout.splitlines()[0]
    assert "holds" in verdict
    assert verdict.startswith(f"\x1b[{code}m")
