"""Scenes: which arms may be off together, worked out by hand and against the table."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest

from service.conftest import read_example
from trappoint import check

if TYPE_CHECKING:
    from flask.testing import FlaskClient


def ask(client: FlaskClient, plan: bytes, **wish: object) -> dict[str, Any]:
    answer = client.post("/api/v1/scene", json={"plan": json.loads(plan), **wish})
    assert answer.status_code == 200, answer.get_data(as_text=True)
    found: dict[str, Any] = answer.get_json()
    return found


def states(answer: dict[str, Any]) -> dict[str, str]:
    return {entry["arm"]: entry["state"] for entry in answer["arms"]}


def test_kelpie_quay_as_it_lies(client: FlaskClient, kelpie: bytes) -> None:
    """p1 right, p2 left, p3 right: the main road, worked out by hand."""
    told = states(ask(client, kelpie))
    assert [arm for arm, state in told.items() if state == "may"] == ["1R", "2", "3", "7L"]
    # 2 runs main -> quarry line: against 7L, and nothing against 1R or 3.
    told = states(ask(client, kelpie, off=["2"]))
    assert told["2"] == "off"
    assert [arm for arm, state in told.items() if state == "may"] == ["1R", "3"]


def test_reasons_name_what_is_in_the_way(client: FlaskClient, kelpie: bytes) -> None:
    answer = ask(client, kelpie, points={"p1": "left"}, off=["1L", "1R"], trains=["loop-west"])
    found = {entry["arm"]: entry for entry in answer["arms"]}
    assert found["1R"]["state"] == found["1L"]["state"] == "wrong"
    assert any("p1" in reason for reason in found["1R"]["because"])
    assert any("loop-west" in reason for reason in found["1L"]["because"])
    assert found["5"]["state"] == "must-not"
    assert any("1L" in reason for reason in found["5"]["because"])


def test_points_worked_together(client: FlaskClient) -> None:
    plan = read_example("boggart-bridge")
    (first, *_) = json.loads(plan)["worked_together"]
    answer = ask(client, plan, points={first[0]: "reverse"})
    assert any(first[1] in entry["message"] for entry in answer["points"])
    together = ask(client, plan, points=dict.fromkeys(first, "reverse"))
    assert together["points"] == []


@pytest.mark.parametrize("name", ["kelpie-quay", "boggart-bridge"])
def test_what_the_table_excludes_may_not_be_off(client: FlaskClient, name: str) -> None:
    """For each arm with its road set: no arm that never goes with it may be off; others may
    where the table says that their points lie right and no conflict holds."""
    plan = read_example(name)
    table = check(plan).table
    layout = check(plan).layout
    assert table is not None
    assert layout is not None
    tried = 0
    for entry in table.arms:
        if entry.kind != "stop" or len(entry.routes) != 1 or tried == 8:
            continue
        tried += 1
        lies = dict(entry.routes[0].points)
        for group in layout.worked_together:
            words = {
                "normal" if lies[p] == layout.points[p].normal else "reverse"
                for p in group
                if p in lies
            }
            if words:
                lies |= dict.fromkeys(group, words.pop())
        told = states(ask(client, plan, points=lies, off=[entry.arm]))
        assert told[entry.arm] == "off"
        never = [c.arm for c in entry.conflicts if c.when is None]
        assert {told[arm] for arm in never} <= {"must-not"}
    assert tried >= 8


@pytest.mark.parametrize(
    ("body", "said"),
    [
        (b"[]", "object"),
        (b"{", "not valid JSON"),
        (b"[" * 100_000, "not valid JSON"),
        (b'{"plan": 1}', "`plan`"),
        (b'{"plan": {}, "more": 1}', "and `trains` only"),
        (b'{"plan": {}, "points": []}', "`points`"),
        (b'{"plan": {}, "points": {"a": 1}}', "`points`"),
        (b'{"plan": {}, "off": [1]}', "`off`"),
        (b'{"plan": {}, "trains": "x"}', "`trains`"),
    ],
)
def test_requests_that_are_wrong(client: FlaskClient, body: bytes, said: str) -> None:
    answer = client.post("/api/v1/scene", data=body, content_type="application/json")
    assert answer.status_code == 400
    assert said in answer.get_json()["detail"]


def test_plans_and_wishes_that_can_not_be_judged(client: FlaskClient, kelpie: bytes) -> None:
    plan = json.loads(kelpie)
    wishes: list[dict[str, object]] = [
        {"plan": {}},
        {"plan": plan, "off": ["8"]},
        {"plan": plan, "points": {"p9": "x"}},
    ]
    for wish in wishes:
        answer = client.post("/api/v1/scene", json=wish)
        assert answer.status_code == 422
        assert answer.get_json()["report"]["findings"]
