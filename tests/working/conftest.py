"""Pages that `trappoint draw -o NAME.html` writes, opened from the file in the browser."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

EXAMPLES = Path(__file__).parents[2] / "examples"

Open = Callable[..., "Page"]


def written(plan: Path, folder: Path) -> Path:
    """Write the page of a plan with the command; return its file."""
    page = folder / f"{plan.name}.html"
    words = ["draw", str(plan), "-o", str(page)]
    done = subprocess.run(
        [sys.executable, "-m", "trappoint", *words], capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    return page


@pytest.fixture
def opened(browser: Browser, tmp_path: Path) -> Iterator[Open]:
    """Opens the page of a plan; at the end, no page may have asked for anything or failed."""
    contexts, troubles = [], []

    def open_page(plan: str | Path, **wishes: Any) -> Page:
        path = EXAMPLES / f"{plan}.layout.json" if isinstance(plan, str) else plan
        context = browser.new_context(**wishes)
        contexts.append(context)
        page = context.new_page()
        file = written(path, tmp_path).as_uri()
        page.on("request", lambda asked: asked.url == file or troubles.append(asked.url))
        page.on("console", lambda message: troubles.append(message.text))
        page.on("pageerror", lambda error: troubles.append(str(error)))
        page.goto(file)
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert troubles == []
