"""Boards are read from the disk inside the repository, or from given files only."""

from __future__ import annotations

import builtins
import io
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from boards.test_assembling import FILES, whole
from trappoint import FilesAtHand, FilesOnDisk, OutOfReach, board_files, check
from trappoint.source.files import within

MEET = json.dumps(whole(boards={"yard": {"plan": "../boards/yard.layout.json"}}))


def lay_out(folder: Path, plan: str = MEET) -> Path:
    """Write the meet into `meets/spring` of a folder and its boards into `boards`."""
    for name in ("meets", "boards"):
        (folder / name).mkdir(parents=True, exist_ok=True)
    for name, board in FILES.items():
        (folder / "boards" / name).write_text(json.dumps(board), "utf-8")
    meet = folder / "meets" / "spring.layout.json"
    meet.write_text(plan.replace('"station.layout', '"../boards/station.layout'), "utf-8")
    return meet


def rules(path: Path | str) -> list[str]:
    return [finding.rule for finding in check(path).findings]


# --- the disk


def test_in_a_repository_boards_may_lie_anywhere_in_it(tmp_path: Path) -> None:
    (tmp_path / ".git").mkdir()
    assert check(lay_out(tmp_path)).holds is True


def test_without_one_only_the_folder_of_the_plan_is_looked_into(tmp_path: Path) -> None:
    meet = lay_out(tmp_path)
    assert rules(meet) == ["board-out-of-reach"] * 2
    beside = tmp_path / "spring.layout.json"
    beside.write_text(meet.read_text("utf-8").replace("../boards/", "boards/"), "utf-8")
    assert check(beside).holds is True


def test_the_nearest_repository_is_the_one(tmp_path: Path) -> None:
    (tmp_path / ".git").mkdir()
    meet = lay_out(tmp_path)
    (tmp_path / "meets" / ".git").write_text("gitdir: elsewhere", "utf-8")  # a work tree of git
    assert rules(meet) == ["board-out-of-reach"] * 2


@pytest.mark.skipif(sys.platform == "win32", reason="links need leave there")
def test_links_within_are_followed_and_links_out_of_it_are_not(tmp_path: Path) -> None:
    club = tmp_path / "club"
    (club / ".git").mkdir(parents=True)
    meet = lay_out(club)
    yard = club / "boards" / "yard.layout.json"
    yard.replace(club / "yard.layout.json")
    yard.symlink_to("../yard.layout.json")
    assert check(meet).holds is True
    (club / "yard.layout.json").replace(tmp_path / "yard.layout.json")
    yard.unlink()
    yard.symlink_to("../../yard.layout.json")
    assert rules(meet) == ["board-out-of-reach"]


def test_whatever_folder_the_check_is_run_in(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / ".git").mkdir()
    meet = lay_out(tmp_path)
    for folder, name in (
        (tmp_path, "meets/spring.layout.json"),
        (tmp_path / "meets", "spring.layout.json"),
        (tmp_path / "boards", "../meets/spring.layout.json"),
        (Path("/"), str(meet)),
    ):
        monkeypatch.chdir(folder)
        report = check(name)
        assert report.holds is True, folder
        assert all(Path(board.file).is_file() for board in report.boards), folder
    monkeypatch.chdir(tmp_path / "meets")
    assert check("spring.layout.json").boards[0].file == "../boards/station.layout.json"


@pytest.mark.parametrize("kind", ["folder", "binary", "endless"])
def test_what_can_not_be_read_as_a_plan(tmp_path: Path, kind: str) -> None:
    (tmp_path / ".git").mkdir()
    meet = lay_out(tmp_path)
    yard = tmp_path / "boards" / "yard.layout.json"
    yard.unlink()
    if kind == "folder":
        yard.mkdir()
        (finding,) = check(meet).findings
        assert finding.rule == "board-not-found"
        assert "is a folder, not a file" in finding.message
        return
    yard.write_bytes(b"\xff\xfe\x00" if kind == "binary" else b'"' + b"a" * 9_000_000)
    (finding,) = check(meet).findings
    assert finding.rule == "board-not-a-plan"
    assert finding.line > 0


def test_a_name_that_is_no_name_of_a_file(tmp_path: Path) -> None:
    plan = tmp_path / "a.layout.json"
    plan.write_text(json.dumps(whole(boards={"yard": {"plan": "nul\x00.layout.json"}})), "utf-8")
    assert "board-not-found" in rules(plan)


# --- given files only


def test_a_text_alone_touches_no_file(monkeypatch: pytest.MonkeyPatch) -> None:
    """Test that a check of a text touches no file once its modules are imported."""
    text = json.dumps(whole())
    check(text)

    def refuse(*words: object, **_: object) -> object:
        raise AssertionError(words)

    for module, name in (
        (builtins, "open"),
        (io, "open"),
        (os, "stat"),
        (os, "lstat"),
        (os, "listdir"),
        (os, "scandir"),
        (os, "getcwd"),
        (os.path, "exists"),
        (os.path, "realpath"),
        (subprocess, "Popen"),
    ):
        monkeypatch.setattr(module, name, refuse)
    report = check(text, name="boards/spring.layout.json")
    assert [finding.rule for finding in report.findings] == ["boards-not-read"]
    assert report.holds is None
    assert (
        check(text, files=FilesAtHand({n: json.dumps(p) for n, p in FILES.items()})).holds is True
    )


def test_files_that_an_editor_has_not_saved(tmp_path: Path) -> None:
    """Test a source of files that reads the disk, except for one file open in an editor."""
    (tmp_path / ".git").mkdir()
    meet = lay_out(tmp_path)

    class Open:
        def __init__(self) -> None:
            self.disk = FilesOnDisk(str(meet.parent))

        def read(self, path: str) -> bytes:
            assert path.startswith("../boards/")
            if path.endswith("yard.layout.json"):
                return b"{ half typed"
            return self.disk.read(path)

    assert check(meet).holds is True
    report = check(meet.read_text("utf-8"), name=str(meet), files=Open())
    (finding,) = report.findings
    assert finding.rule == "board-not-a-plan"
    assert "yard.layout.json cannot be read as a plan: line 1, column 3" in finding.message
    assert check(meet, files=Open()).holds is None


def test_each_file_is_read_once(tmp_path: Path) -> None:
    read: list[str] = []

    class Counting(FilesAtHand):
        def read(self, path: str) -> bytes:
            read.append(path)
            return super().read(path)

    plan = whole(boards={f"yard-{n}": {"plan": "yard.layout.json"} for n in range(5)})
    check(json.dumps(plan), files=Counting({n: json.dumps(p) for n, p in FILES.items()}))
    assert sorted(read) == sorted(FILES)


@pytest.mark.parametrize(
    ("folder", "path", "seen"),
    [
        ("", "a", "a"),
        ("meets", "../boards/a", "boards/a"),
        ("meets", "x/../../boards/./a", "boards/a"),
        ("a/b", "../../c", "c"),
        ("", "../a", None),
        ("meets", "../../a", None),
        ("meets", "..", "."),
        ("", "..", None),
        ("meets", "/etc/passwd", None),
    ],
)
def test_paths_stay_within(folder: str, path: str, seen: str | None) -> None:
    if seen is None:
        with pytest.raises(OutOfReach):
            within(folder, path)
    else:
        assert within(folder, path) == seen


# --- the files that a plan uses


def test_the_files_of_a_plan_are_listed_and_nothing_is_judged() -> None:
    inner = {**whole(), "joins": [{"a": "no:such", "b": "no:edge"}]}
    plan = whole(
        boards={
            "hall": {"plan": "inner.layout.json"},
            "gone": {"plan": "gone.layout.json"},
            "bad": {"plan": "bad.layout.json"},
            "out": {"plan": "../out.layout.json"},
            "again": {"plan": "./yard.layout.json"},
        }
    )
    files = {n: json.dumps(p) for n, p in (FILES | {"inner.layout.json": inner}).items()}
    found = board_files(json.dumps(plan), files=FilesAtHand({**files, "bad.layout.json": "{"}))
    assert found == (
        "station.layout.json",
        "inner.layout.json",
        "yard.layout.json",
        "gone.layout.json",
        "bad.layout.json",
    )


def test_the_files_of_a_plan_on_the_disk(tmp_path: Path) -> None:
    (tmp_path / ".git").mkdir()
    meet = lay_out(tmp_path)
    assert board_files(meet) == ("../boards/station.layout.json", "../boards/yard.layout.json")
    assert board_files(tmp_path / "boards" / "yard.layout.json") == ()


@pytest.mark.parametrize("text", ["{", '{"boards": 5}', '{"boards": {"a": {}}}', "[]", "{}"])
def test_what_is_no_plan_has_no_boards(text: str) -> None:
    assert board_files(text, files=FilesAtHand({})) == ()
