"""Service: requests per second with two workers, beside a route that does nothing."""

from __future__ import annotations

import http.client
import json
import re
import subprocess
import sys
import threading
import time
from collections import Counter
from contextlib import contextmanager
from typing import TYPE_CHECKING, NamedTuple

from bench.figures import by_rows
from bench.measuring import ROOT, Figure, child, environment, paragraph, table, trappoint
from service.load import memory

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from bench.measuring import Effort

PLAN = ROOT / "examples" / "hobthrush-vale.layout.json"
CLIENTS = 4
"""Two for each worker, so that none ever waits for something to do."""

NOTHING = """
import waitress.server
from flask import Flask
app = Flask("nothing")
app.add_url_rule("/api/v1/check", "nothing", lambda: "{}", methods=["POST"])
server = waitress.server.create_server(app, host="127.0.0.1", port=0, threads=16)
print(f"http://127.0.0.1:{server.effective_port}/", flush=True)
server.run()
"""
"""A Flask route that does nothing, served by the same server as the service."""


class Rate(NamedTuple):
    """How a number of requests went."""

    a_second: float
    median_ms: float
    p99_ms: float

    def figures(self, row: str) -> Iterator[Figure]:
        """Yield them as figures of a row."""
        yield Figure(f"{row} / rate", self.a_second, "requests/s")
        yield Figure(f"{row} / median", self.median_ms, "ms")
        yield Figure(f"{row} / 99 of 100", self.p99_ms, "ms")


ABOUT = "`POST /api/v1/check` with the largest example and two workers; memory after many requests."

BASE, FIRST, LAST = "a Flask route that does nothing", "a check", "a check, later"


def measure(effort: Effort) -> Iterator[Figure]:
    """Ask a route that does nothing, then the service, then the service for long."""
    count = 200 if effort.quick else 1000
    yield Figure("requests at first", count, "requests")
    yield Figure("requests later", effort.requests, "requests")
    with _server([sys.executable, "-c", NOTHING]) as (_, port):
        yield from _ask(port, count).figures(BASE)
    with _server(trappoint("serve", "--port", "0")) as (pid, port):
        _ask(port, 10 * CLIENTS)  # the first ones wait until the workers have started
        yield from _ask(port, count).figures(FIRST)
        yield Figure("memory at first", _held(pid), "MiB")
        yield from _ask(port, effort.requests).figures(LAST)
        yield Figure("memory later", _held(pid), "MiB")


def show(found: Mapping[str, float]) -> Iterator[str]:
    """Draw the table."""
    later = found["requests later"]
    rows = [
        [
            f"a check, {later:,.0f} requests on" if name == LAST else name,
            row["rate"],
            row["median"],
            row["99 of 100"],
        ]
        for name, row in by_rows(found).items()
    ]
    heads = [f"{CLIENTS} clients, 2 workers", "requests a second", "ms, median", "ms, 99 of 100"]
    yield table(heads, rows)
    yield paragraph(
        f"The service and its workers hold {found['memory at first']:.0f} MiB after "
        f"{found['requests at first']:,.0f} requests, and {found['memory later']:.0f} MiB after "
        f"{later:,.0f} more."
    )


def rate(found: Mapping[str, float]) -> float:
    """Return how many checks the service answers in a second."""
    return by_rows(found)[FIRST]["rate"]


def _held(pid: int) -> float:
    service, processes = memory(pid)
    return float(service + sum(processes))


@contextmanager
def _server(words: list[str]) -> Iterator[tuple[int, int]]:
    """Start a server; yield its process and its port, and end it."""
    env = {**environment(), "TRAPPOINT_SERVE_WORKERS": "2"}
    process = subprocess.Popen(words, stdout=subprocess.PIPE, text=True, env=env)
    try:
        assert process.stdout is not None
        found = re.search(r":(\d+)/", process.stdout.readline())
        assert found is not None
        yield process.pid, int(found[1])
    finally:
        process.terminate()
        process.wait()


def _ask(port: int, count: int) -> Rate:
    """Send requests from another process, whose time does not count as the server's."""
    return Rate(*child("serving", port, count))


def _clients(port: int, count: int) -> Rate:
    """Ask with some clients at a time, each on one connection, one request after the other."""
    body = PLAN.read_bytes()
    times: list[float] = []
    codes: Counter[int] = Counter()

    def client(number: int) -> None:
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        for _ in range(number, count, CLIENTS):
            begun = time.perf_counter()
            connection.request("POST", "/api/v1/check", body, {"Content-Type": "application/json"})
            answer = connection.getresponse()
            answer.read()
            times.append((time.perf_counter() - begun) * 1000)
            codes[answer.status] += 1
        connection.close()

    threads = [threading.Thread(target=client, args=(number,)) for number in range(CLIENTS)]
    begun = time.perf_counter()
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    seconds = time.perf_counter() - begun
    if set(codes) != {200} or codes[200] != count:
        sys.exit(f"answers: {dict(codes)}")
    times.sort()
    return Rate(count / seconds, times[len(times) // 2], times[int(len(times) * 0.99)])


if __name__ == "__main__":
    print(json.dumps(_clients(int(sys.argv[1]), int(sys.argv[2]))))
