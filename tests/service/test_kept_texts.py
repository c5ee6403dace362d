"""What a member types stays in his browser, and the text shows where the findings are."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

import pytest

from service.conftest import EXAMPLES, Watched

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

Open = Callable[..., Watched]
SAID = "This is what you typed here"
KEYS = "Object.keys(localStorage).filter(key => key.startsWith('trappoint-text-')).length"


@pytest.fixture
def window(browser: Browser, address: str) -> Iterator[Callable[[str], Page]]:
    """Opens windows of one browser."""
    context = browser.new_context()
    troubles: list[str] = []

    def open_window(path: str = "/") -> Page:
        page = context.new_page()
        page.on("pageerror", lambda error: troubles.append(str(error)))
        page.goto(address + path)
        return page

    yield open_window
    context.close()
    assert troubles == []


def write(page: Page, text: str) -> None:
    page.fill("#plan-text", text)
    page.wait_for_selector("[data-draft]:visible")


def restored(page: Page) -> str:
    page.wait_for_selector(f"text={SAID}")
    return page.input_value("#plan-text")


def test_a_text_outlives_reloads_and_windows(window: Callable[..., Page], kelpie: bytes) -> None:
    page = window()
    write(page, "typed at length")
    page.reload()
    assert restored(page) == "typed at length"
    page.fill("#plan-text", "")  # an empty form overwrites nothing
    page.reload()
    assert restored(page) == "typed at length"
    page.fill("#plan-text", kelpie.decode())
    page.click("text=Check this plan")
    page.wait_for_selector(".verdict")
    assert page.locator("[data-draft]").is_hidden()
    write(page, "{}")  # edited on the page of the answer
    page.click("text=Rules")
    page.click("text=Check a plan")
    assert restored(page) == "{}"
    page.close()
    page = window()
    assert restored(page) == "{}"
    page.click("text=Begin with an empty form")
    assert page.input_value("#plan-text") == ""
    assert page.locator(".drafts li").count() == 1
    page.reload()
    page.wait_for_selector(".drafts li")
    assert page.input_value("#plan-text") == ""
    page.click(".drafts >> text=Open")
    assert restored(page) == "{}"
    page.click("text=Forget it")
    assert page.evaluate(KEYS) == 0
    assert "no longer kept" in page.inner_text("[data-draft]")


def test_no_window_overwrites_the_text_of_another(window: Callable[..., Page]) -> None:
    one = window()
    write(one, "first")
    two = window()
    two.wait_for_selector(".drafts li")
    assert two.input_value("#plan-text") == ""  # the other window has it open
    two.click(".drafts >> text=Open")
    write(two, "second")
    two.wait_for_function("() => JSON.stringify(localStorage).includes('second')")
    one.fill("#plan-text", "third")
    one.wait_for_function("() => JSON.stringify(localStorage).includes('third')")
    kept = one.evaluate("JSON.stringify(localStorage)")
    assert "second" in kept and "third" in kept
    assert one.evaluate(KEYS) == 2


def test_back_brings_an_edited_answer(window: Callable[..., Page], kelpie: bytes) -> None:
    page = window("/examples/kelpie-quay")
    edited = kelpie.decode().replace("Kelpie Quay", "Selkie Quay")
    write(page, edited)
    page.click("text=Rules")
    page.go_back()
    assert page.input_value("#plan-text") == edited
    page.reload()
    assert restored(page) == edited
    page.click("text=Show the text of this page instead")
    assert page.input_value("#plan-text") == kelpie.decode()


def test_a_chosen_file_and_an_edited_text(watched: Open, kelpie: bytes, unheld: bytes) -> None:
    one = watched()
    page = one.check(kelpie)
    page.fill("#plan-text", unheld.decode())
    page.set_input_files("#plan-file", EXAMPLES / "pixie-ring.layout.json")
    page.get_by_role("button", name="Check again").click()
    page.click("text=Check the text")
    page.wait_for_selector(".verdict.fails")
    one.troubles[:] = [told for told in one.troubles if "409" not in told]


def test_the_text_shows_the_lines_of_findings(watched: Open, unheld: bytes) -> None:
    page = watched().check(unheld)
    chosen = "(text => text.value.slice(text.selectionStart, text.selectionEnd))"
    line = unheld.decode().split("\n")[10]
    page.click(".finding .text")
    assert page.evaluate(f"{chosen}(document.activeElement)") == line
    assert page.inner_text(".line-says").startswith("Line 11: Nothing stops a train in siding")
    assert "pointed" in (page.get_attribute(".track[data-track='siding']", "class") or "")
    assert page.locator("#text").is_hidden()
    assert page.inner_text(".gutter .marked.error") == "11"
    page.evaluate("document.querySelector('#plan-text').setSelectionRange(2, 2)")
    page.keyboard.press("Enter")
    page.keyboard.press("Enter")
    assert page.inner_text(".gutter .marked.error") == "13"
    page.click(".finding [data-line]")
    assert page.evaluate(f"{chosen}(document.activeElement)") == line
    aligned = """() => {
        const text = document.querySelector("#plan-text");
        const mark = document.querySelector(".gutter .marked").getBoundingClientRect();
        const high = parseFloat(getComputedStyle(text).lineHeight);
        const first = parseFloat(getComputedStyle(text).paddingTop) + 12 * high;
        return Math.abs(mark.top - text.getBoundingClientRect().top - first + text.scrollTop);
    }"""
    assert page.evaluate(aligned) < 1.5
    page.evaluate("document.querySelector('#plan-text').scrollTop = 100")
    page.wait_for_timeout(60)
    assert page.evaluate(aligned) < 1.5
    page.evaluate(
        """() => {
            const text = document.querySelector("#plan-text");
            text.value += "\\n".repeat(5000);
            text.dispatchEvent(new Event("input", { bubbles: true }));
        }"""
    )
    assert 10 < page.locator(".gutter span").count() < 100


def test_a_finding_in_a_board_leads_to_the_text_of_the_board(watched: Open) -> None:
    page = watched().go()
    meet = EXAMPLES / "nixie-vale"
    town = (meet / "boards" / "nixie-town.layout.json").read_text("utf-8")
    wrong = town.replace('"id": "HD"', '"id": "HX"', 1)  # a lever still works HD
    others = [path for path in (meet / "boards").iterdir() if "town" not in path.name]
    files = [(path.name, path.read_bytes()) for path in (meet / "autumn.layout.json", *others)]
    page.set_input_files(
        "#plan-file",
        [
            {"name": name, "mimeType": "application/json", "buffer": content}
            for name, content in (*files, ("nixie-town.layout.json", wrong.encode()))
        ],
    )
    page.click("text=Check this plan")
    page.wait_for_selector(".verdict")
    link = page.locator(".finding [data-board='nixie-town.layout.json']").first
    assert link.inner_text().startswith("nixie-town.layout.json, line ")
    link.click()
    focused = "[document.activeElement.dataset.editor, String(getSelection())]"
    board, chosen = page.evaluate(focused)
    assert board == "nixie-town.layout.json"
    assert chosen == wrong.split("\n")[48] and "HD" in chosen


def test_the_movement_of_a_finding_is_played(watched: Open, unheld: bytes) -> None:
    page = watched().check(unheld)
    page.click("text=Play this movement")
    assert page.inner_text("[data-count]") == "Step 1 of 3"
    assert page.locator("svg .train").count() == 2
    for _ in range(2):
        page.click("[data-next]")
    assert "Both trains are in loop-west." in page.inner_text("[data-say]")
