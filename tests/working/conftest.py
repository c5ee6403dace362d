"""Pages that `trappoint draw -o NAME.html` writes, opened from the file in the browser."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from working.shipped import bench_in

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page

EXAMPLES = Path(__file__).parents[2] / "examples"

Open = Callable[..., "Page"]


def example(name: str) -> Any:
    """Return the plan of an example."""
    return json.loads((EXAMPLES / f"{name}.layout.json").read_text("utf-8"))


@pytest.fixture(scope="module")
def bench(browser: Browser) -> Iterator[Page]:
    """An empty page with the scripts of the locking and of the roads."""
    with bench_in(browser) as page:
        yield page


def written(plan: Path, folder: Path, sheet: str = "a4") -> Path:
    """Write the page of a plan with the command, unless it is there; return its file."""
    page = folder / f"{plan.name}.{sheet}.html"
    if page.exists():
        return page
    words = ["draw", str(plan), "-o", str(page), "--sheet", sheet]
    done = subprocess.run(
        [sys.executable, "-m", "trappoint", *words], capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    return page


@pytest.fixture(scope="session")
def pages(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder for the pages of the examples."""
    return tmp_path_factory.mktemp("pages")


@pytest.fixture
def opened(browser: Browser, pages: Path, tmp_path: Path, quick: None) -> Iterator[Open]:
    """Opens the page of a plan; at the end, no page may have asked for anything or failed."""
    contexts: list[BrowserContext] = []
    troubles: list[str] = []

    def open_page(plan: str | Path, sheet: str = "a4", **wishes: Any) -> Page:
        path = EXAMPLES / f"{plan}.layout.json" if isinstance(plan, str) else plan
        context = browser.new_context(**wishes)
        contexts.append(context)
        page = context.new_page()
        folder = tmp_path if path.is_relative_to(tmp_path) else pages
        file = written(path, folder, sheet).as_uri()
        page.on("request", lambda asked: troubles.extend({asked.url} - {file}))
        page.on("console", lambda message: troubles.extend([message.text]))
        page.on("pageerror", lambda error: troubles.extend([str(error)]))
        page.goto(file)
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert troubles == []
