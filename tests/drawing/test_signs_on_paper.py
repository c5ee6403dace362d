"""What a PDF cannot show: signs that its fonts lack, letters that run from right to left."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

pypdf = pytest.importorskip("pypdf")
pytest.importorskip("svglib")

from trappoint.cli import main  # noqa: E402 # needs the libraries above
from trappoint.drawing.fonts import unprinted  # noqa: E402

KELPIE = Path(__file__).parents[2] / "examples" / "kelpie-quay.layout.json"


def printed(folder: Path, command: str, title: str) -> tuple[str, str]:
    """Return the text of the PDF of a plan with this title, and the path of the file."""
    plan = json.loads(KELPIE.read_text("utf-8"))
    plan["title"] = plan["platforms"]["A"]["name"] = title
    source, target = folder / "plan.layout.json", folder / "plan.pdf"
    source.write_text(json.dumps(plan), "utf-8")
    assert main([command, str(source), "-o", str(target)]) == 0
    text = " ".join(page.extract_text() for page in pypdf.PdfReader(target).pages)
    return " ".join(text.split()), str(target)


@pytest.mark.parametrize("command", ["draw", "chart"])
def test_signs_that_no_font_has_are_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], command: str
) -> None:
    """U+6F22 is a Han character, U+1F682 a locomotive, U+0928 Devanagari (Unicode)."""
    text, _ = printed(tmp_path, command, "\u6f22 \u0928 \U0001f682 \u6f22 Quay")
    told = capsys.readouterr().err
    assert told.startswith("trappoint: the PDF lacks 3 signs: ")
    assert "The PDF lacks 3 signs: U+6F22, U+0928, U+1F682; SVG and HTML have them." in text
    for code in ("U+6F22", "U+0928", "U+1F682"):
        assert f"({code})" in told
    assert "wrong order" not in text


@pytest.mark.parametrize("command", ["draw", "chart"])
@pytest.mark.parametrize("title", ["\u05e9\u05dc\u05d5\u05dd", "\u0631\u0635\u064a\u0641"])
def test_letters_from_right_to_left_are_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], command: str, title: str
) -> None:
    """Hebrew and Arabic: the fonts have the letters, the PDF has them in the wrong order."""
    text, _ = printed(tmp_path, command, title)
    assert "right-to-left letters in the wrong order" in capsys.readouterr().err
    assert "The PDF has right-to-left letters in the wrong order" in text
    assert "lacks" not in text


@pytest.mark.parametrize("command", ["draw", "chart"])
@pytest.mark.parametrize(
    "title", ["Za\u017c\u00f3\u0142\u0107 \u0416 \u03a9 \u2013 Qu\u00e9", "Kelpie"]
)
def test_nothing_is_told_of_letters_that_print(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], command: str, title: str
) -> None:
    text, _ = printed(tmp_path, command, title)
    assert capsys.readouterr() == ("", "")
    assert "The PDF" not in text


def test_a_letter_and_its_mark_are_printed_as_one(tmp_path: Path) -> None:
    """Unicode, canonical composition: e and U+0301 are U+00E9."""
    text, _ = printed(tmp_path, "chart", "Cafe\u0301 Quay")
    assert "Caf\u00e9 Quay" in text
    assert "\u0301" not in text


def test_a_long_list_of_signs_is_cut() -> None:
    found = unprinted([chr(code) for code in range(0x4E00, 0x4E20)])
    (sentence,) = found.sentences(shown=False)
    assert "32 signs" in sentence and "and 20 more" in sentence
