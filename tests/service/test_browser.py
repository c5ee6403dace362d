"""The page in a real browser: everything that a member does with it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from amount import is_long
from service.conftest import EXAMPLES, Watched

if TYPE_CHECKING:
    from playwright.sync_api import Page

Open = Callable[..., Watched]
PHONE = {"viewport": {"width": 360, "height": 740}, "has_touch": True}


def classes(page: Page, selector: str) -> list[str]:
    found: list[str] = page.eval_on_selector_all(
        selector, "parts => parts.map(part => part.getAttribute('class') || '')"
    )
    return found


def ids_lit(page: Page) -> set[str]:
    return set(
        page.eval_on_selector_all(".drawing .track.lit", "all => all.map(x => x.dataset.track)")
    )


def show_road(page: Page, arm: str) -> None:
    """Choose an arm from the list above the diagram."""
    page.get_by_label("shows the road of an arm").check()
    page.select_option("[data-which-arm]", arm)


def test_upload(watched: Open) -> None:
    page = watched().go()
    page.set_input_files("#plan-file", EXAMPLES / "kelpie-quay.layout.json")
    page.click("text=Check this plan")
    assert page.inner_text(".stamp").lower() == "holds"
    assert "kelpie-quay.layout.json holds" in page.inner_text(".sentence")
    assert page.locator(".drawing svg").is_visible()


def test_drop(watched: Open, unheld: bytes) -> None:
    page = watched().go()
    page.evaluate(
        """text => {
            const moved = new DataTransfer();
            moved.items.add(new File([text], "dropped.layout.json", {type: "application/json"}));
            document.body.dispatchEvent(new DragEvent("drop",
                {dataTransfer: moved, bubbles: true, cancelable: true}));
        }""",
        unheld.decode(),
    )
    page.wait_for_selector(".verdict")
    assert "dropped.layout.json does not hold" in page.inner_text(".sentence")


def test_paste_a_bad_plan_and_see_where(watched: Open, unheld: bytes) -> None:
    page = watched().check(unheld)
    assert page.inner_text(".stamp").lower() == "does not hold"
    page.click("text=Show on the diagram")
    assert "pointed" in classes(page, ".track[data-track='siding']")[0]
    page.wait_for_function(
        "() => { const box = document.querySelector('.drawing').getBoundingClientRect();"
        " return box.top >= -5 && box.top < innerHeight; }"
    )


def test_choose_an_arm_in_the_table(watched: Open, kelpie: bytes) -> None:
    """7R runs over loop-east to loop-west, with p2 and p3 right; what it excludes is from the
    locking table of this plan."""
    page = watched().check(kelpie)
    page.click("button[data-arm='7R']")
    assert ids_lit(page) == {"loop-east", "loop-west"}
    assert "Gives leave to run from quarry-line over loop-east" in page.inner_text("[data-say]")
    told = "Points: p2 right, p3 right.\n\nNever off with it: 1L, 2, 4L, 4R, 6, 7L."
    assert page.inner_text("[data-arm-road]") == told
    assert page.text_content(".points[data-id='p2'] .lie-needed") == "right"
    assert page.is_checked("[value='arm']")
    assert page.input_value("[data-which-arm]") == "7R"
    crossed = page.eval_on_selector_all(
        ".drawing .arm.excluded", "all => all.map(x => x.dataset.arm)"
    )
    assert sorted(crossed) == ["1L", "2", "4L", "4R", "6", "7L"]
    marked = page.eval_on_selector_all("tr.excluded", "all => all.map(x => x.dataset.row)")
    assert sorted(marked) == sorted(crossed)
    assert "you must see to it" in page.inner_text("tr[data-row='1L'] [data-remark]")
    page.keyboard.press("Escape")
    assert ids_lit(page) == set()
    assert page.locator("[data-arm-road]").is_hidden()
    assert page.locator("tr.excluded, .arm.excluded, .cross, .lie-needed").count() == 0


def test_choose_an_arm_in_the_diagram(watched: Open, kelpie: bytes) -> None:
    page = watched().check(kelpie)
    page.get_by_label("shows the road of an arm").check()
    page.click(".drawing [data-arm='4L'] .hit")
    assert ids_lit(page) == {"siding"}
    assert page.input_value("[data-which-arm]") == "4L"
    show_road(page, "1R")
    assert ids_lit(page) == {"main"}
    assert page.get_attribute("button[data-arm='1R']", "aria-pressed") == "true"
    page.get_by_label("works points and arms").check()
    assert ids_lit(page) == set()
    assert page.get_attribute("button[data-arm='1R']", "aria-pressed") == "false"


def test_downloads(watched: Open, kelpie: bytes) -> None:
    page = watched().check(kelpie)
    for title, begins in (
        ("Diagram (SVG)", "<svg"),
        ("Locking table (CSV)", "arm,signal,kind"),
        ("Locking table (JSON)", '{\n  "arms"'),
        ("Wall chart (HTML)", "<!doctype html>"),
        ("Findings (JSON)", '{\n  "tool"'),
        ("Findings (SARIF)", "{"),
    ):
        with page.expect_download() as waiting:
            page.get_by_role("button", name=title, exact=True).click()
        text = Path(waiting.value.path()).read_text("utf-8")
        assert text.startswith(begins), title


def test_without_script(watched: Open, unheld: bytes) -> None:
    page = watched(java_script_enabled=False).check(unheld)
    assert "does not hold" in page.inner_text(".sentence")
    page.click(".finding a[href='#L11']")
    assert page.url.endswith("#L11")
    assert page.locator(".drawing svg").is_visible()
    assert page.locator("[data-put-back]").is_hidden()
    page.click("text=A scene: which arms may be off")
    page.check("input[value='2']")
    page.get_by_role("button", name="Check the scene").click()
    page.wait_for_selector(".arm-choice.off")
    assert "is off" in page.inner_text("[data-choice='2']")
    assert "must stay on" in page.inner_text("[data-choice='7L']")
    page.click("text=A road, and what to move first")
    page.select_option("#road-from", "town-line")
    page.select_option("#road-to", "A")
    page.get_by_role("button", name="Set the road").click()
    assert "The road is free" in page.inner_text(".set-road")
    assert page.locator(".set-road svg").is_visible()
    with page.expect_download() as waiting:
        page.get_by_role("button", name="Locking table (CSV)").click()
    assert Path(waiting.value.path()).read_text("utf-8").startswith("arm,")


def test_examples_with_one_click(watched: Open) -> None:
    page = watched().go()
    page.click("text=A signal forgotten")
    assert page.inner_text(".stamp").lower() == "does not hold"


def test_keyboard_alone(watched: Open, kelpie: bytes) -> None:
    page = watched().go()
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Skip to the content"
    page.keyboard.press("Enter")
    for _ in range(4):  # two links, the file, the text
        page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.id") == "plan-text"
    page.keyboard.insert_text(kelpie.decode())
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.wait_for_selector(".verdict")
    for _ in range(40):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.name") == "mode":
            break
    page.keyboard.press("ArrowUp")
    assert page.is_checked("[value='arm']")
    for _ in range(5):
        page.keyboard.press("Tab")
        if page.evaluate("'whichArm' in document.activeElement.dataset"):
            break
    page.keyboard.type("4L")
    assert ids_lit(page) == {"siding"}
    for _ in range(40):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.dataset.arm") == "6":
            break
    outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
    assert outline != "none"
    page.keyboard.press("Space")
    assert ids_lit(page) == {"loop-west"}


@pytest.mark.parametrize("name", ["kelpie-quay", "selkie-harbour", "slips/siding-signal-forgotten"])
def test_phone(watched: Open, name: str) -> None:
    """Nothing is wider than the screen, except parts with their own scroll bars."""
    page = watched(**PHONE).go(f"/examples/{name}")
    show_road(page, "7" if "selkie" in name else "2")
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    assert page.evaluate(
        "() => { const lit = document.querySelector('.track.lit').getBoundingClientRect();"
        " return lit.left < innerWidth && lit.right > 0; }"
    )


def test_print_shows_notice_and_table(watched: Open, kelpie: bytes) -> None:
    page = watched().check(kelpie)
    page.emulate_media(media="print")
    assert page.locator(".verdict").is_visible()
    assert page.locator(".drawing svg").is_visible()
    assert page.locator(".locking").is_visible()
    assert page.locator("#again").is_hidden()
    assert page.locator(".imprint").is_visible()
    for part in ("[data-put-back]", "[data-say]", "details.form", ".working details"):
        assert not page.locator(part).first.is_visible(), part


LOOKS = [(390, "light"), (1280, "dark")]
if is_long():
    LOOKS += [(390, "dark"), (1280, "light")]
PATHS = (
    *("/", "/format", "/rules", "/rules/unheld-exit", "/interface", "/nowhere"),
    "/examples/slips/siding-signal-forgotten",
    "/examples/slips/comma-forgotten",
)
MORE = "document.querySelectorAll('.rules li:nth-child(n+4), .explained tr:nth-child(n+4)," + (
    " .explained > :is(p, ul):nth-of-type(n+9)').forEach(one => one.remove())"
)
"""Takes more of the same out of long pages, to look through them quickly."""


@pytest.mark.parametrize(("width", "scheme"), LOOKS)
def test_every_page_is_accessible(watched: Open, width: int, scheme: str) -> None:
    """axe-core finds no violation on any page, and none is wider than the screen."""
    import axe_playwright_python  # type: ignore[import-untyped]

    source = Path(axe_playwright_python.__file__).with_name("axe.min.js").read_text("utf-8")
    one = watched(viewport={"width": width, "height": 800}, color_scheme=scheme)
    page = one.page
    boards = EXAMPLES / "nixie-vale"

    def look() -> None:
        assert page.evaluate("document.documentElement.scrollWidth") <= width, page.url
        page.evaluate(MORE)
        page.evaluate(f"{source};0")
        found = page.evaluate("axe.run({resultTypes: ['violations']})")
        assert [_told(entry) for entry in found["violations"]] == [], page.url

    for path in PATHS:
        one.go(path)
        look()
    one.go("/")
    page.fill("#plan-text", "{}")
    page.set_input_files("#plan-file", EXAMPLES / "kelpie-quay.layout.json")
    page.click("text=Check this plan")
    page.wait_for_selector("text=Which plan?")
    look()
    one.go("/")
    page.click("text=Begin with an empty form")
    look()
    page.set_input_files(
        "#plan-file", [boards / "autumn.layout.json", *(boards / "boards").iterdir()]
    )
    page.click("text=Check this plan")
    page.wait_for_selector(".verdict")
    look()
    one.troubles[:] = [told for told in one.troubles if "404" not in told and "409" not in told]


def _told(entry: dict[str, Any]) -> tuple[str, list[str]]:
    return entry["id"], [
        node["html"][:200] + str(node.get("failureSummary"))[:300] for node in entry["nodes"]
    ][:4]
