"""A plan with boards cannot be judged without its boards; the answers say so."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import TYPE_CHECKING

from service.conftest import EXAMPLES
from service.test_api import post, send_form

if TYPE_CHECKING:
    import pytest
    from flask.testing import FlaskClient

MEET = EXAMPLES / "nixie-vale" / "autumn.layout.json"
SAID = "This plan has boards, but their files cannot be read here."


def test_it_says_that_boards_can_not_be_read_here(client: FlaskClient) -> None:
    (file,) = post(client, "/api/v1/check", MEET.read_bytes()).get_json()["files"]
    assert file["holds"] is None
    (finding,) = file["findings"]
    assert (finding["rule"], finding["level"]) == ("boards-not-read", "error")
    assert (finding["pointer"], finding["message"]) == ("/boards", SAID)
    answer = post(client, "/api/v1/table", MEET.read_bytes())
    assert answer.status_code == 422


def test_so_does_the_page(client: FlaskClient) -> None:
    page = send_form(client, "/check", [("plan", MEET.name, MEET.read_bytes())])
    assert page.status_code == 200
    assert SAID in page.text
    assert "cannot be judged" in page.text
    assert "no two trains" not in page.text


def test_several_files_are_put_together(client: FlaskClient) -> None:
    names = [
        "autumn.layout.json",
        *(f"boards/{p.name}" for p in (MEET.parent / "boards").iterdir()),
    ]
    parts = [("plan", Path(n).name, (MEET.parent / n).read_bytes()) for n in names]
    files = send_form(client, "/api/v1/check", parts).get_json()["files"]
    assert [file["holds"] for file in files] == [True] * len(names)
    assert all(file["findings"] == [] for file in files)
    without = [part for part in parts if part[1] != "nixie-town.layout.json"]
    files = send_form(client, "/api/v1/check", without).get_json()["files"]
    (finding,) = next(f for f in files if f["file"] == "autumn.layout.json")["findings"]
    assert finding["rule"] == "board-not-found"


def test_no_file_of_the_server_is_looked_into(
    client: FlaskClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A path that exists on the server is not read either."""
    monkeypatch.chdir(MEET.parent)
    assert os.path.lexists("boards/nixie-town.layout.json")
    secret = tmp_path / "secret"
    secret.write_text('{"secret": "on this server"}', "utf-8")
    plan = json.loads(MEET.read_text("utf-8"))
    plan["boards"]["town"]["plan"] = "../" * 20 + str(secret).lstrip("/")
    answer = post(client, "/api/v1/check", json.dumps(plan).encode())
    assert "on this server" not in answer.text
    (file,) = answer.get_json()["files"]
    assert [finding["rule"] for finding in file["findings"]] == ["boards-not-read"]


def test_the_pages_of_the_rules_show_all_files_of_an_example(client: FlaskClient) -> None:
    page = client.get("/rules/edge-joined-twice")
    assert page.status_code == 200
    assert "plan.layout.json" in page.text
    assert "quarry.layout.json" in page.text
    assert "Plans put together from boards" in client.get("/rules").text
