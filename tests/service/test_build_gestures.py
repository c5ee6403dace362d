"""The page to build on, by hand: pinching, gliding, where a press lands, and steps refused."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest

from service.building import DESK, PHONE, SIDING, calm, open_plan, press, text_of, wait_called
from service.hands import Hand, changed, spot_on

if TYPE_CHECKING:
    from collections.abc import Callable

    from playwright.sync_api import Page

    from service.conftest import Watched

    Open = Callable[..., Watched]

WATCH = """() => {
    window.glided = 0;
    const look = () => {
        const moves = document.getAnimations().filter(each => each.effect.getTiming().duration > 0);
        window.glided = Math.max(window.glided, moves.length);
        requestAnimationFrame(look);
    };
    look();
}"""
"""Count the most things that glide at one time."""


def pinch(page: Page, x: float, y: float, *, apart: tuple[float, float]) -> None:
    """Put down two fingers around a spot, and move them to another distance."""
    session = page.context.new_cdp_session(page)  # the one way to touch with two fingers

    def send(kind: str, distance: float) -> None:
        fingers: list[dict[str, Any]] = [
            {"x": x - distance / 2, "y": y, "id": 0},
            {"x": x + distance / 2, "y": y, "id": 1},
        ]
        points = [] if kind == "touchEnd" else fingers
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    first, last = apart
    send("touchStart", first)
    for step in (1, 2, 3):
        send("touchMove", first + (last - first) * step / 3)
    send("touchEnd", last)


def test_two_fingers_change_the_size_around_them(watched: Open, kelpie: bytes) -> None:
    page = open_plan(watched(**PHONE), kelpie.decode())
    drawn = page.locator("svg.trappoint-diagram")
    page.locator("[data-drawing]").scroll_into_view_if_needed()
    before, frame = drawn.bounding_box(), page.locator("[data-drawing]").bounding_box()
    assert before is not None
    assert frame is not None
    x, y = frame["x"] + frame["width"] / 2, frame["y"] + frame["height"] / 2
    pinch(page, x, y, apart=(60, 120))
    page.wait_for_function(
        "wide => document.querySelector('svg.trappoint-diagram').clientWidth > wide",
        arg=before["width"] * 1.8,
    )
    after = drawn.bounding_box()
    assert after is not None
    assert after["width"] == pytest.approx(before["width"] * 2, rel=0.05)
    share = (x - before["x"]) / before["width"]
    assert after["x"] + share * after["width"] == pytest.approx(x, abs=8)
    pinch(page, x, y, apart=(160, 80))
    page.wait_for_function(
        "wide => document.querySelector('svg.trappoint-diagram').clientWidth < wide",
        arg=before["width"] * 1.2,
    )


def test_where_a_press_lands_and_what_glides(watched: Open, kelpie: bytes) -> None:
    """A siding is laid where the track was pressed; an edge beyond a track means the end."""
    found = watched(**DESK)
    page = open_plan(found, kelpie.decode())
    hand = Hand(page)
    hand.at(*spot_on(page, "tracks/siding", 0.7))
    wait_called(page, "Track siding")
    page.evaluate(WATCH)
    hand.act("Lay a siding here")
    lengths = [own.get("length_mm", 0) for own in json.loads(text_of(page))["tracks"].values()]
    assert any(abs(length - 0.7 * 610) <= 15 for length in lengths), lengths
    page.wait_for_function("() => window.glided > 3")
    hand.button(page.locator(".edge[data-id='town'] text"))
    wait_called(page, "Up end of track town-line")
    # Nothing glides for those who ask for less motion.
    page.emulate_media(reduced_motion="reduce")
    page.evaluate("window.glided = 0")
    before = text_of(page)
    page.click("[data-undo]")
    changed(page, before)
    page.wait_for_timeout(150)
    assert page.evaluate("window.glided") == 0
    refuse_a_step(page)
    assert all("422" in each for each in found.troubles)
    found.troubles.clear()


def refuse_a_step(page: Page) -> None:
    """The page says what is wrong and what to do, nothing changes, and the next press works."""
    before = text_of(page)
    press(page, SIDING)
    page.click("[data-offers] summary:has-text('Names and notes')")
    form = page.locator("[data-offers] form", has_text="Give it another id").first
    form.locator("summary").click()
    field = form.locator("input")
    field.fill("west siding!")
    field.press("Enter")
    page.wait_for_selector("[data-note=trouble]")
    said = page.inner_text("[data-note=trouble]")
    assert "west siding!" in said
    assert "Give an id of at most 40 letters" in said
    assert text_of(page) == before
    assert page.text_content("[data-live]") in said
    field.fill("west-siding")
    field.press("Enter")
    changed(page, before)
    calm(page)
    assert "west-siding" in json.loads(text_of(page))["tracks"]
    assert page.locator("[data-note=trouble]").count() == 0
