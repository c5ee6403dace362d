"""The walk of EVENING.md on the command line, in a fresh folder: what it prints and makes."""

from __future__ import annotations

import re
import shutil
from typing import TYPE_CHECKING

import pytest

import trappoint
from examples.consoles import check, commands, run, saved
from examples.folder import EVENING, EXAMPLES, PICTURES, PLAN, compare

if TYPE_CHECKING:
    from pathlib import Path

PAGE = EXAMPLES / "EVENING.md"
TEXT = PAGE.read_text("utf-8")
STORE = "drawer.store.json"
MOST_BYTES = 120_000
"""A screenshot is smaller."""

pytest.importorskip("highspy")


def test_the_page_shows_the_files_that_it_says_to_save() -> None:
    assert len(saved(TEXT)) == 3
    for name, text in saved(TEXT).items():
        assert (EVENING / name).read_text("utf-8") == text


def test_the_commands_print_and_make_what_the_page_shows(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    rewrite: bool,
) -> None:
    """Each command in its order; each file that they make is beside the page."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    for name, text in saved(TEXT).items():
        (tmp_path / name).write_text(text, "utf-8")
    shutil.copy(EVENING / STORE, tmp_path)
    printed = run(TEXT, capsys)
    assert {own.command.split()[1] for own in printed} == {
        "new", "draw", "check", "propose", "parts", "fitting", "chart", "session",
    }  # fmt: skip
    check(PAGE, TEXT, printed, rewrite=rewrite)
    for made in tmp_path.iterdir():
        kept = (PICTURES if made.suffix == ".svg" else EVENING) / made.name
        compare(kept, made.read_text("utf-8"), rewrite=rewrite)
    assert {path.name for path in EVENING.iterdir()} == {
        path.name for path in tmp_path.iterdir() if path.suffix != ".svg"
    }


def test_the_plan_holds_and_has_no_findings() -> None:
    report = trappoint.check(EVENING / f"spriggan-end{PLAN}")
    assert report.holds is True
    assert report.findings == ()


def test_each_picture_of_the_page_is_small_and_there() -> None:
    shown = re.findall(r"!\[[^\]]{20,}\]\(pictures/([\w.-]+)\)", TEXT)
    assert len(shown) == TEXT.count("](pictures/") == 7
    made = {own.split()[-1] for own, _ in commands(TEXT) if " draw " in own}
    assert {name for name in shown if name.endswith(".svg")} == made
    assert all((PICTURES / name).stat().st_size < MOST_BYTES for name in shown)
