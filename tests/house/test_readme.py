"""README.md shows the real output, and the plan in it holds."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

from trappoint.checking.check import check_content
from trappoint.config.settings_file import read_settings

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text("utf-8")


def block(language: str, number: int = 0) -> str:
    found: list[str] = re.findall(rf"```{language}\n(.*?)```", README, re.DOTALL)
    return found[number]


def test_the_finding_is_printed_so() -> None:
    command, _, shown = block("console").partition("\n")
    assert command.startswith("$ trappoint ")
    done = subprocess.run(
        [sys.executable, "-m", "trappoint", *command.split()[2:]],
        cwd=ROOT,
        env={**os.environ, "COLUMNS": "80"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.stdout == shown
    assert done.returncode == 1


def test_the_plan_holds_and_nothing_is_said_of_it() -> None:
    report = check_content(block("json"), "README.md")
    assert report.holds is True
    assert report.findings == ()


def test_the_settings_can_be_used() -> None:
    settings = read_settings(block("toml"), "trappoint.toml")
    assert settings.overlap
    assert len(settings.levels) == 4
    assert len(settings.exclude) == 2
