"""Health, readiness, counters and the log."""

from __future__ import annotations

import re
import subprocess
import sys
from collections import Counter
from typing import TYPE_CHECKING

import pytest

from trappoint_service import create_app
from trappoint_service.config import Config
from trappoint_service.counters import BOUNDS, Counters
from trappoint_service.pool import Pool, PoolState
from trappoint_service.queues import QueueState

if TYPE_CHECKING:
    from flask.testing import FlaskClient

SAMPLE = re.compile(
    r'(?P<name>[a-z_]+)(?:\{(?P<labels>[a-z]+="[^"\\\n]*"(?:,[a-z]+="[^"\\\n]*")*)\})? '
    r"(?P<value>-?[0-9.e+]+)"
)
ENDS = {
    "counter": {"_total"},
    "gauge": {""},
    "histogram": {"_bucket", "_count", "_sum"},
}


def read(text: str) -> dict[str, float]:
    """Read counters strictly, by OpenMetrics 1.0: samples follow their family."""
    *lines, end = text.splitlines()
    assert end == "# EOF"
    found: dict[str, float] = {}
    families: list[str] = []
    name = kind = ""
    for line in lines:
        if line.startswith("# TYPE "):
            _, _, name, kind = line.split(" ")
            assert name not in families
            families.append(name)
        elif line.startswith("# HELP "):
            assert line.startswith(f"# HELP {name} ")
        else:
            sample = SAMPLE.fullmatch(line)
            assert sample, line
            assert sample["name"] in {name + ending for ending in ENDS[kind]}, line
            key = line.rpartition(" ")[0]
            assert key not in found
            found[key] = float(sample["value"])
    return found


def test_requests_are_counted_by_route_and_status(client: FlaskClient, kelpie: bytes) -> None:
    def counted() -> Counter[str]:
        answer = client.get("/metrics")
        assert answer.content_type == "application/openmetrics-text; version=1.0.0; charset=utf-8"
        return Counter(read(answer.get_data(as_text=True)))

    before = counted()
    sent = {"content_type": "application/json"}
    assert client.post("/api/v1/check", data=kelpie, **sent).status_code == 200
    assert client.post("/api/v1/check", data=kelpie, content_type="text/x").status_code == 415
    assert client.get("/rules/unheld-exit").status_code == 200
    assert client.get('/no"such\npage').status_code == 404
    assert client.open("/rules", method="BREW").status_code == 405
    after = counted()
    more = {key: number for key, number in (after - before).items() if "_total" in key}
    requests = "trappoint_requests_total"
    assert more == {
        f'{requests}{{route="/api/v1/check",method="POST",status="200"}}': 1,
        f'{requests}{{route="/api/v1/check",method="POST",status="415"}}': 1,
        f'{requests}{{route="/rules/<name>",method="GET",status="200"}}': 1,
        f'{requests}{{route="-",method="GET",status="404"}}': 1,
        f'{requests}{{route="-",method="other",status="405"}}': 1,
        f'{requests}{{route="/metrics",method="GET",status="200"}}': 1,
        'trappoint_jobs_total{queue="quick",outcome="done"}': 1,
    }
    count = 'trappoint_request_seconds_count{route="/api/v1/check"}'
    assert after[count] - before[count] == 2


def test_ranges_of_seconds_add_up() -> None:
    counters = Counters()
    for seconds in (0.001, 0.005, 0.006, 3.0, 100.0):
        counters.count("/a", "GET", 200, seconds)
    found = read(counters.text())
    name = "trappoint_request_seconds"
    ranges = [found[f'{name}_bucket{{route="/a",le="{bound}"}}'] for bound in (*BOUNDS, "+Inf")]
    assert ranges == [2, 3, 3, 3, 3, 3, 4, 4, 4, 5]
    assert found[f'{name}_count{{route="/a"}}'] == 5
    assert found[f'{name}_sum{{route="/a"}}'] == pytest.approx(103.012)


@pytest.mark.parametrize(
    ("readers", "address", "headers", "status"),
    [
        ("local", "127.0.0.1", {}, 200),
        ("local", "::1", {}, 200),
        ("local", "192.0.2.1", {}, 404),
        ("local", "127.0.0.1", {"X-Forwarded-For": "127.0.0.1"}, 404),
        ("local", "127.0.0.1", {"Forwarded": "for=127.0.0.1"}, 404),
        ("anyone", "192.0.2.1", {}, 200),
        ("nobody", "127.0.0.1", {}, 404),
    ],
)
def test_who_may_read_the_counters(
    readers: str,
    address: str,
    headers: dict[str, str],
    status: int,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(Pool, "state", lambda pool: state(0, 1))  # starts no processes
    for proxies in (0, 1):
        app = create_app(Config(metrics=readers, proxies=proxies))
        answer = app.test_client().get(
            "/metrics", headers=headers, environ_base={"REMOTE_ADDR": address}
        )
        assert answer.status_code == status


def test_it_is_ready_while_a_plan_can_be_taken(
    client: FlaskClient, kelpie: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert client.get("/healthz").get_data() == b"ok\n"
    client.post("/api/v1/check", data=kelpie, content_type="application/json")
    assert client.get("/readyz").get_data() == b"ready\n"
    for found, kind in ((state(0, 0), "starting"), (state(5, 1), "busy")):
        monkeypatch.setattr(Pool, "state", lambda pool, found=found: found)
        answer = client.get("/readyz")
        assert (answer.status_code, answer.mimetype) == (503, "application/problem+json")
        assert answer.get_json()["type"] == f"urn:trappoint:problem:{kind}"


def state(waiting: int, idle: int) -> PoolState:
    """Return the numbers of a pool with five places for waiting checks."""
    queue = QueueState(1, 0, 5, waiting, 0.1, {})
    return PoolState(queue, queue, idle, 0)


LOGGED = """
from trappoint_service import create_app
app = create_app()
app.test_client().post("/api/v1/check?name=secret", data="secret", content_type="text/secret")
app.test_client().get("/secret")
app.pool.close()
"""


def test_requests_are_logged_under_any_server(kelpie: bytes) -> None:
    done = subprocess.run(
        [sys.executable, "-c", LOGGED],
        env={"TRAPPOINT_SERVE_LOG_REQUESTS": "true", "PYTHONPATH": ":".join(sys.path)},
        capture_output=True,
        text=True,
        check=True,
    )
    first, second = done.stderr.splitlines()
    assert re.fullmatch(r"POST /api/v1/check 415 \d+ ms", first)
    assert re.fullmatch(r"GET - 404 \d+ ms", second)
