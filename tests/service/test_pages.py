"""The pages as HTML, without a browser and without script."""

from __future__ import annotations

import csv
import io
import json
import re
from html import escape
from html.parser import HTMLParser
from typing import TYPE_CHECKING

import pytest

from service.conftest import EXAMPLES, changed, read_example
from trappoint.core.findings import CAUTION, CAUTION_DRILLING, CAUTION_SHORT
from trappoint.model.settings import DEFAULTS
from trappoint.rules.catalogue import all_rules
from trappoint.tidying.tidy import tidy_content
from trappoint_service.answers import CannotMake
from trappoint_service.checks_and_drawings import make_file
from trappoint_service.examples import examples
from trappoint_service.jobs import MakeFile, Plan
from trappoint_service.problems import refused

if TYPE_CHECKING:
    from flask.testing import FlaskClient
    from werkzeug.test import TestResponse


def send(client: FlaskClient, path: str, /, **fields: object) -> TestResponse:
    return client.post(path, data=fields, content_type="multipart/form-data")


def text_of(answer: TestResponse) -> str:
    """Return the words of a page without its markup."""
    words: list[str] = []

    class Reader(HTMLParser):
        def handle_data(self, data: str) -> None:
            words.append(data)

    Reader().feed(answer.get_data(as_text=True))
    return " ".join(" ".join(words).split())


def test_the_form(client: FlaskClient) -> None:
    told = text_of(client.get("/"))
    assert "Check this plan" in told
    assert CAUTION in told
    assert "Kelpie Quay" in told


def test_upload_and_paste_say_the_same(client: FlaskClient, kelpie: bytes) -> None:
    pasted = send(client, "/check", text=kelpie.decode(), name="a.json")
    upload = send(client, "/check", plan=(io.BytesIO(kelpie), "a.json"))
    assert text_of(pasted) == text_of(upload)
    told = text_of(pasted)
    assert "a.json holds, for trains up to 610 mm (siding): no two trains can be brought" in told
    assert CAUTION_SHORT in told
    assert "No findings." in told


class Fields(HTMLParser):
    """The fields of each form of a page, and the texts in them."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.forms: list[dict[str, list[str]]] = []
        self._text: list[str] | None = None
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        own = {name: value or "" for name, value in attrs}
        if tag == "form":
            self.forms.append({})
        elif tag in ("textarea", "input", "button") and own.get("name") and self.forms:
            values = self.forms[-1].setdefault(own["name"], [])
            values.append(own.get("value", ""))
            self._text = values if tag == "textarea" else None

    def handle_data(self, data: str) -> None:
        if self._text is not None:
            self._text[-1] += data.removeprefix("\n")
            self._text = None


def test_a_chosen_file_never_beats_an_edited_text(
    client: FlaskClient, kelpie: bytes, unheld: bytes
) -> None:
    """The page asks, with both texts and all choices; a text that came with a page is no edit."""
    first = send(client, "/check", text=kelpie.decode(), name="a.json")
    (form,) = Fields(first.get_data(as_text=True)).forms
    served = form["served"][0]
    unedited = {"text": form["text"][0].replace("\n", "\r\n"), "served": served}
    answer = send(client, "/check", plan=(io.BytesIO(unheld), "b.json"), **unedited)
    assert "b.json does not hold" in text_of(answer)
    edited = {"text": kelpie.decode() + " ", "name": "a.json", "served": served, "level": "homes"}
    for path in ("/check", "/draft", "/download/table.csv"):
        answer = send(client, path, plan=(io.BytesIO(unheld), "b.json"), repair="yes", **edited)
        assert answer.status_code == 409
        text, file = Fields(answer.get_data(as_text=True)).forms
        assert (text["text"], text["name"]) == ([edited["text"]], ["a.json"])
        assert (file["text"], file["name"]) == ([unheld.decode()], ["b.json"])
        assert text["level"] == file["level"] == ["homes"]
        assert text["repair"] == file["repair"] == ["yes"]  # the button that was pressed
        again = send(client, "/check", text=file["text"][0], name=file["name"][0])
        assert "b.json does not hold" in text_of(again)


def test_text_of_a_form_keeps_its_lines(client: FlaskClient) -> None:
    """Forms send CR LF; lines and columns must stay those of the file."""
    text = read_example("slips/comma-forgotten").decode()
    as_sent = send(client, "/check", text=text.replace("\n", "\r\n"))
    assert "line 16, column 29" in text_of(as_sent)


def test_a_finding_with_all_that_belongs_to_it(client: FlaskClient, unheld: bytes) -> None:
    answer = send(client, "/check", plan=(io.BytesIO(unheld), "b.layout.json"))
    told = text_of(answer)
    assert "b.layout.json does not hold" in told
    assert "line 11, column 22" in told
    assert "How they meet: train A stands in siding" in told
    assert "Put a stop signal for up trains on siding" in told
    page = answer.get_data(as_text=True)
    assert 'href="#L11"' in page
    assert 'id="L11" class="marked"' in page
    assert 'href="/rules/unheld-exit"' in page


def test_accepted_findings_are_shown(client: FlaskClient, unheld: bytes) -> None:
    accept = [{"rule": "unheld-exit", "at": "siding", "because": "worked by hand"}]
    told = text_of(send(client, "/check", text=changed(unheld, accept=accept).decode()))
    assert "Findings that the plan accepts" in told
    assert "does not hold" in told


def test_nothing_sent(client: FlaskClient) -> None:
    for fields in ({"text": ""}, {"text": " \n"}, {"plan": (io.BytesIO(b""), "")}):
        assert "There is no plan yet" in text_of(send(client, "/check", **fields))
    assert client.get("/check").headers["Location"] == "/"


@pytest.mark.parametrize(
    "content", [b"\xff\xfe", b"{", b"[]", b"\x00", "\ud800".encode("utf-8", "surrogatepass")]
)
def test_what_is_no_plan_has_a_page(client: FlaskClient, content: bytes) -> None:
    answer = send(client, "/check", plan=(io.BytesIO(content), "x"))
    assert answer.status_code == 200
    assert "x cannot be judged" in text_of(answer)


def test_a_plan_with_thousands_of_findings(client: FlaskClient, kelpie: bytes) -> None:
    plan = json.loads(kelpie)
    plan["tracks"] |= {f"x{i}": {"up": f"no{i}.toe", "down": "buffer"} for i in range(300)}
    answer = send(client, "/check", text=json.dumps(plan, indent=1))
    assert "more: the downloads contain all findings" in text_of(answer)
    assert len(answer.data) < 2_000_000


def test_findings_are_grouped_by_rule(client: FlaskClient, kelpie: bytes) -> None:
    """Ten findings are open, the others folded; a group shows shared sentences once."""
    plan = json.loads(kelpie)
    for number in range(30):
        plan["tracks"][f"x{number}"] = {"up": f"joint:j{number}", "down": "buffer"}
    report = client.post("/api/v1/check", json=plan).get_json()["files"][0]
    rules = {(finding["rule"], finding["level"]) for finding in report["findings"]}
    page = send(client, "/check", text=json.dumps(plan, indent=1)).get_data(as_text=True)
    found = page[page.index('id="findings"') : page.index('id="text"')]
    assert len(report["findings"]) > 20
    assert found.count('class="finding ') == len(report["findings"])
    assert found.count('class="group"') == len(rules) < 10
    assert len(re.sub(r"<details>.*?</details>", "", found, flags=re.S).split('"finding ')) == 11
    whys = [why for why in {f["why"] for f in report["findings"]} if why]
    assert whys and all(found.count(str(escape(why))) == 1 for why in whys)
    # Fixes that share no whole sentence stay as they are.
    fixes = {finding["fix"] for finding in report["findings"]}
    assert len(fixes) > 1 and all(str(escape(fix)) in found for fix in fixes)


def test_a_plan_without_signals_gets_three_lines(client: FlaskClient, kelpie: bytes) -> None:
    plan = {k: v for k, v in json.loads(kelpie).items() if k not in ("signals", "scenes", "levers")}
    answer = send(client, "/check", text=json.dumps(plan, indent=1))
    assert "This plan has no signals yet. Propose signals finds the fewest" in text_of(answer)
    page = answer.get_data(as_text=True)
    assert '<a href="#draft">Propose signals</a>' in page and 'id="draft"' in page
    assert 'class="finding ' not in re.sub(r"<details>.*</details>", "", page, flags=re.S)


def test_a_plan_that_holds_with_errors_is_not_green(client: FlaskClient, kelpie: bytes) -> None:
    plan = json.loads(kelpie)
    plan["signals"]["1"]["duties"] = ["starter platform A"]
    answer = send(client, "/check", text=json.dumps(plan, indent=1))
    assert "Holds, with errors" in text_of(answer)
    assert 'class="verdict unjudged"' in answer.get_data(as_text=True)


def test_names_stand_before_ids(client: FlaskClient, kelpie: bytes) -> None:
    plan = json.loads(kelpie)
    plan["tracks"]["siding"]["name"] = "Fish siding"
    plan["points"]["p1"]["name"] = "West points"
    plan["signals"]["2"]["name"] = "Down starter"
    page = send(client, "/check", text=json.dumps(plan, indent=1)).get_data(as_text=True)
    assert '<option value="siding">Fish siding (siding)</option>' in page
    assert '<label for="lever-1">West points (p1)</label>' in page
    assert "Down starter (2)</label>" in page


def test_cautions(client: FlaskClient, kelpie: bytes) -> None:
    """One beside the verdict; with drilling, beside the fitting sheet and the downloads."""
    page = send(client, "/check", text=kelpie.decode()).get_data(as_text=True)
    for part, caution in (
        ("verdict ", CAUTION_SHORT),
        ("parts-and-fitting", CAUTION_DRILLING),
        ("take", CAUTION_DRILLING),
        ("imprint", CAUTION),
    ):
        begin = page.index(f'class="{part}') if part in ("verdict ", "imprint") else -1
        begin = page.index(f'<section id="{part}"') if begin < 0 else begin
        assert caution in page[begin : begin + 900], part


def test_scene_without_script(client: FlaskClient, kelpie: bytes) -> None:
    fields = {"text": kelpie.decode(), "ask": "scene", "points:p1": "reverse", "off": "1L"}
    answer = send(client, "/check", **fields)
    told = text_of(answer)
    assert "1L is off" in told
    assert "5 must stay on. " in told
    assert "2 may be off too" in told
    assert '<option value="reverse" selected>' in answer.get_data(as_text=True)


def test_scene_of_the_plan(client: FlaskClient) -> None:
    plan = read_example("slips/scene-with-the-wrong-arm")
    scenes = json.loads(plan)["scenes"]
    wrong = []
    for name, scene in scenes.items():
        begin = json.dumps({"points": scene.get("points", {}), "off": scene.get("off", [])})
        answer = send(client, "/check", text=plan.decode(), begin=begin)
        for arm in scene.get("off", []):
            assert f'value="{arm}" autocomplete="off" checked' in answer.get_data(as_text=True)
        if "is off, but must be on" in text_of(answer):
            wrong.append(name)
    assert wrong == ["two-at-once"]  # the slip that this example has
    assert send(client, "/check", text="{}", begin="[1").status_code == 400


def test_downloads(client: FlaskClient, kelpie: bytes) -> None:
    def get(kind: str) -> TestResponse:
        answer = send(client, f"/download/{kind}", text=kelpie.decode(), name='evil".html')
        assert answer.status_code == 200
        assert answer.headers["Content-Disposition"].startswith('attachment; filename="')
        assert "evil" not in answer.headers["Content-Disposition"]
        assert "sandbox" in answer.headers["Content-Security-Policy"]
        return answer

    assert get("diagram.svg").data.startswith(b"<svg")
    assert get("diagram.png").data.startswith(b"\x89PNG")
    assert get("diagram.pdf").data.startswith(b"%PDF") and get("chart.pdf").data.startswith(b"%PDF")
    chart = get("chart.html").get_data(as_text=True)
    assert "<svg" in chart
    assert "as far as signal 4" in chart
    assert "<script" not in chart
    rows = list(csv.DictReader(io.StringIO(get("table.csv").get_data(as_text=True))))
    assert len(rows) == 10
    assert get("table.json").get_json()["pairs"] == {"all": 45, "conflicting": 20}
    assert send(client, "/download/sessions.html", text=kelpie.decode()).status_code == 422
    assert get("findings.json").get_json()["files"][0]["holds"] is True
    sarif = json.loads(get("findings.sarif").data)
    assert sarif["version"] == "2.1.0"
    assert send(client, "/download/x", text="{}").status_code == 404
    assert send(client, "/download/table.csv", text="{}").status_code == 422


def test_the_plan_itself_can_be_taken_away(client: FlaskClient, kelpie: bytes) -> None:
    """As sent, also if it is no plan, and tidied; examples as files."""

    def get(kind: str, text: bytes, name: str) -> tuple[bytes, str]:
        answer = send(client, f"/download/{kind}.layout.json", text=text.decode(), name=name)
        return answer.data, answer.headers["Content-Disposition"].partition("filename=")[2]

    assert get("plan", b"{,\n", 'a"b/d\xe9 pot.layout.json') == (b"{,\n", '"d-pot.layout.json"')
    assert get("plan", kelpie, "")[1] == '"plan.layout.json"'
    rough = json.dumps(json.loads(kelpie)).encode()
    assert get("tidied", rough, "k.json") == (tidy_content(rough).encode(), '"k.layout.json"')  # type: ignore[union-attr]
    assert send(client, "/download/tidied.layout.json", text="{,").status_code == 422
    file = client.get("/examples/kelpie-quay.layout.json")
    assert (file.data, file.mimetype) == (kelpie, "application/json")
    assert client.get("/examples/none.layout.json").status_code == 404


def test_a_missing_library_is_said(monkeypatch: pytest.MonkeyPatch, kelpie: bytes) -> None:
    monkeypatch.setattr("trappoint.drawing.extras.find_spec", lambda package: None)
    for kind, content in (("png", "diagram"), ("pdf", "diagram"), ("pdf", "chart")):
        answer = make_file(MakeFile(Plan("k", kelpie), content, kind), DEFAULTS)  # type: ignore[arg-type]
        assert isinstance(answer, CannotMake)
        assert answer.why == (
            f"This service makes no {kind.upper()}: the library for it is not installed."
        )
        assert refused(answer).status == 501


def test_examples_say_what_is_said_of_them(client: FlaskClient) -> None:
    page = client.get("/").get_data(as_text=True)
    names = [part.partition('"')[0] for part in page.split('href="/examples/')[1:]]
    assert len(names) == 8
    for name in names:
        told = text_of(client.get(f"/examples/{name}"))
        assert ("no two trains" in told) == (
            "slips/" not in name or "scene" in name or "swapped" in name
        ), name
    assert client.get("/examples/../../etc/passwd").status_code == 404


def test_the_format_is_explained_from_one_source(client: FlaskClient) -> None:
    """The page has every heading and paragraph of the page in the repository; its links lead on."""
    source = (EXAMPLES.parent / "schema" / "README.md").read_text("utf-8")
    answer = client.get("/format")
    page, told = answer.get_data(as_text=True), text_of(answer)
    bare = re.sub(r"```.*?```", "", source, flags=re.S)
    for line in bare.splitlines():
        if re.match(r"(#|[A-Z])[^`*\[|]*$", line):
            assert " ".join(line.lstrip("# ").split()) in told, line
    named = set(re.findall(r' id="([^"]+)"', page))
    linked = re.findall(r'<a href="([^"]+)"', page)
    assert {link[1:] for link in linked if link.startswith("#")} <= named
    for link in {link for link in linked if not link.startswith("#")}:
        assert client.get(link).status_code == 200, link
    plans = [form["text"][0] for form in Fields(page).forms]
    assert len(plans) == source.count('"format": "trappoint-layout/1"') + len(examples())
    assert "holds" in text_of(send(client, "/check", text=plans[0]))
    assert {example.text for example in examples()} <= set(plans)


def test_a_wide_plan_is_drawn_in_rows_or_as_one_strip(client: FlaskClient) -> None:
    plan = read_example("selkie-harbour").decode()

    def width(**chosen: object) -> float:
        page = send(client, "/check", text=plan, **chosen).get_data(as_text=True)
        found = re.search(r'<svg [^>]*viewBox="\S+ \S+ (\S+) \S+"', page)
        assert found is not None
        assert ("Draw it in rows" in page) == (chosen != {} and chosen["view"] != "rows")
        return float(found[1])

    assert width() == width(view="rows") < 1050 < width(view="strip")


def test_every_rule_has_its_page(client: FlaskClient) -> None:
    listed = client.get("/rules").get_data(as_text=True)
    for rule in all_rules():
        assert f'href="/rules/{rule.id}"' in listed
        told = text_of(client.get(f"/rules/{rule.id}"))
        for part in (rule.summary, rule.why, rule.source):
            assert " ".join(part.split()) in told


def test_no_such_rule(client: FlaskClient) -> None:
    assert client.get("/rules/no-such-rule").status_code == 404


def test_no_inline_script_or_style(client: FlaskClient, unheld: bytes) -> None:
    pages = [client.get(path) for path in ("/", "/rules", "/rules/unheld-exit", "/interface", "/x")]
    pages.append(send(client, "/check", text=unheld.decode()))
    pages.append(send(client, "/check", text=read_example("selkie-harbour").decode()))

    class Watch(HTMLParser):
        def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
            assert tag not in ("style", "iframe", "object", "embed", "base")
            for name, value in attrs:
                assert name != "style"
                assert not name.startswith("on")
                if name in ("src", "href", "action", "formaction"):
                    assert (value or "").startswith(("/", "#"))
            if tag == "script":
                assert ("src" in dict(attrs)) != (dict(attrs).get("type") == "application/json")

    for page in pages:
        Watch().feed(page.get_data(as_text=True))
