"""The door of a folder: its secret, host names, origins; and the running command."""

from __future__ import annotations

import http.client
import os
import re
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from commands.running import trappoint
from service.conftest import read_example
from trappoint_service.config import ConfigError, read_config

if TYPE_CHECKING:
    from playwright.sync_api import Browser

NAME = "kelpie-quay.layout.json"


class Running:
    """The command, running, and what it said."""

    def __init__(self, folder: Path) -> None:
        few = {"TRAPPOINT_SERVE_WORKERS": "1", "TRAPPOINT_SERVE_LONG_WORKERS": "1"}
        self.folder = folder
        self.process = subprocess.Popen(
            [sys.executable, "-m", "trappoint", "serve", str(folder), "--port", "0"],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env={**os.environ, **few, "TRAPPOINT_SERVE_LOG_REQUESTS": "true"},
        )
        assert self.process.stdout is not None
        self.told = "".join(self.process.stdout.readline() for _ in range(3))
        found = re.search(r"http://127\.0\.0\.1:(\d+)/([\w-]+)/ ", self.told)
        assert found, self.told
        self.port, self.secret = int(found[1]), found[2]
        self.host = f"127.0.0.1:{self.port}"

    def ask(
        self, method: str, path: str, body: bytes = b"", **headers: str
    ) -> tuple[int, dict[str, str], bytes]:
        """Send a request with a raw path."""
        with closing(http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)) as connection:
            connection.putrequest(method, path, skip_host=True)
            told = {"Host": self.host, "Content-Length": str(len(body)), **headers}
            for name, value in told.items():
                connection.putheader(name.replace("_", "-"), value)
            connection.endheaders(body)
            answer = connection.getresponse()
            return answer.status, dict(answer.getheaders()), answer.read()

    def save(self, text: str, **headers: str) -> int:
        body = b'{"text": "%s", "base": ""}' % text.encode()
        path = f"/{self.secret}/folder/plans/{NAME}"
        return self.ask("PUT", path, body, Content_Type="application/json", **headers)[0]


@pytest.fixture(scope="module")
def running(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    folder = tmp_path_factory.mktemp("plans")
    (folder / NAME).write_bytes(read_example("kelpie-quay"))
    found = Running(folder)
    yield found
    found.process.kill()
    found.process.communicate()


def test_the_secret_is_long_and_told_once(running: Running) -> None:
    assert len(running.secret) == 32
    assert running.told.count(running.secret) == 1
    assert "Keep the address secret" in running.told


def test_without_the_secret_every_answer_is_the_same(running: Running) -> None:
    almost = running.secret[:-1] + ("a" if running.secret[-1] != "a" else "b")
    paths = [
        *("/", "/healthz", "/metrics", "/readyz", "/folder/plans", "/api/v1/check"),
        "/static/mark.svg",
        *("/openapi.json", f"/folder/plans/{NAME}", f"/{almost}/", f"/{running.secret[:-1]}"),
        *(f"/{running.secret}x", f"/{running.secret}x/", "/" + "a" * 4000),
        *(f"/a/../{running.secret}/", f"/?{running.secret}", f"/%00{running.secret}/", "/%ff%fe/"),
        f"/{running.secret.swapcase()}/",
    ]
    answers = {
        (status, body, *sorted({*headers.items()} - {("Date", headers["Date"])}))
        for path in paths
        for method in ("GET", "POST", "PUT", "DELETE")
        for status, headers, body in [running.ask(method, path)]
    }
    assert len(answers) == 1
    ((status, body, *headers),) = answers
    assert (status, body) == (404, b"Not found\n")
    assert "trappoint" not in str(headers).lower()


@pytest.mark.parametrize(
    "host",
    [
        *("plans.example", "plans.example:{port}", "127.0.0.1", "127.0.0.1:1", "0.0.0.0:{port}"),
        *("localhost.plans.example:{port}", "127.0.0.1.plans.example:{port}", "[::]:{port}", ""),
        *("127.0.0.2:{port}", "plans.example:{port}, 127.0.0.1:{port}", "2130706433:{port}"),
    ],
)
def test_another_host_name_finds_nothing(running: Running, host: str) -> None:
    """A page of another site may let its own name lead to this computer (DNS rebinding)."""
    path = f"/{running.secret}/folder/plans"
    given = host.format(port=running.port)
    assert running.ask("GET", path, Host=given)[::2] == (404, b"Not found\n")
    forwarded = {"X_Forwarded_Host": running.host, "X_Forwarded_For": "127.0.0.1"}
    assert running.ask("GET", path, Host=given, **forwarded)[0] == 404


def test_this_computer_has_three_names(running: Running) -> None:
    for host in ("127.0.0.1", "localhost", "LOCALHOST", "[::1]"):
        answer = running.ask(
            "GET", f"/{running.secret}/folder/plans", Host=f"{host}:{running.port}"
        )
        assert answer[0] == 200


def test_another_page_writes_nothing(running: Running) -> None:
    before = (running.folder / NAME).read_bytes()
    own = f"http://{running.host}"
    for headers in (
        {"Origin": "http://plans.example"},
        {"Origin": f"https://{running.host}"},
        {"Origin": f"http://localhost:{running.port}"},
        {"Origin": "http://127.0.0.1:1"},
        {"Origin": "null"},
        {"Origin": "null", "Sec_Fetch_Site": "cross-site"},
        {"Origin": own, "Sec_Fetch_Site": "cross-site"},
        {"Sec_Fetch_Site": "same-site"},
        {"Sec_Fetch_Site": "none"},
    ):
        assert running.save("x", **headers) == 403
        assert running.ask("POST", f"/{running.secret}/new", **headers)[0] == 403
    assert (running.folder / NAME).read_bytes() == before
    # From its own page it gets as far as the comparison with the file.
    for headers in ({}, {"Origin": own}, {"Origin": own, "Sec_Fetch_Site": "same-origin"}):
        assert running.save("x", **headers) == 409


def test_raw_paths_lead_nowhere(running: Running) -> None:
    for path in (
        *("/../../etc/passwd", "/..%2f..%2fetc%2fpasswd", "/static/../app.py"),
        *("/static/%2e%2e/app.py", "/static//etc/passwd", "/diagram/..%5c..%5cworking_page.py"),
        *("/folder/plans/../../../etc/passwd", "/folder/plans/%2e%2e/%2e%2e/etc/x.layout.json"),
        *("/folder/plans/.git/config", "/folder/plans//etc/passwd", "/folder/changes/%00"),
        *("/text/..%2f..%2fx.layout.json", "/folder", "/plans", f"/{NAME}", f"/folder/{NAME}"),
    ):
        status, _, body = running.ask("GET", f"/{running.secret}{path}")
        assert status in (308, 400, 404), path
        assert b"root:" not in body
        assert b"import" not in body


def test_headers_keep_the_secret_at_home(running: Running) -> None:
    for path in ("/", f"/text/{NAME}", "/folder/plans", f"/folder/plans/{NAME}", "/form"):
        status, headers, body = running.ask("GET", f"/{running.secret}{path}")
        assert status == 200
        assert headers["Referrer-Policy"] == "no-referrer"
        assert "default-src 'none'" in headers["Content-Security-Policy"]
        assert "unsafe" not in headers["Content-Security-Policy"]
        assert headers["Cross-Origin-Resource-Policy"] == "same-origin"
        assert "Set-Cookie" not in headers
        assert "Access-Control-Allow-Origin" not in headers
        assert not re.search(rb"<script>|\bon\w+=|style=", body)


def test_the_pages_work_in_a_real_browser(running: Running, browser: Browser) -> None:
    """Verdicts and changes come in by script; a form saves; nothing is asked of another host."""
    import axe_playwright_python  # type: ignore[import-untyped]

    plan = running.folder / NAME
    git = [
        "git",
        "-C",
        str(running.folder),
        "-c",
        "user.name=Ada",
        "-c",
        "user.email=ada@x.example",
    ]
    for words in (["init", "-q"], ["add", "."], ["commit", "-q", "-m", "Lay the quay"]):
        subprocess.run([*git, *words], check=True)
    plan.write_bytes(plan.read_bytes().replace(b"1450", b"1550"))
    context = browser.new_context()
    page, troubles = context.new_page(), []
    page.on("console", lambda message: troubles.append(message.text))
    page.on("pageerror", lambda error: troubles.append(str(error)))
    start = f"http://{running.host}/{running.secret}/"
    page.on("request", lambda one: one.url.startswith(start) or troubles.append(one.url))
    axe = Path(axe_playwright_python.__file__).with_name("axe.min.js").read_text("utf-8")
    page.goto(start)
    page.wait_for_selector("td b.holds")
    page.click("summary:has-text('Lay the quay')")
    assert "track main: length: now 1550 mm, before 1450 mm" in page.inner_text("[data-changes]")
    for path in ("", f"text/{NAME}"):
        page.goto(start + path)
        page.evaluate(axe)
        found = page.evaluate("axe.run({resultTypes: ['violations']})")
        assert [(one["id"], one["nodes"][0]["html"]) for one in found["violations"]] == []
    text = page.input_value("#file-text")
    page.fill("#file-text", text.replace("1550", "1650"))
    page.click("text=Save")
    page.wait_for_selector("text=Saved.")
    assert plan.read_bytes() == text.replace("1550", "1650").encode()
    assert (troubles, context.cookies()) == ([], [])
    context.close()
    plan.write_bytes(read_example("kelpie-quay"))


def test_a_body_of_no_known_length_is_refused(running: Running) -> None:
    with socket.create_connection(("127.0.0.1", running.port), timeout=30) as plug:
        plug.sendall(
            f"PUT /{running.secret}/folder/plans/{NAME} HTTP/1.1\r\nHost: {running.host}\r\n"
            "Content-Type: application/json\r\nTransfer-Encoding: chunked\r\n\r\n"
            '1c\r\n{"text": "x", "base": "mine"}\r\n0\r\n\r\n'.encode()
        )
        assert re.match(rb"HTTP/1\.1 4(11|09|00) ", plug.recv(4096))
    assert (running.folder / NAME).read_bytes() == read_example("kelpie-quay")


def test_a_long_plan_is_saved_over_the_socket(running: Running) -> None:
    text = '"' * (8 * 1024 * 1024)
    body = b'{"text": "%s", "new": true}' % text.replace('"', '\\"').encode()
    path = f"/{running.secret}/folder/plans/long.layout.json"
    assert running.ask("PUT", path, body, Content_Type="application/json")[0] == 200
    assert (running.folder / "long.layout.json").stat().st_size == len(text)
    (running.folder / "long.layout.json").unlink()


def test_ctrl_c_ends_it_and_its_log_has_no_secret(running: Running) -> None:
    running.process.send_signal(signal.SIGINT)
    said, logged = running.process.communicate(timeout=60)
    assert running.process.returncode == 0
    assert "GET /folder/plans 200" in logged
    assert running.secret not in said + logged
    assert "Traceback" not in logged


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("HOST", "0.0.0.0", "must be 127.0.0.1, not '0.0.0.0'"),  # noqa: S104
        ("HOST", "::", "must be 127.0.0.1, not '::'"),
        ("HOST", "plans.example", "must be 127.0.0.1, not 'plans.example'"),
        ("HOST", "192.0.2.1", "must be 127.0.0.1, not '192.0.2.1'"),
        ("CORS_ORIGINS", "*", "CORS_ORIGINS cannot be set together with it"),
        ("PROXIES", "1", "PROXIES cannot be set together with it"),
        ("HOSTS", "plans.example", "HOSTS cannot be set together with it"),
    ],
)
def test_a_folder_is_for_this_computer_alone(name: str, value: str, said: str) -> None:
    with pytest.raises(ConfigError, match=re.escape(said)):
        read_config({f"TRAPPOINT_SERVE_{name}": value}).check_folder()
    for host in ("127.0.0.1", "::1"):
        read_config({"TRAPPOINT_SERVE_HOST": host}).check_folder()


def test_the_command_refuses_another_address_together_with_a_folder(tmp_path: Path) -> None:
    done = trappoint("serve", str(tmp_path), "--host", "192.0.2.1")
    assert (done.returncode, done.stdout) == (2, "")
    assert "the address to listen on must be 127.0.0.1" in done.stderr


def test_a_folder_that_is_none_is_an_error(tmp_path: Path) -> None:
    done = trappoint("serve", str(tmp_path / "missing"))
    assert (done.returncode, "cannot be used as a folder" in done.stderr) == (2, True)
