"""Proposed signals, on the page and by the API."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from amount import is_long
from proposing.bare import NOWHERE_FOR_A_POST
from service.conftest import read_example
from service.test_pages import send, text_of
from trappoint.core.terminal import RenderOptions
from trappoint.proposing.proposal import propose
from trappoint.reporting import propose_json
from trappoint_service import create_app
from trappoint_service.config import Config

if TYPE_CHECKING:
    from flask.testing import FlaskClient


@pytest.fixture(scope="module")
def bare() -> bytes:
    """Kelpie Quay without its signals and references to them."""
    plan = json.loads(read_example("kelpie-quay"))
    kept = {key: plan[key] for key in ("format", "title", "tracks", "points", "platforms")}
    return json.dumps(kept).encode()


def test_a_plan_without_signals_is_signalled(client: FlaskClient, bare: bytes) -> None:
    answer = send(client, "/draft", text=bare.decode(), level="least", repair="no", name="k.json")
    told = text_of(answer)
    assert "k.json holds" in told
    assert "7 signals with 10 arms; fewer that a driver can read are not enough." in told
    assert "1 on town-line, for down trains" in told
    assert "Without it: nothing stops a train in siding, running up" in told
    # The plan in the form is the proposed one, to be taken away or checked again.
    assert "&#34;signals&#34;" in answer.get_data(as_text=True)


def test_a_plan_that_fails_is_mended(client: FlaskClient, unheld: bytes) -> None:
    told = text_of(send(client, "/draft", text=unheld.decode(), repair="yes"))
    assert "1 signal to change; fewer are not enough." in told
    assert "on siding, for up trains" in told
    assert "on town-line, for down trains Duties" not in told  # unchanged signals are not listed


def test_the_page_offers_it(client: FlaskClient, kelpie: bytes) -> None:
    page = send(client, "/check", text=kelpie.decode()).get_data(as_text=True)
    assert 'formaction="/draft"' in page
    assert client.get("/draft").status_code == 303


def test_the_interface_answers_as_the_command(client: FlaskClient, bare: bytes) -> None:
    answer = client.post(
        "/api/v1/propose?level=homes&name=k.json", data=bare, content_type="application/json"
    )
    expected = propose(bare, name="k.json", level="homes")
    assert answer.get_data(as_text=True) == propose_json.render(expected, RenderOptions())


@pytest.mark.parametrize("query", ["level=best", "repair=maybe"])
def test_wrong_words_are_told(client: FlaskClient, bare: bytes, query: str) -> None:
    answer = client.post(f"/api/v1/propose?{query}", data=bare, content_type="application/json")
    assert answer.status_code == 400
    assert answer.content_type == "application/problem+json"


def test_what_cannot_be_proposed_is_told(client: FlaskClient) -> None:
    answer = client.post("/api/v1/propose", json=NOWHERE_FOR_A_POST)
    assert answer.status_code == 422
    assert "a needed place allows no signal" in answer.get_json()["detail"]
    broken = client.post("/api/v1/propose", json={"format": "trappoint-layout/1"})
    assert broken.status_code == 422
    assert broken.get_json()["report"]["findings"]


@pytest.mark.skipif(not is_long(), reason="it searches for seconds: pytest --long")
def test_the_club_size_plan_within_the_time_of_a_request() -> None:
    """After half of the time, the answer is the best proposal so far, with a bound."""
    plan = json.loads(read_example("hobthrush-vale"))
    for key in ("signals", "levers", "scenes", "accept"):
        plan.pop(key, None)
    app = create_app(Config(wait_seconds=30, deadline_seconds=120))
    try:
        answer = app.test_client().post("/api/v1/propose", json=plan)
    finally:
        app.pool.close()  # type: ignore[attr-defined]
    (found,) = answer.get_json()["proposals"]
    assert found["holds"] is True
    assert found["bound"] <= found["worth"]
