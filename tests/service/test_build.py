"""The page to build on, in a real browser: pointing, acts, text, undoing, findings."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from service.building import (
    DESK,
    PHONE,
    SIDING,
    act,
    called,
    calm,
    middle_of,
    open_plan,
    press,
    text_of,
    type_after,
    wait_called,
)
from service.conftest import read_example

if TYPE_CHECKING:
    from collections.abc import Callable

    from flask.testing import FlaskClient
    from playwright.sync_api import Page

    from service.conftest import Watched

    Open = Callable[..., Watched]


def siding_of(page: Page) -> dict[str, object]:
    found: dict[str, object] = json.loads(text_of(page))["tracks"]["siding"]
    return found


def test_from_nothing_by_pressing_alone(watched: Open) -> None:
    """A line, points in it, and back to the beginning and forth again, by mouse."""
    page = watched(**DESK).go("/build")
    assert page.locator(".picture").is_hidden()
    page.locator("[data-first] .act").first.click()
    page.wait_for_selector(".track[data-track]", state="attached")
    assert page.inner_text("[data-stamp]").lower() == "holds"
    first = text_of(page)
    press(page, ".track[data-track] path")
    act(page, "Put in points").click()
    page.wait_for_selector("[data-kind='points']", state="attached")
    second = text_of(page)
    assert len(json.loads(second)["tracks"]) == 3
    said = page.inner_text("[data-said]")
    assert said and said == page.inner_text("[data-undo-what]") == page.text_content("[data-live]")
    page.click("[data-undo]")
    assert text_of(page) == first
    page.click("[data-undo]")
    assert text_of(page) == ""
    assert page.is_disabled("[data-undo]")
    page.keyboard.press("Control+Shift+z")
    page.keyboard.press("Control+y")
    assert text_of(page) == second
    assert page.is_disabled("[data-redo]")


def test_a_press_means_the_nearest_thing(watched: Open, kelpie: bytes) -> None:
    """A finger 16 pixels beside a track finds it; the thing and its line in the text are marked."""
    page = open_plan(watched(**PHONE), kelpie.decode())
    press(page, SIDING, touch=True, aside=-16)
    wait_called(page, "Track siding")
    assert page.locator(".place.chosen").get_attribute("data-at") == "tracks/siding"
    assert page.inner_text(".numbers .at") == "11"
    sheet = page.locator("[data-offers]").bounding_box()
    assert sheet is not None
    assert sheet["y"] + sheet["height"] > 840  # at the bottom, in reach of the thumb
    box = act(page, "Put in points").bounding_box()
    assert box is not None
    assert box["height"] >= 44


def test_ends_legs_and_arms_can_be_pressed(watched: Open, kelpie: bytes) -> None:
    """Each drawn thing leads to its own acts; the parts of points are listed with them."""
    page = open_plan(watched(**DESK), kelpie.decode())
    for selector, name in (
        ("[data-track='siding'][data-end='down']", "Down end of track siding"),
        ("[data-arm='4L'] path", "Arm 4L"),
        ("[data-platform='A'] rect", "Platform A"),
        ("[data-kind='points'][data-id='p1'] text", "Points p1"),
    ):
        press(page, selector)
        wait_called(page, name)
        page.locator("[data-offers] .act").first.wait_for()


def test_hovering_shows_and_leaving_takes_back(watched: Open, kelpie: bytes) -> None:
    page = open_plan(watched(**DESK), kelpie.decode())
    press(page, SIDING)
    act(page, "Put in points").hover()
    page.wait_for_selector("[data-diagram].preview .marks .fresh", state="attached")
    assert page.inner_text("[data-preview]").startswith("Preview, not done yet: Points p4")
    assert page.locator("[data-kind='points']").count() == 4
    assert text_of(page) == kelpie.decode()
    page.mouse.move(4, 4)
    page.wait_for_selector("[data-preview]", state="hidden")
    assert page.locator("[data-kind='points']").count() == 3


def test_by_keys_alone(watched: Open, kelpie: bytes) -> None:
    """Arrow keys from thing to thing, Enter to the acts, Escape back, Enter does one."""
    page = open_plan(watched(**DESK), kelpie.decode())
    page.focus("[data-places]")
    page.keyboard.press("Tab")
    at = "() => document.activeElement.dataset.at"
    assert page.evaluate(at)
    seen = []
    for _ in range(30):
        page.keyboard.press("ArrowRight")
        seen.append(page.evaluate(at))
    assert len(set(seen)) > 5
    page.evaluate("document.querySelector('[data-at=\"tracks/siding\"]').focus()")
    page.keyboard.press("Enter")
    page.wait_for_function("() => document.activeElement.classList.contains('act')")
    assert called(page) == "Track siding"
    page.keyboard.press("Escape")
    assert page.evaluate(at) == "tracks/siding"
    page.keyboard.press("Enter")
    page.wait_for_function("() => document.activeElement.classList.contains('act')")
    page.keyboard.press("Enter")
    page.wait_for_function("() => document.querySelectorAll('[data-kind=points]').length === 5")
    page.wait_for_function(
        "() => document.querySelector('[data-offers]').contains(document.activeElement)"
    )


def test_typing_is_one_entry_and_the_diagram_follows(watched: Open, kelpie: bytes) -> None:
    page = open_plan(watched(**DESK), kelpie.decode())
    type_after(page, '"title": "', "Upper ")
    page.wait_for_function(
        "() => document.querySelector('[data-title]').textContent === 'Upper Kelpie Quay'"
    )
    assert page.inner_text("[data-undo-what]") == "Typing"
    page.keyboard.press("Control+z")
    # The paste before it was typing as well, and went on in the same entry.
    assert text_of(page) in ("", kelpie.decode())


def test_a_step_leaves_the_caret_and_what_is_typed(watched: Open, kelpie: bytes) -> None:
    """Somebody types while a step is at the service: the words stay, and the step is done."""
    page = open_plan(watched(**DESK), kelpie.decode())
    press(page, SIDING)
    act(page, "Put in points").wait_for()
    page.evaluate(
        """() => {
            const area = document.querySelector("#build-text");
            const at = area.value.indexOf("Kelpie Quay");
            document.querySelector("[data-offers] .act").click();
            area.focus();
            area.setSelectionRange(at, at);
        }"""
    )
    page.keyboard.type("Old and ")
    page.wait_for_function("() => document.querySelectorAll('[data-kind=points]').length === 5")
    assert '"title": "Old and Kelpie Quay"' in text_of(page)
    caret = page.evaluate("document.querySelector('#build-text').selectionStart")
    assert text_of(page)[:caret].endswith("Old and ")
    assert len(json.loads(text_of(page))["points"]) == 5


def test_a_late_answer_is_dropped(watched: Open, kelpie: bytes) -> None:
    """The answer for an older text comes last: it is not shown."""
    page = open_plan(watched(**DESK), kelpie.decode())
    held = []

    def hold(route: object) -> None:
        held.append(route)

    page.route("**/api/v1/lay", hold, times=1)
    type_after(page, '"title": "', "A")
    page.wait_for_timeout(500)
    type_after(page, '"title": "', "B")
    page.wait_for_function(
        "() => document.querySelector('[data-title]').textContent === 'BAKelpie Quay'"
    )
    calm(page)
    assert text_of(page).count("BAKelpie Quay") == 1


def test_an_unfinished_text_keeps_the_last_diagram(watched: Open, kelpie: bytes) -> None:
    page = open_plan(watched(**DESK), kelpie.decode())
    type_after(page, '"tracks": {', "x")
    page.wait_for_selector("[data-stale]:not([hidden])")
    assert "The diagram shows the last one that could." in page.inner_text("[data-stale]")
    assert page.locator(".track[data-track='siding']").count() == 1
    assert page.inner_text("[data-stamp]").lower() == "not judged"
    page.keyboard.press("Backspace")
    page.wait_for_selector("[data-stale]", state="hidden")
    assert page.inner_text("[data-stamp]").lower() == "holds"


def test_a_finding_shows_its_place_and_how_trains_meet(watched: Open, unheld: bytes) -> None:
    page = open_plan(watched(**DESK), unheld.decode())
    assert page.inner_text("[data-stamp]").lower() == "does not hold"
    assert page.get_attribute(".numbers span:nth-child(11)", "class") == "marked error"
    page.click(".finding .line")
    assert page.evaluate(
        "() => { const area = document.querySelector('#build-text');"
        " return area.value.slice(area.selectionStart, area.selectionEnd); }"
    ).startswith('"p3.left"')
    assert page.locator(".marks .found").count() > 1
    page.click("text=Show how they meet")
    page.wait_for_selector("[data-work] .train")
    assert page.locator("[data-diagram]").is_hidden()
    page.click("[data-work] [data-next]")
    assert page.inner_text("[data-work] [data-count]").startswith("Step 2 of")
    page.click("[data-mode=build]")
    page.wait_for_selector("[data-diagram] svg")
    assert page.locator("[data-work] svg").count() == 0


def test_proposed_signals_are_one_entry(watched: Open) -> None:
    plan = json.loads(read_example("kelpie-quay"))
    bare = {key: plan[key] for key in ("format", "title", "tracks", "points", "platforms")}
    page = open_plan(watched(**DESK), json.dumps(bare))
    page.click("[data-propose]")
    page.locator("[data-proposals] li").first.wait_for()
    assert "7 signals with 10 arms; fewer are not enough." in page.inner_text("[data-proposals]")
    page.locator("[data-proposals] .act").first.click()
    page.wait_for_selector("[data-signal]", state="attached")
    assert page.inner_text("[data-stamp]").lower() == "holds"
    page.click("[data-undo]")
    assert "signals" not in json.loads(text_of(page))


def test_zooming_keeps_the_spot(watched: Open, kelpie: bytes) -> None:
    """Buttons, keys, and the wheel with Ctrl; the spot under the mouse stays."""
    page = open_plan(watched(**DESK), kelpie.decode())
    width = "() => document.querySelector('svg.trappoint-diagram').getBoundingClientRect().width"
    before = page.evaluate(width)
    page.click("[data-zoom=larger]")
    assert page.evaluate(width) == pytest.approx(before * 1.25, rel=0.01)
    page.click("[data-zoom=larger]")
    x, y = middle_of(page, SIDING)
    page.mouse.move(x, y)
    page.keyboard.down("Control")
    page.mouse.wheel(0, -100)
    page.keyboard.up("Control")
    page.wait_for_function(f"() => ({width})() > {before * 1.25**2 * 1.1}")
    now = page.locator(SIDING).bounding_box()
    assert now is not None
    assert now["x"] + now["width"] / 2 == pytest.approx(x, abs=3)
    assert now["y"] == pytest.approx(y, abs=6)
    page.click("[data-zoom=fit]")
    assert page.evaluate(width) <= page.evaluate(
        "document.querySelector('.diagram-box > .drawing').clientWidth"
    )


def test_hostile_words_stay_words(watched: Open) -> None:
    """Names, titles and findings are text everywhere; the drawing is checked before it is shown."""
    evil = '<img src=x onerror="alert(1)">'
    plan = json.loads(read_example("kelpie-quay"))
    plan["title"] = evil
    plan["tracks"]["siding"]["name"] = evil
    found = watched(**DESK)
    page = open_plan(found, json.dumps(plan))
    press(page, SIDING)
    page.wait_for_function("() => document.querySelector('#h-offers').textContent.includes('<img')")
    assert page.locator("[data-build] img").count() == 0
    refused = page.evaluate(
        """() => {
            const start = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9">';
            return ["<script>1</script>", "<foreignObject/>", '<rect onclick="1"/>',
                '<a href="x"/>',
                '<rect style="fill:red"/>', '<image href="x"/>', "<rect", '<use href="#x"/>']
                .map(inner => trappointBuild.readDrawing(start + inner + "</svg>"));
        }"""
    )
    assert refused == [None] * 8
    # The browser's own policy refuses what the drawings above try, and says so.
    assert found.troubles
    assert all("Content Security Policy" in one for one in found.troubles)
    found.troubles.clear()


@pytest.mark.parametrize(
    ("size", "scheme"),
    [(PHONE, "dark"), (DESK, "light")],
    ids=["phone by night", "desk by day"],
)
def test_axe_is_silent(watched: Open, unheld: bytes, size: dict[str, object], scheme: str) -> None:
    import axe_playwright_python  # type: ignore[import-untyped]

    found = watched(**size, color_scheme=scheme)
    page = open_plan(found, unheld.decode())
    press(page, SIDING)
    wait_called(page, "Track siding")
    page.click("text=Begin and drafts")
    axe = Path(axe_playwright_python.__file__).with_name("axe.min.js")
    page.evaluate(axe.read_text("utf-8"))
    results = page.evaluate("axe.run({resultTypes: ['violations']})")
    assert [(one["id"], [n["target"] for n in one["nodes"]]) for one in results["violations"]] == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_the_page_comes_with_a_plan(client: FlaskClient, kelpie: bytes) -> None:
    answer = client.post(
        "/build", data={"text": kelpie.decode()}, content_type="multipart/form-data"
    )
    assert answer.status_code == 200
    assert 'data-given="yes"' in answer.get_data(as_text=True)
    assert "This page needs script" in client.get("/build").get_data(as_text=True)
