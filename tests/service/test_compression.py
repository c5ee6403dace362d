"""Compression (RFC 9110, 8.4 and 12.5.3): which answers, for whom, and cache tags."""

from __future__ import annotations

import gzip
from typing import TYPE_CHECKING

import pytest
from werkzeug.datastructures import Accept
from werkzeug.http import parse_accept_header

from service.test_api import assert_problem, post, send_form
from trappoint_service.compression import LEAST_BYTES, coding_for

if TYPE_CHECKING:
    from flask.testing import FlaskClient

GZIP = {"Accept-Encoding": "gzip, deflate, br, zstd"}


@pytest.mark.parametrize(
    ("header", "coding"),
    [
        ("", "identity"),
        ("gzip", "gzip"),
        ("GZIP", "gzip"),
        ("br", "identity"),
        ("*", "gzip"),
        ("gzip;q=0", "identity"),
        ("gzip;q=0.000, *", "identity"),
        ("gzip;q=0.5, identity", "identity"),
        ("gzip;q=0.5, identity;q=0.1", "gzip"),
        ("gzip;q=0.001", "gzip"),
        ("*;q=0, gzip", "gzip"),
        ("*;q=0, identity", "identity"),
        ("identity;q=0, *", "gzip"),
        ("br;q=1.0, gzip;q=0.8, *;q=0.1", "gzip"),
        ("identity;q=0", None),
        ("*;q=0", None),
        ("identity;q=0, gzip;q=0", None),
    ],
)
def test_the_coding_that_a_client_likes_best(header: str, coding: str | None) -> None:
    assert coding_for(parse_accept_header(header, Accept)) == coding


def test_every_kind_of_text_is_packed(client: FlaskClient, kelpie: bytes) -> None:
    """The unpacked bytes equal the plain answer, and HEAD equals GET."""
    paths = ["/", "/rules", "/openapi.json", "/api/v1/schema/layout", "/examples/kelpie-quay"]
    for path in [*paths, "/static/page.js", "/static/notice.css"]:
        with client.get(path) as plain, client.get(path, headers=GZIP) as packed:
            assert "Content-Encoding" not in plain.headers
            assert packed.headers["Content-Encoding"] == "gzip"
            assert "Accept-Encoding" in plain.vary
            assert "Accept-Encoding" in packed.vary
            assert gzip.decompress(packed.data) == plain.data
            assert len(packed.data) < len(plain.data) / 2
            assert packed.content_length == len(packed.data)
            with client.head(path, headers=GZIP) as head:
                assert head.data == b""
                assert head.content_length == packed.content_length
                assert head.headers["Content-Encoding"] == "gzip"
    for kind in ("diagram.svg", "table.csv", "findings.sarif"):
        parts = [("text", None, kelpie)]
        answer = send_form(client, f"/download/{kind}", parts, headers=GZIP)
        plain = send_form(client, f"/download/{kind}", parts)
        assert gzip.decompress(answer.data) == plain.data


def test_short_answers_are_not_packed(client: FlaskClient) -> None:
    short = client.get("/healthz", headers=GZIP)
    assert "Content-Encoding" not in short.headers
    assert len(short.data) < LEAST_BYTES
    forced = client.get("/healthz", headers={"Accept-Encoding": "identity;q=0, gzip"})
    assert gzip.decompress(forced.data) == b"ok\n"


def test_a_client_that_takes_nothing(client: FlaskClient, kelpie: bytes) -> None:
    nothing = {"Accept-Encoding": "identity;q=0"}
    assert_problem(post(client, "/api/v1/check", kelpie, headers=nothing), 406, "not-acceptable")


def test_files_that_have_not_changed(client: FlaskClient) -> None:
    """A tag means the plain and the compressed file; a request for a part gets the whole."""
    with client.get("/static/page.js", headers=GZIP) as packed, client.get("/static/page.js") as b:
        tag = packed.headers["ETag"]
        assert tag.startswith("W/")
        assert b.headers["ETag"] == tag
        size = len(b.data)
    for headers in (GZIP, {}):
        with client.get("/static/page.js", headers={**headers, "If-None-Match": tag}) as same:
            assert same.status_code == 304
            assert same.data == b""
            assert "Accept-Encoding" in same.vary
            assert "Content-Encoding" not in same.headers
            assert same.headers["ETag"] == tag
    for headers in ({"Range": "bytes=5-9"}, {"Range": "bytes=5-9", "If-Range": tag}):
        with client.get("/static/page.js", headers=headers) as whole:
            assert whole.status_code == 200
            assert len(whole.data) == size
            assert "Accept-Ranges" not in whole.headers


def test_problems_are_packed_too(client: FlaskClient) -> None:
    answer = post(client, "/api/v1/table", b'{"a": 1}', headers=GZIP)
    assert answer.status_code == 422
    assert b"plan-not-usable" in gzip.decompress(answer.data)
