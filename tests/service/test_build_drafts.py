"""The page to build on: drafts, links and files, in a real browser."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING, Any

from service.building import DESK, calm, drafts_of, open_plan, text_of, type_after
from service.conftest import EXAMPLES, read_example

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from playwright.sync_api import Page

    from service.conftest import Watched

    Open = Callable[..., Watched]

KEPT = (
    "words => Object.keys(localStorage).some(key => key.startsWith('trappoint-draft-')"
    " && localStorage[key].includes(words))"
)


def wait_kept(page: Page, words: str) -> None:
    page.wait_for_function(KEPT, arg=words)


def wait_note(page: Page, key: str) -> str:
    page.wait_for_selector(f"[data-note={key}]")
    return page.inner_text(f"[data-note={key}]")


def test_a_draft_survives_a_reload_with_its_history(watched: Open, kelpie: bytes) -> None:
    page = open_plan(watched(**DESK), kelpie.decode())
    type_after(page, '"title": "', "Nether ")
    wait_kept(page, "Nether Kelpie")
    page.reload()
    note = wait_note(page, "draft")
    assert re.search(r"Draft of \d\d:\d\d is shown\. It is kept in this browser only\.", note)
    assert "Nether Kelpie Quay" in text_of(page)
    assert page.inner_text("[data-undo-what]") == "Typing"
    while page.is_enabled("[data-undo]"):
        page.click("[data-undo]")
    assert text_of(page) == ""
    # An empty text is a state of this draft; nothing else is overwritten.
    assert len(drafts_of(page)) == 1


def test_an_empty_beginning_overwrites_nothing(watched: Open, kelpie: bytes) -> None:
    """The page alone shows the last draft; another beginning is another draft; Back goes back."""
    found = watched(**DESK)
    page = open_plan(found, kelpie.decode())
    wait_kept(page, "Kelpie Quay")
    first = page.url
    page.goto("about:blank")
    page = found.go("/build")
    wait_note(page, "draft")
    assert page.url == first
    page.click("[data-note=draft] button:has-text('Begin another plan')")
    page.set_input_files("#build-file", EXAMPLES / "pixie-ring.layout.json")
    page.wait_for_function(
        "() => document.querySelector('[data-title]').textContent === 'Pixie Ring'"
    )
    assert {draft["title"] for draft in drafts_of(page)} == {"Kelpie Quay", "Pixie Ring"}
    page.click("text=Begin and drafts")
    page.click("[data-drafts] .draft:has-text('Kelpie Quay')")
    page.wait_for_function(
        "() => document.querySelector('[data-title]').textContent === 'Kelpie Quay'"
    )
    page.go_back()
    page.wait_for_function(
        "() => document.querySelector('[data-title]').textContent === 'Pixie Ring'"
    )
    page.click("text=Begin and drafts")
    page.locator("[data-drafts] button[aria-label^='Forget the draft Kelpie Quay']").click()
    assert [draft["title"] for draft in drafts_of(page)] == ["Pixie Ring"]


def test_two_windows_on_one_draft(watched: Open, kelpie: bytes) -> None:
    """The second window writes; the first one notices, and both texts stay."""
    found = watched(**DESK)
    one = open_plan(found, kelpie.decode())
    wait_kept(one, "Kelpie Quay")
    other = found.context.new_page()
    other.goto(one.url)
    wait_note(other, "draft")
    type_after(other, '"title": "', "Other ")
    wait_kept(other, "Other Kelpie")
    assert "Another window changed this draft at" in wait_note(one, "foreign")
    type_after(one, '"title": "', "My ")
    wait_kept(one, "My Kelpie")
    texts = [draft["text"] for draft in drafts_of(one)]
    assert sorted(re.findall(r'"title": "(\w+) Kelpie', " ".join(texts))) == ["My", "Other"]
    assert "This text goes on as a draft of its own." in wait_note(one, "foreign")
    assert one.url != other.url
    one.click("[data-note=foreign] button:has-text('Show the plan of the other window')")
    one.wait_for_function(
        "() => document.querySelector('[data-title]').textContent.startsWith('Other')"
    )


def test_without_storage_the_work_goes_on(watched: Open, kelpie: bytes) -> None:
    found = watched(**DESK)
    found.page.add_init_script(
        "Storage.prototype.setItem = () => { throw new DOMException('', 'QuotaExceededError'); };"
    )
    page = open_plan(found, kelpie.decode())
    assert "This browser keeps no drafts" in wait_note(page, "storage")
    type_after(page, '"title": "', "Free ")
    page.wait_for_function(
        "() => document.querySelector('[data-title]').textContent === 'Free Kelpie Quay'"
    )
    found.page.remove_listener("dialog", found._refuse)
    found.page.on("dialog", lambda dialog: dialog.accept())  # the browser asks before it leaves


def test_a_link_carries_the_whole_plan(watched: Open, kelpie: bytes) -> None:
    found = watched(**DESK, permissions=["clipboard-read", "clipboard-write"])
    page = open_plan(found, kelpie.decode())
    page.click(".take summary")
    page.click("text=Copy a link")
    page.wait_for_selector("[data-link]:not([hidden])")
    link = page.input_value("[data-link] input")
    assert re.fullmatch(r"http://[\d.:]+/build#plan=[\w-]+", link)
    assert page.evaluate("navigator.clipboard.readText()") == link
    other = watched(**DESK).page
    other.goto(link)
    other.wait_for_selector("svg.trappoint-diagram")
    assert text_of(other) == kelpie.decode()
    assert "#draft=" in other.url
    other.goto(link[:-40])
    other.reload()
    assert "This link is damaged" in wait_note(other, "trouble")


def test_a_plan_with_its_boards(watched: Open) -> None:
    folder = EXAMPLES / "nixie-vale"
    plan = next(
        path for path in sorted(folder.glob("*.layout.json")) if b'"boards"' in path.read_bytes()
    )
    page = watched(**DESK).go("/build")
    page.set_input_files("#build-file", [plan, *sorted((folder / "boards").glob("*.layout.json"))])
    page.wait_for_selector("svg.trappoint-diagram")
    calm(page)
    assert page.inner_text("[data-stamp]").lower() == "holds"
    assert len(drafts_of(page)[0]["boards"]) == 4


def test_what_is_taken_away(watched: Open, kelpie: bytes) -> None:
    """The plan, the drawing as shown, and a file that the service makes."""
    page = open_plan(watched(**DESK), kelpie.decode())
    page.click(".take summary")

    def taken(label: str) -> tuple[str, Path]:
        with page.expect_download() as download:
            page.click(f".take button:has-text('{label}')")
        return download.value.suggested_filename, download.value.path()

    name, path = taken("The plan (JSON)")
    assert (name, path.read_bytes()) == ("plan.layout.json", kelpie)
    name, path = taken("Diagram as shown (SVG)")
    assert name == "plan.svg"
    assert path.read_text("utf-8").startswith("<svg")
    name, path = taken("Locking table (CSV)")
    assert name == "plan.locking-table.csv"
    assert path.read_bytes().count(b"\n") > 5


def test_a_plan_from_another_page(watched: Open, kelpie: bytes) -> None:
    """A plan comes from the plain page by its form; a reload does not send it again."""
    found = watched(**DESK)
    page = found.check(kelpie)
    page.click("text=Build on this plan by pointing")
    page.wait_for_selector("svg.trappoint-diagram .place", state="attached")
    assert text_of(page) == kelpie.decode()
    sent: list[Any] = []
    page.on("request", lambda request: sent.append((request.method, request.url)))
    type_after(page, '"title": "', "Kept ")
    wait_kept(page, "Kept Kelpie")
    page.reload()
    wait_note(page, "draft")
    assert "Kept Kelpie Quay" in text_of(page)
    assert json.loads(read_example("kelpie-quay"))["title"] == "Kelpie Quay"
    assert all(method == "GET" for method, url in sent if re.search(r"/build(#|$)", url))
