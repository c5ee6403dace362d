"""The page on a phone, by real touches: a thumb does everything, and reaches everything."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from amount import amount, is_long
from working.conftest import Open
from working.test_page import arm, points, track

if TYPE_CHECKING:
    from playwright.sync_api import Page

PHONE: dict[str, Any] = {
    "viewport": {"width": 390, "height": 844},
    "has_touch": True,
    "is_mobile": True,
    "device_scale_factor": 2,
}

EXAMPLES = ("kelpie-quay", "pixie-ring", "boggart-bridge", "selkie-harbour", "hobthrush-vale")


def touch(page: Page, what: str) -> str:
    """Touch a thing at its middle, after scrolling to it as a thumb does; return the sentence."""
    part = page.locator(what).first
    part.evaluate("""(one) => {
        // The controls are in view already.
        const how = one.closest(".hand") ? "nearest" : "center";
        one.scrollIntoView({block: how, inline: how});
    }""")
    box = part.bounding_box()
    assert box is not None
    page.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    return page.inner_text("[data-say]")


def test_points_and_arms_by_touch(opened: Open) -> None:
    page = opened("kelpie-quay", **PHONE)
    assert touch(page, f"svg {points('p2')} text.label") == "p2 right."
    assert touch(page, f"svg {arm('4R')}") == "4R is off."
    assert touch(page, f"svg {arm('7R')}").startswith("7R must stay on")
    assert touch(page, "[data-put-back]") == "All arms are on, all points normal."


def test_a_train_and_a_road_by_touch(opened: Open) -> None:
    page = opened("kelpie-quay", **PHONE)
    touch(page, "label:has(input[value=trains])")
    assert touch(page, f"svg {track('siding')}") == "Train A stands in siding."
    touch(page, "label:has(input[value=road])")
    touch(page, f"svg {track('siding')}")
    assert touch(page, f"svg {track('town-line')}").startswith("The road from siding")
    for _ in range(4):
        if page.locator("[data-run]").is_visible():
            touch(page, "[data-run]")
    assert page.inner_text("[data-say]") == "Train A is in town-line."


def test_a_session_by_touch(opened: Open) -> None:
    page = opened("hobthrush-vale", **PHONE)
    session = page.locator("[data-play] option", has_text="Session").first
    page.select_option("[data-play] select", session.get_attribute("value"))
    assert touch(page, "[data-choose]").startswith("At first: ")
    assert touch(page, "[data-next]").startswith("Movement 1: ")
    assert touch(page, "[data-back]").startswith("At first: ")
    # The drawing is in view while the thumb steps.
    assert in_view(page, "[data-next]")
    assert in_view(page, "svg .train")


def in_view(page: Page, what: str) -> bool:
    return bool(
        page.eval_on_selector_all(
            what,
            """(all) => all.some((one) => {
              const box = one.getBoundingClientRect();
              return box.top >= 0 && box.bottom <= innerHeight;
            })""",
        )
    )


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_thumb_reaches_the_controls(opened: Open, name: str) -> None:
    """Wherever the page is scrolled, the controls are in its lower half, large enough."""
    page = opened(name, **PHONE)
    assert page.evaluate("document.documentElement.scrollWidth") == 390
    for far in (0, 0.5):
        page.evaluate("(far) => scrollTo(0, far * document.documentElement.scrollHeight)", far)
        for what in ("[data-say]", "input[value=work]", "input[value=road]", "[data-put-back]"):
            box = page.locator(what).bounding_box()
            assert box is not None
            if far == 0:
                assert 422 <= box["y"] < box["y"] + box["height"] <= 844, what
    small = page.eval_on_selector_all(
        "button, label, select, summary",
        """(all) => all.filter((one) => one.offsetParent).map((one) => one.getBoundingClientRect())
          .filter(({ width, height }) => width < 44 || height < 44).length""",
    )
    assert small == 0


AREAS = """(every) => {
  const svg = document.querySelector("svg.trappoint-diagram");
  const middle = (part) => {
    const boxes = [...part.querySelectorAll(":scope > :not(.hit):not(title)")]
      .map((each) => each.getBoundingClientRect());
    if (part.dataset.kind === "points") {
      const toe = part.querySelector('.leg[data-leg="toe"]');
      const at = toe.getPointAtLength(0).matrixTransform(svg.getScreenCTM());
      return [at.x, at.y];
    }
    const left = Math.min(...boxes.map((box) => box.left));
    const right = Math.max(...boxes.map((box) => box.right));
    const top = Math.min(...boxes.map((box) => box.top));
    const bottom = Math.max(...boxes.map((box) => box.bottom));
    return [(left + right) / 2, (top + bottom) / 2];
  };
  const parts = [...svg.querySelectorAll(".arm[data-arm], [data-kind=points]")];
  const middles = parts.map(middle);
  const pressed = (x, y) => {
    svg.dispatchEvent(new MouseEvent("click", { clientX: x, clientY: y, detail: 1 }));
    return svg.querySelector('[tabindex="0"]');
  };
  return parts.flatMap((part, n) => {
    if (n % every) return [];
    const [x, y] = middles[n];
    const found = { name: part.id, missed: 0, own: 0, nearer: 0 };
    for (const [u, v] of [[0, 0], [-21, 0], [21, 0], [0, -21], [0, 21],
      [-21, -21], [21, -21], [-21, 21], [21, 21]]) {
      const got = pressed(x + u, y + v);
      if (got === part) found.own += 1;
      else if (parts.includes(got)) found.nearer += 1;
      else found.missed += 1;
    }
    return [found];
  });
}"""


@pytest.mark.parametrize("name", EXAMPLES if is_long() else EXAMPLES[::3])
def test_a_finger_meets_every_arm_and_all_points(opened: Open, name: str) -> None:
    """In 44 pixels each way around each, a press goes to it, or to an arm or points nearer by."""
    page = opened(name, **PHONE)
    page.evaluate("document.querySelector('[data-drawing]').scrollLeft = 0")
    found = page.evaluate(AREAS, amount(6 if name == "hobthrush-vale" else 1, long=1))
    assert len(found) >= 10
    assert [each["name"] for each in found if each["missed"]] == []
    assert [each["name"] for each in found if not each["own"]] == []
    whole = sum(each["own"] == 9 for each in found)
    print(f"{name}: {whole} of {len(found)} have all of it to themselves")
    # Every arm and all points are in the list too.
    page.click("summary")
    rows = page.locator("[data-point-list] button, [data-arm-list] button").count()
    groups = page.evaluate(
        "JSON.parse(document.querySelector('[data-work-data]').textContent).groups"
    )
    assert rows >= len(groups)
