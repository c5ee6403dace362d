"""Figures are kept over time, and the pages show those that are kept."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from bench.figures import FILE, Run, append, by_rows, newest, read, this_run
from bench.measuring import Figure
from bench.pages import MAIN, PARTS, draw, draw_pages, short_page

if TYPE_CHECKING:
    from pathlib import Path

OLD = Run("2026-01-01 10:00", "abc1234", "2 cores (x86_64) Linux", "CPython 3.11.7", "0.1")
NEW = OLD._replace(date="2026-01-02 10:00", commit="def5678")


def cold(ours: float) -> list[Figure]:
    from bench.cold import BARE, LIBRARY, OURS

    return [
        Figure(f"{row} / {column}", value, "ms")
        for row, value in ((BARE, 10.0), (LIBRARY, 100.0), (OURS, ours))
        for column in ("median", "least")
    ]


def test_the_pages_show_the_figures_that_are_kept() -> None:
    for page, text in draw_pages(read(FILE)).items():
        assert page.read_text("utf-8") == text, f"run python -m bench --draw for {page.name}"


def test_every_part_has_figures_and_every_main_figure_follows_from_them() -> None:
    history = read(FILE)
    for part in PARTS:
        found = newest(history, part)
        assert found is not None
        assert all(main.of(found[1]) > 0 for main in MAIN if main.part == part)


def test_every_kept_figure_is_whole() -> None:
    lines = FILE.read_text("utf-8").splitlines()
    assert lines[0] == "date,commit,machine,python,load,part,name,value,unit"
    kept = sum(len(found) for parts in read(FILE).values() for found in parts.values())
    assert kept == len(lines) - 1, "a name stands twice in one part of a run"


def test_runs_are_appended(tmp_path: Path) -> None:
    file = tmp_path / "figures.csv"
    append(file, OLD, {"cold": cold(80.0), "many": [Figure("plans", 200, "plans")]})
    before = file.read_text("utf-8")
    append(file, NEW, {"cold": cold(90.123456)})
    assert file.read_text("utf-8").startswith(before)
    history = read(file)
    assert list(history) == [OLD, NEW]
    assert newest(history, "many") == (OLD, {"plans": 200.0})
    found = newest(history, "cold")
    assert found is not None
    assert found[0] == NEW
    assert by_rows(found[1])["`trappoint check`, 40 points"] == {"median": 90.12, "least": 90.12}
    assert newest(history, "warm") is None


def test_the_short_page_shows_how_figures_moved(tmp_path: Path) -> None:
    file = tmp_path / "figures.csv"
    for run, ours in ((OLD, 80.0), (NEW, 90.0)):
        append(file, run, {"cold": cold(ours)})
    lines = "".join(short_page(read(file))).splitlines()
    assert lines[0] == "|  | aim | 2026-01-02 def5678 | 2026-01-01 abc1234 |"
    assert lines[3] == "| cold check beyond bare Python, ms | 100 | 80 | 70 |"
    assert lines[4] == "| cold check beside `import jsonschema` | 2.5 | 0.9 | 0.8 |"
    assert lines[-1] == "| checks served in a second |  |  |  |"


def test_what_is_around_the_tables_stays(tmp_path: Path) -> None:
    page = tmp_path / "page.md"
    marks = ("<!-- drawn by `python -m bench --draw` -->\n", "<!-- drawn so far -->\n")
    page.write_text(f"Before.\n{marks[0]}Old.\n{marks[1]}After.\n", "utf-8")
    assert draw(page, iter(["New.\n"])) == f"Before.\n{marks[0]}\nNew.\n\n{marks[1]}After.\n"
    page.write_text("Without marks.\n", "utf-8")
    with pytest.raises(ValueError, match=r"page\.md lacks the marks"):
        draw(page, iter([]))


def test_tables_of_one_part_are_kept_apart() -> None:
    found = {"time / read / 10": 1.0, "memory / read / 10": 2.0, "limit": 60.0}
    assert by_rows(found, "time") == {"read": {"10": 1.0}}
    assert by_rows(found, "memory") == {"read": {"10": 2.0}}


def test_a_run_says_when_and_of_what_it_is() -> None:
    run = this_run()
    assert run.date[:2] == "20"
    assert run.commit
    assert "CPython" in run.python
