"""The folder of a site: what is refused, what is removed, what is never touched."""

from __future__ import annotations

import json
import os
from typing import TYPE_CHECKING

import pytest

from commands.running import flat
from hooks.page import SORREL_HALT
from sites.conftest import files_of, run_here, write_site

if TYPE_CHECKING:
    from pathlib import Path

    from compare.repositories import Club

MARKER = "trappoint-site.json"


def refused(club: Club, *words: str) -> str:
    """Run the command, which must be a usage error; return the message in one line."""
    done = run_here(club, *words)
    assert (done.returncode, done.stdout) == (2, ""), done.stderr
    assert "Traceback" not in done.stderr
    return flat(done.stderr)


def test_stale_files_are_removed_and_nothing_else(small: Club, tmp_path: Path) -> None:
    out = tmp_path / "out"
    small.write(SORREL_HALT, "attic/old.layout.json")
    assert write_site(small, out).returncode == 0
    (out / "CNAME").write_text("example.org", "ascii")
    (out / "halt/photo.txt").write_text("mine", "ascii")
    (out / "attic/old/mine.txt").write_text("mine", "ascii")
    (small.folder / "attic/old.layout.json").unlink()
    (small.folder / "halt.layout.json").rename(small.folder / "wayside.layout.json")
    done = write_site(small, out)
    assert done.returncode == 0
    assert done.stderr == f"trappoint: 1 plan written to {out}; 14 stale files removed.\n"
    left = files_of(out)
    assert {"CNAME", "halt/photo.txt", "attic/old/mine.txt"} <= left.keys()
    ours = {name for name in left if name.startswith("wayside/")}
    assert left.keys() - ours == {
        "CNAME", "halt/photo.txt", "attic/old/mine.txt", "index.html", "mark.svg", MARKER
    }  # fmt: skip
    assert "attic" not in (out / "index.html").read_text("ascii")


def test_a_second_run_changes_nothing(small: Club, tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert write_site(small, out).returncode == 0
    before = {path: path.stat().st_mtime_ns for path in out.glob("halt/*")}
    content = files_of(out)
    assert write_site(small, out).returncode == 0
    assert files_of(out) == content
    assert {path: path.stat().st_mtime_ns for path in out.glob("halt/*")} == before


def test_empty_folders_go_with_their_files(small: Club, tmp_path: Path) -> None:
    out = tmp_path / "out"
    small.write(SORREL_HALT, "attic/old.layout.json")
    assert write_site(small, out).returncode == 0
    (small.folder / "attic/old.layout.json").unlink()
    assert write_site(small, out).returncode == 0
    assert not (out / "attic").exists()


def test_a_folder_with_other_files_is_refused(small: Club, tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    (out / "mine.txt").write_text("mine", "ascii")
    assert "is not empty and holds no site" in refused(small, ".", "-o", str(out))
    assert files_of(out) == {"mine.txt": b"mine"}


def test_the_folder_of_the_plans_is_refused(small: Club) -> None:
    before = files_of(small.folder)
    for out in (".", "../layouts", ".."):
        assert "the folder of the plans itself" in refused(small, ".", "-o", out)
    assert files_of(small.folder) == before


def test_a_site_in_the_folder_of_the_plans_is_not_read(small: Club) -> None:
    assert write_site(small, small.folder / "public").returncode == 0
    (small.folder / "public/mine").mkdir()
    (small.folder / "public/mine/x.layout.json").write_text(SORREL_HALT, "utf-8")
    done = write_site(small, small.folder / "public")
    assert done.returncode == 0
    assert "trappoint: 1 plan written to" in done.stderr


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[]",
        "{}",
        '{"format": "trappoint-site/1"}',
        '{"format": "trappoint-site/1", "files": ["../halt.layout.json"]}',
        '{"format": "trappoint-site/1", "files": ["/etc/passwd"]}',
        '{"format": "trappoint-site/1", "files": ["a//b"]}',
        '{"format": "trappoint-site/1", "files": [1]}',
        '{"format": "trappoint-site/2", "files": []}',
    ],
)
def test_a_marker_that_was_changed_is_refused(small: Club, tmp_path: Path, text: str) -> None:
    out = tmp_path / "out"
    out.mkdir()
    (out / MARKER).write_text(text, "ascii")
    assert "is not as this program writes it" in refused(small, ".", "-o", str(out))
    assert files_of(out) == {MARKER: text.encode()}


def test_links_are_not_followed(small: Club, tmp_path: Path) -> None:
    """Test a link in the way of a page, and one in the way of a file to remove."""
    out, outside = tmp_path / "out", tmp_path / "outside"
    outside.mkdir()
    (outside / "index.html").write_text("mine", "ascii")
    out.mkdir()
    marker = {"format": "trappoint-site/1", "files": ["halt/index.html", "gone/index.html"]}
    (out / MARKER).write_text(json.dumps(marker), "ascii")
    (out / "halt").symlink_to(outside)
    assert "is in the way" in refused(small, ".", "-o", str(out))
    (out / "halt").unlink()
    (out / "gone").symlink_to(outside)
    assert write_site(small, out).returncode == 0
    assert files_of(outside) == {"index.html": b"mine"}


def test_a_strange_file_in_the_way_is_refused(small: Club, tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert write_site(small, out).returncode == 0
    small.write(SORREL_HALT, "new.layout.json")
    (out / "new").mkdir()
    (out / "new/index.html").write_text("mine", "ascii")
    before = files_of(out)
    assert "is in the way" in refused(small, ".", "-o", str(out))
    assert files_of(out) == before


def test_words_that_cannot_be_used(small: Club, tmp_path: Path) -> None:
    assert "is not a folder" in refused(small, "halt.layout.json", "-o", "out")
    assert "is not a folder" in refused(small, "nowhere", "-o", "out")
    assert "cannot be used as a folder" in refused(small, ".", "-o", "halt.layout.json")
    (small.folder / "none").mkdir()
    assert "There is no *.layout.json" in refused(small, "none", "-o", "out")
    assert "-o/--output-folder" in refused(small, ".")
    assert not (small.folder / "out").exists()


def test_settings_with_a_mistake_leave_the_site_as_it_is(small: Club, tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert write_site(small, out).returncode == 0
    before = files_of(out)
    (small.folder / "trappoint.toml").write_text("[level]\n", "ascii")
    assert "trappoint.toml" in refused(small, ".", "-o", str(out))
    assert files_of(out) == before


def test_the_settings_of_the_club_count(small: Club, tmp_path: Path) -> None:
    small.write(SORREL_HALT, "attic/old.layout.json")
    settings = 'exclude = ["attic/**"]\n[levels]\nsiding-without-trap = "warning"\n'
    (small.folder / "trappoint.toml").write_text(settings, "ascii")
    assert write_site(small, tmp_path / "out").returncode == 0
    assert not (tmp_path / "out/attic").exists()
    assert "siding-without-trap" in (tmp_path / "out/halt/index.html").read_text("ascii")


def test_a_file_that_cannot_be_read_has_its_page(small: Club, tmp_path: Path) -> None:
    (small.folder / "lost.layout.json").symlink_to("nowhere.layout.json")
    out = tmp_path / "out"
    assert write_site(small, out).returncode == 0
    page = (out / "lost/index.html").read_text("ascii")
    assert "This plan cannot be judged. There is no file lost.layout.json." in page
    assert "cannot be judged" in (out / "lost/badge.svg").read_text("ascii")


def test_a_fault_of_the_program_has_its_page(
    small: Club, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise ValueError("out of steam")

    monkeypatch.setattr("trappoint.app.site_building.check", fail)
    done = write_site(small, tmp_path / "out")
    assert done.returncode == 3
    told = "halt.layout.json: internal error (ValueError: out of steam)."
    assert told in done.stderr
    page = (tmp_path / "out/halt/index.html").read_text("ascii")
    assert "This plan cannot be judged: the program failed (ValueError: out of steam)." in page


def test_an_unwritable_disk_is_a_usage_error(small: Club) -> None:
    said = refused(small, ".", "-o", "/dev/null/out")
    assert "cannot be" in said
    assert os.path.exists("/dev/null")  # noqa: PTH110
