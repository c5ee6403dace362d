"""A plan with boards cannot be judged without its boards; the answers say so."""

from __future__ import annotations

import io
import json
import os
from pathlib import Path
from typing import TYPE_CHECKING

from service.conftest import EXAMPLES
from service.test_api import post, send_form
from service.test_pages import Fields, send, text_of

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


def test_the_form_takes_a_plan_with_its_boards(client: FlaskClient) -> None:
    """It finds the whole by itself, keeps all texts, and lets a file replace one of them."""
    names = [f"boards/{p.name}" for p in (MEET.parent / "boards").iterdir()]
    parts = [("plan", Path(n).name, (MEET.parent / n).read_bytes()) for n in names]
    page = send_form(client, "/check", [*parts, ("plan", MEET.name, MEET.read_bytes())])
    assert "autumn.layout.json holds" in text_of(page)
    (form,) = Fields(page.text).forms
    assert sorted(form["board-name"]) == sorted(name for _, name, _ in parts)
    fields = [(name, value) for name in form for value in form[name] if name not in ("plan", "")]
    table = send(client, "/download/table.csv", **_lists(fields))
    assert table.status_code == 200 and len(table.text.splitlines()) > 5
    swapped = json.loads(parts[0][2])
    swapped["title"] = "Another"
    changed = (io.BytesIO(json.dumps(swapped).encode()), parts[0][1])
    again = send(client, "/check", plan=changed, **_lists(fields))
    assert "autumn.layout.json holds" in text_of(again)
    assert (
        "Another"
        in Fields(again.text).forms[0]["board-text"][form["board-name"].index(parts[0][1])]
    )


def test_the_form_asks_if_no_plan_is_the_whole(client: FlaskClient, kelpie: bytes) -> None:
    two = [("plan", "a.json", kelpie), ("plan", "b.json", kelpie)]
    page = send_form(client, "/check", two)
    assert page.status_code == 409
    (form,) = Fields(page.text).forms
    assert form["top"] == ["a.json", "b.json"]
    fields = [(name, value) for name in form for value in form[name] if name != "top"]
    answer = send(client, "/check", top="b.json", **_lists(fields))
    assert "b.json holds" in text_of(answer)
    same = send_form(client, "/check", [two[0], two[0]])
    assert same.status_code == 400
    assert "Two of the files have the same name" in text_of(same)


def _lists(fields: list[tuple[str, str]]) -> dict[str, list[str]]:
    return {name: [value for key, value in fields if key == name] for name, _ in fields}


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
