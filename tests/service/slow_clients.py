"""Slow clients, and the service's answers to others meanwhile. Run by hand it prints a table:

python tests/service/slow_clients.py [CLIENTS ...]
"""

from __future__ import annotations

import http.client
import re
import resource
import socket
import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing, contextmanager
from itertools import cycle
from pathlib import Path

KELPIE = Path(__file__).parents[2] / "examples" / "kelpie-quay.layout.json"

SENT = {
    "header": b"GET / HTTP/1.1\r\nHost: x\r\nX-Slow: ",
    "body": b"POST /api/v1/check HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\n"
    b"Content-Length: 100000\r\n\r\n{",
    "idle": b"",
    "reader": b"GET /static/page.js HTTP/1.1\r\nHost: x\r\n\r\n" * 40,
}
"""The bytes that each kind of slow client sends; then it waits, and reads nothing."""


def connect(port: int, source: str = "127.0.0.1") -> socket.socket:
    """Connect from an address of this computer."""
    made = socket.socket()
    made.settimeout(20)
    made.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
    made.bind((source, 0))
    made.connect(("127.0.0.1", port))
    return made


@contextmanager
def slow_clients(
    port: int, number: int, kinds: tuple[str, ...] = tuple(SENT), sources: int = 50
) -> Iterator[list[tuple[str, socket.socket]]]:
    """Keep slow connections open, of each kind in turn, from several addresses."""
    with ExitStack() as stack:
        found = []
        for place, kind in zip(range(number), cycle(kinds), strict=False):
            made = connect(port, f"127.0.1.{1 + place % sources}")
            stack.enter_context(closing(made))
            made.sendall(SENT[kind])
            found.append((kind, made))
        yield found


def ask(port: int, path: str, body: bytes | None = None, seconds: float = 30) -> tuple[int, float]:
    """Return the status and the seconds of one request on a new connection."""
    begun = time.monotonic()
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=seconds)
    with closing(connection):
        method = "POST" if body else "GET"
        connection.request(method, path, body, {"Content-Type": "application/json"})
        answer = connection.getresponse()
        answer.read()
        return answer.status, time.monotonic() - begun


def wait_until(true: Callable[[], bool]) -> None:
    """Wait until a condition is true; fail after a minute."""
    end = time.monotonic() + 60
    while not true():
        assert time.monotonic() < end
        time.sleep(0.1)


def _measured(port: int, path: str, body: bytes | None = None) -> str:
    seconds = []
    for _ in range(20):
        try:
            status, took = ask(port, path, body, seconds=5)
        except OSError as error:
            return type(error).__name__
        if status != 200:
            return str(status)
        seconds.append(took * 1000)
    return f"{statistics.median(seconds):.1f} ms"


def _held_kib(pid: int) -> float:
    pages = int(Path(f"/proc/{pid}/statm").read_text("ascii").split()[1])
    return pages * resource.getpagesize() / 1024


def main(words: list[str]) -> None:
    """Print how long answers take beside slow clients of each kind."""
    plan = KELPIE.read_bytes()
    for number in [int(word) for word in words] or [0, 100, 300]:
        for kinds in [*((kind,) for kind in SENT), tuple(SENT)] if number else [("idle",)]:
            service = subprocess.Popen(
                [sys.executable, "-m", "trappoint", "serve", "--port", "0"],
                stdout=subprocess.PIPE,
                text=True,
            )
            assert service.stdout is not None
            found = re.search(r":(\d+)/", service.stdout.readline())
            assert found is not None
            port = int(found[1])
            ask(port, "/api/v1/check", plan)
            before = _held_kib(service.pid)
            with slow_clients(port, number, kinds):
                time.sleep(0.5)
                health = _measured(port, "/healthz")
                check = _measured(port, "/api/v1/check", plan)
                each = (_held_kib(service.pid) - before) / number if number else 0
            print(
                f"{number:4} slow ({'+'.join(kinds)}): /healthz {health}, check {check}, "
                f"{each:.1f} KiB for each slow connection",
                flush=True,
            )
            service.terminate()
            service.wait()


if __name__ == "__main__":
    main(sys.argv[1:])
