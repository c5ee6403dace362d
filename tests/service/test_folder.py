"""A folder through its interface: list, open, save, merge, and what changed since the commit."""

from __future__ import annotations

import json
import subprocess
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import unquote_plus

import pytest

from service.conftest import EXAMPLES, read_example, take_every_place
from service.test_openapi_answers import assert_as_described
from trappoint.app.open_folder import OpenFolder
from trappoint_service import create_app
from trappoint_service.config import Config
from trappoint_service.openapi import path_of

if TYPE_CHECKING:
    from flask.testing import FlaskClient
    from werkzeug.test import TestResponse

NAME = "kelpie-quay.layout.json"
STORE = "kelpie-quay.store.json"
MANY = Config(wait_seconds=60, deadline_seconds=120, workers=1, long_workers=1)


class Desk:
    """A folder that is served, and a client that knows its secret."""

    def __init__(self, client: FlaskClient, folder: OpenFolder) -> None:
        self.client = client
        self.folder = folder
        self.top = Path(folder.top)
        self.start = f"/{folder.secret}"

    def get(self, path: str) -> TestResponse:
        return self.client.get(f"{self.start}{path}")

    def put(self, name: str, **wish: object) -> TestResponse:
        return self.client.put(f"{self.start}/folder/plans/{name}", json=wish)

    def post(self, path: str, **fields: str) -> TestResponse:
        return self.client.post(
            f"{self.start}{path}", data=fields, content_type="multipart/form-data"
        )

    def open(self, name: str) -> dict[str, Any]:
        answer = self.get(f"/folder/plans/{name}")
        assert answer.status_code == 200, answer.text
        found: dict[str, Any] = answer.get_json()
        return found

    def write(self, name: str, content: bytes) -> None:
        (self.top / name).parent.mkdir(exist_ok=True)
        (self.top / name).write_bytes(content)

    def read(self, name: str) -> bytes:
        return (self.top / name).read_bytes()

    def git(self, *words: str) -> str:
        who = ("-c", "user.name=Ada", "-c", "user.email=ada@plans.example")
        done = subprocess.run(
            ["git", "-C", str(self.top), *who, *words], capture_output=True, text=True, check=True
        )
        return done.stdout


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[FlaskClient, OpenFolder]]:
    folder = OpenFolder(str(tmp_path_factory.mktemp("plans")))
    app = create_app(MANY, folder)
    yield app.test_client(), folder
    app.pool.close()  # type: ignore[attr-defined]
    folder.close()


@pytest.fixture
def desk(served: tuple[FlaskClient, OpenFolder]) -> Iterator[Desk]:
    """A desk whose folder is empty but for a plan and a store."""
    found = Desk(*served)
    found.write(NAME, read_example("kelpie-quay"))
    found.write(STORE, (EXAMPLES / STORE).read_bytes())
    yield found
    subprocess.run(["find", str(found.top), "-mindepth", "1", "-delete"], check=True)


@pytest.fixture(scope="module")
def described(served: tuple[FlaskClient, OpenFolder]) -> dict[str, Any]:
    client, folder = served
    found: dict[str, Any] = client.get(f"/{folder.secret}/openapi.json").get_json()
    return found


def listed(desk: Desk, until: Callable[[list[Any]], bool] = bool) -> dict[str, Any]:
    """Return the files by name, once the list is as it should be."""
    end = time.monotonic() + 60
    while True:
        files = desk.get("/folder/plans").get_json()["files"]
        if until(files):
            return {file["name"]: file for file in files}
        assert time.monotonic() < end, files
        time.sleep(0.05)


def all_judged(files: list[Any]) -> bool:
    return all(file["judged"] for file in files)


# --- the list


def test_every_address_is_described(described: dict[str, Any], desk: Desk) -> None:
    served: dict[str, set[str]] = {}
    for rule in desk.client.application.url_map.iter_rules():
        methods = {word.lower() for word in rule.methods or () if word in ("GET", "POST", "PUT")}
        served.setdefault(path_of(rule.rule), set()).update(methods)
    paths = described["paths"]
    assert {path: set(told) - {"parameters"} for path, told in paths.items()} == served


def test_the_list_has_each_file_with_its_verdict(desk: Desk, described: dict[str, Any]) -> None:
    desk.write("clubs/north.layout.json", read_example("slips/siding-signal-forgotten"))
    desk.write("broken.layout.json", b'{"format"')
    desk.write("broken.store.json", b"[]")
    answer = desk.get("/folder/plans")
    assert_as_described(described, answer, "/folder/plans")
    assert answer.get_json()["caution"]
    files = listed(desk, all_judged)
    assert {name: (file["kind"], file["holds"]) for name, file in files.items()} == {
        "broken.layout.json": ("plan", None),
        "broken.store.json": ("store", False),
        "clubs/north.layout.json": ("plan", False),
        NAME: ("plan", True),
        STORE: ("store", True),
    }
    assert files["clubs/north.layout.json"]["findings"] == "1 error"
    page = desk.get("/")
    assert page.status_code == 200
    assert "Does not hold" in page.text
    assert "Set-Cookie" not in page.headers


def test_the_list_waits_for_no_verdict(desk: Desk) -> None:
    for number in range(150):
        text = read_example("kelpie-quay").replace(b"Kelpie Quay", b"Quay %d" % number)
        desk.write(f"many/{number}.layout.json", text)
    give_back = take_every_place(desk.client.application)
    try:
        files = listed(desk)
        assert len(files) == 152
        assert not any(files[f"many/{number}.layout.json"]["judged"] for number in range(150))
        assert desk.get("/").status_code == 200
    finally:
        give_back()


def test_a_verdict_follows_the_plan_its_boards_and_its_settings(desk: Desk) -> None:
    assert listed(desk, all_judged)[NAME]["holds"] is True
    desk.write(NAME, read_example("slips/siding-signal-forgotten"))
    assert listed(desk, all_judged)[NAME]["holds"] is False
    desk.write("trappoint.toml", b"exclude = 3")
    changed = listed(desk, lambda files: all_judged(files) and "exclude" in files[0]["verdict"])
    assert changed[NAME]["holds"] is None


# --- opening and saving

TEXTS = {
    "as git has it": read_example("kelpie-quay"),
    "CR LF": read_example("kelpie-quay").replace(b"\n", b"\r\n"),
    "mixed line ends": b'{\r\n"format": 1\n}\r',
    "no end": b"{}",
    "empty": b"",
    "a mark of the order of bytes": b"\xef\xbb\xbf{}",
    "no JSON": b"this is no plan",
    "with a NUL": b'{"\0"}',
    "half a pair": '{"title": "\ud83d"}'.encode("utf-8", "surrogatepass"),
    "other scripts": '{"title": "Königsgrün 灯 🚂"}'.encode(),
}


@pytest.mark.parametrize("content", TEXTS.values(), ids=TEXTS)
def test_every_text_is_opened_and_saved_as_it_is(
    desk: Desk, described: dict[str, Any], content: bytes
) -> None:
    opened = desk.open(NAME)
    text = content.decode("utf-8", "surrogatepass")
    answer = desk.put(NAME, text=text, base=opened["text"], stamp=opened["stamp"])
    assert_as_described(described, answer, "/folder/plans/{name}")
    assert answer.status_code == 200
    assert desk.read(NAME) == content
    assert answer.get_json()["text"] == text
    assert answer.get_json()["merged"] is False
    again = desk.open(NAME)
    assert (again["text"], again["stamp"]) == (text, answer.get_json()["stamp"])


def test_a_new_file_is_made_and_overwrites_none(desk: Desk, described: dict[str, Any]) -> None:
    made = desk.put("new.layout.json", text="{}", new=True)
    assert (made.status_code, desk.read("new.layout.json")) == (200, b"{}")
    again = desk.put("new.layout.json", text="[]", new=True)
    assert_as_described(described, again, "/folder/plans/{name}")
    assert (again.status_code, again.get_json()["theirs"]) == (409, "{}")
    double = desk.put("NEW.layout.json", text="[]", new=True)
    assert (double.status_code, double.get_json()["theirs"]) == (409, None)
    assert "Some disks cannot tell it" in double.get_json()["conflicts"][0]
    assert desk.read("new.layout.json") == b"{}"


def length(text: str, track: str, now: int) -> str:
    plan = json.loads(text)
    plan["tracks"][track]["length_mm"] = now
    return json.dumps(plan, indent=2) + "\n"


def test_two_windows_on_one_plan_lose_nothing(desk: Desk) -> None:
    one, other = desk.open(NAME), desk.open(NAME)
    first = desk.put(NAME, text=length(one["text"], "main", 1500), base=one["text"], stamp="")
    assert first.get_json()["merged"] is False
    ours = length(other["text"], "siding", 700)
    second = desk.put(NAME, text=ours, base=other["text"], stamp=other["stamp"])
    answer = second.get_json()
    assert (second.status_code, answer["merged"]) == (200, True)
    assert "track main: length: now 1500 mm, before 1450 mm" in answer["said"]
    assert answer["text"].encode() == desk.read(NAME)
    tracks = json.loads(answer["text"])["tracks"]
    assert (tracks["main"]["length_mm"], tracks["siding"]["length_mm"]) == (1500, 700)
    # The first window goes on with what it knows.
    third = desk.put(NAME, text=length(one["text"], "main", 1500), base=one["text"]).get_json()
    assert json.loads(third["text"])["tracks"] == tracks


def test_windows_that_conflict_write_nothing_and_have_both(
    desk: Desk, described: dict[str, Any]
) -> None:
    opened = desk.open(NAME)
    theirs = length(opened["text"], "main", 1500)
    desk.write(NAME, theirs.encode())
    ours = length(opened["text"], "main", 1600)
    answer = desk.put(NAME, text=ours, base=opened["text"], stamp=opened["stamp"])
    assert_as_described(described, answer, "/folder/plans/{name}")
    found = answer.get_json()
    assert answer.status_code == 409
    assert (found["theirs"], desk.read(NAME)) == (theirs, theirs.encode())
    assert "1500" in found["merged"]
    assert "1600" in found["merged"]
    assert found["conflicts"] == [
        "track main, length_mm: ours has 1600, theirs has 1500; before, it was 1450."
    ]
    chosen = desk.put(NAME, text=ours, base=theirs, stamp=found["stamp"])
    assert (chosen.status_code, desk.read(NAME)) == (200, ours.encode())


def test_a_merged_plan_that_no_longer_holds_is_saved_and_says_so(desk: Desk) -> None:
    """One window takes out an arm, the other the route that its fellow gave leave for."""
    opened = desk.open(NAME)
    plans = [json.loads(opened["text"]) for _ in range(2)]
    del plans[0]["signals"]["6"]
    plans[1]["title"] = "Kelpie Wharf"
    desk.write(NAME, json.dumps(plans[0]).encode())
    answer = desk.put(NAME, text=json.dumps(plans[1]), base=opened["text"]).get_json()
    assert answer["merged"] is True
    assert any("signal" in sentence and "6" in sentence for sentence in answer["said"])
    merged = json.loads(desk.read(NAME))
    assert (merged["title"], "6" in merged["signals"]) == ("Kelpie Wharf", False)


def test_a_file_changed_into_no_plan_conflicts(desk: Desk) -> None:
    opened = desk.open(NAME)
    for theirs in (b"no plan", b"\xff\xfe"):
        desk.write(NAME, theirs)
        answer = desk.put(NAME, text=opened["text"] + "\n", base=opened["text"])
        assert answer.status_code == 409
        assert desk.read(NAME) == theirs
    same = desk.put(NAME, text=opened["text"], base=opened["text"])  # nothing of ours to lose
    assert (same.status_code, desk.read(NAME)) == (200, b"\xff\xfe")


def test_a_file_removed_underneath_is_not_made_again_in_silence(desk: Desk) -> None:
    opened = desk.open(NAME)
    (desk.top / NAME).unlink()
    answer = desk.put(NAME, text="{}", base=opened["text"], stamp=opened["stamp"])
    assert answer.status_code == 409
    assert answer.get_json()["theirs"] is None
    assert "removed or has another name now" in answer.get_json()["conflicts"][0]
    assert not (desk.top / NAME).exists()
    assert desk.put(NAME, text="{}", new=True).status_code == 200


def test_a_text_of_unknown_beginning_overwrites_nothing(desk: Desk) -> None:
    answer = desk.put(NAME, text="{}", stamp="0" * 64)
    assert answer.status_code == 409
    assert answer.get_json()["theirs"] == read_example("kelpie-quay").decode()
    assert desk.read(NAME) == read_example("kelpie-quay")


def test_stores_are_merged_by_lines(desk: Desk) -> None:
    opened = desk.open(STORE)
    lines = opened["text"].splitlines(keepends=True)
    first, last = ["", *lines], [*lines, "\n"]
    first[0] = "\n"
    desk.write(STORE, "".join(last).encode())
    answer = desk.put(STORE, text="".join(first), base=opened["text"]).get_json()
    assert (answer["merged"], answer["text"]) == (True, "".join([*first, "\n"]))
    assert "merged by lines" in answer["said"][0]
    desk.write(STORE, opened["text"].replace('"', "'").encode())
    both = desk.put(STORE, text=opened["text"].upper(), base=opened["text"])
    assert both.status_code == 409
    assert "<<<<<<< ours" in both.get_json()["merged"]


# --- what is refused


@pytest.mark.parametrize(
    ("wish", "status"),
    [
        ({}, 400),
        ({"text": 3}, 400),
        ({"text": None}, 400),
        ({"text": "", "base": 1}, 400),
        ({"text": "", "new": "yes"}, 400),
        ({"text": "", "stamp": None}, 400),
        ({"text": "", "path": "/etc"}, 400),
        ([], 400),
        ("text", 400),
    ],
)
def test_a_malformed_wish_is_refused(desk: Desk, wish: object, status: int) -> None:
    answer = desk.client.put(f"{desk.start}/folder/plans/{NAME}", json=wish)
    assert (answer.status_code, answer.mimetype) == (status, "application/problem+json")
    assert desk.read(NAME) == read_example("kelpie-quay")


def test_other_bodies_and_words_are_refused(desk: Desk) -> None:
    place = f"{desk.start}/folder/plans/{NAME}"
    for more, status in (
        ({"data": "{}"}, 415),
        ({"data": "{", "content_type": "application/json"}, 400),
        ({"data": "[" * 100_000, "content_type": "application/json"}, 400),
        ({"data": "{}", "content_type": "application/json; charset=latin-1"}, 415),
        ({"json": {"text": ""}, "headers": {"Content-Encoding": "gzip"}}, 415),
        ({"json": {"text": ""}, "query_string": {"new": "yes"}}, 400),
    ):
        answer = desk.client.put(place, **more)  # type: ignore[arg-type]
        assert (answer.status_code, answer.mimetype) == (status, "application/problem+json")
    for method in (desk.client.post, desk.client.delete, desk.client.patch):
        assert method(place).status_code == 405
    assert desk.read(NAME) == read_example("kelpie-quay")


def test_a_text_above_the_limit_is_refused_in_words(desk: Desk) -> None:
    opened = desk.open(NAME)
    answer = desk.put(NAME, text="x" * (8 * 1024 * 1024 + 1), base=opened["text"])
    assert answer.status_code == 413
    assert "at most 8 MiB (8,388,608 bytes); this text has 8,388,609" in answer.get_json()["detail"]
    assert desk.read(NAME) == read_example("kelpie-quay")
    desk.write(NAME, b"x" * (8 * 1024 * 1024 + 1))
    assert desk.get(f"/folder/plans/{NAME}").status_code == 422
    desk.write(NAME, b"\xff")
    refused = desk.get(f"/folder/plans/{NAME}")
    assert (refused.status_code, refused.get_json()["type"][-8:]) == (422, "not-text")


@pytest.mark.parametrize(
    "name",
    [
        *("../secret.layout.json", "..%2fsecret.layout.json", "%2e%2e/secret.layout.json"),
        *("clubs/..%2f..%2fsecret.layout.json", "..%5csecret.layout.json", "%2fetc/x.layout.json"),
        *(".git/config", ".git/x.layout.json", "trappoint.toml", "C:%5cx.layout.json"),
        *("x.layout.json%00", "x%00.layout.json", "%ff.layout.json", "x.layout.json%3astream"),
    ],
)
def test_no_path_leads_out(desk: Desk, name: str) -> None:
    (desk.top.parent / "secret.layout.json").write_bytes(b"hidden words")
    for kind in ("folder/plans", "folder/changes", "text"):
        answer = desk.get(f"/{kind}/{name}")
        assert answer.status_code in (308, 400, 404), answer.text
        assert b"hidden words" not in answer.data
    assert desk.put(name, text="mine", new=True).status_code in (308, 400, 404)
    assert (desk.top.parent / "secret.layout.json").read_bytes() == b"hidden words"
    assert sorted(path.name for path in desk.top.iterdir()) == [NAME, STORE]


def test_a_full_disk_and_a_read_only_file_are_problems_in_words(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened = desk.open(NAME)
    for number, status in ((28, 507), (30, 403)):

        def fail(handle: int, number: int = number) -> None:
            raise OSError(number, "The disk says no")

        monkeypatch.setattr("os.fsync", fail)
        answer = desk.put(NAME, text="{}", base=opened["text"])
        assert answer.status_code == status
        assert answer.get_json()["detail"] == (
            f"{NAME} cannot be written: the disk says no. Your text is still on the page."
        )
        form = desk.post(f"/text/{NAME}", text="my text", stamp=opened["stamp"], ends="lf")
        assert form.status_code == status
        assert "my text</textarea>" in form.text
    assert desk.read(NAME) == read_example("kelpie-quay")


# --- since the last commit


def changes(desk: Desk, name: str = NAME) -> dict[str, Any]:
    found: dict[str, Any] = desk.get(f"/folder/changes/{name}").get_json()
    return found


def test_what_changed_since_the_commit_is_told_in_the_railways_terms(
    desk: Desk, described: dict[str, Any]
) -> None:
    assert "no git repository" in changes(desk)["changes"][0]
    assert listed(desk)[NAME]["commit"] is None
    desk.git("init", "-q")
    assert changes(desk)["since"] is None
    assert "This plan is new." in changes(desk)["changes"][0]
    assert listed(desk)[NAME]["commit"] == "new"
    desk.git("add", ".")
    desk.git("commit", "-q", "-m", "Lay the quay <b>")
    assert changes(desk)["changes"] == []
    assert "Lay the quay <b> (" in changes(desk)["since"]
    assert listed(desk)[NAME]["commit"] == "same"
    desk.write(NAME, read_example("kelpie-quay").replace(b"\n", b"\r\n"))
    assert listed(desk)[NAME]["commit"] == "same"
    desk.write(NAME, read_example("kelpie-quay").replace(b"1450", b"1550"))
    desk.write("new.layout.json", b"{}")
    desk.write(STORE, b"{}")
    assert "track main: length: now 1550 mm, before 1450 mm" in changes(desk)["changes"]
    assert [line[0] for line in changes(desk)["text"] if "main" in line] == ["-", "+"]
    assert "compares the text alone" in changes(desk, STORE)["changes"][0]
    states = {name: file["commit"] for name, file in listed(desk).items()}
    assert states == {NAME: "changed", "new.layout.json": "new", STORE: "changed"}
    answer = desk.get(f"/folder/changes/{NAME}")
    assert_as_described(described, answer, "/folder/changes/{name}")
    page = desk.get(f"/text/{NAME}").text
    assert "Lay the quay &lt;b&gt;" in page
    assert "now 1550 mm" in page


def test_a_hostile_repository_runs_nothing(desk: Desk) -> None:
    """Its settings name programs wherever git would take one, and an object is missing."""
    desk.git("init", "-q")
    desk.git("add", ".")
    desk.git("commit", "-q", "-m", "Lay the quay")
    trap = desk.top.parent / "trap"
    trap.unlink(missing_ok=True)
    program = f"sh -c 'touch {trap}'"
    for key in (
        *("core.fsmonitor", "core.sshCommand", "core.pager", "core.editor", "diff.external"),
        *("pager.log", "gpg.program", "credential.helper", "remote.origin.uploadpack"),
        *("diff.plan.textconv", "filter.plan.smudge", "filter.plan.clean", "filter.plan.process"),
        *("core.gitProxy", "core.alternateRefsCommand", "uploadpack.packObjectsHook"),
    ):
        desk.git("config", key, program)
    desk.git("config", "log.showSignature", "true")
    for key, value in (
        *(("core.repositoryformatversion", "1"), ("extensions.partialClone", "origin")),
        *(("remote.origin.promisor", "true"), ("remote.origin.url", str(desk.top.parent))),
        *(("protocol.allow", "always"), ("protocol.ext.allow", "always")),
    ):
        desk.git("config", key, value)
    desk.write(".gitattributes", b"* diff=plan filter=plan\n")
    blob = desk.git("rev-parse", f"HEAD:{NAME}").strip()
    (desk.top / ".git/objects" / blob[:2] / blob[2:]).unlink()
    desk.write(NAME, b"{}")
    for url in (str(desk.top.parent), f"ext::{program}", f"ssh://plans.example/{trap}"):
        desk.git("config", "remote.origin.url", url)
        assert desk.get(f"/folder/changes/{NAME}").status_code == 200
        assert desk.get(f"/folder/changes/{STORE}").get_json()["changes"] == []
        assert listed(desk)[NAME]["commit"] == "changed"
    assert not trap.exists()
    # The trap is one: git falls into it if it may fetch.
    desk.git("config", "remote.origin.url", str(desk.top))
    subprocess.run(
        ["git", "-C", str(desk.top), "cat-file", "-p", blob], capture_output=True, check=False
    )
    assert trap.exists()


# --- the pages


def test_a_file_is_made_and_saved_without_script(desk: Desk) -> None:
    made = desk.post("/new", name="clubs north", kind="plan")
    assert made.status_code == 303
    assert unquote_plus(made.headers["Location"]).endswith("clubs north.layout.json")
    new = "clubs north.layout.json"
    assert json.loads(desk.read(new))["format"] == "trappoint-layout/1"
    double = desk.post("/new", name="Clubs north", kind="plan")
    assert (double.status_code, "choose another name" in double.text) == (409, True)
    refused = desk.post("/new", name="../north", kind="store")
    assert (refused.status_code, 'value="../north"' in refused.text) == (400, True)
    stamp = desk.open(new)["stamp"]
    saved = desk.post(f"/text/{new}", text="{\r\n}\r\n", stamp=stamp, ends="lf")
    assert (saved.status_code, desk.read(new)) == (200, b"{\n}\n")
    assert "Saved." in saved.text
    desk.write(new, b"{\r\n}\r\n")
    stamp = desk.open(new)["stamp"]
    assert 'name="ends" value="crlf"' in desk.get(f"/text/{new}").text
    desk.post(f"/text/{new}", text="{\r\n\r\n}\r\n", stamp=stamp, ends="crlf")
    assert desk.read(new) == b"{\r\n\r\n}\r\n"


def test_a_form_that_conflicts_comes_back_with_both_versions(desk: Desk) -> None:
    opened = desk.open(NAME)
    desk.write(NAME, length(opened["text"], "main", 1500).encode())
    ours = length(opened["text"], "main", 1600)
    page = desk.post(f"/text/{NAME}", text=ours, stamp=opened["stamp"], ends="lf")
    assert page.status_code == 409
    assert "&lt;&lt;&lt;&lt;&lt;&lt;&lt; ours" in page.text
    assert "ours has 1600, theirs has 1500" in page.text
    now = desk.open(NAME)["stamp"]
    assert f'name="stamp" value="{now}"' in page.text
    assert desk.post(f"/text/{NAME}", text=ours, stamp=now, ends="lf").status_code == 200
    assert desk.read(NAME) == ours.encode()
    (desk.top / NAME).unlink()
    gone = desk.post(f"/text/{NAME}", text=ours, stamp=now, ends="lf")
    assert (gone.status_code, 'name="new" value="yes"' in gone.text) == (409, True)
    desk.post(f"/text/{NAME}", text=ours, stamp="", ends="lf", new="yes")
    assert desk.read(NAME) == ours.encode()


def test_texts_that_a_form_would_change_are_only_shown(desk: Desk) -> None:
    for text in (b"a\rb", b"a\0b", b"a\r\nb\r\nc\nd", '"\ud800"'.encode("utf-8", "surrogatepass")):
        desk.write(NAME, text)
        page = desk.get(f"/text/{NAME}")
        assert page.status_code == 200
        assert "<textarea" not in page.text


def test_the_plain_pages_are_served_below_the_secret(desk: Desk) -> None:
    for path in ("/form", "/rules", "/interface", "/static/folder.js", "/openapi.json", "/healthz"):
        answer = desk.get(path)
        assert answer.status_code == 200
        assert answer.headers["Referrer-Policy"] == "no-referrer"
        assert "Set-Cookie" not in answer.headers
        answer.close()
    assert f'action="{desk.start}/check"' in desk.get("/form").text
    assert desk.get("/check").headers["Location"] == f"{desk.start}/form"
    plan = read_example("kelpie-quay").decode()
    assert "Kelpie Quay" in desk.post("/check", text=plan).text
