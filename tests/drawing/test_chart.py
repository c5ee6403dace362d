"""The signal chart: complete, harmless, and self-contained."""

from __future__ import annotations

import csv
import io
import json
import re
import sys
from functools import cache
from html.parser import HTMLParser
from importlib.util import find_spec
from pathlib import Path

import pytest

from drawing.drawn import report_of
from trappoint.checking.check import check
from trappoint.cli import main
from trappoint.core.findings import CAUTION, CAUTION_FITTING
from trappoint.drawing.chart import write_chart

ROOT = Path(__file__).parents[2]
EXAMPLES = sorted((ROOT / "examples").glob("*.layout.json"))
VOID = {"meta", "br", "hr", "img", "input", "link"}


class Page(HTMLParser):
    """A page as its tags and text; tags must close in order."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] not in ("style", "script"):
            self.text += data


@cache
def chart_of(path: Path) -> str:
    return write_chart(report_of(path))


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.name.partition(".")[0])
def test_the_chart_shows_everything(path: Path) -> None:
    plan = json.loads(path.read_text("utf-8"))
    report = report_of(path)
    text = chart_of(path)
    page = Page(text)
    assert plan["title"] in page.text
    assert CAUTION in page.text
    assert "holds" in page.text
    rows = [attributes.get("id") for tag, attributes in page.tags if tag == "tr"]
    assert report.table is not None
    for entry in report.table.arms:
        assert f"row-{entry.arm}" in rows
        assert entry.meaning in page.text
    for scene in plan.get("scenes", {}):
        assert scene in page.text
    for members in plan.get("worked_together", []):
        assert " and ".join(members) in page.text
    ids = [attributes["id"] for _, attributes in page.tags if "id" in attributes]
    assert len(ids) == len(set(ids))
    for tag, attributes in page.tags:
        if tag == "label":
            assert attributes["for"] in ids
    for entry in report.table.arms:
        assert f'[id="light-{entry.arm}"]:checked ~ figure .track' in text


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.name.partition(".")[0])
def test_nothing_is_fetched_and_no_script_is_needed(path: Path) -> None:
    text = chart_of(path)
    page = Page(text)
    assert text.isascii()
    assert not {tag for tag, _ in page.tags} & {"script", "link", "img", "iframe", "object"}
    for _, attributes in page.tags:
        assert not [name for name in attributes if name.startswith("on")]
        assert "src" not in attributes
    assert not re.search(r"url\(|@import", text)


def test_paper_is_white_whatever_the_screen_shows() -> None:
    text = chart_of(EXAMPLES[0])
    dark = text.index("prefers-color-scheme: dark")
    printed = text.index("@media print { :root")
    assert dark < printed, "the later rule wins"
    assert "--paper: #fff" in text[printed : printed + 120]


def test_the_matrix_says_what_the_table_says() -> None:
    """Kelpie Quay has 20 conflicting pairs of 45; each is in the square twice."""
    text = chart_of(ROOT / "examples" / "kelpie-quay.layout.json")
    square = text[text.index('class="square') :]
    square = square[: square.index("</table>")]
    assert len(re.findall(r">[PL]</span>", square)) == 40
    assert square.count(">=</span>") == 10


def test_markup_in_a_plan_stays_text() -> None:
    nasty = '</style></svg><script>alert("x")</script><b>'
    plan = json.loads((ROOT / "examples" / "selkie-harbour.layout.json").read_text("utf-8"))
    plan["title"] = plan["scale"] = nasty
    for kind in ("platforms", "yards", "tracks", "trains"):
        for thing in plan[kind].values():
            thing["name"] = nasty
    page = Page(write_chart(check(json.dumps(plan))))
    assert "script" not in {tag for tag, _ in page.tags}
    assert nasty in page.text


def test_a_plan_that_does_not_hold_says_so_and_why() -> None:
    report = check(ROOT / "examples" / "slips" / "siding-signal-forgotten.layout.json")
    page = Page(write_chart(report))
    assert "does not hold" in page.text
    assert report.findings[0].message in page.text


def test_a_plan_without_a_verdict_is_still_drawn() -> None:
    report = check(ROOT / "examples" / "slips" / "id-mistyped.layout.json")
    page = Page(write_chart(report))
    assert "cannot be judged" in page.text
    assert "svg" in {tag for tag, _ in page.tags}


def test_the_command_writes_the_sheet(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "kelpie.html"
    assert (
        main(["chart", str(ROOT / "examples" / "kelpie-quay.layout.json"), "-o", str(target)]) == 0
    )
    Page(target.read_text("ascii"))
    assert capsys.readouterr() == ("", "")
    assert main(["chart", "nowhere.layout.json"]) == 2
    assert main(["chart", str(ROOT / "examples" / "slips" / "comma-forgotten.layout.json")]) == 1


def test_the_same_as_pdf(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "selkie.pdf"
    plan = json.loads((ROOT / "examples" / "selkie-harbour.layout.json").read_text("utf-8"))
    plan["title"] = "<b>Nowhere & \u0416\u6f22 \U0001f682"
    source = tmp_path / "selkie.layout.json"
    source.write_text(json.dumps(plan), "utf-8")
    code = main(["chart", str(source), "-o", str(target), "--sheet", "a3"])
    if find_spec("svglib") is None:
        assert code == 2
        assert "trappoint[pdf]" in capsys.readouterr().err
        return
    assert code == 0
    content = target.read_bytes()
    assert content.startswith(b"%PDF-")
    # A3 lying, in points: ISO 216 has 420 by 297 mm.
    assert re.search(rb"/MediaBox \[ 0 0 1190\.55\d* 841\.8(9|898)\d* \]", content)
    assert main(["chart", str(source), "-o", str(target), "--sheet", "a3"]) == 0
    assert target.read_bytes() == content, "the same on every run"


def bench_words() -> list[str]:
    """Return what the commands for the bench print of Kelpie Quay, line by line."""
    plan = str(ROOT / "examples" / "kelpie-quay.layout.json")
    store = str(ROOT / "examples" / "kelpie-quay.store.json")
    return [plan, "--store", store]


def test_parts_and_posts_stand_on_it_where_asked_for(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The chart holds all lines of `trappoint parts`, and all posts of `trappoint fitting`."""
    pytest.importorskip("highspy")
    target = tmp_path / "kelpie.html"
    main(["chart", *bench_words(), "--fitting", "-o", str(target)])
    text = target.read_text("ascii")
    page = Page(text)
    capsys.readouterr()
    main(["parts", *bench_words(), "--format", "markdown"])
    lines = [line for line in capsys.readouterr().out.splitlines() if line.strip()]
    assert len(lines) > 20
    for line in lines[1:-1]:  # the title and the caution are the chart's own
        assert line.partition(" ")[2].replace("\\", "") in page.text
    main(["fitting", bench_words()[0], "--format", "csv"])
    rows = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    drill = text[text.index("<h2>Where to drill") :]
    drill = drill[: drill.index("</table>")]
    assert drill.count("<tr") == 2 + len({row["Signal"] for row in rows})  # caution and heads
    for row in rows:
        assert f"{row['Arm']}: {row['Kind']}" in drill
        assert f"{row['Track']}: right at the {row['Datum']}" in drill


def test_they_stand_on_it_only_where_asked_for(tmp_path: Path) -> None:
    plain, fitting = tmp_path / "plain.html", tmp_path / "fitting.html"
    main(["chart", bench_words()[0], "-o", str(plain)])
    main(["chart", bench_words()[0], "--fitting", "-o", str(fitting)])
    text = fitting.read_text("ascii")
    start = text.index('<section class="where-to-drill">')
    end = text.index("</section>", start) + len("</section>\n")
    rest = (text[:start] + text[end:]).replace(CAUTION_FITTING, CAUTION)
    assert CAUTION_FITTING in text
    assert CAUTION_FITTING not in plain.read_text("ascii")
    assert rest == plain.read_text("ascii")


def test_without_levers_the_operator_sees_to_what_no_points_prevent() -> None:
    plan = json.loads((ROOT / "examples" / "kelpie-quay.layout.json").read_text("utf-8"))
    plan["levers"] = {"1": {"arms": ["2"]}}
    with_levers = Page(write_chart(check(json.dumps(plan)))).text
    del plan["levers"]
    without = Page(write_chart(check(json.dumps(plan)))).text
    assert "Bold arms: you must see to it." in without
    assert "the locking sees to it" not in without
    assert "Bold arms: the locking sees to it." in with_levers
    assert "you must see to it" not in with_levers


def test_a_bad_store_and_a_plan_without_posts_are_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    plan = bench_words()[0]
    store = tmp_path / "c.store.json"
    store.write_text('{"format": "trappoint-store/1"}')
    assert main(["chart", plan, "--store", str(store)]) == 1
    assert "has no currency" in capsys.readouterr().err
    assert main(["chart", plan, "--store", str(tmp_path / "none.store.json")]) == 2
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(Path(plan).read_bytes())))
    assert main(["chart", "-", "--store", "-"]) == 2
    assert "only one of plan and store" in capsys.readouterr().err
    unjudged = ROOT / "examples" / "slips" / "id-mistyped.layout.json"
    assert main(["chart", str(unjudged), "--fitting"]) == 0
    out, err = capsys.readouterr()
    assert "the chart has no posts" in err
    assert "Where to drill" not in out


def test_parts_and_posts_as_pdf(tmp_path: Path) -> None:
    """Another library reads the text of the PDF."""
    pytest.importorskip("highspy")
    pypdf = pytest.importorskip("pypdf")
    pytest.importorskip("svglib")
    target = tmp_path / "kelpie.pdf"
    assert main(["chart", *bench_words(), "--fitting", "-o", str(target)]) == 0
    text = " ".join(page.extract_text() for page in pypdf.PdfReader(target).pages)
    text = " ".join(text.split())
    assert "Where to drill" in text and "bracket, 2 dolls, upper-quadrant" in text
    assert "Sum: GBP 6.24 (EUR 1 = GBP 0.86; rates of 2 November 2026)." in text
    assert CAUTION_FITTING in text
