"""Refused requests in a real browser: nothing that a person typed or chose is lost."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from waitress.server import create_server

from amount import amount
from service.conftest import EXAMPLES, Watched, take_every_place
from trappoint_service import create_app
from trappoint_service.config import LIMIT_BYTES, Config

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

PHONE, DESK = {"width": 390, "height": 800}, {"width": 1280, "height": 900}
STORE = '{"format": "trappoint-store/1", "currency": "GBP"}'


class Taken:
    """A listening service whose places can be filled and freed."""

    def __init__(self) -> None:
        self.app = create_app(Config(workers=1, long_workers=1, deadline_seconds=60))
        self.server = create_server(self.app, host="127.0.0.1", port=0)
        self.address = f"http://127.0.0.1:{self.server.effective_port}"
        self.thread = threading.Thread(target=self.server.run, daemon=True)
        self.thread.start()

    def take(self) -> Callable[[], None]:
        return take_every_place(self.app)

    def close(self) -> None:
        self.server.close()
        self.app.pool.close()  # type: ignore[attr-defined]


@pytest.fixture(scope="module")
def taken() -> Iterator[Taken]:
    service = Taken()
    yield service
    service.close()


def fill(page: Page, text: str) -> None:
    """Type a store, choose a road and set a scene; without script, the scene has a form."""
    page.fill("#plan-text", text)
    page.fill("#store-text", STORE)
    page.click("text=A road, and what to move first")
    page.select_option("#road-from", "main")
    page.select_option("#road-to", "siding")
    page.click("text=Other trains stand in")
    page.check("input[name='standing'][value='town-line']")
    if page.locator("[data-scene-form]").is_visible():
        page.click("text=A scene: which arms may be off")
        page.check("input[value='1L']")
        page.select_option("[data-lever='p1']", "reverse")
    else:
        page.click("svg .points[data-id='p1'] .hit")
        page.click("svg .arm[data-arm='1L'] .hit")
    page.select_option("#draft-level", "homes")


def assert_filled(page: Page, text: str) -> None:
    assert page.input_value("#plan-text") == text
    assert page.input_value("#store-text") == STORE
    assert page.input_value("#road-from") == "main"
    assert page.input_value("#road-to") == "siding"
    assert page.is_checked("input[name='standing'][value='town-line']")
    assert page.is_checked("input[value='1L']")
    assert page.input_value("[data-lever='p1']") == "reverse"
    if page.locator("[data-scene-form]").is_hidden():
        assert page.locator("svg .arm.off").get_attribute("data-arm") == "1L"
    assert page.input_value("#draft-level") == "homes"


@pytest.mark.parametrize(("size", "script"), [(PHONE, True), (DESK, False)][: amount(1, long=2)])
def test_all_places_taken(
    browser: Browser, taken: Taken, kelpie: bytes, size: dict[str, int], *, script: bool
) -> None:
    one = Watched(browser.new_context(viewport=size, java_script_enabled=script), taken.address)
    page = one.check(kelpie)
    text = kelpie.decode() + "\n"
    fill(page, text)
    give_back = taken.take()
    try:
        page.get_by_role("button", name="Set the road").click()
        page.wait_for_selector("text=Try again")
    finally:
        give_back()
    assert page.inner_text("[role=alert] >> visible=true").startswith("The service is busy.")
    assert page.input_value("#plan-text") == text
    assert page.input_value("#store-text") == STORE
    kept = page.inner_text("[data-kept]")
    for word in ("from main", "to siding", "stands in town-line", "arm off 1L", "p1 reverse"):
        assert word in kept
    if script:
        assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]
    page.get_by_role("button", name="Try again").click()
    page.wait_for_selector(".set-road")
    assert page.url.endswith("/road#road")
    assert_filled(page, text)
    page.get_by_role("button", name="Check again").click()
    page.wait_for_selector(".set-road", state="detached")
    assert_filled(page, text)
    one.context.close()
    assert [told for told in one.troubles if "503" not in told] == []


@pytest.fixture(scope="module")
def large(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("large") / "large.layout.json"
    path.write_bytes(b" " * (LIMIT_BYTES + 1))
    return path


def test_too_large_is_not_sent(watched: Callable[..., Watched], kelpie: bytes, large: Path) -> None:
    page = watched().go()
    page.fill("#plan-text", kelpie.decode())
    page.set_input_files("#plan-file", large)
    sent: list[str] = []
    page.on("request", lambda request: sent.append(request.url))
    page.click("text=Check this plan")
    assert "together they may have 8 MiB" in page.inner_text("[data-too-large]")
    assert page.evaluate("document.activeElement.textContent").startswith(
        "Plan and store are too large"
    )
    assert sent == []
    assert page.input_value("#plan-text") == kelpie.decode()
    page.set_input_files("#plan-file", EXAMPLES / "kelpie-quay.layout.json")
    page.click("text=Check this plan")
    page.wait_for_selector(".verdict")


def test_back_brings_what_was_typed(browser: Browser, address: str, large: Path) -> None:
    """Without script the service refuses it; the back button shows the form unchanged."""
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(address)
    page.fill("#plan-text", "typed at length")
    page.set_input_files("#plan-file", large)
    page.click("text=Check this plan")
    page.wait_for_selector("text=Go back in your browser")
    page.go_back()
    assert page.input_value("#plan-text") == "typed at length"
    page.goto(f"{address}/examples/kelpie-quay")
    fill(page, "typed too")
    page.set_input_files("#plan-file", large)
    page.get_by_role("button", name="Check again").click()
    page.wait_for_selector("text=Go back in your browser")
    page.go_back()
    assert page.input_value("#plan-text") == "typed too"
    assert page.input_value("#store-text") == STORE
    assert page.input_value("#road-from") == "main"
    context.close()
