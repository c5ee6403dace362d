"""The scripts that are shipped, run in the browser without a page around them."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from trappoint.checking.check import check
from trappoint.drawing.working_page import read_part

if TYPE_CHECKING:
    from pathlib import Path

    from playwright.sync_api import Browser, Page

    from trappoint.facts.facts import Facts

SCRIPTS = "".join(map(read_part, ("locking.js", "roads.js")))


@contextmanager
def bench_in(browser: Browser) -> Iterator[Page]:
    """Yield an empty page with the script of the locking and that of the roads."""
    page = browser.new_page()
    page.add_script_tag(content=SCRIPTS)
    yield page
    page.close()


def ask(page: Page, function: str, *values: Any) -> Any:
    """Return what a function of the script answers; as text, because large values go slowly."""
    wrapped = f"(text) => JSON.stringify(({function})(...JSON.parse(text)))"
    return json.loads(page.evaluate(wrapped, json.dumps(values)))


def facts_of(plan: Path | str) -> Facts:
    """Return the facts of a plan, by its file or its text."""
    found = check(plan).facts
    assert found is not None
    return found
