"""The nginx configuration in service/README.md, run unchanged as a real proxy."""

from __future__ import annotations

import gzip
import http.client
import json
import os
import re
import shutil
import socket
import subprocess
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing
from pathlib import Path

import pytest

from service.slow_clients import connect, wait_until
from service.test_slow_clients import port_of

PAGE = Path(__file__).parents[2] / "service" / "README.md"
NGINX = shutil.which("nginx") or shutil.which("nginx", path="/usr/sbin")

pytestmark = pytest.mark.skipif(NGINX is None, reason="`apt-get install nginx-light` installs it")

AROUND = """
daemon off;
{user}
pid {folder}/pid;
error_log stderr;
worker_processes 1;
events {{}}
http {{
    access_log off;
    client_body_temp_path {folder}/1;
    proxy_temp_path {folder}/2;
    fastcgi_temp_path {folder}/3;
    uwsgi_temp_path {folder}/4;
    scgi_temp_path {folder}/5;
    include {folder}/trappoint.conf;
}}
"""


def free_port() -> int:
    with closing(socket.create_server(("127.0.0.1", 0))) as found:
        port: int = found.getsockname()[1]
        return port


@pytest.fixture(scope="module")
def proxy(
    serving: Callable[..., str], tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[int, Path]]:
    """The port of nginx in front of the service, and the folder of its files."""
    folder = tmp_path_factory.mktemp("nginx")
    behind = port_of(
        serving(
            PROXIES="1", HOSTS="plans.example", WORKERS="1", LONG_WORKERS="1", WAIT_SECONDS="60"
        )
    )
    port = free_port()
    (text,) = re.findall(r"```nginx\n(.*?)```", PAGE.read_text("utf-8"), re.S)
    for known, used in (
        ("listen 80;", f"listen 127.0.0.1:{port};"),
        ("127.0.0.1:8080", f"127.0.0.1:{behind}"),
    ):
        assert text.count(known) == 1
        text = text.replace(known, used)
    (folder / "trappoint.conf").write_text(text)
    user = "user root;" if os.geteuid() == 0 else ""
    (folder / "nginx.conf").write_text(AROUND.format(folder=folder, user=user))
    words = [str(NGINX), "-p", str(folder), "-c", str(folder / "nginx.conf"), "-e", "stderr"]
    process = subprocess.Popen(words)
    wait_until(lambda: process.poll() is None and listens(port))
    yield port, folder
    process.terminate()
    process.wait(30)


def listens(port: int) -> bool:
    try:
        socket.create_connection(("127.0.0.1", port)).close()
    except OSError:
        return False
    return True


def ask(
    port: int,
    path: str,
    body: bytes | None = None,
    *,
    source: str = "127.0.0.1",
    **headers: str,
) -> tuple[int, dict[str, str], bytes]:
    connection = http.client.HTTPConnection("127.0.0.1", port, 60, source_address=(source, 0))
    sent = {"Host": "plans.example", **{k.replace("_", "-"): v for k, v in headers.items()}}
    with closing(connection):
        connection.request("POST" if body else "GET", path, body, sent)
        answer = connection.getresponse()
        return answer.status, dict(answer.headers), answer.read()


def test_pages_and_answers_come_through(proxy: tuple[int, Path], kelpie: bytes) -> None:
    port, folder = proxy
    status, headers, page = ask(port, "/signals/")
    assert (status, headers["X-Frame-Options"]) == (200, "DENY")
    addresses = re.findall(r' (?:href|src)="(/[^"]*)"', page.decode())
    assert addresses and all(address.startswith("/signals/") for address in addresses)
    for address in addresses:
        if not address.startswith("/signals/examples/"):
            assert ask(port, address)[0] == 200
    assert ask(port, "/signals/check")[1]["Location"] == "/signals/"
    kind = {"Content_Type": "application/json"}
    status, headers, report = ask(port, "/signals/api/v1/check", kelpie, **kind)
    assert (status, json.loads(report)["files"][0]["holds"]) == (200, True)
    large = json.dumps({"note": "x" * 1_000_000}).encode()
    assert ask(port, "/signals/api/v1/check", large, **kind)[0] == 200
    status, headers, told = ask(port, "/signals/api/v1/check", large + b" " * 8_000_000, **kind)
    assert (status, headers["Content-Type"]) == (413, "application/problem+json")
    assert json.loads(told)["type"] == "urn:trappoint:problem:request-entity-too-large"
    assert ask(port, "/signals/api/v1/check", large + b" " * 9_000_000, **kind)[0] == 413
    described = ask(port, "/signals/openapi.json", X_Forwarded_Prefix="/evil")[2]
    assert json.loads(described)["servers"] == [{"url": "/signals"}]
    packed = ask(port, "/signals/openapi.json", Accept_Encoding="gzip")
    assert packed[1]["Content-Encoding"] == "gzip"
    assert gzip.decompress(packed[2]) == described
    assert [path for path in folder.rglob("*") if path.is_file() and path.parent != folder] == []


def test_others_do_not_come_through(proxy: tuple[int, Path]) -> None:
    port, _ = proxy
    assert ask(port, "/signals/healthz")[2] == b"ok\n"
    assert ask(port, "/signals/metrics")[0] == 404
    assert ask(port, "/signals/metrics/")[0] == 404
    assert ask(port, "/signals/", Host="evil.example")[0] == 421


def test_the_rate_of_one_address_is_limited(proxy: tuple[int, Path]) -> None:
    port, _ = proxy
    with ExitStack() as stack:
        flood = [stack.enter_context(connect(port, "127.0.3.1")) for _ in range(150)]
        for connection in flood:
            connection.sendall(b"GET /signals/healthz HTTP/1.1\r\nHost: plans.example\r\n\r\n")
        found = {connection.recv(12) for connection in flood}
    assert found == {b"HTTP/1.1 200", b"HTTP/1.1 429"}
    assert ask(port, "/signals/healthz", source="127.0.3.2")[0] == 200
