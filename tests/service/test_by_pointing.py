"""A plan is built and signalled by pointing alone: with a mouse, with keys, with a finger.

Every press is a real event at a place on the screen. Scripts only read the page.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest

from service.building import DESK, PHONE, calm, text_of, wait_called

if TYPE_CHECKING:
    from collections.abc import Callable

    from playwright.sync_api import Locator, Page

    from service.conftest import Watched

    Open = Callable[..., Watched]

MOST_PRESSES = {"mouse": 60, "finger": 60, "keys": 150}
"""By keys, each Tab and each arrow counts."""


class Hand:
    """Presses with a mouse or a finger, and counts them."""

    def __init__(self, page: Page, *, touch: bool = False) -> None:
        self.page, self.touch, self.presses = page, touch, 0

    def at(self, x: float, y: float) -> None:
        self.presses += 1
        if self.touch:
            self.page.touchscreen.tap(x, y)
        else:
            self.page.mouse.click(x, y)

    def button(self, found: Locator) -> None:
        found.wait_for()
        found.scroll_into_view_if_needed()
        box = found.bounding_box()
        assert box is not None
        self.at(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)

    def thing(self, place: str) -> None:
        kind, key = place.split("/")
        assert kind == "tracks"
        self.page.wait_for_selector("[data-preview]", state="hidden")
        self.at(*halfway(self.page, f".place.track[data-at='tracks/{key}'] path"))
        wait_called(self.page, f"Track {key}")

    def act(self, label: str) -> None:
        before = text_of(self.page)
        self.button(own_act(self.page, label))
        changed(self.page, before)


class Keys(Hand):
    """The keyboard alone."""

    HERE = "wanted => document.activeElement === wanted"

    def key(self, name: str) -> None:
        self.presses += 1
        self.page.keyboard.press(name)

    def button(self, found: Locator) -> None:
        found.wait_for()
        wanted = found.element_handle()
        for _ in range(80):
            if self.page.evaluate(self.HERE, wanted):
                break
            self.key("Tab")
        assert self.page.evaluate(self.HERE, wanted), "no way there by Tab"
        self.key("Enter")

    def thing(self, place: str) -> None:
        """Tab to the diagram, then the arrow keys towards the thing."""
        back = self.page.evaluate("Boolean(document.activeElement.closest('aside, .text'))")
        for _ in range(80):
            if self.page.evaluate(AT):
                break
            self.key("Shift+Tab" if back else "Tab")
        for _ in range(40):
            here = self.page.evaluate(AT)
            if here == place:
                break
            (x, y), (u, v) = (middle(self.page, each) for each in (here, place))
            across = "ArrowRight" if u > x else "ArrowLeft"
            upright = "ArrowDown" if v > y else "ArrowUp"
            first = abs(u - x) > abs(v - y)
            for way in (across, upright) if first else (upright, across):
                self.key(way)
                if self.page.evaluate(AT) != here:
                    break
        assert self.page.evaluate(AT) == place, f"no way to {place} by arrow keys"
        self.key("Enter")
        wait_called(self.page, f"Track {place.split('/')[1]}")


AT = "document.activeElement.dataset.at"


def middle(page: Page, place: str) -> tuple[float, float]:
    """Return where the middle of a thing of the diagram is, in the window."""
    box = page.locator(f".place[data-at='{place}']").first.bounding_box()
    assert box is not None
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def halfway(page: Page, selector: str) -> tuple[float, float]:
    """Return where the drawn line of a track is, halfway along it, in the window."""
    page.locator(selector).first.scroll_into_view_if_needed()
    page.wait_for_function("() => !document.getAnimations().length")
    found: list[float] = page.eval_on_selector(
        selector,
        """line => {
            const spot = line.getPointAtLength(line.getTotalLength() / 2);
            const {x, y} = spot.matrixTransform(line.getScreenCTM());
            return [x, y];
        }""",
    )
    return found[0], found[1]


def own_act(page: Page, label: str) -> Locator:
    own = page.locator("[data-offers] [data-can] > form > .act, [data-first] .act")
    return own.get_by_text(label, exact=True).locator("visible=true").first


def changed(page: Page, before: str) -> None:
    """Wait until the plan is another one than before, and judged."""
    page.wait_for_function(
        "before => document.querySelector('#build-text').value !== before", arg=before
    )
    calm(page)


def wait_stamp(page: Page, words: str) -> None:
    page.wait_for_function(
        "words => document.querySelector('[data-stamp]').textContent.toLowerCase() === words",
        arg=words,
    )


def plan_of(page: Page) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(text_of(page))
    return found


def lay_loop(hand: Hand) -> None:
    """Lay a line with a loop and two platforms, and take the first proposal of signals."""
    page = hand.page
    hand.act("Lay a line")
    hand.thing("tracks/line")
    hand.act("Lay a loop here")
    wait_stamp(page, "does not hold")
    for track in ("loop", beside_loop(page)):
        hand.thing(f"tracks/{track}")
        hand.act("Build a platform beside it")
    propose(hand)


def beside_loop(page: Page) -> str:
    """Return the id of the track beside the loop, which runs between the same points."""
    tracks = plan_of(page)["tracks"]
    return next(
        key
        for key, own in tracks.items()
        if key != "loop" and {own["up"][:2], own["down"][:2]} == {"p1", "p2"}
    )


def propose(hand: Hand) -> None:
    page = hand.page
    if hand.touch:  # the acts cover the findings on a phone
        hand.button(page.get_by_role("button", name="Close", exact=True))
    hand.button(page.locator("[data-propose]"))
    page.locator("[data-stop-proposing]").wait_for(state="hidden")
    before = text_of(page)
    hand.button(page.locator("[data-proposals] > li > .act").first)
    changed(page, before)


WAYS = {"mouse": (Hand, DESK), "keys": (Keys, DESK), "finger": (Hand, PHONE)}


@pytest.mark.parametrize("way", WAYS)
def test_a_passing_loop_from_an_empty_line(watched: Open, way: str) -> None:
    """A line, a loop, two platforms and their signals: the plan holds within few presses."""
    kind, size = WAYS[way]
    page = watched(**size).go("/build")
    hand = kind(page)
    hand.touch = way == "finger"
    lay_loop(hand)
    wait_stamp(page, "holds")
    plan = plan_of(page)
    assert len(plan["points"]) == 2
    assert len(plan["platforms"]) == 2
    assert len(plan["signals"]) >= 4
    print(f"{way}: {hand.presses} presses")
    assert hand.presses <= MOST_PRESSES[way]
