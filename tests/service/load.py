"""Run a hostile mix of clients against a separate service, and report whether it copes. By hand.

    python tests/service/load.py [--seconds 60] [--clients 50] [--one-address]

Each client has an address of its own (127.0.1.N) unless ``--one-address`` is given, and does one
kind of thing again and again. Prints for each kind the requests in a second, the median, the 99th
percentile and the statuses; then the memory before and after; then in words what holds. Exit
code 1 if anything does not. ``TRAPPOINT_SERVE_...`` variables go to the service.
"""

from __future__ import annotations

import argparse
import http.client
import json
import os
import random
import re
import socket
import subprocess
import sys
import threading
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple

sys.path.insert(0, str(Path(__file__).parents[1]))

from large.railway import railway, written
from robust.blow_ups import BLOW_UPS

EXAMPLES = Path(__file__).parents[2] / "examples"
JSON = {"Content-Type": "application/json"}
PATIENCE = 120.0
"""Seconds after which a client gives up."""
QUICK = 20.0
"""Time limit of a plain check in seconds, on a machine with other work."""
SPARE_MIB = 150
"""MiB by which the service may have grown at the end."""


class Ask(NamedTuple):
    """One request."""

    method: str
    path: str
    body: bytes = b""
    headers: dict[str, str] = JSON


def example(name: str) -> bytes:
    """Return the text of an example."""
    return (EXAMPLES / f"{name}.layout.json").read_bytes()


def form(**fields: bytes) -> tuple[bytes, dict[str, str]]:
    """Return the body and the header of a form."""
    parts = [
        b'--b\r\nContent-Disposition: form-data; name="%b"\r\n\r\n%b\r\n' % (name.encode(), value)
        for name, value in fields.items()
    ]
    return b"".join(parts) + b"--b--\r\n", {"Content-Type": "multipart/form-data; boundary=b"}


def list_of(item: bytes, count: int) -> bytes:
    """Return a document with one long list."""
    return b'{"format":"trappoint-layout/1","tracks":{"a":{"b":[' + (item + b",") * count + b"1]}}}"


def kinds() -> dict[str, list[Ask]]:
    """Return the requests of each kind. A plain check is one of the first three kinds."""
    kelpie, unheld = example("kelpie-quay"), example("slips/siding-signal-forgotten")
    odd = json.dumps({"<script>": "</title>", "tracks": {"<b>": [[[]]] * 200}}).encode()
    big = written(railway(1000)).encode()
    check = "/api/v1/check"
    return {
        "plans that hold": [
            Ask("POST", check, kelpie),
            Ask("POST", "/api/v1/table", example("boggart-bridge")),
            Ask("POST", "/api/v1/draw", example("selkie-harbour")),
            Ask("POST", "/check", *form(text=kelpie)),
        ],
        "plans that do not": [
            Ask("POST", check, unheld),
            Ask("POST", "/check", *form(text=unheld)),
        ],
        "texts that are none": [
            Ask("POST", check, example("slips/comma-forgotten")),
            Ask("POST", check, odd),
            Ask("POST", check, b"[" * 100_000),
        ],
        "pages": [Ask("GET", path) for path in ("/healthz", "/", "/rules", "/openapi.json")],
        "large": [Ask("POST", check, b'{"tracks":{},"note":"' + b"x" * 2_000_000 + b'"}')],
        "slow": [
            Ask("POST", check, list_of(b"1", 3_500_000)),
            Ask("POST", check, BLOW_UPS["the same from 10,000 signals"].write().encode()),
            Ask("POST", check, BLOW_UPS["998 levers"].write().encode()),
            Ask("POST", check, BLOW_UPS["fans of 4,096 roads, no signal"].write().encode()),
        ],
        "memory-eaters": [Ask("POST", check, list_of(b"[1]", 2_000_000))],
        "proposals": [
            Ask("POST", "/api/v1/propose?repair=yes", example("hobthrush-vale")),
            Ask("POST", "/api/v1/propose?repair=yes", big),
            Ask("POST", "/draft", *form(text=kelpie, repair=b"yes")),
        ],
        "slow senders": [Ask("POST", check, kelpie)],
        "hang-ups": [
            Ask("POST", "/api/v1/propose?repair=yes", big),
            Ask("POST", check, list_of(b"1", 3_500_000)),
            Ask("POST", check, kelpie),
        ],
        "bad routes": [
            Ask("GET", "/nowhere"),
            Ask("PUT", check, kelpie),
            Ask("POST", check, kelpie, {"Content-Type": "text/plain"}),
            Ask("GET", "/rules/%00%ff/../../etc"),
            Ask("POST", "/api/v1/road", kelpie),
        ],
        "huge headers": [Ask("GET", "/", b"", {"X-Much": "x" * 400_000})],
    }


PLAIN = ("plans that hold", "plans that do not", "texts that are none")
SHARES = (6, 6, 6, 3, 2, 4, 2, 7, 5, 5, 2, 2)
"""The number of clients of each kind, 50 in all, in the order of the kinds."""


class Figures:
    """The results of the clients of one kind."""

    def __init__(self) -> None:
        self.times: list[float] = []
        self.statuses: Counter[int | str] = Counter()

    def line(self, kind: str, seconds: float) -> str:
        """Return one line of the table."""
        times = sorted(self.times) or [0.0]
        half, most = times[len(times) // 2], times[int(len(times) * 0.99)]
        told = ", ".join(
            f"{status}: {count}"
            for status, count in sorted(self.statuses.items(), key=lambda item: str(item[0]))
        )
        return (
            f"{kind:20} {len(self.times) / seconds:8.1f} {half * 1000:8.0f} "
            f"{most * 1000:8.0f}   {told}"
        )


class Storm:
    """All clients, and their results."""

    def __init__(self, port: int, seconds: float, *, one_address: bool) -> None:
        self._port, self._seconds, self._one_address = port, seconds, one_address
        self._end = time.monotonic() + seconds
        self.seen: dict[str, Figures] = defaultdict(Figures)

    def run(self, clients: int) -> None:
        """Run all clients until the time is over."""
        threads = []
        names = [name for name, share in zip(kinds(), SHARES, strict=True) for _ in range(share)]
        for number in range(clients):
            kind = names[number * len(names) // clients]
            words = (number, kind, kinds_once()[kind])
            threads.append(threading.Thread(target=self._be, args=words, daemon=True))
        self._end = time.monotonic() + self._seconds
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join(self._seconds + PATIENCE)

    def _be(self, number: int, kind: str, asks: list[Ask]) -> None:
        """Run one client."""
        dice = random.Random(number)
        act: Callable[[int, Ask, random.Random], int | str] = {
            "slow senders": self._dribble,
            "hang-ups": self._hang_up,
        }.get(kind, self._ask)
        while time.monotonic() < self._end:
            begun = time.monotonic()
            try:
                status = act(number, dice.choice(asks), dice)
            except (OSError, http.client.HTTPException) as error:
                status = type(error).__name__
            figures = self.seen[kind]
            figures.times.append(time.monotonic() - begun)
            figures.statuses[status] += 1
            if status == 503:
                time.sleep(0.1)

    def _connection(self, number: int) -> http.client.HTTPConnection:
        source = None if self._one_address else (f"127.0.1.{number + 1}", 0)
        return http.client.HTTPConnection(
            "127.0.0.1", self._port, timeout=PATIENCE, source_address=source
        )

    def _ask(self, number: int, ask: Ask, _: random.Random) -> int | str:
        connection = self._connection(number)
        try:
            connection.request(*ask)
            answer = connection.getresponse()
            answer.read()
            return answer.status
        finally:
            connection.close()

    def _begin(self, number: int, ask: Ask) -> socket.socket:
        """Send the header of a request, and return the connection."""
        connection = self._connection(number)
        connection.connect()
        head = f"{ask.method} {ask.path} HTTP/1.1\r\nHost: x\r\nContent-Length: {len(ask.body)}\r\n"
        head += "".join(f"{name}: {value}\r\n" for name, value in ask.headers.items())
        found: socket.socket = connection.sock
        found.sendall(head.encode() + b"\r\n")
        return found

    def _dribble(self, number: int, ask: Ask, dice: random.Random) -> str:
        """Send single bytes slowly, and never finish."""
        with self._begin(number, ask) as connection:
            for at in range(dice.randint(5, 40)):
                connection.sendall(ask.body[at : at + 1])
                time.sleep(0.5)
                if time.monotonic() > self._end:
                    break
        return "left"

    def _hang_up(self, number: int, ask: Ask, dice: random.Random) -> str:
        """Hang up in the middle of the body, or before the answer."""
        with self._begin(number, ask) as connection:
            whole = dice.random() < 0.7
            connection.sendall(ask.body if whole else ask.body[: len(ask.body) // 2])
            time.sleep(dice.random())
        return "left"


_ONCE: dict[str, list[Ask]] = {}


def kinds_once() -> dict[str, list[Ask]]:
    """Return the requests, made once: they are many megabytes."""
    if not _ONCE:
        _ONCE.update(kinds())
    return _ONCE


def children(pid: int) -> list[int]:
    """Return the processes that any thread of a process has started."""
    lists = Path(f"/proc/{pid}/task").glob("*/children")
    return [int(word) for path in lists for word in path.read_text("ascii").split()]


def held_mib(pid: int) -> int:
    """Return the memory of a process, in MiB; 0 if it has ended."""
    try:
        status = Path(f"/proc/{pid}/status").read_text("ascii")
    except OSError:
        return 0
    found = re.findall(r"VmRSS:\s+(\d+)", status)
    return int(found[0]) // 1024 if found else 0


def memory(pid: int) -> tuple[int, list[int]]:
    """Return the memory of a service and of each of its processes, in MiB."""
    return held_mib(pid), sorted(held_mib(child) for child in children(pid))


def verdicts(
    seen: dict[str, Figures], before: tuple[int, list[int]], after: tuple[int, list[int]]
) -> Iterator[tuple[bool, str]]:
    """Yield each condition, and whether it holds."""
    statuses = {kind: figures.statuses for kind, figures in seen.items()}
    faults = {
        kind: status
        for kind, counts in statuses.items()
        for status in counts
        if isinstance(status, int) and status >= 500 and status != 503
    }
    yield not faults, f"No answer has a status from 500 on but 503 {faults or ''}"
    refused = sum(statuses[kind][503] for kind in PLAIN if kind in statuses)
    yield refused == 0, f"No plain check is answered with 503 ({refused})"
    kept = (*PLAIN, "pages")
    broken = {
        kind: status
        for kind in kept
        for status in statuses.get(kind, {})
        if isinstance(status, str)
    }
    yield not broken, f"No plain check and no page loses its connection {broken or ''}"
    slowest = max((time for kind in kept if kind in seen for time in seen[kind].times), default=0.0)
    yield (
        slowest < QUICK,
        f"No plain check or page took {QUICK:g} s (the slowest {slowest:.1f} s)",
    )
    yield after[0] <= before[0] + SPARE_MIB, f"The service grew by less than {SPARE_MIB} MiB"
    yield len(after[1]) == len(before[1]), "It has as many processes as before"
    yield not [held for held in after[1] if held > 300], "None of them holds more than 300 MiB"


def main(words: list[str]) -> int:
    """Start a service, run the clients, stop it, and print the results."""
    parser = argparse.ArgumentParser(description="Put a hostile mix of clients on a service.")
    parser.add_argument("--seconds", type=float, default=60, help="how long (default: 60)")
    parser.add_argument("--clients", type=int, default=50, help="how many (default: 50)")
    parser.add_argument("--one-address", action="store_true", help="one address for all clients")
    options = parser.parse_args(words)
    service = subprocess.Popen(
        [sys.executable, "-m", "trappoint", "serve", "--port", "0"],
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        assert service.stdout is not None
        found = re.search(r":(\d+)/", service.stdout.readline())
        assert found is not None
        storm = Storm(int(found[1]), options.seconds, one_address=options.one_address)
        kinds_once()
        time.sleep(5)
        while min(memory(service.pid)[1], default=0) < 45:
            time.sleep(5)  # until all its processes are ready
        before, load = memory(service.pid), os.getloadavg()[0]
        storm.run(options.clients)
        time.sleep(15)  # longer than any job may take
        after = memory(service.pid)
    finally:
        service.terminate()
        service.wait()
    print(f"{options.clients} clients for {options.seconds:g} s; load before: {load:.1f}")
    print(f"{'kind':20} {'a second':>8} {'p50 ms':>8} {'p99 ms':>8}   statuses")
    for kind in kinds_once():
        print(storm.seen[kind].line(kind, options.seconds))
    for name, (own, others) in (("before", before), ("after", after)):
        print(f"memory {name}: the service {own} MiB, its processes {others} MiB")
    found_wrong = 0
    for holds, sentence in verdicts(storm.seen, before, after):
        print("holds:        " if holds else "DOES NOT HOLD:", sentence)
        found_wrong += not holds
    return int(found_wrong > 0)


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
