"""The diagram that works on the page of a plan: the same code as in the page of one file."""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from service.conftest import EXAMPLES, Watched, changed
from service.test_pages import send
from trappoint import check
from trappoint.drawing.diagram import draw
from trappoint.drawing.working_page import SCRIPTS, STYLE, component, read_part, working_page
from trappoint.reporting.work_data import work_data
from trappoint_service import plan_page
from trappoint_service.diagrams import PREFIX

if TYPE_CHECKING:
    from flask.testing import FlaskClient
    from playwright.sync_api import Page

Open = Callable[..., Watched]
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True}
KELPIE = EXAMPLES / "kelpie-quay.layout.json"


def test_the_page_of_one_file_has_the_same_script_and_style(client: FlaskClient) -> None:
    report = check(KELPIE)
    assert report.layout is not None and report.facts is not None
    alone = working_page(draw(report.layout, table=report.table), work_data(report.facts))
    served = client.get("/examples/kelpie-quay").get_data(as_text=True)
    script = ""
    for name in (*SCRIPTS, STYLE):
        assert f'="/diagram/{name}?v=' in served
        with client.get(f"/diagram/{name}") as answer:
            text = answer.get_data(as_text=True)
        assert text == read_part(name) and text in alone
        script += text if name in SCRIPTS else ""
    assert f"<script>{script}</script>" in alone


def test_the_page_of_one_file_has_the_same_markup(client: FlaskClient) -> None:
    report = check(KELPIE)
    assert report.layout is not None and report.facts is not None
    diagram, data = draw(report.layout, table=report.table), work_data(report.facts)
    served = client.get("/examples/kelpie-quay").get_data(as_text=True)
    assert component(diagram.svg(prefix=PREFIX, heading=False), data, level=3) in served
    alone = working_page(diagram, data)
    assert component(diagram.svg(heading=False), data).encode("ascii", "xmlcharrefreplace") in (
        alone.encode("ascii")
    )


def test_its_files_are_kept_like_the_other_files_of_the_page(client: FlaskClient) -> None:
    with client.get("/diagram/page.js") as one, client.get("/static/page.js") as other:
        for name in ("Cache-Control", "Content-Type", "Content-Security-Policy", "Vary"):
            assert one.headers[name] == other.headers[name], name
        tag = one.headers["ETag"]
    with client.get("/diagram/page.js", headers={"If-None-Match": tag}) as same:
        assert (same.status_code, same.data) == (304, b"")
    assert client.get("/diagram/none.js").status_code == 404
    assert client.get("/diagram/../working_page.py").status_code == 404


def test_a_plan_without_derivation_has_the_plain_diagram(client: FlaskClient) -> None:
    plan = json.loads(KELPIE.read_text("utf-8"))
    plan["signals"]["1"]["arms"][0]["to"] = ["nowhere"]
    page = send(client, "/check", text=json.dumps(plan)).get_data(as_text=True)
    assert '<figure class="drawing"' in page
    assert "data-working" not in page and "/diagram/" not in page


def test_a_plan_with_too_many_arms_has_the_plain_diagram(monkeypatch: pytest.MonkeyPatch) -> None:
    report = check(KELPIE)
    page = plan_page.page_of(report)
    assert page.working is not None and page.svg is None
    monkeypatch.setattr(plan_page, "MAX_ARMS", 9)
    page = plan_page.page_of(report)
    assert page.working is None and page.svg is not None
    monkeypatch.setattr(plan_page, "MAX_SVG", 1000)
    page = plan_page.page_of(report)
    assert (page.working, page.svg, page.drawable) == (None, None, True)


def said(page: Page) -> str:
    return page.inner_text("[data-say]")


def points(name: str) -> str:
    return f"svg .points[data-id='{name}'] .hit"


def arm(name: str) -> str:
    return f"svg .arm[data-arm='{name}'] .hit"


def test_a_scene_by_mouse(watched: Open) -> None:
    """7R and 4R need p2 and p3 right and share both: from the locking table of this plan."""
    page = watched().go("/examples/kelpie-quay")
    assert page.locator("[data-scene-form]").is_hidden()
    page.click(arm("4R"))
    assert said(page) == "4R must stay on: its route needs p2 right, and p2 is left."
    page.click(points("p2"))
    page.click(arm("4R"))
    assert said(page) == "4R is off."
    page.click(arm("7R"))
    assert said(page) == "7R must stay on: 4R is off, and both lead over p2 and p3."
    assert "refused" in (page.get_attribute("[data-say]", "class") or "")
    page.click("text=All points and arms as a list")
    rows = page.locator("[data-arm-list] button").all_inner_texts()
    assert "4R: off" in rows
    assert "1R: on, may come off" in rows
    assert "7R: on, must stay on\n4R is off, and both lead over p2 and p3." in rows
    assert page.locator("[data-point-list] button").all_inner_texts() == [
        "p1 right",
        "p2 right\nP2 must stay right: 4R is off, and its route leads over it.",
        "p3 right\nP3 must stay right: 4R is off, and its route leads over it.",
    ]


def test_what_is_set_is_a_scene_of_the_plan(watched: Open, kelpie: bytes) -> None:
    page = watched().check(changed(kelpie, trains={"local": {"length_mm": 400, "name": "Local"}}))
    page.click(points("p2"))
    page.click(arm("4R"))
    page.get_by_label("sets down trains").check()
    for track in ("loop-west", "town-line"):
        page.locator(f"svg .track[data-track='{track}']").dispatch_event("click")
    page.click("text=Points, arms and trains as a scene")
    page.wait_for_function("() => document.querySelector('[data-as-scene] textarea').value")
    scene = json.loads(page.input_value("[data-as-scene] textarea"))
    assert scene == {
        "scenes": {
            "new-scene": {
                "points": {"p2": "right"},
                "off": ["4R"],
                "trains": {"loop-west": "local", "town-line": True},
            }
        }
    }
    page.fill("#plan-text", json.dumps({**json.loads(page.input_value("#plan-text")), **scene}))
    page.get_by_role("button", name="Check again").click()
    page.wait_for_selector("[data-play] option", state="attached")
    page.click("text=Show it")
    assert page.locator("svg .arm.off").get_attribute("data-arm") == "4R"
    assert page.locator("svg .train").count() == 2


def test_a_wrong_scene_says_why(watched: Open) -> None:
    """The slip of this example: two arms off at once that must never be."""
    page = watched().go("/examples/slips/scene-with-the-wrong-arm")
    page.select_option("[data-play] select", index=0)
    page.click("text=Show it")
    page.click("text=All points and arms as a list")
    wrong = page.locator("[data-arm-list] button", has_text="off, but must be on")
    wrong.first.wait_for()


def test_a_road_by_touch_on_a_phone(watched: Open) -> None:
    page = watched(**PHONE).go("/examples/kelpie-quay")
    page.get_by_label("sets a road").tap()
    for track in ("siding", "town-line"):
        box = page.locator(f"svg .track[data-track='{track}'] path.hit").first
        box.scroll_into_view_if_needed()
        box.tap(force=True)
    assert said(page).startswith("The road from siding to town-line is set")
    while page.locator("[data-run]").is_visible():
        page.locator("[data-run]").tap()
    assert said(page) == "The train is in town-line."
    assert page.locator("[data-steps] li").count() >= 4
    assert page.evaluate("document.documentElement.scrollWidth") <= 390


def test_a_scene_by_touch_on_a_phone(watched: Open) -> None:
    page = watched(**PHONE).go("/examples/kelpie-quay")
    page.locator(points("p2")).tap()
    assert said(page) == "p2 right."
    page.locator(arm("4R")).tap()
    assert said(page) == "4R is off."
    page.locator(points("p2")).tap()
    assert said(page) == "P2 must stay right: 4R is off, and its route leads over it."


def test_a_scene_and_a_road_by_keyboard(watched: Open) -> None:
    page = watched().go("/examples/kelpie-quay")
    page.locator("svg [tabindex='0']").focus()
    walk(page, "Points p2: left")
    page.keyboard.press("Enter")
    assert said(page) == "p2 right."
    walk(page, "Arm 4R: on, may come off")
    page.keyboard.press("Space")
    assert said(page) == "4R is off."
    page.locator("input[name=mode]:checked").focus()
    for _ in range(2):
        page.keyboard.press("ArrowDown")
    assert page.is_checked("[value='road']")
    page.locator("svg [tabindex='0']").focus()
    walk(page, "Track siding, empty")
    page.keyboard.press("Enter")
    walk(page, "Track town-line, empty")
    page.keyboard.press("Enter")
    assert said(page).startswith("The road from siding to town-line is ")


TOWARDS = """label => {
    const middle = (part) => {
        const box = part.getBoundingClientRect();
        return [box.x + box.width / 2, box.y + box.height / 2];
    };
    const [x, y] = middle(document.activeElement);
    const [u, v] = middle(document.querySelector(`svg [aria-label="${label}"]`));
    if (document.activeElement.getAttribute("aria-label") === label) return null;
    const across = u > x ? "ArrowRight" : "ArrowLeft";
    return Math.abs(u - x) > Math.abs(v - y) ? across : v > y ? "ArrowDown" : "ArrowUp";
}"""


def walk(page: Page, label: str) -> None:
    """Walk to a thing by the arrow keys, mostly straight towards it."""
    rng = random.Random(label)
    for _ in range(100):
        key = page.evaluate(TOWARDS, label)
        if key is None:
            return
        stray = rng.choice(("ArrowLeft", "ArrowRight", "ArrowUp", "ArrowDown"))
        page.keyboard.press(stray if rng.random() < 0.25 else key)
    raise AssertionError(label)


def test_links_to_road_and_scene_lead_to_them(watched: Open) -> None:
    page = watched().go("/examples/kelpie-quay#scene")
    assert page.locator("#scene svg.trappoint-diagram").is_visible()
    page.click(".contents >> text=Road")
    page.wait_for_selector("#road-from", state="visible")
    plain = watched(java_script_enabled=False).go("/examples/kelpie-quay")
    plain.click(".contents >> text=Scene")
    plain.wait_for_selector("[data-lever='p1']", state="visible")


@pytest.mark.parametrize(
    ("width", "modes"),
    [(390, (("work", "dark"), ("arm", "light"))), (1280, (("arm", "dark"), ("trains", "light")))],
)
def test_accessible_in_each_mode(
    watched: Open, width: int, modes: tuple[tuple[str, str], ...]
) -> None:
    """axe-core finds no violation, with all lists open."""
    import axe_playwright_python  # type: ignore[import-untyped]

    source = Path(axe_playwright_python.__file__).with_name("axe.min.js").read_text("utf-8")
    page = watched(viewport={"width": width, "height": 844}).go("/examples/selkie-harbour")
    page.evaluate(source)
    for summary in page.locator(".working summary").all():
        summary.click()
    for mode, scheme in modes:
        page.emulate_media(color_scheme=scheme)
        page.check(f"[name=mode][value={mode}]")
        if mode == "arm":
            page.select_option("[data-which-arm]", index=2)
        found = page.evaluate("axe.run('#diagram', {resultTypes: ['violations']})")
        told = [(one["id"], [n["html"][:200] for n in one["nodes"]]) for one in found["violations"]]
        assert told == []
