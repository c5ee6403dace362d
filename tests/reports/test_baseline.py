"""Old findings do not fail a check: ``--baseline`` and ``--write-baseline``, as processes."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from commands.running import BAD, GOOD, trappoint

pytestmark = pytest.mark.usefixtures("quick")

TWO = "".join(line for line in BAD.splitlines(keepends=True) if '"3": {' not in line)
"""Kelpie Quay without signals 3 and 6."""


@pytest.fixture
def club(tmp_path: Path) -> Path:
    (tmp_path / "a.layout.json").write_text(BAD, "utf-8")
    (tmp_path / "b.layout.json").write_text(GOOD, "utf-8")
    done = trappoint("check", "--write-baseline", "base.json", ".", cwd=tmp_path)
    assert done.returncode == 0
    assert done.stderr == "trappoint: 1 finding written to base.json.\n"
    assert "error unheld-exit" in done.stdout
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        *("a.layout.json", "b.layout.json", "base.json")
    ]
    return tmp_path


def test_what_was_there_does_not_block(club: Path) -> None:
    assert trappoint("check", ".", cwd=club).returncode == 1
    done = trappoint("check", "--baseline", "base.json", ".", cwd=club)
    assert (done.returncode, done.stderr) == (0, "")
    words = " ".join(done.stdout.split())
    assert "unheld-exit" not in words
    assert "a.layout.json does not hold: two trains can be brought together" in words
    assert "1 finding known from the baseline." in words


def test_what_is_new_blocks(club: Path) -> None:
    (club / "a.layout.json").write_text(TWO, "utf-8")
    done = trappoint("check", "--format", "json", "--baseline", "base.json", ".", cwd=club)
    assert done.returncode == 1
    found = json.loads(done.stdout)["files"][0]["findings"]
    assert found
    assert all(f["pointer"] != "/tracks/siding/up" for f in found)
    (club / "c.layout.json").write_text(BAD, "utf-8")
    done = trappoint("check", "--baseline", "base.json", "c.layout.json", cwd=club)
    assert done.returncode == 1


def test_lines_and_titles_may_change(club: Path) -> None:
    (club / "a.layout.json").write_text("\n\n" + BAD.replace("Kelpie", "Selkie"), "utf-8")
    assert trappoint("check", "--baseline", "base.json", ".", cwd=club).returncode == 0


def test_what_is_gone_is_told(club: Path) -> None:
    (club / "a.layout.json").write_text(GOOD, "utf-8")
    done = trappoint("check", "--baseline", "base.json", ".", cwd=club)
    assert done.returncode == 0
    assert done.stderr.splitlines() == [
        "trappoint: a.layout.json: unheld-exit at /tracks/siding/up is in the baseline, but no "
        "longer occurs.",
        "trappoint: `--write-baseline base.json` writes it again.",
    ]
    (club / "a.layout.json").unlink()
    done = trappoint("check", "--baseline", "base.json", ".", cwd=club)
    assert "a.layout.json is in the baseline, but no longer exists." in done.stderr


def test_plans_not_asked_for_are_not_told_of(club: Path) -> None:
    done = trappoint("check", "--baseline", "base.json", "b.layout.json", cwd=club)
    assert (done.returncode, done.stderr) == (0, "")


def test_what_the_check_prints_is_a_baseline(club: Path) -> None:
    printed = trappoint("check", "--format", "json", "a.layout.json", cwd=club).stdout
    (club / "printed.json").write_text(printed, "utf-8")
    done = trappoint("check", "--baseline", "printed.json", club / "a.layout.json", cwd=club)
    assert done.returncode == 0


def test_one_of_before_stands_for_one_now(club: Path) -> None:
    base = json.loads((club / "base.json").read_text("utf-8"))
    (file,) = base["files"]
    file["findings"] *= 2
    (club / "base.json").write_text(json.dumps(base), "utf-8")
    done = trappoint("check", "--baseline", "base.json", ".", cwd=club)
    assert done.returncode == 0
    assert done.stderr.count("no longer occurs") == 1


def test_a_lesser_level_of_before_does_not_cover_a_graver_one(club: Path) -> None:
    text = (club / "base.json").read_text("utf-8").replace('"error"', '"warning"')
    (club / "base.json").write_text(text, "utf-8")
    assert trappoint("check", "--baseline", "base.json", ".", cwd=club).returncode == 1


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (None, "There is no file base.json."),
        (b"", "is not JSON"),
        (b"{", "is not JSON"),
        (b"\xff\xfe{}", "is not JSON"),
        (b"[" * 100000, "is not JSON"),
        (b"[]", "is not a report"),
        (b"{}", "is not a report"),
        (b'{"files": 3}', "is not a report"),
        (b'{"files": [{"file": 1, "findings": []}]}', "is not a report"),
        (b'{"files": [{"file": "a", "findings": [{"rule": "x"}]}]}', "is not a report"),
        (
            b'{"files": [{"file": "a", "findings": [{"rule": "x", "level": "grave", "pointer": "",'
            b' "path": []}]}]}',
            "is not a report",
        ),
        (b" " * 9_000_000, "longer than 8 MiB"),
    ],
)
def test_a_baseline_that_can_not_be_used(club: Path, content: bytes | None, said: str) -> None:
    (club / "base.json").unlink()
    if content is not None:
        (club / "base.json").write_bytes(content)
    done = trappoint("check", "--baseline", "base.json", ".", cwd=club)
    assert (done.returncode, done.stdout) == (2, "")
    assert said in done.stderr
    assert len(done.stderr.splitlines()) == 1


def test_a_baseline_that_can_not_be_written(club: Path) -> None:
    done = trappoint("check", "--write-baseline", "no/where.json", ".", cwd=club)
    assert done.returncode == 2
    assert "The baseline no/where.json cannot be written: no such file" in done.stderr


def test_one_or_the_other(club: Path) -> None:
    words = ["--baseline", "base.json", "--write-baseline", "base.json"]
    done = trappoint("check", *words, ".", cwd=club)
    assert (done.returncode, done.stdout) == (2, "")
