"""The site in a real browser: from a plain file server and from the disk."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from sites.conftest import EVIL, Site

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Browser, Page

PLAN = "quay/sorrel"
KINDS = (
    "index.html",
    "quay/worse/index.html",
    "comma/index.html",
    *(f"{PLAN}/{sheet}.html" for sheet in ("work", "table", "chart", "fitting")),
)
"""A page of each kind."""


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    """A page on a phone; at the end, nothing may have failed."""
    context = browser.new_context(viewport={"width": 390, "height": 800}, has_touch=True)
    opened = context.new_page()
    troubles: list[str] = []
    opened.on("console", lambda message: troubles.append(f"{opened.url}: {message.text}"))
    opened.on("pageerror", lambda error: troubles.append(f"{opened.url}: {error}"))
    # A page that is left gives up the pictures that it still waits for.
    opened.on(
        "requestfailed",
        lambda asked: troubles.extend([asked.url] * (asked.failure != "net::ERR_ABORTED")),
    )
    opened.on("response", lambda answer: answer.status < 400 or troubles.append(answer.url))
    yield opened
    context.close()
    assert troubles == [], "\n".join(troubles)


@pytest.fixture(params=["server", "disk"])
def address(request: pytest.FixtureRequest, site: Site, served: str) -> str:
    """The address of the site, with a slash at its end."""
    return served if request.param == "server" else f"{site.folder.as_uri()}/"


def pictures(page: Page) -> list[int]:
    """Return the width of each picture of a page when all are loaded; 0 for a broken one."""
    found: list[int] = page.evaluate(
        """async () => {
            const all = [...document.images];
            for (const each of all) { each.loading = "eager"; await each.decode().catch(() => 0); }
            return all.map(each => each.naturalWidth);
        }"""
    )
    return found


def test_one_can_walk_through_the_site(page: Page, address: str) -> None:
    page.goto(f"{address}index.html")
    widths = pictures(page)
    assert len(widths) == 10
    assert min(widths) > 100
    page.get_by_role("link", name=EVIL, exact=True).click()  # a name with every odd sign
    assert page.inner_text("h1") == EVIL
    assert min(pictures(page)) > 60
    page.click("text=Work the diagram")
    page.locator('svg .arm[data-arm="1L"]').first.dispatch_event("click")
    assert page.inner_text("[data-say]") == "1L is off."
    page.click("nav >> text=All plans")
    page.click("text=meets >> nth=0")
    page.click("a[href='meets/spring/index.html']")
    page.click("text=boards/west.layout.json")
    assert page.inner_text(".stamp").lower() == "holds"
    for sheet, heading in (
        ("Locking table", "Locking table of"),
        ("Wall chart", ""),
        ("Fitting sheet", "Fitting sheet of"),
    ):
        page.click(f".links >> text={sheet}")
        assert page.inner_text("h1").startswith(heading)
        page.click("nav >> a[href='index.html']")
    assert page.locator("a[href='badge.svg'] img[alt='Signalling: holds']").is_visible()


def test_an_arm_of_the_chart_can_be_chosen(page: Page, site: Site) -> None:
    """Test that the policy allows the style that lights a road."""
    page.goto((site.folder / PLAN / "chart.html").as_uri())
    track = page.locator('figure .track[data-road-of~="1R"] path').first
    before = track.evaluate("each => getComputedStyle(each).stroke")
    page.click('label[for="light-1R"]')
    assert track.evaluate("each => getComputedStyle(each).stroke") != before


@pytest.mark.parametrize("name", KINDS)
def test_every_page_is_accessible_and_fits(page: Page, site: Site, name: str) -> None:
    """Test with axe-core, on a phone by night and on a desk by day."""
    import axe_playwright_python  # type: ignore[import-untyped]

    page.goto((site.folder / name).as_uri())
    page.evaluate(Path(axe_playwright_python.__file__).with_name("axe.min.js").read_text("utf-8"))
    for width, scheme in ((390, "dark"), (1280, "light")):
        page.set_viewport_size({"width": width, "height": 800})
        page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        found = page.evaluate("axe.run({resultTypes: ['violations']})")
        assert [_told(entry) for entry in found["violations"]] == [], (width, scheme)


def _told(entry: dict[str, Any]) -> tuple[str, list[str]]:
    return entry["id"], [node["html"][:200] for node in entry["nodes"]][:4]
