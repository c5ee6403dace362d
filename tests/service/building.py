"""The page to build on, in a browser: what its tests do with it again and again."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from playwright.sync_api import Page

    from service.conftest import Watched

PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True}
DESK = {"viewport": {"width": 1280, "height": 900}}
SIDING = ".track[data-track='siding'] path"

CALM = "() => !document.querySelector('[data-build]').hasAttribute('aria-busy')"


def open_plan(watched: Watched, text: str) -> Page:
    """Open the page with a plan in its text, as the plain pages hand one over."""
    page = watched.go("/build")
    page.fill("#build-text", text)
    page.wait_for_selector("svg.trappoint-diagram .place", state="attached")
    calm(page)
    return page


def calm(page: Page) -> None:
    """Wait until the answer for the shown text is there."""
    page.wait_for_function(CALM)


def text_of(page: Page) -> str:
    return page.input_value("#build-text")


def type_after(page: Page, mark: str, words: str) -> None:
    """Put the caret behind a mark in the text, and type."""
    page.evaluate(
        """mark => {
            const area = document.querySelector("#build-text");
            const at = area.value.indexOf(mark) + mark.length;
            area.focus();
            area.setSelectionRange(at, at);
        }""",
        mark,
    )
    page.keyboard.type(words)


def middle_of(page: Page, selector: str) -> tuple[float, float]:
    """Return where the middle of a drawn thing is in the window."""
    found: list[float] = page.eval_on_selector(
        selector,
        """part => {
            part.scrollIntoView({block: "center", inline: "center", behavior: "instant"});
            const {x, y, width, height} = part.getBoundingClientRect();
            return [x + width / 2, y + height / 2];
        }""",
    )
    return found[0], found[1]


def press(page: Page, selector: str, *, touch: bool = False, aside: float = 0) -> None:
    """Press a drawn thing at its middle, or beside it."""
    x, y = middle_of(page, selector)
    if touch:
        page.touchscreen.tap(x, y + aside)
    else:
        page.mouse.click(x, y + aside)


def called(page: Page) -> str:
    """Return the name of the thing whose acts are shown."""
    return page.inner_text("#h-offers")


def wait_called(page: Page, name: str) -> None:
    page.wait_for_function(
        "name => document.querySelector('#h-offers').textContent === name", arg=name
    )


def act(page: Page, label: str) -> Any:
    return page.locator("[data-offers] .act").get_by_text(label, exact=True)


def drafts_of(page: Page) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = page.evaluate(
        "() => Object.keys(localStorage).filter(key => key.startsWith('trappoint-draft-'))"
        ".map(key => JSON.parse(localStorage[key]))"
    )
    return found
