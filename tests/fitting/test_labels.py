"""Labels to stick on: their words, and their sizes on paper in a real browser."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from trappoint.checking.check import check_content
from trappoint.cli import main
from trappoint.core.findings import CAUTION_FITTING
from trappoint.fitting.sheet import FittingSheet, derive_sheet
from trappoint.reporting.fitting_words import label_words
from trappoint.reporting.labels_html import LabelSize, render_labels

if TYPE_CHECKING:
    from playwright.sync_api import Browser

EXAMPLES = Path(__file__).parents[2] / "examples"
PER_MM = 96 / 25.4
"""CSS pixels in a millimetre, by definition."""


def sheet_of(name: str) -> FittingSheet:
    report = check_content((EXAMPLES / f"{name}.layout.json").read_text("utf-8"), "plan")
    assert report.facts is not None and report.table is not None
    return derive_sheet(report.facts, report.table, name)


def test_each_signal_arm_and_lever_has_a_label() -> None:
    plan = json.loads((EXAMPLES / "selkie-harbour.layout.json").read_text("utf-8"))
    labels = label_words(sheet_of("selkie-harbour"))
    expected = []
    for name, signal in plan["signals"].items():
        arms = [arm["id"] for arm in signal["arms"]]
        expected += [name] if arms == [name] else [name, *arms]
    expected += [f"Lever {number}" for number in sorted(plan["levers"], key=int)]
    assert [label.large for label in labels] == expected
    words = dict(labels)
    assert words["1"] == ("Down distant", "post, lever 1")
    assert words["3"] == ("Down homes", "gantry")
    assert words["3BC"] == ("Down homes (3)", "calling-on, doll 3", "gantry, lever 6")
    assert words["Lever 9"] == ("Scissors, arrivals", "points x1, x2")


SEEN = """() => [...document.querySelectorAll('.labels div')].map((each) => {
  const box = each.getBoundingClientRect();
  return [box.left, box.top, box.width, box.height, each.scrollWidth - each.clientWidth,
          each.scrollHeight - each.clientHeight];
})"""


@pytest.mark.parametrize("size", [LabelSize(45, 20), LabelSize(30, 14), LabelSize(63.5, 38.1)])
def test_labels_have_their_size_and_hold_their_words(browser: Browser, size: LabelSize) -> None:
    sheet = sheet_of("selkie-harbour")
    made = render_labels(sheet, size)
    page = browser.new_page(viewport={"width": round(190 * PER_MM), "height": 1000})
    try:
        page.emulate_media(media="print")
        page.set_content(made.page)
        seen: list[list[float]] = page.evaluate(SEEN)
    finally:
        page.close()
    assert not made.too_long and len(seen) == len(label_words(sheet))
    rows: dict[float, int] = {}
    for _, top, width, height, over, below in seen:
        assert width == pytest.approx(size.width * PER_MM, abs=0.1)
        assert height == pytest.approx(size.height * PER_MM, abs=0.1)
        assert over <= 0 and below <= 0
        rows[round(top)] = rows.get(round(top), 0) + 1
    assert max(rows.values()) == 190 // size.width


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = main(["fitting", str(EXAMPLES / "kelpie-quay.layout.json"), *words])
    said = capsys.readouterr()
    return code, said.out, said.err


def test_the_command_prints_labels(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(capsys, "--labels")
    assert (code, err) == (0, "") and "45 mm by 20 mm each" in out and CAUTION_FITTING in out
    assert out.count("<b>") == 13  # seven signals, and six arms on brackets
    code, out, err = run(capsys, "--labels", "12x6")
    assert code == 0 and "do not fit: give a larger size" in err


@pytest.mark.parametrize("text", ["45", "45x", "200x20", "45x300", "5x20", "axb", "1e3x20"])
def test_other_sizes_are_refused(text: str, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(capsys, "--labels", text)
    assert (code, out) == (2, "") and "--labels 45x20" in err


def test_markup_in_names_is_only_text(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    plan: dict[str, Any] = json.loads((EXAMPLES / "kelpie-quay.layout.json").read_text("utf-8"))
    plan["signals"]["2"]["name"] = "<b>Home</b>"
    file = tmp_path / "plan.layout.json"
    file.write_text(json.dumps(plan), "utf-8")
    assert main(["fitting", str(file), "--labels"]) == 0
    assert "&lt;b&gt;Home" in capsys.readouterr().out
