"""Slow clients occupy connections, never those of others: real sockets, several addresses."""

from __future__ import annotations

import json
import re
import socket
import time
from collections.abc import Callable
from contextlib import ExitStack

import pytest

from service.slow_clients import SENT, ask, connect, slow_clients, wait_until
from trappoint_service.listening import FairQueue

LONG = {"HEADER_SECONDS": "60", "TRANSFER_SECONDS": "60", "IDLE_SECONDS": "60"}
SHORT = {"HEADER_SECONDS": "1", "TRANSFER_SECONDS": "1", "IDLE_SECONDS": "1"}
FEW = {"WORKERS": "1", "LONG_WORKERS": "1"}
REQUEST = b"GET /healthz HTTP/1.1\r\nHost: x\r\n\r\n"


def port_of(address: str) -> int:
    return int(address.rpartition(":")[2])


def read_all(connection: socket.socket) -> bytes:
    """Return all bytes until the service closes the connection."""
    found = b""
    try:
        while piece := connection.recv(65536):
            found += piece
    except ConnectionResetError:
        pass
    return found


def counter(port: int, name: str) -> int:
    with connect(port) as connection:
        connection.sendall(b"GET /metrics HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n")
        found = re.search(rf"^{re.escape(name)} (\d+)$".encode(), read_all(connection), re.M)
    assert found is not None
    return int(found[1])


@pytest.fixture(scope="module")
def patient(serving: Callable[..., str]) -> int:
    """The port of a service with long time limits and few connections."""
    return port_of(serving(**LONG, **FEW, CONNECTIONS="120"))


@pytest.fixture(scope="module")
def hasty(serving: Callable[..., str]) -> int:
    """The port of a service with time limits of a second."""
    return port_of(serving(**SHORT, **FEW))


@pytest.mark.parametrize("number", [100, 300])
def test_others_are_answered_beside_slow_clients(patient: int, number: int, kelpie: bytes) -> None:
    with slow_clients(patient, number):
        assert ask(patient, "/healthz")[0] == 200
        assert ask(patient, "/api/v1/check", kelpie)[0] == 200


def test_the_address_with_the_most_places_gives_one_up(patient: int) -> None:
    before = counter(patient, 'trappoint_connections_closed_total{reason="crowded"}')
    with connect(patient, "127.0.2.1") as alone:
        alone.sendall(REQUEST[:20])
        with slow_clients(patient, 300, ("header", "idle"), sources=2):
            assert ask(patient, "/healthz")[0] == 200
            alone.sendall(REQUEST[20:])
            assert alone.recv(65536).startswith(b"HTTP/1.1 200 OK")
    after = counter(patient, 'trappoint_connections_closed_total{reason="crowded"}')
    assert after - before >= 180


def test_one_address_may_hold_all_places_while_no_other_waits(patient: int) -> None:
    with slow_clients(patient, 110, ("idle",), sources=1) as found:
        for _, connection in found:
            connection.sendall(REQUEST)
        assert all(connection.recv(20).startswith(b"HTTP/1.1 200") for _, connection in found)


def test_clients_that_take_too_long_are_dropped(hasty: int) -> None:
    name = 'trappoint_connections_closed_total{reason="late-reading"}'
    with ExitStack() as stack:
        found = {kind: stack.enter_context(connect(hasty)) for kind in (*SENT, "drip", "empty")}
        for kind, sent in SENT.items():
            found[kind].sendall(sent)
        found["drip"].sendall(b"GET / HTTP/1.1\r\n")
        goes_on = {"drip": b"X-More: 1\r\n", "empty": b"\r\n\r\n"}
        end = time.monotonic() + 30
        while goes_on and time.monotonic() < end:
            for kind, more in list(goes_on.items()):
                try:
                    found[kind].sendall(more)
                except OSError:
                    del goes_on[kind]
            time.sleep(0.1)
        assert goes_on == {}
        assert read_all(found["idle"]) == b""
        for kind in ("header", "body"):
            head, _, body = read_all(found[kind]).partition(b"\r\n\r\n")
            assert head.startswith(b"HTTP/1.1 408 Request Timeout\r\n")
            assert b"Content-Type: application/problem+json" in head
            assert json.loads(body)["type"] == "urn:trappoint:problem:request-timeout"
        wait_until(lambda: counter(hasty, name) > 0)


def test_a_connection_is_kept_for_more_requests(patient: int) -> None:
    with connect(patient) as connection:
        for _ in range(3):
            connection.sendall(REQUEST)
            answer = b""
            while not answer.endswith(b"\r\n\r\nok\n"):
                answer += connection.recv(65536)
            assert answer.startswith(b"HTTP/1.1 200 OK")


def test_a_slow_reader_gets_one_answer_after_the_other(patient: int) -> None:
    name = 'trappoint_requests_total{route="/static/<path:filename>",method="GET",status="200"}'
    before = counter(patient, name)
    with connect(patient) as reader:
        reader.sendall(SENT["reader"])
        wait_until(lambda: counter(patient, name) > before)
        time.sleep(0.3)
        assert counter(patient, name) - before < 40
        found = b""
        while found.count(b"HTTP/1.1 200 OK") < 40:
            found += reader.recv(1 << 20)


def test_where_few_files_may_be_open_there_are_fewer_places(
    start: Callable[..., tuple[object, int]],
) -> None:
    _, port = start("sh", "-c", 'ulimit -n 150; exec "$@"', "sh")
    with slow_clients(port, 200, ("idle",)):
        assert ask(port, "/healthz")[0] == 200


class Request:
    """What waits for a thread, reduced to its client."""

    def __init__(self, name: str) -> None:
        self.name = name

    def client(self, proxies: int) -> str:
        return self.name[0]


def test_each_client_has_one_request_in_turn() -> None:
    queue = FairQueue(0)
    for name in ("a1", "a2", "a3", "b1", "c1", "b2"):
        queue.append(Request(name))  # type: ignore[arg-type]
    assert len(queue) == 6
    found = [queue.popleft().name for _ in range(4)]
    queue.append(Request("c2"))  # type: ignore[arg-type]
    found += [queue.popleft().name for _ in range(len(queue))]
    assert found == ["a1", "b1", "c1", "a2", "b2", "a3", "c2"]
    assert not queue
