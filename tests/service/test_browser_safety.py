"""No part of a plan, of other text or of a file name runs as code in a real browser."""

from __future__ import annotations

import json
from collections.abc import Callable
from itertools import cycle
from typing import TYPE_CHECKING

from service.conftest import Watched, read_example

if TYPE_CHECKING:
    from playwright.sync_api import Page

Open = Callable[..., Watched]

MARKUP = [
    "<script>alert(1)</script>",
    "</title></svg><img src=x onerror=alert(2)>",
    "</textarea></pre><svg onload=alert(3)>",
    "\"><a href='javascript:alert(4)' autofocus onfocus=alert(5)>x</a>",
    "' onmouseover='alert(6)' x='",
    "{{ 7*7 }}{% raw %}${alert(8)}",
    "]]><foreignObject><iframe srcdoc='<script>alert(9)</script>'></iframe></foreignObject>",
    "<!--<style>*{display:none}</style>",
    "&lt;script&gt;alert(10)&lt;/script&gt;",
    "\u202e\u2066\ufeff\u0000"[:3] + "<math><mtext><script>alert(11)</script>",
]


def test_nothing_of_a_plan_runs(watched: Open) -> None:
    """Put markup into all free text of a plan, each piece in many places."""
    plan = json.loads(read_example("selkie-harbour"))
    pieces = cycle(MARKUP)
    plan["title"] = "".join(MARKUP)
    plan["scale"], plan["note"] = next(pieces), next(pieces)
    for kind in ("tracks", "points", "signals", "platforms", "yards", "scenes"):
        for thing in plan[kind].values():
            thing["note"] = next(pieces)
            if kind in ("tracks", "platforms", "yards", "scenes"):
                thing["name"] = next(pieces)
    for signal in plan["signals"].values():
        signal["duties"] = [next(pieces)]
    plan["accept"] = [{"rule": "duty-mismatch", "at": "1", "because": "".join(MARKUP)}]
    page = watched().check(json.dumps(plan, indent=1).encode())
    assert page.inner_text("h1").startswith(MARKUP[0])
    assert page.locator(".finding").count() > 10
    page.hover(".drawing")
    page.get_by_label("shows the road of an arm").check()
    page.select_option("[data-which-arm]", "4")
    for details in page.locator(".working summary").all():
        details.click()
    page.get_by_label("sets down trains").check()
    page.locator("svg .track.target").first.dispatch_event("click")
    page.click("text=Show it")
    assert_plain(page, scripts=10)
    assert page.input_value("#plan-text").startswith('{\n "$schema"')


def test_nothing_of_what_is_no_plan_runs(watched: Open) -> None:
    """Put markup into keys, ids, values of the wrong type, and texts that are not JSON."""
    keys = {f"{piece}{number}": piece for number, piece in enumerate(MARKUP)}
    wrong = {
        "format": "trappoint-layout/1",
        "tracks": {piece: {"up": piece, "down": piece, piece: 1} for piece in MARKUP},
        "points": {"p": {"normal": MARKUP[0]}},
        "signals": {piece: {"track": piece, "for": piece, "arms": [piece]} for piece in MARKUP},
        **keys,
    }
    page = watched().check(json.dumps(wrong, indent=1).encode())
    assert page.inner_text(".stamp").lower() == "not judged"
    assert page.locator(".finding").count() > 30
    assert_plain(page)
    for text in ('{"a": ' + "".join(MARKUP), json.dumps({"format": "".join(MARKUP)})):
        page.fill("#plan-text", text)
        page.get_by_role("button", name="Check again").click()
        page.wait_for_function("() => document.querySelectorAll('.finding').length === 1")
        assert_plain(page)


def assert_plain(page: Page, scripts: int = 4) -> None:
    """Test that the page has no element that only a plan could have put there.

    With the diagram that works, the page has ten scripts: its own four, the five of the
    diagram, and the data of the plan.
    """
    assert page.locator("script").count() == scripts
    assert page.locator("script:not([src])").count() == (1 if scripts > 4 else 0)
    brought = "iframe, img, style, math, foreignObject, a[href^=javascript], [onload], [onerror]"
    assert page.locator(brought).count() == 0


def test_nothing_of_a_name_runs(watched: Open, kelpie: bytes) -> None:
    page = watched().go()
    page.set_input_files(
        "#plan-file",
        {"name": "<img src=x onerror=alert(1)>.json", "mimeType": "text/html", "buffer": kelpie},
    )
    page.click("text=Check this plan")
    assert "<img src=x onerror=alert(1)>.json holds" in page.inner_text(".sentence")
