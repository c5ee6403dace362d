"""Parts and fitting sheets from the API, against the output of the command line."""

from __future__ import annotations

import io
import json
from typing import TYPE_CHECKING, Any

import pytest

from proposing.test_pricing import ONE_WAY, store_data
from service.conftest import read_example
from service.test_pages import send, text_of
from trappoint.cli import main
from trappoint.core.resources import read_resource

if TYPE_CHECKING:
    from pathlib import Path

    from flask.testing import FlaskClient
    from werkzeug.test import TestResponse

pytest.importorskip("highspy")

STORE_OF_TOMORROW = b'{"currency": "GBP", "parts": {},\n"format": "trappoint-store/9"}'


@pytest.fixture
def sent(tmp_path: Path) -> dict[str, bytes]:
    """Return a plan and a store of another size, and put both into files."""
    plan = read_example("kelpie-quay")
    content = plan.encode() if isinstance(plan, str) else plan
    data = {
        "format": "trappoint-store/1", "currency": "GBP",
        "parts": {
            "post": {"owned": 3, "as_mount": {"mounts": ["post", "bracket"]}},
            "arm": {"owned": 4, "as_arm": {"kinds": ["stop"]}},
        },
        "shops": {
            "wharf": {
                "offers": {
                    "p": {"contains": {"post": 2}, "price": "3.10"},
                    "a": {"contains": {"arm": 1}, "price": "0.75"},
                }
            }
        },
    }  # fmt: skip
    store = json.dumps(data).encode()
    (tmp_path / "k.layout.json").write_bytes(content)
    (tmp_path / "c.store.json").write_bytes(store)
    return {"plan": content, "store": store}


def post(client: FlaskClient, address: str, **files: bytes) -> TestResponse:
    form: dict[str, Any] = {
        name: (io.BytesIO(content), f"k.{'layout' if name == 'plan' else 'store'}.json")
        for name, content in files.items()
    }
    return client.post(address, data=form, content_type="multipart/form-data")


@pytest.mark.parametrize("job", ["parts", "fitting"])
def test_it_answers_as_the_command_line(
    job: str,
    client: FlaskClient,
    sent: dict[str, bytes],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    answer = post(client, f"/api/v1/{job}", **sent)
    plan, store = str(tmp_path / "k.layout.json"), str(tmp_path / "c.store.json")
    main([job, plan, "--store", store, "--format", "json"])
    assert answer.status_code == 200
    assert answer.get_json() == json.loads(capsys.readouterr().out)


def test_signals_left_out_and_the_most_money(client: FlaskClient, sent: dict[str, bytes]) -> None:
    """Without 7: 6 posts, 8 arms; 3 and 4 are owned: 2 packs of posts and 4 arms, 9.20."""
    whole = post(client, "/api/v1/parts?without=7", **sent).get_json()
    assert whole["scheme"]["totals"] == {"GBP": "9.20"}
    poor = post(client, "/api/v1/parts?without=7&at_most=9.19", **sent).get_json()
    assert poor["scheme"] is None and poor["least_money"] == "9.20"


@pytest.mark.parametrize(
    ("address", "files", "status"),
    [
        ("/api/v1/parts", ("plan",), 400),
        ("/api/v1/parts?at_most=much", ("plan", "store"), 400),
        ("/api/v1/parts?without=99", ("plan", "store"), 422),
    ],
)
def test_what_cannot_be_done_is_a_problem(
    address: str, files: tuple[str, ...], status: int, client: FlaskClient, sent: dict[str, bytes]
) -> None:
    answer = post(client, address, **{name: sent[name] for name in files})
    assert answer.status_code == status
    assert answer.mimetype == "application/problem+json"


def test_bad_files_are_told_with_their_places(client: FlaskClient, sent: dict[str, bytes]) -> None:
    for address in ("/api/v1/parts", "/api/v1/fitting"):
        broken = post(client, address, plan=b'{"format": 1}', store=sent["store"])
        assert broken.status_code == 422 and broken.get_json()["report"]["holds"] is None
        answer = post(client, address, plan=sent["plan"], store=STORE_OF_TOMORROW)
        assert answer.status_code == 422
        assert "line 2, column" in answer.get_json()["detail"]


def test_the_schema_of_stores(client: FlaskClient) -> None:
    told = client.get("/api/v1/schema/store").get_data(as_text=True)
    assert json.loads(told) == json.loads(read_resource("store.schema.json"))


def test_proposals_from_a_store_equal_the_command_line(
    client: FlaskClient, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    plan, store = json.dumps(ONE_WAY).encode(), json.dumps(store_data(bracket=2)).encode()
    (tmp_path / "a.layout.json").write_bytes(plan)
    (tmp_path / "a.store.json").write_bytes(store)
    words = ["propose", str(tmp_path / "a.layout.json"), "--store", str(tmp_path / "a.store.json")]
    assert main([*words, "--best", "1", "--format", "json"]) == 0
    printed = json.loads(capsys.readouterr().out)
    assert printed["proposals"][0]["cost"] == "9.00" and printed["proposals"][0]["buy"]
    answer = post(client, "/api/v1/propose", plan=plan, store=store)
    assert answer.get_json() == printed
    none = post(
        client, "/api/v1/propose", plan=plan, store=json.dumps(store_data(sold=False)).encode()
    )
    assert none.status_code == 422 and none.get_json()["type"].endswith("nothing-to-propose")
    assert "No purchase cures that" in none.get_json()["detail"]
    bad = post(client, "/api/v1/propose", plan=plan, store=STORE_OF_TOMORROW)
    assert bad.status_code == 422 and bad.get_json()["type"].endswith("parts-not-usable")


def test_the_page_of_a_proposal_says_what_to_buy(client: FlaskClient) -> None:
    plan, store = json.dumps(ONE_WAY), json.dumps(store_data(bracket=2))
    page = text_of(send(client, "/draft", **{"text": plan, "store-text": store}))
    assert "Its new signals cost 9.00 GBP" in page
    assert "The drawer is short of 4 x stop arm, upper-quadrant." in page
    both = {"owned": 9, "as_mount": {"mounts": ["post"]}, "as_arm": {"kinds": ["stop"]}}
    data = json.loads(store)
    data["parts"]["both"] = both
    fields = {"text": read_example("kelpie-quay").decode(), "store-text": json.dumps(data)}
    shown = text_of(send(client, "/parts-and-fitting", **fields))
    assert "Part both has as_mount and as_arm, but one piece has one use only." in shown
    assert "Shopping list" in shown and "Bench list" in shown
    empty = send(client, "/check", text=plan).get_data(as_text=True)
    assert empty.count('id="store-text"') == 1
