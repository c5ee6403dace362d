"""The server's own errors are problem documents: real sockets."""

from __future__ import annotations

import json

import pytest

from service.slow_clients import connect
from service.test_slow_clients import port_of, read_all
from trappoint_service.connections import HEADERS

BODY = b"POST /api/v1/check HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\n"
CHUNKED = BODY + b"Transfer-Encoding: chunked\r\n\r\n"

REFUSED = {
    "no request": (b"rubbish\r\n\r\n", 400, "bad-request"),
    "a bare line feed": (b"GET / HTTP/1.1\r\nHost: x\nX: y\r\n\r\n", 400, "bad-request"),
    "a header without a name": (b"GET / HTTP/1.1\r\n: x\r\n\r\n", 400, "bad-request"),
    "a length that is none": (BODY + b"Content-Length: x\r\n\r\n", 400, "bad-request"),
    "an endless length": (
        BODY + b"Content-Length: " + b"9" * 5000 + b"\r\n\r\n",
        400,
        "bad-request",
    ),
    "an address that is none": (b"GET http://[x/ HTTP/1.1\r\n\r\n", 400, "bad-request"),
    "a long header": (
        b"GET / HTTP/1.1\r\nX: " + b"x" * 40_000 + b"\r\n\r\n",
        431,
        "request-header-fields-too-large",
    ),
    "a long body": (BODY + b"Content-Length: 99999999\r\n\r\n", 413, "request-entity-too-large"),
    "a bad chunk": (CHUNKED + b"x\r\n", 400, "bad-request"),
    "an endless chunk line": (CHUNKED + b"1" * 5000, 400, "bad-request"),
    "an endless trailer": (CHUNKED + b"0\r\nX: " + b"x" * 5000, 400, "bad-request"),
    "another coding": (BODY + b"Transfer-Encoding: gzip\r\n\r\n", 501, "not-implemented"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_no_request_is_refused_with_a_document(address: str, name: str) -> None:
    sent, status, kind = REFUSED[name]
    with connect(port_of(address)) as connection:
        connection.sendall(sent)
        head, _, body = read_all(connection).partition(b"\r\n\r\n")
    lines = head.decode().split("\r\n")
    assert lines[0].split(" ")[1] == str(status)
    assert "Content-Type: application/problem+json" in lines
    assert "Connection: close" in lines
    assert {f"{name}: {value}" for name, value in HEADERS.items()} <= set(lines)
    told = json.loads(body)
    assert told.keys() == {"type", "title", "status", "detail"}
    assert (told["status"], told["type"]) == (status, f"urn:trappoint:problem:{kind}")
    assert told["detail"].endswith(".")


def test_the_answer_arrives_while_the_body_is_still_sent(address: str) -> None:
    with connect(port_of(address)) as connection:
        connection.sendall(BODY + b"Content-Length: 99999999\r\n\r\n" + b"x" * 4_000_000)
        assert read_all(connection).startswith(b"HTTP/1.1 413 ")
