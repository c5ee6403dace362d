"""The page for screen readers and keys: axe-core, names, states, and the keyboard alone."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from amount import is_long
from working.conftest import Open

if TYPE_CHECKING:
    from playwright.sync_api import Page

MODES = ("works points and arms", "sets down trains", "sets a road")


def violations(page: Page) -> list[Any]:
    found = page.evaluate("axe.run({resultTypes: ['violations']})")
    return [
        (entry["id"], [node["html"][:200] + node["failureSummary"] for node in entry["nodes"]][:3])
        for entry in found["violations"]
    ]


SHOWN = [("pixie-ring", 390), ("selkie-harbour", 1280)]
if is_long():
    SHOWN += [("pixie-ring", 1280), ("selkie-harbour", 390)]


@pytest.mark.parametrize(("plan", "width"), SHOWN)
def test_axe_is_silent(opened: Open, plan: str, width: int) -> None:
    """By day and by night, in each mode, without a frame and with one, the list open."""
    import axe_playwright_python  # type: ignore[import-untyped]

    page = opened(plan, viewport={"width": width, "height": 844}, bypass_csp=True)
    page.evaluate(Path(axe_playwright_python.__file__).with_name("axe.min.js").read_text("utf-8"))
    page.click("summary")
    page.click("text=Show it")
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        for mode in MODES:
            page.get_by_label(mode).check()
            assert violations(page) == [], (scheme, mode)


def test_names_and_states(opened: Open) -> None:
    page = opened("kelpie-quay")
    diagram = page.get_by_role("group", name="Diagram", exact=True)
    told = diagram.get_attribute("aria-describedby") or ""
    texts = [page.locator(f"#{name}").text_content() or "" for name in told.split()]
    assert texts[0].startswith("Track diagram, not to scale")
    assert "arrow keys" in texts[1]
    diagram.get_by_role("button", name="Points p2: left").press("Enter")
    assert diagram.get_by_role("button", name="Points p2: right").count() == 1
    arm = diagram.get_by_role("button", name="Arm 4R: on, may come off", pressed=False)
    arm.press(" ")
    assert diagram.get_by_role("button", name="Arm 4R: off", pressed=True).count() == 1
    assert page.get_by_role("status").inner_text() == "4R is off."
    assert diagram.get_by_role("button", name="Track quarry-line, empty").count() == 1
    assert diagram.get_by_role("button", name="Edge quarry").count() == 1


NEXT = """
  const svg = document.querySelector("svg.trappoint-diagram");
  const WAYS = ["ArrowLeft", "ArrowRight", "ArrowUp", "ArrowDown"];
  const next = (part, key) => {
    part.focus();
    part.dispatchEvent(new KeyboardEvent("keydown", { key, bubbles: true, cancelable: true }));
    return document.activeElement;
  };
"""

REACHED = f"""() => {{{NEXT}
  const parts = [...svg.querySelectorAll(".target")];
  const found = new Set([svg.querySelector('[tabindex="0"]')]);
  for (const part of found) for (const way of WAYS) found.add(next(part, way));
  return parts.filter((part) => !found.has(part)).map((part) => part.getAttribute("aria-label"));
}}"""

WAY = f"""(name) => {{{NEXT}
  const first = document.activeElement;
  const ways = new Map([[first, []]]);
  for (const [part, keys] of ways) {{
    if (part.getAttribute("aria-label").startsWith(name)) {{
      first.focus();
      return keys;
    }}
    for (const way of WAYS) {{
      const reached = next(part, way);
      if (!ways.has(reached)) ways.set(reached, [...keys, way]);
    }}
  }}
  return null;
}}"""


def go(page: Page, name: str) -> None:
    """Go by the arrow keys to a thing of the diagram."""
    for key in page.evaluate(WAY, name):
        page.keyboard.press(key)
    assert page.evaluate("document.activeElement.getAttribute('aria-label')").startswith(name)


@pytest.mark.parametrize("name", ["kelpie-quay", "selkie-harbour", "hobthrush-vale"])
def test_the_arrow_keys_reach_every_thing(opened: Open, name: str) -> None:
    page = opened(name)
    assert page.evaluate(REACHED) == []


def test_the_keyboard_alone_does_everything(opened: Open) -> None:
    page = opened("kelpie-quay")
    say = page.get_by_role("status")
    page.keyboard.press("Tab")
    page.keyboard.press("ArrowDown")
    assert say.inner_text().startswith("Press a track to set a train down")
    tab_to_the_diagram(page)
    go(page, "Track siding")
    page.keyboard.press("Enter")
    assert say.inner_text() == "Train A stands in siding."
    tab_to(page, "input[name=mode]")
    page.keyboard.press("ArrowDown")
    tab_to_the_diagram(page)
    go(page, "Track siding")
    page.keyboard.press("Enter")
    go(page, "Track town-line")
    page.keyboard.press("Enter")
    assert say.inner_text().startswith("The road from siding to town-line is set")
    tab_to(page, "[data-run]")
    for _ in range(4):
        if page.locator("[data-run]").is_visible():
            page.keyboard.press("Enter")
    assert say.inner_text() == "Train A is in town-line."
    tab_to(page, "input[name=mode]")
    page.keyboard.press("ArrowDown")
    assert say.inner_text().startswith("Press an arm to see its road")
    page.keyboard.press("ArrowDown")
    tab_to_the_diagram(page)
    go(page, "Points p2")
    page.keyboard.press(" ")
    assert say.inner_text() == "p2 right."
    go(page, "Arm 2")
    page.keyboard.press("Enter")
    assert say.inner_text().startswith("2 must stay on")
    tab_to(page, "[data-put-back]")
    page.keyboard.press("Enter")
    assert say.inner_text() == "All arms are on, all points normal."


def tab_to(page: Page, what: str) -> None:
    """Press Tab until a thing has the focus, which must be seen."""
    for _ in range(40):
        page.keyboard.press("Tab")
        if page.evaluate("(what) => document.activeElement.matches(what)", what):
            assert page.evaluate("document.activeElement.matches(':focus-visible')")
            return
    raise AssertionError(f"no way to {what} by Tab")


def tab_to_the_diagram(page: Page) -> None:
    tab_to(page, "svg .target")
    ring = page.evaluate(
        "getComputedStyle(document.activeElement.querySelector(':scope > .hit')).strokeWidth"
    )
    assert float(ring.removesuffix("px")) >= 2.4
