"""The frame in words, in each format."""

from __future__ import annotations

import csv
import io
import json
import textwrap
from html.parser import HTMLParser

import pytest

from frame.plans import as_layout, junction_1873, with_levers
from trappoint.checking.frame import frame_table
from trappoint.core.findings import CAUTION
from trappoint.lever_frame.frame import FrameLever, FrameTable, LockingEntry, Term
from trappoint.reporting.frame_text import frame_as_markdown, frame_as_text, render_frame

LAYOUT = as_layout(junction_1873())

TEXT = f"""\
Lever frame of Nine-lever junction: 9 levers

lever  works          colour  locking
1      distant arm 1  yellow  released by 4
2      distant arm 2  yellow  released by 3
3      stop arm 3     red     locks 5
4      stop arm 4     red     released by 5
5      points p5      black   locks 6
6      points p6      black
7      stop arm 7     red     locks 6
8      stop arm 8     red     released by 6
9      distant arm 9  yellow  released by 7 or 8

{textwrap.fill(CAUTION, 100)}
"""


def test_text() -> None:
    assert render_frame(LAYOUT) == render_frame(LAYOUT, "text") == TEXT


def test_markdown() -> None:
    lines = render_frame(LAYOUT, "markdown").splitlines()
    assert lines[2:5] == [
        "| lever | works | colour | locking |",
        "|---:|---|---|---|",
        "| 1 | distant arm 1 | yellow | released by 4 |",
    ]
    assert len(lines) == 15
    assert CAUTION in lines[-1]


def test_csv() -> None:
    text = render_frame(LAYOUT, "csv")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert len(rows) == 9
    assert rows[8] == {
        "lever": "9",
        "works": "distant",
        "names": "9",
        "colour": "yellow",
        "entry": "9 released by 7 or 8",
    }
    assert rows[5]["entry"] == ""


class Cells(HTMLParser):
    """Counts tags opened and closed."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.rows = 0

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.open.append(tag)
        self.rows += tag == "tr"

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def test_html() -> None:
    layout = as_layout({**junction_1873(), "title": "<b>Low & High</b>"})
    text = render_frame(layout, "html")
    cells = Cells()
    cells.feed(text)
    assert (cells.open, cells.rows) == ([], 10)
    assert "&lt;b&gt;Low &amp; High&lt;/b&gt;" in text
    assert CAUTION in text


def test_json() -> None:
    data = json.loads(render_frame(LAYOUT, "json"))
    assert data.pop("caution") == CAUTION
    assert data == frame_table(LAYOUT).to_json()
    assert data["levers"][4] == {
        "lever": "5",
        "works": "points",
        "names": ["p5"],
        "colour": "black",
    }
    assert data["entries"][7] == {
        "lever": "9",
        "relation": "released by",
        "levers": [
            {"lever": "7", "position": "reversed"},
            {"lever": "8", "position": "reversed"},
        ],
        "text": "9 released by 7 or 8",
    }
    assert data["notes"] == []


def test_another_format() -> None:
    with pytest.raises(ValueError, match="not as pdf"):
        render_frame(LAYOUT, "pdf")


@pytest.mark.parametrize("format_", ["text", "markdown", "html"])
def test_no_levers(format_: str) -> None:
    text = render_frame(as_layout(with_levers(junction_1873(), {})), format_)
    assert "The plan has no levers" in text


@pytest.mark.parametrize("format_", ["text", "markdown", "html"])
def test_a_lever_has_its_own_name_or_that_of_its_arm(format_: str) -> None:
    plan = junction_1873()
    plan["levers"]["5"]["name"] = "Branch points, with a name too long for a line"
    plan["signals"]["3"]["name"] = "Down home"
    words = ("works", "stop arm 3", "points p5")
    lines = render_frame(as_layout(plan), format_).splitlines()
    headings, *rows = [line for line in lines if any(word in line for word in words)]
    assert "name" in headings
    assert "Down home" in rows[0]
    assert ("Branch points, with a..." if format_ == "text" else "too long for a line") in rows[1]


def test_unconditional_locks_are_one_list_and_notes_follow() -> None:
    table = FrameTable(
        (FrameLever("1", "stop", ("a", "b")), FrameLever("2", "nothing", ())),
        (
            LockingEntry("1", "released by", (Term("4"), Term("5", "normal"))),
            LockingEntry("1", "locks", (Term("2"),)),
            LockingEntry("1", "locks", (Term("3"),)),
            LockingEntry("1", "locks both ways", (Term("6"),), (Term("7"), Term("8", "normal"))),
        ),
        ("Something could not be derived.",),
    )
    locking = "released by 4 or 5 normal; locks 2 and 3; locks 6 both ways when 8"
    text = frame_as_text(table)
    assert f"\n1      stop arms a and b  red     {locking}\n" in text
    assert f"\n{' ' * 34}normal and 7 reversed\n2      spare" in text
    assert "\n- Something could not be derived.\n" in text
    assert f"{locking} normal and 7 reversed |" in frame_as_markdown(table)


def test_a_title_cannot_reach_the_terminal_or_the_markup() -> None:
    table = FrameTable((), ())
    assert "\x1b" not in frame_as_text(table, "red\x1b[31m")
    assert "\\<b\\>\\|" in frame_as_markdown(table, "<b>|")
