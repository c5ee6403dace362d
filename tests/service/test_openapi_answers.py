"""Real answers of the API, tested against the schemas of its description."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from jsonschema import Draft202012Validator

from amount import amount
from service.conftest import EXAMPLES

if TYPE_CHECKING:
    from collections.abc import Iterator

    from flask.testing import FlaskClient
    from werkzeug.test import TestResponse

SLIPS = sorted((EXAMPLES / "slips").glob("*.layout.json"))
PLANS = sorted(EXAMPLES.glob("*.layout.json")) + SLIPS[:: amount(9, long=1)]
STORES = {"kelpie-quay": "kelpie-quay", "selkie-harbour": "hobthrush-vale"}


@pytest.fixture(scope="module")
def document(client: FlaskClient) -> dict[str, Any]:
    found: dict[str, Any] = client.get("/openapi.json").get_json()
    return found


def validator(document: dict[str, Any], schema: dict[str, Any]) -> Draft202012Validator:
    """Return a validator for a schema of the description."""
    return Draft202012Validator({**schema, "components": document["components"]})


def assert_as_described(document: dict[str, Any], answer: TestResponse, path: str) -> None:
    """Test that the status is described, and that the body fits its schema."""
    method = answer.request.method.lower()
    told = document["paths"][path][method]["responses"][str(answer.status_code)]
    if "$ref" in told:
        told = document["components"]["responses"][told["$ref"].rpartition("/")[2]]
    content = told["content"][answer.mimetype]
    if answer.mimetype.endswith("json"):
        validator(document, content["schema"]).validate(json.loads(answer.data))


def post(client: FlaskClient, path: str, content: bytes) -> TestResponse:
    return client.post(path, data=content, content_type="application/json")


def stands(plan: bytes) -> list[str]:
    """Return the ids of some tracks of a plan; empty if it is unreadable."""
    try:
        return list(json.loads(plan)["tracks"])
    except (ValueError, KeyError):
        return []


@pytest.mark.parametrize("path", PLANS, ids=lambda path: path.stem)
def test_answers_have_the_form_that_is_described(
    client: FlaskClient, document: dict[str, Any], path: Path
) -> None:
    plan = path.read_bytes()
    small = len(plan) < amount(8000, long=1_000_000)
    for route in ("check", "table", "draw", *(["fitting", "propose"] if small else [])):
        answer = post(client, f"/api/v1/{route}", plan)
        assert_as_described(document, answer, f"/api/v1/{route}")
    names = stands(plan)
    if names and small:
        asked = f"/api/v1/road?from={names[0]}&to={names[-1]}&standing={names[len(names) // 2]}"
        assert_as_described(document, post(client, asked, plan), "/api/v1/road")
        scene = json.dumps({"plan": json.loads(plan)}).encode()
        assert_as_described(document, post(client, "/api/v1/scene", scene), "/api/v1/scene")


@pytest.mark.parametrize("name", STORES)
def test_answers_with_a_store(client: FlaskClient, document: dict[str, Any], name: str) -> None:
    for route in ("parts", "fitting"):
        files = {
            "plan": (io.BytesIO((EXAMPLES / f"{name}.layout.json").read_bytes()), "a"),
            "store": (io.BytesIO((EXAMPLES / f"{STORES[name]}.store.json").read_bytes()), "b"),
        }
        answer = client.post(f"/api/v1/{route}", data=files)
        assert answer.status_code == 200
        assert_as_described(document, answer, f"/api/v1/{route}")


def test_roads_that_are_blocked_or_too_long(
    client: FlaskClient, document: dict[str, Any], kelpie: bytes
) -> None:
    """Every outcome of a road fills its own keys."""
    plan = {**json.loads(kelpie), "trains": {"goods": {"length_mm": 2400}}}
    plan["scenes"] = {"now": {"trains": {"town-line": "goods"}}}
    found = set()
    for query in (
        "from=town-line&to=siding&standing=loop-west",
        "from=town-line&to=siding&scene=now",
        "from=siding&to=main",
        "from=main&to=main",
        "from=siding&to=quarry-line&standing=loop-west&standing=main",
    ):
        sent = json.dumps(plan if "scene" in query else json.loads(kelpie)).encode()
        answer = post(client, f"/api/v1/road?{query}", sent)
        assert_as_described(document, answer, "/api/v1/road")
        found.add(answer.get_json().get("outcome"))
    assert {"free", "clear-first", "too-long"} <= found


def test_a_key_too_many_or_too_few_is_seen(document: dict[str, Any], client: FlaskClient) -> None:
    answer = client.post(
        "/api/v1/fitting",
        data=(EXAMPLES / "kelpie-quay.layout.json").read_bytes(),
        content_type="application/json",
    ).get_json()
    held = validator(document, {"$ref": "#/components/schemas/FittingSheet"})
    assert held.is_valid(answer)
    assert not held.is_valid({**answer, "more": 1})
    for key in answer:
        assert not held.is_valid({name: value for name, value in answer.items() if name != key})
    del answer["posts"][0]["arms"][0]["id"]
    assert not held.is_valid(answer)


def test_every_schema_is_closed_and_has_required_keys(document: dict[str, Any]) -> None:
    """An answer with a key too many or too few would be refused."""
    for name, schema in document["components"]["schemas"].items():
        for one in schema.get("oneOf", [schema]):
            assert one["required"], name
            assert one.get("additionalProperties") is False or name == "Problem", name


def media_types(part: object) -> Iterator[dict[str, Any]]:
    """Yield all parts with both a schema and an example."""
    if isinstance(part, dict):
        if "schema" in part and "example" in part:
            yield part
        for value in part.values():
            yield from media_types(value)
    elif isinstance(part, list):
        for value in part:
            yield from media_types(value)


def test_examples_are_valid(document: dict[str, Any]) -> None:
    found = list(media_types(document))
    assert len(found) > 20
    for media in found:
        validator(document, media["schema"]).validate(media["example"])


def test_the_requests_that_are_shown_work(client: FlaskClient, document: dict[str, Any]) -> None:
    """Every example of a request is answered with 200."""
    tried = 0
    for path, methods in document["paths"].items():
        operation = methods.get("post", {})
        named = [one for one in operation.get("parameters", ()) if one.get("required")]
        query = {one["name"]: one["example"] for one in named}
        for kind, media in operation.get("requestBody", {}).get("content", {}).items():
            if "example" not in media:
                continue
            data = media["example"] if "form" in kind else json.dumps(media["example"])
            address = path.replace("{kind}", "table.csv")
            answer = client.post(address, data=data, content_type=kind, query_string=query)
            assert answer.status_code == 200, (path, kind, answer.data[:300])
            tried += 1
    assert tried >= 12
