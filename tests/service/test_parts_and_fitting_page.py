"""The fitting sheet and the parts on the page of a plan, against the command line."""

from __future__ import annotations

import io
import re
from html import unescape
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from commands.running import KELPIE, trappoint
from service.conftest import EXAMPLES, Watched
from service.test_pages import send, text_of
from trappoint.drawing.working_page import SCRIPTS
from trappoint.parts.telling import CAUTION_PARTS
from trappoint_service.openapi_pages import PAGE_SCRIPTS

if TYPE_CHECKING:
    from collections.abc import Callable

    from flask.testing import FlaskClient

PAGE = "/parts-and-fitting"
STORE = EXAMPLES / "kelpie-quay.store.json"


def words(text: str) -> str:
    return " ".join(text.split())


def test_without_a_store_the_sheet_and_the_order(client: FlaskClient, kelpie: bytes) -> None:
    told = text_of(send(client, PAGE, text=kelpie.decode()))
    printed = trappoint("fitting", KELPIE).stdout.partition("Order of work")[2]
    steps = re.findall(r"^  \d+\. (.*(?:\n     .*)*)", printed, re.MULTILINE)
    assert len(steps) == 7
    for step in steps:
        assert words(step) in told
    assert "Where to drill" in told
    assert "Today, with the parts in hand" not in told and "In all" not in told


def test_with_a_store_the_parts_too(client: FlaskClient, kelpie: bytes) -> None:
    """The page has every line of the parts plan, for a file and for pasted text."""
    pytest.importorskip("highspy")
    printed = trappoint("parts", KELPIE, "--store", str(STORE), "--format", "markdown").stdout
    text = STORE.read_text("utf-8")
    pasted = send(client, PAGE, **{"text": kelpie.decode(), "store-text": text})
    file = (io.BytesIO(text.encode()), "c.store.json")
    sent = send(client, PAGE, text=kelpie.decode(), store=file)
    assert text_of(pasted) == text_of(sent)
    told = text_of(pasted)
    lines = [line for line in printed.splitlines() if line and not line.startswith(("# ", "*"))]
    assert CAUTION_PARTS in told
    assert len(lines) > 20
    for line in lines:
        assert words(line.partition(" ")[2].replace("\\", "")) in told
    assert "Today, with the parts in hand" in told
    assert unescape(text) in unescape(pasted.get_data(as_text=True))


def test_a_bad_store_is_told_and_stays_in_the_form(client: FlaskClient, kelpie: bytes) -> None:
    store = '{"currency": "GBP", "parts": {"post": {"ownd": 1}},\n"format": "trappoint-store/1<b>"}'
    answer = send(client, PAGE, **{"text": kelpie.decode(), "store-text": store})
    told = text_of(answer)
    assert answer.status_code == 200
    assert "The store, line 2, column" in told and "holds" in told
    assert "store/1<b>" in told and "store/1&lt;b&gt;" in answer.get_data(as_text=True)
    store = store.replace("1<b>", "1")
    told = text_of(send(client, PAGE, **{"text": kelpie.decode(), "store-text": store}))
    assert "The store, line 1, column" in told and "owned" in told


def test_a_plan_without_a_table(client: FlaskClient) -> None:
    answer = send(client, PAGE, text='{"format": 1}')
    assert answer.status_code == 200 and "Not judged" in text_of(answer)
    assert "There is no plan yet" in text_of(send(client, PAGE, text=""))
    assert client.get(PAGE).status_code == 303


def test_markup_in_names_does_not_run(client: FlaskClient, kelpie: bytes) -> None:
    pytest.importorskip("highspy")
    store = STORE.read_text("utf-8").replace("Post, tapered", "<script>alert(1)</script>")
    store = store.replace("The Thistle Wharf Tin Box", "</textarea><img src=x>")
    page = send(client, PAGE, **{"text": kelpie.decode(), "store-text": store})
    text = page.get_data(as_text=True)
    assert "&lt;script&gt;alert(1)" in text
    assert text.count("<script src=") == len(PAGE_SCRIPTS) + len(SCRIPTS)
    assert "<img src=x>" not in text
    assert text.count("<script") == text.count("<script src=") + 1  # the data of the diagram


def test_without_script_and_accessible(watched: Callable[..., Watched], kelpie: bytes) -> None:
    """A member chooses a store, presses the button, and axe-core finds no violation."""
    import axe_playwright_python  # type: ignore[import-untyped]

    pytest.importorskip("highspy")
    page = watched(java_script_enabled=False).check(kelpie)
    page.set_input_files("#store-file", STORE)
    page.get_by_role("button", name="Make the sheet").click()
    page.wait_for_selector(".fitting-sheet")
    assert page.url.endswith("/parts-and-fitting#parts-and-fitting")
    assert page.locator(".fitting-sheet .post").count() == 7
    assert "Buy from" in page.inner_text("#parts-and-fitting")
    with page.expect_download() as waiting:
        page.get_by_role("button", name="Fitting sheet (HTML)").click()
    sheet = Path(waiting.value.path()).read_text("utf-8")
    printed = trappoint("fitting", KELPIE, "--store", str(STORE), "--format", "html").stdout
    assert sheet == printed
    page = watched(viewport={"width": 360, "height": 740}).check(kelpie)
    page.set_input_files("#store-file", STORE)
    page.get_by_role("button", name="Make the sheet").click()
    page.wait_for_selector(".fitting-sheet")
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    page.evaluate(Path(axe_playwright_python.__file__).with_name("axe.min.js").read_text("utf-8"))
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        found = page.evaluate("axe.run({resultTypes: ['violations']})")
        assert [(one["id"], len(one["nodes"])) for one in found["violations"]] == []
