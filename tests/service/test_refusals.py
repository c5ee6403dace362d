"""A refused form comes back with everything that a person put into it."""

from __future__ import annotations

import io
import json
from collections.abc import Iterator
from html.parser import HTMLParser
from typing import TYPE_CHECKING

import pytest

from proposing.bare import NOWHERE_FOR_A_POST
from service.conftest import changed, take_every_place
from service.test_api import send_form
from service.test_pages import send, text_of
from trappoint_service import create_app
from trappoint_service.config import Config

if TYPE_CHECKING:
    from flask.testing import FlaskClient
    from werkzeug.test import TestResponse

STORE = (
    '{"format": "trappoint-store/1", "currency": "GBP", "parts": {},\n "note": "</textarea>&amp;"}'
)
CHOSEN = {
    "from": "main",
    "to": "siding",
    "standing": ["town-line", "loop-west"],
    "level": "homes",
    "off": ["1L", "4R"],
    "points:p1": "reverse",
    "points:p2": "normal",
}


class Form(HTMLParser):
    """The fields of the form of a page as a browser would send them, and its buttons."""

    def __init__(self, answer: TestResponse) -> None:
        super().__init__()
        self.fields: dict[str, list[str]] = {}
        self.buttons: list[dict[str, str | None]] = []
        self._area = self._select = ""
        self.feed(answer.get_data(as_text=True))

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = dict(attrs)
        name = told.get("name") or ""
        chosen = told.get("type") in ("hidden", "text") or "checked" in told
        if tag == "input" and name and chosen:
            self._add(name, told["value"] or "")
        elif tag == "textarea":
            self._area = name
            self._add(name, "")
        elif tag == "select":
            self._select = name
        elif tag == "option" and "selected" in told and "value" in told:
            self._add(self._select, told["value"] or "")
        elif tag == "option" and "selected" in told:
            self._area = self._select
            self._add(self._select, "")
        elif tag == "button":
            self.buttons.append(told)

    def handle_endtag(self, tag: str) -> None:
        if tag in ("textarea", "option"):
            if self._area and tag == "textarea":
                # The first line end of a text area is none of its text (HTML, 13.1.2.5).
                self.fields[self._area][-1] = self.fields[self._area][-1].removeprefix("\n")
            self._area = ""

    def handle_data(self, data: str) -> None:
        if self._area:
            self.fields[self._area][-1] += data

    def _add(self, name: str, value: str) -> None:
        self.fields.setdefault(name, []).append(value)


def assert_kept(form: Form, text: str) -> None:
    assert form.fields["text"] == [text]
    assert form.fields["store-text"] == [STORE]
    assert form.fields["name"] == ["a.json"]
    for name, value in CHOSEN.items():
        kept = form.fields.get(name, ["normal"])
        assert kept == (value if isinstance(value, list) else [value]), name


@pytest.fixture(scope="module")
def busy() -> Iterator[FlaskClient]:
    """A service with all places taken."""
    app = create_app(Config(workers=1, wait_seconds=0))
    take_every_place(app)
    yield app.test_client()
    app.pool.close()  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("path", "button", "again"),
    [
        ("/check", {}, "/check"),
        ("/check", {"ask": "scene"}, "/check#scene"),
        ("/check", {"begin": '{"points": {}, "off": []}'}, "/check#scene"),
        ("/draft", {"repair": "yes"}, "/draft#proposed"),
        ("/road", {}, "/road#road"),
        ("/parts-and-fitting", {}, "/parts-and-fitting#parts-and-fitting"),
        ("/download/table.csv", {}, "/download/table.csv"),
    ],
)
def test_nothing_is_lost_if_all_places_are_taken(
    busy: FlaskClient, kelpie: bytes, path: str, button: dict[str, str], again: str
) -> None:
    """One press repeats the request."""
    text = kelpie.decode()
    fields = {"text": text, "store-text": STORE, "name": "a.json", **CHOSEN, **button}
    answer = send(busy, path, **fields)
    assert answer.status_code == 503
    assert int(answer.headers["Retry-After"]) > 0
    assert "The service is busy." in text_of(answer)
    form = Form(answer)
    assert_kept(form, text)
    assert not set(button) & set(form.fields)  # it goes with its own button alone
    first = form.buttons[0]
    assert first["formaction"] == again
    assert {first.get("name"): first.get("value")} == (button or {None: None})
    assert "from main" in text_of(answer)
    assert len(form.buttons) == (1 if path == "/check" and not button else 2)


def test_what_was_uploaded_comes_back_as_text(busy: FlaskClient, kelpie: bytes) -> None:
    files = {"plan": (io.BytesIO(kelpie), "k.json"), "store": (io.BytesIO(STORE.encode()), "s")}
    form = Form(send(busy, "/check", **files))
    assert form.fields["text"] == [kelpie.decode()]
    assert form.fields["store-text"] == [STORE]
    for content in (b"\xff\xfe\x00", b"1" * 1_000_001):
        answer = send_form(busy, "/check", [("plan", "k.json", content)])
        assert "Please choose k.json again" in text_of(answer)
    typed = "1" * 1_000_001
    answer = send_form(busy, "/check", [("text", None, typed.encode())])
    assert Form(answer).fields["text"] == [typed]


@pytest.mark.parametrize(
    ("path", "plan", "status", "reason"),
    [
        ("/draft", NOWHERE_FOR_A_POST, 422, "a needed place allows no signal"),
        ("/draft", {"format": "trappoint-layout/1"}, 422, "This plan cannot be judged"),
        ("/download/table.csv", {"tracks": 5}, 422, "This plan cannot be judged"),
        ("/download/nothing", {"tracks": 5}, 404, "This file does not exist"),
    ],
)
def test_what_cannot_be_done_is_said_on_the_page_of_the_plan(
    client: FlaskClient, path: str, plan: object, status: int, reason: str
) -> None:
    text = json.dumps(plan, indent=1)
    answer = send(client, path, text=text, **{"store-text": STORE, "level": "homes"})
    assert answer.status_code == status
    page = answer.get_data(as_text=True)
    assert page.index(reason) < page.index('class="verdict') < page.index('id="plan-form"')
    assert Form(answer).fields["text"] == [text]


def test_wishes_that_cannot_be_understood(client: FlaskClient, kelpie: bytes) -> None:
    text = kelpie.decode()
    fields = {"text": text, "store-text": STORE, "name": "a.json", **CHOSEN}
    for path, wrong in (
        ("/draft", {"level": "best"}),
        ("/road", {"from": ""}),
        ("/check", {"begin": "[1"}),
    ):
        answer = send(client, path, **{**fields, **wrong})
        assert answer.status_code == 400
        form = Form(answer)
        assert form.fields["text"] == [text]
        assert form.fields["store-text"] == [STORE]
        assert form.fields["off"] == ["1L", "4R"]


@pytest.mark.parametrize("path", ["/check", "/road", "/parts-and-fitting", "/draft"])
def test_answers_keep_what_was_chosen(client: FlaskClient, kelpie: bytes, path: str) -> None:
    """After every request, the other fields of the page keep their values."""
    text = kelpie.decode()
    fields = {"text": text, "store-text": STORE, "name": "a.json", **CHOSEN, "repair": "no"}
    answer = send(client, path, **fields)
    assert answer.status_code == 200
    form = Form(answer)
    kept = form.fields["text"][0]
    assert json.loads(kept) == json.loads(text)
    assert_kept(form, kept)


def test_a_form_without_a_plan_keeps_the_rest(client: FlaskClient) -> None:
    fields = {"text": " ", "store-text": STORE, "name": "a.json", **CHOSEN}
    assert_kept(Form(send(client, "/road", **fields)), " ")


def test_too_large_says_what_to_do(client: FlaskClient) -> None:
    answer = send_form(client, "/check", [("text", None, b"x" * (8 * 1024 * 1024))])
    assert answer.status_code == 413
    assert "Go back in your browser: your plan is still in the form." in text_of(answer)
    # With `no-store` going back would bring an empty form.
    assert client.get("/").headers["Cache-Control"] == "private, no-cache"
    assert 'data-limit="8388608"' in client.get("/").get_data(as_text=True)


def test_a_fault_of_the_program_loses_nothing(
    kelpie: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = create_app(Config(workers=1, long_workers=1))

    def fail(*_: object) -> None:
        raise ValueError

    monkeypatch.setattr(app.pool, "run", fail)  # type: ignore[attr-defined]
    text = changed(kelpie, title="</textarea><script>").decode()
    answer = send(app.test_client(), "/draft", text=text, name="a.json")
    assert answer.status_code == 500
    assert Form(answer).fields["text"] == [text]


def test_a_button_alone_is_no_choice(busy: FlaskClient) -> None:
    told = text_of(send(busy, "/draft", text="{}", repair="yes"))
    assert "Your other choices" not in told
    assert "Try again" in told
