"""The API: its answers equal the output of the command line; errors follow RFC 9457."""

from __future__ import annotations

import io
import json
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from service.conftest import EXAMPLES, changed
from trappoint.core.findings import CAUTION
from trappoint_service import create_app
from trappoint_service.config import Config

if TYPE_CHECKING:
    from collections.abc import Sequence

    from flask.testing import FlaskClient
    from werkzeug.test import TestResponse

pytestmark = pytest.mark.usefixtures("quick")

PLANS = sorted(EXAMPLES.glob("*.layout.json")) + [
    EXAMPLES / "slips" / f"{name}.layout.json"
    for name in ("siding-signal-forgotten", "comma-forgotten", "key-mistyped", "id-mistyped")
]


def post(client: FlaskClient, path: str, content: bytes, **more: Any) -> TestResponse:
    return client.post(path, data=content, content_type="application/json", **more)


def send_form(
    client: FlaskClient,
    path: str,
    parts: Sequence[tuple[str, str | None, bytes]],
    **more: Any,
) -> TestResponse:
    """Send a form (RFC 7578): name, name of the file (None for a field) and content."""
    body = b""
    for field, file, content in parts:
        named = f'; filename="{file}"' if file else ""
        head = f'--=+=\r\nContent-Disposition: form-data; name="{field}"{named}\r\n\r\n'
        body += head.encode() + content + b"\r\n"
    kind = 'multipart/form-data; boundary="=+="'
    return client.post(path, data=body + b"--=+=--\r\n", content_type=kind, **more)


def command_line(command: str, path: Path) -> subprocess.CompletedProcess[str]:
    words = [sys.executable, "-m", "trappoint", command, "--format", "json", path.name]
    return subprocess.run(words, capture_output=True, text=True, check=False, cwd=path.parent)


def assert_problem(answer: TestResponse, status: int, kind: str) -> dict[str, object]:
    """RFC 9457, section 3.1: the members, and that `status` is the status."""
    told: dict[str, object] = answer.get_json()
    assert answer.mimetype == "application/problem+json"
    assert answer.status_code == told["status"] == status
    assert told["type"] == f"urn:trappoint:problem:{kind}"
    assert told["title"]
    assert told["detail"]
    return told


@pytest.mark.parametrize("path", PLANS, ids=lambda path: path.stem)
def test_check_answers_what_the_command_line_prints(client: FlaskClient, path: Path) -> None:
    printed = command_line("check", path).stdout
    answer = post(client, f"/api/v1/check?name={path.name}", path.read_bytes())
    assert answer.status_code == 200
    assert answer.mimetype == "application/json"
    assert answer.get_data(as_text=True) == printed
    form = {"plan": (io.BytesIO(path.read_bytes()), path.name)}
    assert client.post("/api/v1/check", data=form).get_data(as_text=True) == printed


@pytest.mark.parametrize("path", PLANS, ids=lambda path: path.stem)
def test_table_answers_what_the_command_line_prints(client: FlaskClient, path: Path) -> None:
    printed = command_line("table", path)
    answer = post(client, "/api/v1/table", path.read_bytes())
    if printed.returncode:
        told = assert_problem(answer, 422, "plan-not-usable")
        report = json.loads(command_line("check", path).stdout)["files"][0]
        assert told["report"] == {**report, "file": "-"}
    else:
        assert answer.get_data(as_text=True) == printed.stdout


def test_several_files_are_sorted_as_the_command_line_sorts_them(client: FlaskClient) -> None:
    files = [(io.BytesIO(b"{}"), name) for name in ("c.json", "a.json", "dir/b.json")]
    answer = client.post("/api/v1/check", data={"plan": files}).get_json()
    assert [file["file"] for file in answer["files"]] == ["a.json", "b.json", "c.json"]


def test_draw_answers_a_picture(client: FlaskClient, kelpie: bytes) -> None:
    answer = post(client, "/api/v1/draw", kelpie)
    assert answer.mimetype == "image/svg+xml"
    text = answer.get_data(as_text=True)
    assert text.startswith("<svg")
    assert 'data-arm="7R"' in text
    assert_problem(post(client, "/api/v1/draw", b"{"), 422, "plan-not-usable")


def test_schema_is_the_published_one(client: FlaskClient) -> None:
    published = (EXAMPLES.parent / "schema" / "layout.schema.json").read_bytes()
    assert client.get("/api/v1/schema/layout").data == published


@pytest.mark.parametrize(
    ("content", "rule"),
    [
        (b"", "empty-file"),
        (b"\xff", "not-utf8"),
        (b'{"a": NaN}', "not-a-number"),
        (b'{"a": 1, "a": 2}', "duplicate-key"),
        (b"[" * 100_000, "too-deep"),
        (b"\x00\x01", "not-json"),
    ],
)
def test_what_is_no_plan_is_an_answer(client: FlaskClient, content: bytes, rule: str) -> None:
    answer = post(client, "/api/v1/check", content)
    assert answer.status_code == 200
    (file,) = answer.get_json()["files"]
    assert file["holds"] is None
    assert rule in [finding["rule"] for finding in file["findings"]]


def test_problems_of_requests(client: FlaskClient, kelpie: bytes) -> None:
    text = client.post("/api/v1/check", data="x", content_type="text/plain")
    assert_problem(text, 415, "unsupported-media-type")
    assert_problem(client.post("/api/v1/check"), 415, "unsupported-media-type")
    form = send_form(client, "/api/v1/check", [])
    assert_problem(form, 400, "no-plan")
    two = {"plan": [(io.BytesIO(kelpie), "a"), (io.BytesIO(kelpie), "b")]}
    assert_problem(client.post("/api/v1/table", data=two), 400, "more-than-one-plan")
    for name in ("", "a%0Ab", "a" * 201):
        named = post(client, f"/api/v1/check?name={name}", kelpie)
        assert_problem(named, 400, "name-not-usable")
    assert_problem(client.get("/api/v1/nothing"), 404, "not-found")
    wrong = client.get("/api/v1/check")
    assert_problem(wrong, 405, "method-not-allowed")
    assert set(wrong.headers["Allow"].split(", ")) == {"OPTIONS", "POST"}


def test_limits_of_size(client: FlaskClient) -> None:
    large = b" " * (8 * 1024 * 1024)
    assert post(client, "/api/v1/check", large).status_code == 200
    answer = post(client, "/api/v1/check", large + b" ")
    assert_problem(answer, 413, "request-entity-too-large")
    form = send_form(client, "/api/v1/check", [("plan", "a", large)])
    assert_problem(form, 413, "request-entity-too-large")
    page = send_form(client, "/check", [("text", None, large)])
    assert page.status_code == 413
    assert "8 MiB" in page.get_data(as_text=True)


@pytest.mark.parametrize("name", ["a", None])
def test_limits_of_parts(client: FlaskClient, name: str | None) -> None:
    parts = [("plan", name, b"{}")] * 1001
    answer = send_form(client, "/api/v1/check", parts)
    assert_problem(answer, 413, "request-entity-too-large")
    assert send_form(client, "/check", parts).status_code == 413
    assert send_form(client, "/api/v1/check", parts[:5]).status_code == 200


def test_forms_without_bounds_are_not_read(client: FlaskClient) -> None:
    for path in ("/check", "/download/table.csv", "/api/v1/check"):
        assert client.post(path, data={"text": "{}"}).status_code == 415


def test_every_answer_has_its_headers(client: FlaskClient, kelpie: bytes) -> None:
    answers = [
        client.get("/"),
        client.get("/nothing"),
        client.get("/static/page.js"),
        client.get("/healthz"),
        client.get("/openapi.json"),
        send_form(client, "/check", [("text", None, kelpie)]),
        send_form(client, "/download/diagram.svg", [("text", None, kelpie)]),
        post(client, "/api/v1/check", kelpie),
        post(client, "/api/v1/check", b"x" * (9 * 1024 * 1024)),
    ]
    for answer in answers:
        policy = answer.headers["Content-Security-Policy"]
        assert policy.startswith("default-src 'none'")
        assert "script-src 'self';" in policy or "sandbox" in policy
        assert "unsafe-inline" not in policy.replace("style-src 'unsafe-inline'; sandbox", "")
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
        assert answer.headers["Referrer-Policy"] == "no-referrer"
        assert "Set-Cookie" not in answer.headers
        assert "Access-Control-Allow-Origin" not in answer.headers
        answer.close()


def test_other_origins_only_where_they_are_set(kelpie: bytes) -> None:
    app = create_app(Config(cors_origins=("https://club.example",)))
    client = app.test_client()
    headers = {"Origin": "https://club.example"}
    asked = client.options("/api/v1/check", headers=headers)
    assert asked.headers["Access-Control-Allow-Origin"] == "https://club.example"
    assert "POST" in asked.headers["Access-Control-Allow-Methods"]
    assert asked.headers["Access-Control-Allow-Headers"] == "Content-Type"
    assert "Origin" in asked.vary
    other = client.options("/api/v1/check", headers={"Origin": "https://else.example"})
    assert "Access-Control-Allow-Origin" not in other.headers
    assert "Access-Control-Allow-Origin" not in client.get("/", headers=headers).headers
    anyone = create_app(Config(cors_origins=("*",))).test_client()
    answer = anyone.get("/openapi.json", headers={"Origin": "https://else.example"})
    assert answer.headers["Access-Control-Allow-Origin"] == "*"


def test_logs_hold_nothing_of_what_was_sent(
    kelpie: bytes, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    caplog.set_level("DEBUG")
    app = create_app(Config(workers=1, long_workers=1, log_requests=True))
    client = app.test_client()
    text = changed(kelpie, title="hush-hush")
    post(client, "/api/v1/check?name=hush-hush", text)
    send_form(client, "/check", [("text", None, text)])
    client.get("/hush-hush?hush-hush")
    assert "POST /api/v1/check 200" in caplog.text
    assert "GET - 404" in caplog.text

    def fail(*_: object) -> None:
        raise ValueError("hush-hush")

    monkeypatch.setattr(app.pool, "run", fail)  # type: ignore[attr-defined]
    answer = post(client, "/api/v1/check", text)
    assert_problem(answer, 500, "fault")
    assert "ValueError in service.test_api, line" in caplog.text
    assert "hush" not in caplog.text
    assert "hush" not in answer.get_data(as_text=True)
    monkeypatch.undo()
    app.pool.close()  # type: ignore[attr-defined]


def test_club_settings_count(tmp_path: Path, kelpie: bytes) -> None:
    settings = tmp_path / "trappoint.toml"
    settings.write_text('[levels]\nsiding-without-trap = "warning"\n', "utf-8")
    app = create_app(Config(workers=1, long_workers=1, settings=str(settings)))
    (file,) = post(app.test_client(), "/api/v1/check", kelpie).get_json()["files"]
    assert "siding-without-trap" in [finding["rule"] for finding in file["findings"]]
    app.pool.close()  # type: ignore[attr-defined]


def test_the_hook_says_the_same(client: FlaskClient, tmp_path: Path, unheld: bytes) -> None:
    path = tmp_path / "a.layout.json"
    path.write_bytes(unheld)
    done = subprocess.run(
        [sys.executable, "-m", "trappoint_hooks.check", path.name],
        capture_output=True,
        text=True,
        check=False,
        cwd=tmp_path,
    )
    findings = post(client, "/api/v1/check?name=a.layout.json", unheld).get_json()
    (file,) = findings["files"]
    assert done.returncode == 1
    told = " ".join(done.stdout.split())
    assert file["findings"]
    for finding in file["findings"]:
        assert f"a.layout.json:{finding['line']}:{finding['column']} {finding['message']}" in told
        assert f"{finding['level']} {finding['rule']} " in told
        reason, _, movement = finding["why"].partition(" How they meet: t")
        for part in (reason, f"T{movement}", finding["fix"]):
            assert " ".join(part.split()) in told


@pytest.mark.parametrize(
    "path", ["check", "table", "scene", "road?from=town-line&to=A", "propose", "fitting", "parts"]
)
def test_every_answer_has_a_caution(client: FlaskClient, kelpie: bytes, path: str) -> None:
    """A problem document too, if it has a report with the verdict."""
    for content in (kelpie, b"{}"):
        sent: dict[str, object] = {"data": content, "content_type": "application/json"}
        if path == "scene":
            sent = {"json": {"plan": json.loads(content)}}
        elif path == "parts":
            store = io.BytesIO((EXAMPLES / "kelpie-quay.store.json").read_bytes())
            sent = {"data": {"plan": (io.BytesIO(content), "a"), "store": (store, "s")}}
        answer = client.post(f"/api/v1/{path}", **sent)
        assert answer.status_code == (200 if content is kelpie or path == "check" else 422)
        assert CAUTION in answer.get_json()["caution"]
