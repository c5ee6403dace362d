"""The page to build on, for the plans of a folder: open, save, merge, conflict."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from service.building import DESK, text_of, type_after
from service.conftest import FEW, Watched

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Browser, Page

EXAMPLES = Path(__file__).parents[2] / "examples"
NAME = "quay.layout.json"


@pytest.fixture
def opened(tmp_path: Path, browser: Browser, kelpie: bytes) -> Iterator[Page]:
    """The page with the plan of a folder, which `tmp_path` is."""
    (tmp_path / NAME).write_bytes(kelpie)
    words = [sys.executable, "-m", "trappoint", "serve", "--port", "0", str(tmp_path)]
    env = {**os.environ, **{f"TRAPPOINT_SERVE_{name}": value for name, value in FEW.items()}}
    process = subprocess.Popen(
        words, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, env=env
    )
    assert process.stdout is not None
    found = re.search(r"http://\S+/", process.stdout.readline())
    assert found is not None
    one = Watched(browser.new_context(**DESK), found[0].rstrip("/"))  # type: ignore[arg-type]
    try:
        page = one.go(f"/build?file={NAME}")
        page.wait_for_selector("svg.trappoint-diagram .place", state="attached")
        yield page
    finally:
        one.context.close()
        process.terminate()
        process.wait(20)
        process.stdout.close()
    expected = "the server responded with a status of 409 (CONFLICT)"
    assert [trouble for trouble in one.troubles if expected not in trouble] == []


def wait_saved(page: Page, state: str = "saved", name: str = NAME) -> None:
    page.wait_for_function(
        "words => document.querySelector('[data-saved]').textContent === words",
        arg=f"{name}: {state}",
    )


def test_saving_merging_conflicts_and_another_name(opened: Page, tmp_path: Path) -> None:
    page, file = opened, tmp_path / NAME
    wait_saved(page)
    type_after(page, '"title": "', "New ")
    wait_saved(page, "not saved yet")
    page.keyboard.press("Control+s")
    wait_saved(page)
    assert '"title": "New Kelpie Quay"' in file.read_text()

    # The file changes elsewhere, and the page changes another place: both are kept.
    file.write_text(file.read_text().replace('"length_mm": 610', '"length_mm": 666'))
    type_after(page, '"title": "', "Very ")
    page.keyboard.press("Control+s")
    page.wait_for_selector("[data-note=save]")
    assert "Both are merged and saved." in page.inner_text("[data-note=save]")
    for text in (file.read_text(), text_of(page)):
        assert '"title": "Very New Kelpie Quay"' in text
        assert '"length_mm": 666' in text

    # Both change the same place: nothing is written, and both are offered.
    file.write_text(file.read_text().replace("Very New", "Rather Old"))
    type_after(page, '"title": "', "Most ")
    page.keyboard.press("Control+s")
    page.wait_for_function(
        "() => document.querySelector('[data-note=save]').textContent.includes('Nothing was saved')"
    )
    assert "Rather Old Kelpie Quay" in file.read_text()
    assert "Most Very New Kelpie Quay" in text_of(page)
    page.click("[data-note=save] button:has-text('Write this text over the file')")
    wait_saved(page)
    assert "Most Very New Kelpie Quay" in file.read_text()

    # Changes that were not saved come back, and another name makes another file.
    (tmp_path / "clubs").mkdir()
    type_after(page, '"title": "', "Unsaved ")
    page.wait_for_function(
        "() => Object.values(localStorage).some(own => own.includes('Unsaved Most'))"
    )
    page.goto(page.url.split("#")[0])
    page.wait_for_selector("[data-note=draft]")
    assert "not saved yet are shown" in page.inner_text("[data-note=draft]")
    assert "Unsaved Most Very New Kelpie Quay" in text_of(page)
    page.fill("[data-save-as]", "clubs/copy")
    page.click("text=Save under this name")
    page.wait_for_function(
        "() => document.querySelector('[data-saved]').textContent.endsWith(': saved')"
    )
    assert (
        "Unsaved Most Very New Kelpie Quay" in (tmp_path / "clubs" / "copy.layout.json").read_text()
    )
    assert "Unsaved" not in (tmp_path / NAME).read_text()


def test_a_plan_of_a_folder_comes_with_its_boards(opened: Page, tmp_path: Path) -> None:
    shutil.copytree(EXAMPLES / "nixie-vale", tmp_path / "vale")
    opened.goto(opened.url.split("?")[0] + "?file=vale/autumn.layout.json")
    opened.wait_for_selector("svg.trappoint-diagram .place", state="attached")
    opened.wait_for_function(
        "() => document.querySelector('[data-board-list]').textContent"
        ".includes('Open boards/fiddle-yard.layout.json')"
    )
    assert opened.inner_text("[data-verdict]").startswith("HOLDS")
    # Signals are proposed in the plan of each board.
    opened.click("[data-propose]")
    opened.click("[data-proposals] >> text=Open boards/fiddle-yard.layout.json")
    wait_saved(opened, name="vale/boards/fiddle-yard.layout.json")


def test_a_plan_put_together_from_boards_on_the_page(opened: Page, tmp_path: Path) -> None:
    """Plans of the folder become boards of a new plan, are joined, and saved with it."""
    boards = EXAMPLES / "nixie-vale" / "boards"
    for board in ("brook-siding", "nixie-town"):
        shutil.copy(boards / f"{board}.layout.json", tmp_path)
    opened.goto(opened.url.split("?")[0] + "#")
    opened.reload()
    opened.click("[data-first] .act")
    opened.click("[data-boards-box] > summary")
    opened.locator("[data-board-names] option").nth(2).wait_for(state="attached")
    opened.select_option("[data-board-names]", "brook-siding.layout.json")
    opened.click("[data-add-board]")
    opened.wait_for_selector("[data-track='brook-siding/west']", state="attached")
    opened.set_input_files("#build-boards", boards / "hob-crossing.layout.json")
    opened.wait_for_selector("[data-track^='hob-crossing/']", state="attached")
    opened.click("[data-offers] summary:has-text('Boards')")
    opened.click("[data-offers] >> text=Join two edges of boards")
    opened.wait_for_function(
        "() => document.querySelector('#build-text').value.includes('\"joins\"')"
    )
    opened.fill("[data-save-as]", "meet")
    opened.press("[data-save-as]", "Enter")
    wait_saved(opened, name="meet.layout.json")
    opened.wait_for_selector("[data-note=boards]")
    assert "hob-crossing.layout.json is saved too." in opened.inner_text("[data-note=boards]")
    saved = tmp_path / "hob-crossing.layout.json"
    assert saved.read_bytes() == (boards / saved.name).read_bytes()
    plan = json.loads((tmp_path / "meet.layout.json").read_text("utf-8"))
    assert list(plan["boards"]) == ["brook-siding", "hob-crossing"]
    assert len(plan["joins"]) == 1
