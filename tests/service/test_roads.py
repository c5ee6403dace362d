"""Roads: from the API as from the command line, and on the page."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING

from commands.running import KELPIE, trappoint
from service.test_pages import send, text_of

if TYPE_CHECKING:
    from flask.testing import FlaskClient

JSON = {"content_type": "application/json"}


def test_it_answers_as_the_command_line(client: FlaskClient, kelpie: bytes) -> None:
    query = "from=town-line&to=A&standing=main&standing=quarry-line"
    told = client.post(f"/api/v1/road?{query}", data=kelpie, **JSON)
    words = ["--standing", "main", "--standing", "quarry-line", "--format", "json"]
    printed = trappoint("road", KELPIE, "town-line", "A", *words).stdout
    assert told.status_code == 200
    assert told.get_json() == json.loads(printed)
    assert told.get_json()["outcome"] == "clear-first"


def test_slips_are_told(client: FlaskClient, kelpie: bytes) -> None:
    for query, status, said in (
        ("from=town-lin&to=A", 422, "Is town-line meant?"),
        ("from=town-line", 400, "are both required"),
        ("from=town-line&to=A&leaving=left", 400, "must be `up` or `down`"),
        ("from=town-line&to=A&scene=noon", 422, "no scene called noon"),
    ):
        told = client.post(f"/api/v1/road?{query}", data=kelpie, **JSON)
        assert told.status_code == status, query
        assert said in told.get_json()["detail"]
    told = client.post("/api/v1/road?from=a&to=b", data=b"{", **JSON)
    assert told.status_code == 422


def test_the_page_tells_the_order_and_shows_the_road(client: FlaskClient, kelpie: bytes) -> None:
    answer = send(client, "/road", **{"text": kelpie.decode(), "from": "town-line", "to": "siding"})
    told = text_of(answer)
    assert "The road is free: 4 places, without setting back." in told
    assert "Set p3 reverse (left). Take 4L off. Take 1L off." in told
    assert "Other roads, and why this one is better" in told
    page = answer.get_data(as_text=True)
    lit = re.findall(r'<g class="track"[^>]*data-track="([^"]*)"[^>]*stroke-width="5"', page)
    assert sorted(lit) == ["loop-west", "siding", "town-line"]
    assert '<option value="siding" selected>siding</option>' in page


def test_the_page_tells_what_to_move_first(client: FlaskClient, kelpie: bytes) -> None:
    fields = {"text": kelpie.decode(), "from": "town-line", "to": "A", "standing": "main"}
    told = text_of(send(client, "/road", **fields))
    assert "First move the train in main: 2 moves in all, one at a time." in told
    fields["from"] = "<b>"
    page = send(client, "/road", **fields).get_data(as_text=True)
    assert "called &lt;b&gt; in this plan" in page


def test_a_plan_that_can_not_be_read(client: FlaskClient) -> None:
    answer = send(client, "/road", **{"text": "{", "from": "a", "to": "b"})
    assert answer.status_code == 200
    assert "Not judged" in text_of(answer)
    assert client.get("/road").status_code == 303
