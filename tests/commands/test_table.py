"""``trappoint table`` as a whole process, in each of its formats."""

from __future__ import annotations

import csv
import io
import json
from html.parser import HTMLParser
from pathlib import Path

import pytest

from commands.running import BAD, GOOD, KELPIE, flat, plan, trappoint
from trappoint.core.findings import CAUTION

pytestmark = pytest.mark.usefixtures("quick")

EXPECTED = Path(__file__).parent / "expected"

KELPIE_ARMS = ["1L", "1R", "2", "3", "4L", "4R", "5", "6", "7L", "7R"]
"""The ten stop arms of the design, section 3, which also gives 45 pairs and 20 conflicts."""


def test_text(rewrite: bool) -> None:
    done = trappoint("table", KELPIE)
    assert (done.returncode, done.stderr) == (0, "")
    assert max(map(len, done.stdout.splitlines())) <= 80
    assert "Of 45 pairs of stop arms, 20 can never be off together." in flat(done.stdout)
    assert "This plan holds, for trains up to 610 mm (siding): no two trains" in flat(done.stdout)
    assert CAUTION in flat(done.stdout)
    golden = EXPECTED / "kelpie-quay-table.txt"
    if rewrite:
        golden.parent.mkdir(exist_ok=True)
        golden.write_text(done.stdout, "utf-8")
    assert done.stdout == golden.read_text("utf-8")


def test_json_is_of_the_published_form() -> None:
    done = trappoint("table", "--format", "json", KELPIE)
    told = json.loads(done.stdout)
    assert told["holds"] is True
    assert told["pairs"] == {"all": 45, "conflicting": 20}
    assert [arm["arm"] for arm in told["arms"]] == KELPIE_ARMS
    conflicts = {frozenset((a["arm"], c["arm"])) for a in told["arms"] for c in a["conflicts"]}
    assert len(conflicts) == 20
    assert list(told["arms"][0]) == [
        *("arm", "signal", "kind", "duties", "meaning", "routes", "conflicts")
    ]
    assert list(told["arms"][0]["routes"][0]) == ["from", "over", "ends_at", "points"]


def test_csv_says_what_json_says() -> None:
    told = json.loads(trappoint("table", "--format", "json", KELPIE).stdout)
    text = trappoint("table", "--format", "csv", KELPIE).stdout
    assert text.count("\r\n") == len(KELPIE_ARMS) + 1  # RFC 4180, section 2
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    assert [row["arm"] for row in rows] == KELPIE_ARMS
    for row, arm in zip(rows, told["arms"], strict=True):
        assert row["meaning"] == arm["meaning"]
        assert row["over"].split(", ") == arm["routes"][0]["over"]
        assert row["ends_at"] == arm["routes"][0]["ends_at"]
        lies = dict(word.split(" ") for word in row["points"].split(", "))
        assert lies == arm["routes"][0]["points"]
        for column, by in (("never_with_by_points", "points"), ("never_with_by_locking", "direct")):
            others = [c["arm"] for c in arm["conflicts"] if c["by"] == by]
            assert [word for word in row[column].split(", ") if word] == others


def test_markdown_says_what_json_says() -> None:
    told = json.loads(trappoint("table", "--format", "json", KELPIE).stdout)
    text = trappoint("table", "--format", "markdown", KELPIE).stdout
    square = [line.strip("| ").split("|") for line in text.splitlines() if line.startswith("| **")]
    letters = {"points": "P", "direct": "L"}
    for cells, arm in zip(square, told["arms"], strict=True):
        wanted = {c["arm"]: letters[c["by"]] for c in arm["conflicts"]} | {arm["arm"]: "="}
        found = dict(zip(KELPIE_ARMS, [c.strip() for c in cells[1:]] + [""] * 9, strict=False))
        assert {k: v for k, v in found.items() if v} == wanted
    assert CAUTION in text


class _Cells(HTMLParser):
    """Gathers the cells of all tables, row by row, and all tags."""

    def __init__(self) -> None:
        super().__init__()
        self.rows: list[list[str]] = []
        self.tags: set[str] = set()
        self.open: list[str] = []
        self.inside = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        if tag != "meta":
            self.open.append(tag)
        if tag == "tr":
            self.rows.append([])
        if tag in ("td", "th"):
            self.rows[-1].append("")
            self.inside = True

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag
        if tag in ("td", "th"):
            self.inside = False

    def handle_data(self, data: str) -> None:
        if self.inside:
            self.rows[-1][-1] += data


def test_html_says_what_json_says_and_needs_nothing_else() -> None:
    told = json.loads(trappoint("table", "--format", "json", KELPIE).stdout)
    text = trappoint("table", "--format", "html", KELPIE).stdout
    page = _Cells()
    page.feed(text)
    assert page.open == []
    assert not page.tags & {"script", "link", "img", "iframe", "object"}
    assert "url(" not in text
    assert "://" not in text
    meanings = {row[0]: row[3] for row in page.rows if len(row) == 8}
    assert meanings | {"Arm": ""} == {a["arm"]: a["meaning"] for a in told["arms"]} | {"Arm": ""}


def test_html_and_markdown_escape_what_the_plan_says() -> None:
    title = 'A<script>alert("1")</script> & *B* | \u65e5'
    page = trappoint("table", "--format", "html", "-", given=plan(title=title).encode()).stdout
    assert "<script" not in page
    assert "A&lt;script&gt;alert(&quot;1&quot;)&lt;/script&gt; &amp; *B* | &#26085;" in page
    text = trappoint("table", "--format", "markdown", "-", given=plan(title=title).encode()).stdout
    first = text.splitlines()[0]
    assert first == r'# Locking table of A\<script\>alert("1")\</script\> \& \*B\* \| ' + "\u65e5"


def test_a_plan_that_does_not_hold_has_a_table_that_says_so() -> None:
    done = trappoint("table", "-", given=BAD.encode())
    assert done.returncode == 0
    assert "This plan does not hold" in done.stdout
    assert "1 error" in done.stderr


@pytest.mark.parametrize("text", ["{}", GOOD.replace("p3.toe", "p3.toes"), "nonsense"])
def test_a_plan_that_cannot_be_judged_has_none(text: str) -> None:
    done = trappoint("table", "-", given=text.encode())
    assert done.returncode == 1
    assert done.stdout == ""
    assert "cannot be judged" in done.stderr
    assert "standard input:" in done.stderr


def test_a_missing_file(tmp_path: Path) -> None:
    done = trappoint("table", tmp_path / "missing.layout.json")
    assert (done.returncode, done.stdout) == (2, "")
    assert "There is no file" in done.stderr
    assert trappoint("table", tmp_path).returncode == 2


def test_the_frame_is_printed_in_every_format() -> None:
    harbour = KELPIE.parent / "selkie-harbour.layout.json"
    for form in ("text", "markdown", "csv", "html", "json"):
        done = trappoint("table", "--frame", "--format", form, harbour)
        assert (done.returncode, done.stderr) == (0, ""), form
        assert "locks" in done.stdout, form
