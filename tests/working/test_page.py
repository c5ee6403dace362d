"""The page as users have it: presses, reasons, trains, roads, scenes, levers, a phone."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from working.conftest import EXAMPLES, Open, written

if TYPE_CHECKING:
    from pathlib import Path

    from playwright.sync_api import Browser, Page


def press(page: Page, what: str) -> str:
    """Press a part of the diagram; return the sentence that follows."""
    page.locator(f"svg {what}").first.dispatch_event("click")
    return page.inner_text("[data-say]")


def arm(name: str) -> str:
    return f'.arm[data-arm="{name}"]'


def points(name: str) -> str:
    return f'[data-kind="points"][data-id="{name}"]'


def track(name: str) -> str:
    return f'.track[data-track="{name}"]'


def test_points_and_arms(opened: Open) -> None:
    page = opened("kelpie-quay")
    why = "4R must stay on: its route needs p2 right, and p2 is left."
    assert press(page, arm("4R")) == why
    assert press(page, points("p2")) == "p2 right."
    assert press(page, arm("4R")) == "4R is off."
    assert "off" in (page.get_attribute(f"svg {arm('4R')}", "class") or "").split()
    assert press(page, points("p3")) == (
        "P3 must stay right: 4R is off, and its route leads over it."
    )
    assert press(page, arm("7R")) == "7R must stay on: 4R is off, and both lead over p2 and p3."
    page.click("text=Put all back")
    assert page.inner_text("[data-say]") == "All arms are on, all points normal."
    assert press(page, arm("2")) == "2 is off."


def test_a_train_in_the_way(opened: Open) -> None:
    page = opened("kelpie-quay")
    page.get_by_label("sets down trains").check()
    assert press(page, track("quarry-line")) == "Train A stands in quarry-line."
    page.get_by_label("works points and arms").check()
    assert press(page, arm("2")) == "2 must stay on: Train A stands in quarry-line."


def test_a_road(opened: Open) -> None:
    page = opened("kelpie-quay")
    page.get_by_label("sets down trains").check()
    press(page, track("siding"))
    page.get_by_label("sets a road").check()
    assert press(page, track("siding")) == "From siding. Press the place to go to."
    assert press(page, track("town-line")).startswith("The road from siding to town-line is set")
    while page.locator("[data-run]").is_visible():
        page.click("[data-run]")
    assert page.inner_text("[data-say]") == "Train A is in town-line."
    steps = page.locator("[data-steps] li").all_inner_texts()
    assert steps == [
        *("Set p3 left.", "Set p1 left.", "Take 5 off.", "Take 6 off."),
        *("Train A runs to town-line.", "Put 6 back.", "Put 5 back."),
    ]


def test_a_road_that_is_blocked(opened: Open) -> None:
    page = opened("kelpie-quay")
    page.get_by_label("sets down trains").check()
    press(page, track("siding"))
    press(page, track("loop-west"))
    page.get_by_label("sets a road").check()
    press(page, track("siding"))
    assert press(page, track("town-line")) == (
        "The road from siding to town-line is blocked: Train B is in the way."
    )


def test_a_scene_and_the_levers(opened: Open) -> None:
    page = opened("selkie-harbour")
    page.click("text=Show it")
    assert page.locator("svg .arm.off").count() == 3
    assert page.locator(".lever[aria-pressed='true']").count() == 4
    page.click("text=Put all back")
    page.click(".lever:has(b:text-is('25'))")
    assert page.inner_text("[data-say]").startswith("Lever 25 is locked: ")


def test_the_movement_by_which_a_plan_fails(opened: Open) -> None:
    page = opened(EXAMPLES / "slips" / "siding-signal-forgotten.layout.json")
    page.click("text=Show it")
    while page.locator("[data-next]").is_enabled():
        page.click("[data-next]")
    assert page.inner_text("[data-say]").endswith("Both trains are in loop-west.")
    assert page.locator("svg .train").count() == 2


def test_a_session_step_by_step(opened: Open) -> None:
    page = opened("hobthrush-vale")
    session = page.locator("[data-play] option", has_text="Session").first
    page.select_option("[data-play] select", session.get_attribute("value"))
    page.click("text=Show it")
    assert page.inner_text("[data-say]").startswith("At first: ")
    page.click("[data-next]")
    assert page.inner_text("[data-say]").startswith("Movement 1: ")
    assert page.locator("svg .arm.off").count() >= 1
    page.click("[data-back]")
    assert page.inner_text("[data-say]").startswith("At first: ")


def test_the_list_does_the_same(opened: Open) -> None:
    page = opened("kelpie-quay")
    page.click("summary")
    page.click("[data-point-list] button:text-is('p2 left')")
    assert page.inner_text("[data-say]") == "p2 right."
    page.click("[data-arm-list] button:text-is('4R: on, may come off')")
    assert page.inner_text("[data-say]") == "4R is off."
    assert page.get_attribute("[data-arm-list] button:text-is('4R: off')", "aria-pressed") == "true"


def test_the_keyboard_alone(opened: Open) -> None:
    page = opened("kelpie-quay")
    page.locator("svg [tabindex='0']").focus()
    seen = set()
    for _ in range(30):
        page.keyboard.press("ArrowRight")
        seen.add(page.evaluate("document.activeElement.getAttribute('aria-label')"))
    assert len(seen) >= 5
    page.keyboard.press("Enter")
    assert page.inner_text("[data-say]")


def test_on_a_phone_nothing_scrolls_sideways_but_the_diagram(opened: Open) -> None:
    page = opened("selkie-harbour", viewport={"width": 390, "height": 800}, has_touch=True)
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    small = page.eval_on_selector_all(
        "button, label, select",
        "all => all.filter(x => x.offsetParent && x.getBoundingClientRect().height < 40).length",
    )
    assert small == 0


def test_without_script_it_is_the_diagram(browser: Browser, pages: Path) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(written(EXAMPLES / "kelpie-quay.layout.json", pages).as_uri())
    assert page.locator("svg.trappoint-diagram").is_visible()
    assert not page.locator("[data-put-back]").is_visible()
    assert "not a safety system" in page.inner_text("footer")
    context.close()


def test_its_size_and_its_policy(pages: Path) -> None:
    text = written(EXAMPLES / "hobthrush-vale.layout.json", pages).read_text("ascii")
    assert len(text) < 500_000
    assert "default-src &#x27;none&#x27;" in text
    assert " on" + "click=" not in text


def test_no_text_of_a_plan_is_markup(opened: Open, tmp_path: Path) -> None:
    plan = (EXAMPLES / "kelpie-quay.layout.json").read_text("utf-8")
    evil = "</script><img src=x onerror=alert(1)>"
    plan = plan.replace('"Kelpie Quay"', f'"{evil}"').replace(
        '"length_mm": 610}', f'"length_mm": 610, "name": "{evil}"}}'
    )
    file = tmp_path / "evil.layout.json"
    file.write_text(plan, "utf-8")
    page = opened(file)
    assert page.locator("img").count() == 0
    assert page.inner_text("h1") == evil


def test_small_drawings_grow_and_long_ones_scroll(opened: Open) -> None:
    wide = "document.querySelector('svg.trappoint-diagram').getBoundingClientRect().width"
    box = "document.querySelector('[data-drawing]')"
    small = opened("kelpie-quay", viewport={"width": 1280, "height": 800})
    own = float(small.get_attribute("svg.trappoint-diagram", "width") or 0)
    assert small.evaluate(wide) == pytest.approx(1.6 * own, abs=0.1)
    long = opened("hobthrush-vale", "long", viewport={"width": 1280, "height": 800})
    own = float(long.get_attribute("svg.trappoint-diagram", "width") or 0)
    assert long.evaluate(wide) == pytest.approx(own, abs=0.1)
    assert long.evaluate(f"{box}.scrollWidth > {box}.clientWidth")
    long.get_by_label("Fit to the width").check()
    assert long.evaluate(f"{box}.scrollWidth === {box}.clientWidth")


def test_names_of_trains(opened: Open) -> None:
    """As much as the track has room for; the whole name in the tooltip and in the list."""
    page = opened("boggart-bridge")
    page.click("text=Show it")
    page.click("summary")
    trains = page.locator("svg .train")
    drawn = trains.locator("text").all_text_contents()
    assert sorted(drawn) == ["The Fen goods", "The night mail"]
    listed = page.locator("[data-track-list] button").all_inner_texts()
    for tip in trains.locator("title").all_text_contents():
        name, _, place = tip.rpartition(" in ")
        assert name in ("The Fen goods (goods)", "The night mail (mail)")
        assert f"{place}: {name}" in listed


def test_printed_it_is_the_diagram_alone(opened: Open) -> None:
    page = opened("selkie-harbour")
    assert press(page, arm("2")).endswith(" is off.")
    page.emulate_media(media="print")
    shown = page.eval_on_selector_all(
        "h1, p, ul, ol, section, details, button, label, svg.trappoint-diagram",
        "all => all.filter((one) => one.checkVisibility()).map((one) => one.localName)",
    )
    assert shown == ["h1", "svg", "p"]
    assert "not a safety system" in page.locator("p.caution").inner_text()
    assert page.locator("svg .arm.off").count() == 1


STRIPS = """() => {
  dispatchEvent(new Event("beforeprint"));
  const strips = [...document.querySelectorAll(".strips svg")].map((svg) => svg.viewBox.baseVal);
  const boxes = [...document.querySelectorAll("[data-drawing] .arm > :is(circle, path)")]
    .map((part) => part.getBBox());
  const within = (box) => strips.some((own) => box.x >= own.x && box.y >= own.y
    && box.x + box.width <= own.x + own.width && box.y + box.height <= own.y + own.height);
  dispatchEvent(new Event("afterprint"));
  return [strips.length, boxes.length, boxes.filter((box) => !within(box)).length,
    document.querySelectorAll(".strips").length];
}"""


@pytest.mark.parametrize(("sheet", "expected"), [("a4", {2, 3}), ("long", {4})])
def test_a_large_drawing_is_printed_in_parts(opened: Open, sheet: str, expected: set[int]) -> None:
    """Rows are spread over pages, a strip is cut: each arm is whole on one of the parts."""
    assert opened("kelpie-quay").evaluate(STRIPS)[0] == 0
    page = opened("hobthrush-vale", sheet)
    strips, arms, missing, left = page.evaluate(STRIPS)
    assert strips in expected
    assert (missing, left) == (0, 0)
    assert arms > 100
    wide = page.evaluate("document.querySelector('svg').viewBox.baseVal.width")
    assert (wide < 1050) == (sheet == "a4")
