"""Puts load on a service of its own and prints what came of it. Run by hand.

    python tests/service/load.py [SECONDS [CLIENTS [WORKERS]]]

The mix: plans that hold, plans that do not, texts that are none, a large plan, a huge text that
is refused, and one that takes longer than a check may. Beside it a page that does nothing.
"""

from __future__ import annotations

import http.client
import json
import os
import random
import re
import statistics
import subprocess
import sys
import threading
import time
from collections import Counter
from pathlib import Path

EXAMPLES = Path(__file__).parents[2] / "examples"


def mix() -> list[tuple[str, bytes]]:
    """Return addresses and bodies, as often as each is to be sent in a hundred."""

    def plan(name: str) -> bytes:
        return (EXAMPLES / f"{name}.layout.json").read_bytes()

    large = b'{"format":"trappoint-layout/1","tracks":{},"note":"' + b"x" * 2_000_000 + b'"}'
    slow = b'{"format":"trappoint-layout/1","tracks":{},"note":[' + b"1," * 3_500_000 + b"1]}"
    hostile = json.dumps({"<script>": "</title>", "tracks": {"<b>": [[[]]] * 200}}).encode()
    return (
        [("/api/v1/check", plan("kelpie-quay"))] * 30
        + [("/api/v1/table", plan("boggart-bridge"))] * 15
        + [("/api/v1/check", plan("slips/siding-signal-forgotten"))] * 20
        + [("/api/v1/check", plan("slips/comma-forgotten"))] * 10
        + [("/api/v1/check", hostile)] * 10
        + [("/api/v1/check", b"[" * 100_000)] * 6
        + [("/api/v1/draw", plan("kelpie-quay"))] * 5
        + [("/api/v1/check", large)] * 3
        + [("/api/v1/check", slow)]
    )


def held_kib(pids: list[int]) -> list[int]:
    """Return the memory that processes hold, in KiB."""
    found = []
    for pid in pids:
        try:
            status = Path(f"/proc/{pid}/status").read_text("ascii")
        except FileNotFoundError:
            continue
        found.append(int(re.findall(r"VmRSS:\s+(\d+)", status)[0]))
    return found


def children(pid: int) -> list[int]:
    """Return the processes that any thread of a process has started."""
    lists = Path(f"/proc/{pid}/task").glob("*/children")
    return [int(word) for path in lists for word in path.read_text("ascii").split()]


def run(port: int, work: list[tuple[str, bytes]], seconds: float, clients: int) -> None:
    """Let clients ask one thing after the other, and print how it went."""
    times: list[float] = []
    codes: Counter[int | str] = Counter()
    end = time.monotonic() + seconds

    def ask(seed: int) -> None:
        dice = random.Random(seed)
        while time.monotonic() < end:
            path, body = dice.choice(work)
            begun = time.monotonic()
            connection = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
            try:
                method = "POST" if body else "GET"
                connection.request(method, path, body, {"Content-Type": "application/json"})
                answer = connection.getresponse()
                answer.read()
                codes[answer.status] += 1
            except OSError as error:
                codes[type(error).__name__] += 1
            finally:
                connection.close()
            times.append(time.monotonic() - begun)

    threads = [threading.Thread(target=ask, args=(seed,)) for seed in range(clients)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    times.sort()
    print(
        f"{len(times) / seconds:8.1f} a second; median {statistics.median(times) * 1000:.0f} ms, "
        f"99 of 100 within {times[int(len(times) * 0.99)] * 1000:.0f} ms; answers {dict(codes)}"
    )


def main(words: list[str]) -> None:
    """Start a service, put load on it, and stop it."""
    seconds = float(words[0]) if words else 60
    clients = int(words[1]) if len(words) > 1 else 50
    workers = words[2] if len(words) > 2 else "2"
    service = subprocess.Popen(
        [sys.executable, "-m", "trappoint", "serve", "--port", "0"],
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "TRAPPOINT_SERVE_WORKERS": workers},
    )
    assert service.stdout is not None
    found = re.search(r":(\d+)/", service.stdout.readline())
    assert found is not None
    port = int(found[1])
    try:
        print("a page that does nothing:")
        run(port, [("/healthz", b"")], min(seconds, 10), clients)
        print("checks:")
        for part in range(4):
            run(port, mix(), seconds / 4, clients)
            own = held_kib([service.pid])[0] // 1024
            theirs = [kib // 1024 for kib in held_kib(children(service.pid))]
            print(f"   after part {part + 1}: the service holds {own} MiB, its processes {theirs}")
    finally:
        service.terminate()
        service.wait()


if __name__ == "__main__":
    main(sys.argv[1:])
