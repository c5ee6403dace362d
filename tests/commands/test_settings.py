"""The commands use the settings that lie beside a plan, and refuse those that cannot be used."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.usefixtures("quick")

ROOT = Path(__file__).parents[2]
PLAN = (ROOT / "examples" / "kelpie-quay.layout.json").read_text("utf-8")


def run(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "trappoint", *words],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
        input=PLAN,
    )


def club(folder: Path, settings: str) -> Path:
    (folder / "plans").mkdir()
    (folder / "plans" / "quay.layout.json").write_text(PLAN, "utf-8")
    (folder / "trappoint.toml").write_text(settings, "utf-8")
    return folder


def test_a_rule_of_practice_speaks_where_it_is_asked(tmp_path: Path) -> None:
    club(tmp_path, '[levels]\nsiding-without-trap = "error"\n')
    done = run(tmp_path, "check", "--format", "json", "plans")
    assert done.returncode == 1
    (file,) = json.loads(done.stdout)["files"]
    assert [(f["rule"], f["level"]) for f in file["findings"]] == [("siding-without-trap", "error")]
    assert file["holds"] is True
    assert run(tmp_path, "check", "-").returncode == 1


def test_the_choice_of_overlap_reaches_the_table(tmp_path: Path) -> None:
    club(tmp_path, "[choices]\noverlap = true\n")
    done = run(tmp_path, "table", "--format", "json", "plans/quay.layout.json")
    assert done.returncode == 0
    assert json.loads(done.stdout)["pairs"]["conflicting"] > 20


def test_settings_that_can_not_be_used_are_named(tmp_path: Path) -> None:
    club(tmp_path, "[levels]\nunheld-exit = 'off'\n")
    for words in (["check", "plans"], ["table", "plans/quay.layout.json"], ["check", "-"]):
        done = run(tmp_path, *words)
        assert done.returncode == 2, words
        assert "trappoint.toml: the level of unheld-exit cannot be changed" in done.stderr
        assert "Traceback" not in done.stderr
