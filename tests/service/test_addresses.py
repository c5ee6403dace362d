"""The service's addresses: below a path, behind proxies, by known host names."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest

from service.conftest import read_example
from trappoint_service import create_app
from trappoint_service.config import Config

if TYPE_CHECKING:
    from flask.testing import FlaskClient

FORWARDED = {
    "X-Forwarded-For": "192.0.2.7",
    "X-Forwarded-Proto": "https",
    "X-Forwarded-Host": "club.example",
    "X-Forwarded-Prefix": "/signals",
}
ADDRESS = re.compile(r'\s(?:href|src|action|formaction|data-address)="([^"]*)"')


@pytest.fixture(scope="module")
def proxied() -> Iterator[FlaskClient]:
    app = create_app(Config(proxies=1, hosts=("club.example",)))
    yield app.test_client()
    app.pool.close()  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    "path", ["/", "/rules", "/rules/unheld-exit", "/interface", "/nowhere", "/examples/"]
)
def test_every_address_on_a_page_is_below_the_path(proxied: FlaskClient, path: str) -> None:
    page = proxied.get(path, headers=FORWARDED).get_data(as_text=True)
    below_the_path(page)


def below_the_path(page: str) -> None:
    found = [address for address in ADDRESS.findall(page) if not address.startswith("#")]
    assert len(found) > 5
    assert [address for address in found if not address.startswith("/signals/")] == []


def test_redirects_and_the_description_are_below_it(proxied: FlaskClient) -> None:
    assert proxied.get("/check", headers=FORWARDED).headers["Location"] == "/signals/"
    merged = proxied.get("/rules//unheld-exit", headers=FORWARDED).headers["Location"]
    assert merged == "https://club.example/signals/rules/unheld-exit"
    described = proxied.get("/openapi.json", headers=FORWARDED).get_json()
    assert described["servers"] == [{"url": "/signals"}]


def test_a_server_that_mounts_it_below_a_path(client: FlaskClient) -> None:
    mounted = {"SCRIPT_NAME": "/signals"}
    below_the_path(client.get("/", environ_overrides=mounted).get_data(as_text=True))
    sent = {"text": read_example("kelpie-quay").decode()}
    form = {"content_type": "multipart/form-data", "environ_overrides": mounted}
    answer = client.post("/check", data=sent, **form)  # type: ignore[arg-type]
    below_the_path(answer.get_data(as_text=True))


def test_headers_of_proxies_are_not_believed_unless_set(client: FlaskClient) -> None:
    page = client.get("/", headers=FORWARDED).get_data(as_text=True)
    assert "/signals" not in page


def test_an_unknown_host_is_turned_away(proxied: FlaskClient) -> None:
    for host in ("club.example.evil.example", "evil.example", "127.0.0.1"):
        answer = proxied.get("/", headers={**FORWARDED, "X-Forwarded-Host": host})
        assert answer.status_code == 421
        assert answer.mimetype == "application/problem+json"
        assert answer.get_json()["type"] == "urn:trappoint:problem:unknown-host"
        assert proxied.get("/healthz", headers={"Host": host}).status_code == 200


def test_any_host_is_known_unless_set(client: FlaskClient) -> None:
    assert client.get("/", headers={"Host": "anything.example"}).status_code == 200
