"""``trappoint draw`` as a whole: what goes where, and with which exit code."""

from __future__ import annotations

import io
from importlib.util import find_spec
from pathlib import Path

import pytest

from drawing.looking import parse
from trappoint.cli import main

KELPIE = Path(__file__).parents[2] / "examples" / "kelpie-quay.layout.json"
SLIPS = KELPIE.parent / "slips"


def test_svg_goes_to_standard_output(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["draw", str(KELPIE)]) == 0
    out, err = capsys.readouterr()
    assert parse(out).get("role") == "img"
    assert err == ""


def test_a_file_is_written_and_nothing_printed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "kelpie.svg"
    assert main(["draw", str(KELPIE), "-o", str(target)]) == 0
    assert parse(target.read_text("utf-8")).get("role") == "img"
    assert capsys.readouterr() == ("", "")


@pytest.mark.parametrize(
    ("ending", "begins", "needs"),
    [("png", b"\x89PNG\r\n\x1a\n", "resvg_py"), ("pdf", b"%PDF-", "svglib")],
)
def test_other_formats_by_the_ending_of_the_file(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], ending: str, begins: bytes, needs: str
) -> None:
    """The first bytes: PNG (ISO/IEC 15948, 5.2) and PDF (ISO 32000-1, 7.5.2)."""
    target = tmp_path / f"kelpie.{ending}"
    code = main(["draw", str(KELPIE), "-o", str(target)])
    if find_spec(needs) is None:
        assert code == 2
        assert f"trappoint[{ending}]" in capsys.readouterr().err
        return
    assert code == 0
    content = target.read_bytes()
    assert content.startswith(begins)
    assert main(["draw", str(KELPIE), "-o", str(target)]) == 0
    assert target.read_bytes() == content, "the same on every run"


def test_a_picture_needs_a_file(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["draw", str(KELPIE), "--format", "png"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "-o FILE" in err


def test_a_plan_with_errors_is_drawn_and_more_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    plan = str(SLIPS / "siding-signal-forgotten.layout.json")
    assert main(["draw", plan]) == 0
    assert "trappoint check" in capsys.readouterr().err
    assert main(["draw", plan, "--findings"]) == 0
    out, err = capsys.readouterr()
    assert "[1]" in out
    assert err == ""


def test_what_is_no_plan_is_not_drawn(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["draw", str(SLIPS / "comma-forgotten.layout.json")]) == 1
    out, err = capsys.readouterr()
    assert out == ""
    assert "not-json" in err


@pytest.mark.parametrize(
    "words", [["nowhere.layout.json"], [str(KELPIE), "-o", "no/such/place.svg"]]
)
def test_files_that_can_not_be_used(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["draw", *words]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("trappoint: ")


def test_a_plan_by_standard_input(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    class Stdin:
        buffer = io.BytesIO(KELPIE.read_bytes())

    monkeypatch.setattr("sys.stdin", Stdin())
    assert main(["draw", "-"]) == 0
    assert "Kelpie Quay" in capsys.readouterr().out
