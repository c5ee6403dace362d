"""Waiting and hanging up, with real servers, sockets and a real browser."""

from __future__ import annotations

import json
import os
import re
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing, nullcontext
from http.client import HTTPConnection
from pathlib import Path
from secrets import token_hex
from select import select
from socketserver import ThreadingMixIn
from typing import Any
from urllib.parse import urlsplit
from wsgiref.simple_server import WSGIRequestHandler, WSGIServer, make_server

import pytest

from large.railway import railway, written
from service.conftest import Watched
from service.load import children
from trappoint_service import create_app
from trappoint_service import pool as pools
from trappoint_service.config import Config

Begin = Callable[..., socket.socket]
NARROW = {
    "THREADS": "8",  # 4 for pages, and one each to check, to wait for it, for a long job, to wait
    "WORKERS": "1",
    "LONG_WORKERS": "1",
    "LONG_PLACES": "1",
    "DEADLINE_SECONDS": "120",
}


@pytest.fixture(scope="module")
def endless() -> bytes:
    """A plan whose proposal takes minutes: the search alone has half of the deadline."""
    return written(railway(1000)).encode()


@pytest.fixture(scope="module")
def service() -> Iterator[tuple[str, subprocess.Popen[str]]]:
    """A service with one process for long jobs, and one place to wait for it."""
    pytest.importorskip("highspy")
    process = subprocess.Popen(
        [sys.executable, "-m", "trappoint", "serve", "--port", "0"],
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, **{f"TRAPPOINT_SERVE_{name}": NARROW[name] for name in NARROW}},
    )
    with process, process.stdout or nullcontext() as told:
        found = re.search(r"http://[\d.]+:\d+", told.readline() if told else "")
        assert found is not None
        yield found[0], process
        process.terminate()


@pytest.fixture
def narrow(service: tuple[str, subprocess.Popen[str]]) -> str:
    """Return where the service is."""
    return service[0]


@pytest.fixture
def begin() -> Iterator[Begin]:
    """Sends the form for a proposal, and returns the connection once the request has its place."""
    begun = []

    def send(address: str, plan: bytes, place: int = 0) -> socket.socket:
        parts, ticket = urlsplit(address), token_hex(16)
        begun.append(connection := socket.create_connection((parts.hostname, parts.port or 80)))
        fields = {"text": plan, "ticket": ticket.encode(), "repair": b"yes"}
        body = "".join(
            f'--b\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{value.decode()}\r\n'
            for name, value in fields.items()
        )
        body += "--b--\r\n"
        head = "POST /draft HTTP/1.1\r\nHost: x\r\nContent-Type: multipart/form-data; boundary=b"
        connection.sendall(f"{head}\r\nContent-Length: {len(body)}\r\n\r\n{body}".encode())
        until(lambda: (ask(f"{address}/queue/{ticket}")[1] or {}).get("place") == place)
        return connection

    yield send
    for connection in begun:
        connection.close()


def ask(url: str, plan: bytes | None = None) -> tuple[int, Any]:
    """Return the status and the JSON of an answer."""
    status, body = fetch(url, plan)
    return status, json.loads(body)


def fetch(url: str, plan: bytes | None = None) -> tuple[int, bytes]:
    """Return the status and the body of an answer."""
    parts = urlsplit(url)
    kind = {"Content-Type": "application/json"}
    with closing(HTTPConnection(parts.netloc, timeout=60)) as connection:
        connection.request("GET" if plan is None else "POST", parts.path, plan, kind)
        answer = connection.getresponse()
        return answer.status, answer.read()


def until(condition: Callable[[], object]) -> None:
    """Wait until something is so."""
    end = time.monotonic() + 60
    while not condition():
        assert time.monotonic() < end, "it never came to be"
        time.sleep(0.05)


def test_hanging_up_frees_the_process(
    narrow: str, begin: Begin, endless: bytes, kelpie: bytes
) -> None:
    """Two jobs that take minutes hold the process and the place, until their clients hang up."""
    propose = f"{narrow}/api/v1/propose"
    held = [begin(narrow, endless, place) for place in (0, 1)]
    status, problem = ask(propose, kelpie)
    assert (status, problem["waiting"]) == (503, 1)
    assert ask(f"{narrow}/api/v1/check", kelpie)[1]["files"][0]["holds"] is True
    for connection in held:
        connection.close()
    until(lambda: ask(propose, kelpie)[0] == 200)


def test_the_page_shows_the_place_in_the_queue(
    narrow: str, begin: Begin, watched: Callable[..., Watched], endless: bytes, kelpie: bytes
) -> None:
    held = begin(narrow, endless)
    one = watched()
    one.address = narrow
    page = one.check(kelpie)
    # While the next page is on its way, nothing but the page's own scripts can look at it.
    page.evaluate("""() => new MutationObserver(() => {
        const text = document.querySelector(".queue")?.textContent;
        if (text) sessionStorage.shown = text;
    }).observe(document.body, {subtree: true, childList: true, characterData: true})""")
    asked: list[str] = []
    page.on("response", lambda response: asked.append(urlsplit(response.url).path[:7]))
    page.get_by_role("button", name="Propose signals").click(no_wait_after=True)
    until(lambda: page.wait_for_timeout(50) or asked.count("/queue/") > 1)
    held.close()
    page.wait_for_selector("#proposed")
    assert "first in the queue; your turn is in about" in page.evaluate("sessionStorage.shown")
    assert page.locator(".queue").count() == 0


def test_pages_find_a_thread_when_every_place_is_taken(
    service: tuple[str, subprocess.Popen[str]], begin: Begin, endless: bytes, kelpie: bytes
) -> None:
    """Of five checks one runs for ever and one waits; the others are refused at once."""
    address, process = service
    for place in (0, 1):
        begin(address, endless, place)
    for pid in children(process.pid):
        os.kill(pid, signal.SIGSTOP)
    head = "POST /api/v1/check HTTP/1.0\r\nContent-Type: application/json\r\n"
    with ExitStack() as stack:
        checks = [
            stack.enter_context(socket.create_connection(address.rpartition("/")[2].split(":")))
            for _ in range(5)
        ]
        for check in checks:
            check.sendall(f"{head}Content-Length: {len(kelpie)}\r\n\r\n".encode() + kelpie)
        until(lambda: len(select(checks, [], [], 0)[0]) == 3)
        assert all(b" 503 " in check.recv(100) for check in select(checks, [], [], 0)[0])
        assert fetch(f"{address}/healthz") == (200, b"ok\n")
        for pid in children(process.pid):
            os.kill(pid, signal.SIGCONT)


class Threads(ThreadingMixIn, WSGIServer):
    """A plain server with a thread for each request."""

    daemon_threads = True


class AsGunicorn(WSGIRequestHandler):
    """Puts the connection where gunicorn puts it, for the application to look at."""

    def get_environ(self) -> dict[str, Any]:
        return {**super().get_environ(), "gunicorn.socket": self.connection}

    def log_message(self, *words: object) -> None:
        """Say nothing."""


@pytest.fixture
def plain(monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[str, pools.Pool]]:
    monkeypatch.setattr(pools, "SPARE_PROCESSES", -1)
    config = Config(workers=1, long_workers=1, long_places=0, deadline_seconds=120)
    app = create_app(config)
    server = make_server("127.0.0.1", 0, app, Threads, AsGunicorn)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    pool: pools.Pool = app.pool  # type: ignore[attr-defined]
    yield f"http://127.0.0.1:{server.server_port}", pool
    server.shutdown()
    server.server_close()
    pool.close()


def test_hanging_up_is_seen_on_the_socket_that_gunicorn_shows(
    plain: tuple[str, pools.Pool], begin: Begin, endless: bytes, kelpie: bytes
) -> None:
    pytest.importorskip("highspy")
    address, pool = plain
    held = begin(address, endless)
    time.sleep(3 * pools.LOOK_SECONDS)
    assert pool.state().long.running == 1
    held.close()
    until(lambda: pool.state().long.counts["gone"] == 1)
    assert ask(f"{address}/api/v1/propose", kelpie)[0] == 200


def runs(pid: int) -> bool:
    """Return whether a process is there, and is not only waiting for its parent's notice."""
    try:
        status = Path(f"/proc/{pid}/status").read_text("ascii")
    except OSError:
        return False
    return "State:\tZ" not in status


def test_no_process_outlives_a_service_that_is_killed(
    service: tuple[str, subprocess.Popen[str]], begin: Begin, endless: bytes
) -> None:
    """One is in the middle of a job that takes minutes. The last test: it ends the service."""
    address, process = service
    begin(address, endless)
    pids = children(process.pid)
    assert len(pids) == 3
    process.kill()
    process.wait()
    until(lambda: not [pid for pid in pids if runs(pid)])
