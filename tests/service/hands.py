"""Hands for the page to build on: a mouse, a finger, and keys alone. Each press is counted.

Every press is a real event at a place on the screen. Scripts only read the page.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from service.building import DESK, PHONE, calm, text_of, wait_called

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page

ACTS = "[data-offers] [data-can], [data-first] [data-can]"


IN_SIGHT = """part => {
    const {x, y, width, height} = part.getBoundingClientRect();
    return part.contains(document.elementFromPoint(x + width / 2, y + height / 2));
}"""


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
        if not found.evaluate(IN_SIGHT):
            found.evaluate("part => part.scrollIntoView({block: 'center', behavior: 'instant'})")
        self.at(*middle(found))

    def thing(self, place: str) -> None:
        """Press a track halfway along, an end at its mark, or bare paper for the whole plan."""
        self.page.wait_for_selector("[data-preview]", state="hidden")
        if place == "plan":
            box = self.page.locator("[data-drawing]").bounding_box()
            assert box is not None
            self.at(box["x"] + box["width"] - 30, box["y"] + 20)
        else:
            self.at(*spot_on(self.page, place))
        wait_called(self.page, name_of(place))

    def act(self, label: str) -> None:
        """Do an act; unfold its heading first, if it is folded."""
        before = text_of(self.page)
        self.button(self.offered(label))
        changed(self.page, before)

    def offered(self, label: str) -> Locator:
        """Return the button of an act of the chosen thing itself, which is in sight then."""
        acts = self.page.locator(f"{ACTS} >> form > .act").get_by_text(label, exact=True)
        acts.first.wait_for(state="attached")
        if not acts.locator("visible=true").count():
            folded = self.page.locator(f"{ACTS} >> .part").filter(has=acts.first)
            self.button(folded.locator("> summary").first)
        return acts.locator("visible=true").first

    def type(self, field: Locator, words: str) -> None:
        """Press a field and type, with Enter at the end. Each letter counts as a press."""
        self.button(field)
        self.presses += len(words) + 1
        self.page.keyboard.type(words)
        self.page.keyboard.press("Enter")

    def propose(self) -> None:
        """Ask for signals, and take the first proposal."""
        page = self.page
        self.to_proposals()
        page.locator("[data-stop-proposing]").wait_for(state="hidden")
        before = text_of(page)
        self.button(page.locator("[data-proposals] > li > .act").first)
        changed(page, before)

    def to_proposals(self) -> None:
        self.button(self.page.locator("[data-propose]"))


class Keys(Hand):
    """The keyboard alone; each Tab and each arrow counts."""

    HERE = "wanted => document.activeElement === wanted"
    BEFORE = """wanted => Boolean(document.activeElement.compareDocumentPosition(wanted)
        & Node.DOCUMENT_POSITION_PRECEDING)"""
    AT = "document.activeElement.dataset.at ?? null"

    def key(self, name: str) -> None:
        self.presses += 1
        self.page.keyboard.press(name)

    def button(self, found: Locator) -> None:
        self.to(found)
        self.key("Enter")

    def to(self, found: Locator) -> None:
        """Go to a part of the page by Tab, backwards if it is before this one."""
        found.wait_for()
        wanted = found.element_handle()
        way = "Shift+Tab" if self.page.evaluate(self.BEFORE, wanted) else "Tab"
        for _ in range(80):
            if self.page.evaluate(self.HERE, wanted):
                return
            self.key(way)
        raise AssertionError("no way there by Tab")

    def type(self, field: Locator, words: str) -> None:
        self.to(field)
        self.presses += len(words) + 1
        self.page.keyboard.type(words)
        self.page.keyboard.press("Enter")

    def diagram(self) -> None:
        """Go to the diagram: by Escape from the acts, or by Tab."""
        if self.page.evaluate("Boolean(document.activeElement.closest('[data-offers]'))"):
            self.key("Escape")
        if not self.page.evaluate(self.AT):
            self.to(self.page.locator(".place[tabindex='0']"))

    def thing(self, place: str) -> None:
        """Go to the diagram, then by the arrow keys towards the thing."""
        self.diagram()
        if place == "plan":
            self.key("w")
            wait_called(self.page, name_of(place))
            return
        for _ in range(40):
            here = self.page.evaluate(self.AT)
            if here == place:
                break
            (x, y), (u, v) = (middle(drawn(self.page, each)) for each in (here, place))
            across = "ArrowRight" if u > x else "ArrowLeft"
            upright = "ArrowDown" if v > y else "ArrowUp"
            first = abs(u - x) > abs(v - y)
            for way in (across, upright) if first else (upright, across):
                self.key(way)
                if self.page.evaluate(self.AT) != here:
                    break
        assert self.page.evaluate(self.AT) == place, f"no way to {place} by arrow keys"
        self.key("Enter")
        wait_called(self.page, name_of(place))

    def to_proposals(self) -> None:
        self.diagram()
        self.key("p")
        self.key("Enter")


def make_hand(way: str, page: Page) -> Hand:
    """Return the hand with this name: mouse, keys or finger."""
    return Keys(page) if way == "keys" else Hand(page, touch=way == "finger")


def size_for(way: str) -> dict[str, Any]:
    """Return the window for a hand: a desk, or a phone of 390 pixels."""
    return PHONE if way == "finger" else DESK


def drawn(page: Page, place: str) -> Locator:
    return page.locator(f".place[data-at='{place}']").first


def name_of(place: str) -> str:
    """Return the heading of the acts at a track, at an end, or for the whole plan."""
    kind, _, rest = place.partition("/")
    key, _, end = rest.partition("/")
    if kind == "plan":
        return "Plan without a title"
    return f"{end.capitalize()} end of track {key}" if end else f"Track {key}"


def middle(part: Locator) -> tuple[float, float]:
    """Return where the middle of a part of the page is, in the window."""
    box = part.bounding_box()
    assert box is not None
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def spot_on(page: Page, place: str, share: float = 0.5) -> tuple[float, float]:
    """Return where to press a thing, in the window: a track partway along its drawn line."""
    _, key, *end = place.split("/")
    if end:
        mark = page.locator(f"[data-track='{key}'][data-end='{end[0]}']")
        mark.scroll_into_view_if_needed()
        still(page)
        return middle(mark)
    line = drawn(page, place).locator("path").first
    line.scroll_into_view_if_needed()
    still(page)
    found: list[float] = line.evaluate(
        """(line, share) => {
            const spot = line.getPointAtLength(line.getTotalLength() * share);
            const {x, y} = spot.matrixTransform(line.getScreenCTM());
            return [x, y];
        }""",
        share,
    )
    return found[0], found[1]


def still(page: Page) -> None:
    """Wait until nothing glides."""
    page.wait_for_function("() => !document.getAnimations().length")


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
