"""Building a plan over the API: the parts of an answer, and requests that are refused."""

from __future__ import annotations

import json
import random
import re
from functools import cache
from typing import TYPE_CHECKING, Any

import pytest

from amount import amount, is_long
from service.conftest import EXAMPLES
from service.test_api import assert_problem, post
from service.test_openapi_answers import assert_as_described
from trappoint import check
from trappoint.core.findings import CAUTION
from trappoint.laying.catalogue import VERBS
from trappoint.reporting.outline import outline
from trappoint.rules.catalogue import PLAN_RULES

if TYPE_CHECKING:
    from flask.testing import FlaskClient
    from werkzeug.test import TestResponse

ALL = ["report", "diagram", "work", "outline", "offers", "fixes"]


@cache
def described(client: FlaskClient) -> dict[str, Any]:
    document: dict[str, Any] = client.get("/openapi.json").get_json()
    return document


def lay(client: FlaskClient, plan: str | None, *steps: object, **more: object) -> dict[str, Any]:
    """Return the answer to a request that is in order, tested against its description."""
    answer = client.post("/api/v1/lay", json={"plan": plan, "steps": list(steps), **more})
    assert answer.status_code == 200, answer.text
    assert_as_described(described(client), answer, "/api/v1/lay")
    found: dict[str, Any] = answer.get_json()
    assert found["caution"] == CAUTION
    return found


def read(name: str) -> str:
    return (EXAMPLES / f"{name}.layout.json").read_text("utf-8")


PLANS = sorted(EXAMPLES.glob("*.layout.json"))
QUICK = [path for path in PLANS if path.name != "hobthrush-vale.layout.json"]


@pytest.mark.parametrize("path", PLANS if is_long() else QUICK, ids=lambda path: path.stem)
def test_without_a_step_the_plan_is_checked_and_drawn(client: FlaskClient, path: Any) -> None:
    text = path.read_text("utf-8")
    answer = lay(client, text, want=ALL)
    assert (answer["plan"], answer["said"], answer["touched"]) == (text, [], [])
    (file,) = post(client, "/api/v1/check", text.encode()).get_json()["files"]
    assert answer["report"] == {**file, "file": answer["report"]["file"]}
    assert answer["diagram"]["svg"].startswith("<svg")
    assert [place["id"] for place in answer["work"]["places"]]
    report = check(text)
    assert report.layout is not None
    assert answer["outline"] == outline(report.layout, report.table)


def test_an_answer_has_the_parts_that_are_wanted(client: FlaskClient, kelpie: bytes) -> None:
    always = {"plan", "said", "touched", "caution"}
    assert set(lay(client, kelpie.decode())) == always | {"report", "diagram", "offers"}
    assert set(lay(client, kelpie.decode(), want=[])) == always
    for part in ALL:
        assert set(lay(client, kelpie.decode(), want=[part])) == always | {part}


def test_it_begins_with_nothing(client: FlaskClient) -> None:
    answer = lay(client, None, want=ALL, at=["plan"])
    assert answer["plan"] == ""
    assert (answer["diagram"], answer["work"], answer["outline"]) == (None, None, [])
    assert (answer["report"]["holds"], answer["report"]["findings"]) == (None, [])


@pytest.mark.parametrize("text", ["{", "[]", "\x00", "{}", '{"tracks": 1}', "[" * 5000, "\ufeff"])
def test_a_text_that_is_no_plan_is_no_error(client: FlaskClient, text: str) -> None:
    answer = lay(client, text, want=ALL, at=["plan", "tracks/main"])
    assert answer["plan"] == text
    assert answer["report"]["holds"] is None
    assert answer["report"]["findings"]
    assert (answer["diagram"], answer["work"], answer["outline"]) == (None, None, [])


def send(client: FlaskClient, body: object, kind: str = "application/json") -> TestResponse:
    data = body if isinstance(body, bytes) else json.dumps(body).encode()
    return client.post("/api/v1/lay", data=data, content_type=kind)


@pytest.mark.parametrize(
    ("body", "said"),
    [
        (b"", "not valid JSON"),
        (b"{", "not valid JSON"),
        (b"\xff", "not valid JSON"),
        (b"[" * 100_000, "not valid JSON"),
        (b'{"plan": null, "plan": null, "steps": []}', "not valid JSON"),
        (b'{"plan": null, "steps": [], "before": NaN}', "not valid JSON"),
        ([], "JSON object"),
        ({"plan": None}, "`steps`"),
        ({"steps": []}, "`plan`"),
        ({"plan": None, "steps": [], "more": 1}, "no other key"),
        ({"plan": {}, "steps": []}, "`plan` must be"),
        ({"plan": None, "steps": {}}, "`steps` must be"),
        ({"plan": None, "steps": ["lay"]}, "`steps` must be"),
        ({"plan": None, "steps": [{}]}, "`steps` must be"),
        ({"plan": None, "steps": [{"do": 1}]}, "`steps` must be"),
        ({"plan": None, "steps": [{"do": "lay-line"}] * 501}, "500"),
        ({"plan": None, "steps": [], "at": "plan"}, "`at` must be"),
        ({"plan": None, "steps": [], "at": [1]}, "`at` must be"),
        ({"plan": None, "steps": [], "at": ["plan"] * 101}, "100"),
        ({"plan": None, "steps": [], "want": ["all"]}, "`want` must be"),
        ({"plan": None, "steps": [], "want": [[]]}, "`want` must be"),
        ({"plan": None, "steps": [], "boards": []}, "`boards` must be"),
        ({"plan": None, "steps": [], "boards": {"a": 1}}, "`boards` must be"),
        ({"plan": None, "steps": [], "boards": {str(n): "" for n in range(101)}}, "100"),
    ],
)
def test_requests_that_are_wrong(client: FlaskClient, body: object, said: str) -> None:
    told = assert_problem(send(client, body), 400, "bad-request")
    assert said in str(told["detail"])


def test_the_request_is_json(client: FlaskClient) -> None:
    assert_problem(send(client, {}, "text/plain"), 415, "unsupported-media-type")
    assert_problem(send(client, b" " * (9 << 20)), 413, "request-entity-too-large")


def test_boards_are_read_from_the_request(client: FlaskClient) -> None:
    folder = EXAMPLES / "nixie-vale"
    text = (folder / "autumn.layout.json").read_text("utf-8")
    boards = {
        f"boards/{path.name}": path.read_text("utf-8") for path in (folder / "boards").iterdir()
    }
    answer = lay(client, text, boards=boards, want=ALL)
    assert (answer["report"]["holds"], answer["report"]["findings"]) == (True, [])
    assert answer["diagram"]["svg"]
    alone = lay(client, text, at=["plan", "boards/town"], want=["report", "offers"])
    assert [f["rule"] for f in alone["report"]["findings"]] == ["boards-not-read"]
    assert [bool(entry["can"]) for entry in alone["offers"]] == [True, True]
    joined = lay(client, text, at=["tracks/flap", "tracks/flap/up"], want=["offers"])
    for offer in [offer for entry in joined["offers"] for offer in entry["can"]]:
        assert lay(client, text, pressed(offer), want=[])["said"], offer
    stray = {f"../{name}": content for name, content in boards.items()}
    assert lay(client, text, boards=stray)["report"]["holds"] is None


def pressed(offer: dict[str, Any]) -> dict[str, Any]:
    """Return the step of an offer, with the defaults of its questions."""
    answers = {ask["key"]: ask["value"] for ask in offer["asks"] if ask["value"] is not None}
    return {**offer["step"], **answers}


def test_a_plan_is_built_by_offers_alone(client: FlaskClient) -> None:
    """Begin with nothing; press offers at random, at the plan and at places touched before."""
    draw = random.Random(7)
    text, places, labels = "", {"plan": None}, set[str]()
    for number in range(amount(20, long=400)):
        at = ["plan", *draw.sample(sorted(places), min(4, len(places)))]
        offers = lay(client, text or None, at=at, want=["offers"])["offers"]
        offer = draw.choice([offer for entry in offers for offer in entry["can"]])
        labels.add(offer["label"])
        # People do not write the same words twice.
        step = {**pressed(offer), **({"note": f"{number}"} if "note" in offer["label"] else {})}
        done = lay(client, text or None, step, want=[])
        assert len(done["said"]) == 1
        text = done["plan"]
        places |= dict.fromkeys(done["touched"])
    assert len(labels) > 10
    found = {f["rule"] for f in lay(client, text, want=["report"])["report"]["findings"]}
    assert found.isdisjoint(rule.id for rule in PLAN_RULES)


def test_places_have_names(client: FlaskClient, kelpie: bytes) -> None:
    places = ["plan", "tracks/main", "tracks/main/up", "points/p1/toe", "points/p1", "signals/2"]
    strange = ["tracks/gone", "points/p1/middle", "x", "", "tracks", "accept/0", "a/b/c/d"]
    offers = lay(client, kelpie.decode(), at=[*places, *strange])["offers"]
    assert [entry["at"] for entry in offers] == places
    assert [entry["called"] for entry in offers] == [
        "Kelpie Quay",
        "Track main",
        "Up end of track main",
        "Toe of points p1",
        "Points p1",
        "Signal 2",
    ]


def test_a_plan_with_errors_has_no_offers(client: FlaskClient, kelpie: bytes) -> None:
    broken = kelpie.decode().replace('"p1.left"', '"p9.left"')
    answer = lay(client, broken, at=["plan", "tracks/main"], want=["report", "diagram", "offers"])
    assert answer["offers"] == []
    assert answer["diagram"]["svg"]


@pytest.mark.parametrize(
    ("plan", "steps", "number", "said"),
    [
        (None, [{"do": "lay-line"}, {"do": "lie-line"}], 1, '"lie-line"'),
        (None, [{"do": "lay-line", "length_mm": "long"}], 0, "length_mm"),
        (None, [{"do": "lay-line", "length_mm": -1}], 0, "length_mm"),
        (None, [{"do": "lay-line", "more": [{}]}], 0, '"more"'),
        (None, [{"do": ""}], 0, "no verb"),
        ("{", [{"do": "lay-line"}], 0, "no plan"),
        ("[]", [{"do": "lay-line"}], 0, "no plan"),
        ("\x00", [{"do": "lay-line"}], 0, "no plan"),
    ],
)
def test_a_step_that_cannot_be_done(
    client: FlaskClient, plan: str | None, steps: list[object], number: int, said: str
) -> None:
    told = assert_problem(send(client, {"plan": plan, "steps": steps}), 422, "step-refused")
    assert told["step"] == number
    assert said in str(told["detail"])
    assert told["fix"]
    assert "Traceback" not in str(told)


HOSTILE = [
    None,
    True,
    1e308,
    -1,
    "x" * 5000,
    "\ud800",
    [],
    [[[[]]]],
    {"do": {}},
    {"a": None},
    "../../etc/passwd",
    "<script>",
]


@pytest.mark.parametrize("value", HOSTILE, ids=lambda value: repr(value)[:20])
def test_hostile_steps_and_memories(client: FlaskClient, kelpie: bytes, value: object) -> None:
    """Each is answered or refused, and none is an internal error."""
    every = [(verb.name, key) for verb in VERBS.values() for key in verb.measures]
    for name, key in random.Random(repr(value)).sample(every, amount(12, long=len(every))):
        step = {"do": name, key: value}
        answer = send(client, {"plan": kelpie.decode(), "steps": [step], "want": ["report"]})
        assert answer.status_code in (200, 422), (step, answer.text)
        assert "Traceback" not in answer.text
    befores: list[object] = [value, [value], {"tracks": value}, {"main": value}]
    for before in befores if is_long() else befores[:1]:
        drawn = lay(client, kelpie.decode(), before=before, want=["diagram"])["diagram"]
        assert drawn["svg"].startswith("<svg")


def test_a_plan_can_begin_with_each_shape(client: FlaskClient) -> None:
    answer = client.get("/api/v1/shapes")
    assert_as_described(described(client), answer, "/api/v1/shapes")
    told = answer.get_json()
    for shape in told["shapes"]:
        usual = {option["key"]: option["usual"] for option in shape["options"]}
        step = {"do": "lay-shape", "shape": shape["shape"], **usual}
        laid = send(client, {"plan": None, "steps": [step], "want": ["report"]})
        assert laid.status_code in (200, 422), laid.text
        assert laid.status_code == 200 or laid.get_json()["fix"]
        bare = send(client, {"plan": None, "steps": [{"do": "lay-shape", "shape": shape["shape"]}]})
        assert bare.status_code == 200
    for example in told["examples"]:
        assert client.get(f"/examples/{example['name']}").status_code == 200


def test_quick_fixes_are_given_with_their_findings(client: FlaskClient, unheld: bytes) -> None:
    answer = lay(client, unheld.decode(), want=["report", "fixes"])
    (fix,) = answer["fixes"]
    finding = answer["report"]["findings"][fix["finding"]]
    assert finding["rule"] == "unheld-exit"
    assert fix["text"] is None
    done = lay(client, unheld.decode(), fix["step"])
    assert done["report"]["holds"] is True
    broken = unheld.decode().replace('"down": "buffer"', '"down": "bufer"')
    (fix,) = lay(client, broken, want=["fixes"])["fixes"]
    assert (fix["step"], fix["text"]) == (None, unheld.decode())


def test_the_memory_keeps_the_diagram(client: FlaskClient) -> None:
    """The same plan with its own memory is the same drawing, and so is one taken back."""
    text = read("selkie-harbour")
    first = lay(client, text, want=["diagram"])["diagram"]
    again = lay(client, text, want=["diagram"], before=first["memory"])["diagram"]
    assert again["svg"] == first["svg"]
    assert len(json.dumps(first["memory"])) < len(first["svg"])
    step = {"do": "lay-siding", "track": "bay"}
    laid = lay(client, text, step, want=["diagram"], before=first["memory"])
    assert 'data-track="siding"' in laid["diagram"]["svg"]
    back = lay(client, text, want=["diagram"], before=laid["diagram"]["memory"])["diagram"]
    assert re.findall(r'data-track="[^"]*"', back["svg"]) == re.findall(
        r'data-track="[^"]*"', first["svg"]
    )


def test_a_hostile_memory_changes_nothing(client: FlaskClient, kelpie: bytes) -> None:
    """Each number and list of a memory is exchanged for something else."""
    text = kelpie.decode()
    good = lay(client, text, want=["diagram"])["diagram"]
    values = (*HOSTILE, {"main": "x"}, {"main": 1e300}, [{"a": 1}] * 50)
    every = [(part, value) for part in good["memory"] for value in values]
    for part, value in random.Random(3).sample(every, amount(15, long=len(every))):
        memory = {**good["memory"], part: value}
        svg = lay(client, text, want=["diagram"], before=memory)["diagram"]["svg"]
        assert svg.count("<path") == good["svg"].count("<path"), (part, value)
