"""Refused requests: unknown parameters and fields, codings, broken bodies."""

from __future__ import annotations

import json
import socket
import threading
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
from werkzeug.serving import make_server

from service.test_api import assert_problem, post, send_form
from trappoint_service.config import LIMIT_BYTES
from trappoint_service.openapi import describe

if TYPE_CHECKING:
    from flask.testing import FlaskClient

UNREAD = ("/healthz", "/readyz", "/metrics", "/queue/{ticket}")
"""Routes that ignore the query."""
ROUTES = [
    (method, path)
    for path, told in describe()["paths"].items()
    for method, operation in told.items()
    if method != "parameters" and operation["tags"] == ["programs"] and path not in UNREAD
]


@pytest.mark.parametrize(("method", "path"), ROUTES)
def test_unknown_and_repeated_words(
    client: FlaskClient, kelpie: bytes, method: str, path: str
) -> None:
    def ask(query: str) -> object:
        kind = "application/json" if method == "post" else None
        data = kelpie if method == "post" else None
        answer = client.open(f"{path}?{query}", method=method, data=data, content_type=kind)
        return assert_problem(answer, 400, expected)["detail"]

    expected = "unknown-query-parameter"
    operation = describe()["paths"][path][method]
    words = {one["name"]: one["schema"] for one in operation.get("parameters", ())}
    assert 'The query parameter "nonsense" is unknown.' in str(ask("nonsense=1"))
    for name, schema in words.items():
        assert f"Is {name} meant?" in str(ask(f"{name}x=1"))
        if schema.get("type") != "array":
            expected = "repeated-query-parameter"
            assert str(ask(f"{name}=1&{name}=2")) == f"`{name}` may be given only once."
            expected = "unknown-query-parameter"


def test_long_and_odd_words_are_refused(client: FlaskClient, kelpie: bytes) -> None:
    for word in ("n" * 9000, "%ff%00", "na\u202eme", "", "name[]"):
        answer = post(client, f"/api/v1/check?{word}=1", kelpie)
        assert len(str(assert_problem(answer, 400, "unknown-query-parameter")["detail"])) < 300


def test_unknown_and_repeated_fields(client: FlaskClient, kelpie: bytes) -> None:
    wrong = send_form(client, "/api/v1/check", [("plan", "a", kelpie), ("stoer", "b", b"{}")])
    assert_problem(wrong, 400, "unknown-field")
    near = send_form(client, "/api/v1/fitting", [("plan", "a", kelpie), ("stoer", None, b"{}")])
    assert "Is store meant?" in str(assert_problem(near, 400, "unknown-field")["detail"])
    two = [("plan", "a", kelpie), ("store", "b", b"{}"), ("store", None, b"{}")]
    assert_problem(send_form(client, "/api/v1/parts", two), 400, "repeated-field")


def test_pages_take_words_that_they_do_not_know(client: FlaskClient, kelpie: bytes) -> None:
    """Other sites add parameters to links, so pages ignore unknown ones."""
    assert client.get("/?from=newsletter").status_code == 200
    parts = [("text", None, kelpie), ("more", None, b"x")]
    assert send_form(client, "/check?a=1&a=2", parts).status_code == 200


@pytest.mark.parametrize("coding", ["gzip", "br", "identity, gzip", "nonsense", "GZIP"])
def test_packed_bodies_are_refused(client: FlaskClient, kelpie: bytes, coding: str) -> None:
    """RFC 9110, 15.5.16: the answer names the accepted coding."""
    for path in ("/api/v1/check", "/api/v1/scene"):
        answer = post(client, path, kelpie, headers={"Content-Encoding": coding})
        assert_problem(answer, 415, "unsupported-content-encoding")
        assert answer.headers["Accept-Encoding"] == "identity"
    headers = {"Content-Encoding": coding}
    page = send_form(client, "/check", [("text", None, kelpie)], headers=headers)
    assert page.status_code == 415
    assert page.headers["Accept-Encoding"] == "identity"
    plain = post(client, "/api/v1/check", kelpie, headers={"Content-Encoding": "identity"})
    assert plain.status_code == 200


@pytest.mark.parametrize("charset", ["utf-16", "latin-1", "x" * 500, "utf-8, x", "%ff"])
def test_json_in_another_charset_is_refused(client: FlaskClient, charset: str) -> None:
    kind = f'application/json; charset="{charset}"'
    answer = client.post("/api/v1/check", data=b"{}", content_type=kind)
    assert_problem(answer, 415, "unsupported-charset")
    for known in ("utf-8", "UTF-8", '"utf8"', "us-ascii"):
        kind = f"application/json; charset={known}"
        assert client.post("/api/v1/check", data=b"{}", content_type=kind).status_code == 200


def test_every_error_of_the_interface_is_a_problem(client: FlaskClient) -> None:
    assert client.get("/openapi").mimetype == "text/html"
    for path in ("/api", "/api/", "/api/v1", "/api/v1/check/", "/api/v2/check"):
        assert_problem(client.get(path), 404, "not-found")
        assert_problem(client.post(path, data=b"{"), 404, "not-found")
    for method in ("GET", "HEAD", "PUT", "DELETE", "PATCH", "TRACE"):
        answer = client.open("/api/v1/check", method=method)
        assert answer.status_code == 405
        assert answer.mimetype == "application/problem+json"
        assert set(answer.headers["Allow"].split(", ")) == {"OPTIONS", "POST"}
    for path in ("/openapi.json", "/healthz", "/api/v1/schema/store"):
        assert_problem(client.post(path), 405, "method-not-allowed")
        assert client.head(path).status_code == 200
        assert set(client.options(path).headers["Allow"].split(", ")) == {"GET", "HEAD", "OPTIONS"}


def test_doubled_slashes_lead_on(client: FlaskClient) -> None:
    """The method and the body are kept (308)."""
    answer = client.post("/api//v1/check", data=b"{}", content_type="application/json")
    assert answer.status_code == 308
    assert answer.headers["Location"].endswith("/api/v1/check")


@pytest.mark.parametrize(
    ("kind", "body"),
    [
        ("multipart/form-data", b"--x\r\n\r\n"),
        ("multipart/form-data; boundary=x", b""),
        ("multipart/form-data; boundary=x", b'--x\r\nContent-Disposition: form-data; name="plan"'),
        ("multipart/form-data; boundary=x", b"--x\r\nnonsense\r\n\r\n{}\r\n--x--\r\n"),
        ("multipart/form-data; boundary=x", b"\xff\x00" * 900),
    ],
)
def test_broken_forms(client: FlaskClient, kind: str, body: bytes) -> None:
    for path in ("check", "parts", "fitting"):
        answer = client.post(f"/api/v1/{path}", data=body, content_type=kind)
        assert_problem(answer, 400, "no-plan")
    assert client.post("/check", data=body, content_type=kind).status_code == 200


@pytest.mark.parametrize(
    "body", [b"", b"null", b"[]", b"{", b"\xff", b"[" * 100_000, b'{"plan": 1}', b'{"a": {}}']
)
def test_bodies_that_are_no_scene(client: FlaskClient, body: bytes) -> None:
    assert_problem(post(client, "/api/v1/scene", body), 400, "bad-request")


def talk(address: str, sent: list[bytes]) -> bytes:
    """Send bytes to the service and return its whole answer."""
    host, _, port = address.removeprefix("http://").partition(":")
    with socket.create_connection((host, int(port)), 30) as connection:
        try:
            for part in sent:
                connection.sendall(part)
        except (BrokenPipeError, ConnectionResetError):
            pass  # it has answered before it had all
        answer = b""
        while part := connection.recv(65536):
            answer += part
    return answer


HEAD = (
    b"POST /api/v1/check HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n"
    b"Content-Type: application/json\r\n"
)


def chunked(body: bytes, size: int = 60_000) -> list[bytes]:
    parts = [body[begin : begin + size] for begin in range(0, len(body), size)]
    return [b"%x\r\n%s\r\n" % (len(part), part) for part in parts] + [b"0\r\n\r\n"]


@pytest.fixture
def passing_on(client: FlaskClient) -> Iterator[str]:
    """A server that passes on chunks as they come, where waitress gathers them first."""
    server = make_server("127.0.0.1", 0, client.application, threaded=True)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()
    thread.join()
    server.server_close()


@pytest.mark.parametrize("server", ["address", "passing_on"])
def test_bodies_in_chunks(server: str, request: pytest.FixtureRequest, kelpie: bytes) -> None:
    address = request.getfixturevalue(server)
    head = HEAD + b"Transfer-Encoding: chunked\r\n\r\n"
    answer = talk(address, [head, *chunked(kelpie, 7)])
    assert b" 200 OK\r\n" in answer
    assert b'"holds": true' in answer
    answer = talk(address, [head, *chunked(b" " * (LIMIT_BYTES + 1))])
    assert b" 413 " in answer.partition(b"\r\n")[0]
    told = json.loads(answer.partition(b"\r\n\r\n")[2])
    assert told["type"] == "urn:trappoint:problem:request-entity-too-large"


def test_a_client_that_waits_to_be_asked(address: str, kelpie: bytes) -> None:
    """Expect: 100-continue (RFC 9110, 10.1.1)."""
    head = HEAD + b"Expect: 100-continue\r\nContent-Length: %d\r\n\r\n" % len(kelpie)
    answer = talk(address, [head, kelpie])
    assert answer.startswith(b"HTTP/1.1 100 Continue\r\n")
    assert b"HTTP/1.1 200 OK" in answer
