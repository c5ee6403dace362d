"""A running service, a browser, and plans to send."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from trappoint_service import create_app
from trappoint_service.config import Config

if TYPE_CHECKING:
    from flask import Flask
    from flask.testing import FlaskClient
    from playwright.sync_api import Browser, BrowserContext, Dialog, Page

    from trappoint_service.pool import Pool

EXAMPLES = Path(__file__).parents[2] / "examples"

HEAVY = b'{"format":"trappoint-layout/1","tracks":{},"note":[' + b"1," * 3_500_000 + b"1]}"
"""A text of 7 MB that takes seconds to check: one long list has the wrong form."""


FEW = {"WORKERS": "2", "LONG_WORKERS": "1"}
"""Settings of a service: each process that it starts costs half a second."""


def read_example(name: str) -> bytes:
    return (EXAMPLES / f"{name}.layout.json").read_bytes()


@pytest.fixture(scope="session")
def kelpie() -> bytes:
    return read_example("kelpie-quay")


@pytest.fixture(scope="session")
def unheld() -> bytes:
    """A plan that does not hold: Kelpie Quay without the signal of its siding."""
    return read_example("slips/siding-signal-forgotten")


@pytest.fixture(scope="session")
def client() -> Iterator[FlaskClient]:
    """A client of the application, with real processes behind it."""
    app = create_app(Config(wait_seconds=60, deadline_seconds=120, workers=1, long_workers=1))
    yield app.test_client()
    app.pool.close()  # type: ignore[attr-defined]


@pytest.fixture(scope="session")
def serving() -> Iterator[Callable[..., str]]:
    """Start `trappoint serve` with some variables and return its address."""
    started: list[subprocess.Popen[str]] = []

    def start(**variables: str) -> str:
        variables = {**FEW, **variables}
        process = subprocess.Popen(
            [sys.executable, "-m", "trappoint", "serve", "--port", "0"],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env={**os.environ, **{f"TRAPPOINT_SERVE_{k}": v for k, v in variables.items()}},
        )
        started.append(process)
        assert process.stdout is not None
        told = process.stdout.readline()
        found = re.search(r"http://[\d.]+:\d+", told)
        assert found, told + (process.stderr.read() if process.stderr else "")
        # Read its log, so that the pipe does not fill up.
        threading.Thread(target=lambda: list(process.stderr or ()), daemon=True).start()
        return found[0]

    yield start
    for process in started:
        process.terminate()
        process.wait(10)
        for stream in (process.stdout, process.stderr):
            if stream is not None:
                stream.close()


@pytest.fixture
def start() -> Iterator[Callable[..., tuple[subprocess.Popen[str], int]]]:
    """Start a service with few processes; end it if it still runs."""
    started: list[subprocess.Popen[str]] = []

    def begin(*words: str, **variables: str) -> tuple[subprocess.Popen[str], int]:
        variables = {**FEW, **variables}
        process = subprocess.Popen(
            [*words, sys.executable, "-m", "trappoint", "serve", "--port", "0"],
            stdout=subprocess.PIPE,
            text=True,
            env={**os.environ, **{f"TRAPPOINT_SERVE_{k}": v for k, v in variables.items()}},
        )
        started.append(process)
        assert process.stdout is not None
        found = re.search(r":(\d+)/", process.stdout.readline())
        assert found is not None
        return process, int(found[1])

    yield begin
    for process in started:
        process.kill()
        process.communicate()


@pytest.fixture(scope="session")
def address(serving: Callable[..., str]) -> str:
    """The address of the service."""
    return serving()


class Watched:
    """A page, its requests to other hosts, and its errors."""

    def __init__(self, context: BrowserContext, address: str) -> None:
        self.context, self.address = context, address
        self.troubles: list[str] = []
        self.page: Page = context.new_page()
        self.page.on("request", lambda request: self._see(request.url))
        self.page.on("console", lambda message: self.troubles.append(message.text))
        self.page.on("pageerror", lambda error: self.troubles.append(str(error)))
        self.page.on("dialog", self._refuse)

    def _see(self, url: str) -> None:
        if not url.startswith((self.address, "blob:", "about:")):
            self.troubles.append(f"asks {url}")

    def _refuse(self, dialog: Dialog) -> None:
        self.troubles.append(f"says {dialog.message}")
        dialog.dismiss()

    def go(self, path: str = "/") -> Page:
        self.page.goto(self.address + path)
        return self.page

    def check(self, text: bytes) -> Page:
        """Paste a plan and check it."""
        page = self.go()
        page.fill("#plan-text", text.decode())
        page.click("text=Check this plan")
        page.wait_for_selector(".verdict")
        return page


@pytest.fixture
def watched(browser: Browser, address: str) -> Iterator[Callable[..., Watched]]:
    """Opens pages; at the end, none may have errors or cookies."""
    opened: list[Watched] = []

    def open_page(**wishes: Any) -> Watched:
        found = Watched(browser.new_context(**wishes), address)
        opened.append(found)
        return found

    yield open_page
    for one in opened:
        cookies = one.context.cookies()
        one.context.close()
        assert one.troubles == []
        assert cookies == []


def take_every_place(app: Flask) -> Callable[[], None]:
    """Fill all places for jobs; return a function that frees them."""
    pool: Pool = app.pool  # type: ignore[attr-defined]
    pool.start()
    before = [(queue, queue.places) for queue in (pool._quick, pool._long)]
    for queue, _ in before:
        queue.places = -queue.size  # none that wait, nor any that run

    def give_back() -> None:
        for queue, places in before:
            queue.places = places

    return give_back


def changed(plan: bytes, **changes: object) -> bytes:
    """Return a plan with changed keys at its top level."""
    return json.dumps({**json.loads(plan), **changes}).encode()
