"""The road of an arm, on the page of one file: marks and words, against the locking table."""

from __future__ import annotations

import pytest

from trappoint import check
from working.conftest import EXAMPLES, Open


@pytest.mark.parametrize("name", ["kelpie-quay", "pixie-ring", "boggart-bridge"])
def test_every_arm_marks_its_road(opened: Open, name: str) -> None:
    """Tracks, lies and excluded arms are those of the arm's entry in the locking table."""
    table = check(EXAMPLES / f"{name}.layout.json").table
    assert table is not None
    page = opened(name)
    page.get_by_label("shows the road of an arm").check()
    shown = page.eval_on_selector_all("[data-which-arm] option", "all => all.map(x => x.value)")
    assert sorted(shown) == sorted(["", *(entry.arm for entry in table.arms)])
    for entry in table.arms:
        page.select_option("[data-which-arm]", entry.arm)
        assert page.inner_text("[data-say]").endswith(f": {entry.meaning}")
        marks = page.evaluate(
            """() => ({
                lit: [...document.querySelectorAll("svg .track.lit")].map((x) => x.dataset.track),
                lies: [...document.querySelectorAll("svg .lie-needed")].map(
                    (x) => [x.closest("[data-id]").dataset.id, x.textContent]),
                never: [...document.querySelectorAll("svg .cross:not(.sometimes)")].map(
                    (x) => x.closest("[data-arm]").dataset.arm),
                some: [...document.querySelectorAll("svg .cross.sometimes")].map(
                    (x) => x.closest("[data-arm]").dataset.arm),
            })"""
        )
        assert set(marks["lit"]) == {track for route in entry.routes for track in route.over}
        lies: dict[str, set[str]] = {}
        for route in entry.routes:
            for switch, lie in route.points.items():
                lies.setdefault(switch, set()).add(lie)
        assert {switch: set(words.split("/")) for switch, words in marks["lies"]} == lies
        assert set(marks["never"]) == {c.arm for c in entry.conflicts if c.when is None}
        assert set(marks["some"]) == {c.arm for c in entry.conflicts if c.when is not None}
    page.get_by_label("works points and arms").check()
    assert page.locator("svg .lit, svg .cross, svg .lie-needed, svg .needed").count() == 0


def test_a_press_shows_and_clears_it(opened: Open) -> None:
    page = opened("kelpie-quay")
    page.get_by_label("shows the road of an arm").check()
    page.click("svg .arm[data-arm='4R'] .hit")
    assert page.input_value("[data-which-arm]") == "4R"
    assert page.locator("svg .arm.off").count() == 0
    lines = page.locator("[data-arm-road] p").all_inner_texts()
    assert lines[0] == "Points: p3 right, p2 right."
    page.click("svg .arm[data-arm='4R'] .hit")
    assert page.locator("[data-arm-road]").is_hidden()
    page.click("svg .arm[data-arm='4R'] .hit")
    page.keyboard.press("Escape")
    assert page.input_value("[data-which-arm]") == ""
