"""A check of a folder leaves out plans that git ignores. Uses real git."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import pytest

from commands.running import BAD, GOOD, environment, trappoint

pytestmark = pytest.mark.usefixtures("quick")


def git(folder: Path, *words: str) -> None:
    done = subprocess.run(
        ["git", "-c", "user.name=S", "-c", "user.email=s@example.org", *words],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr


def put(folder: Path, *names: str, text: str = GOOD) -> None:
    for name in names:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, "utf-8")


def checked(folder: Path, *words: str, **more: str) -> list[str]:
    """Return the names of the checked plans."""
    done = trappoint("check", "--format", "json", *words, cwd=folder, env=environment(**more))
    assert done.returncode in (0, 1), done.stderr
    return [file["file"] for file in json.loads(done.stdout)["files"]]


@pytest.fixture
def club(tmp_path: Path) -> Path:
    git(tmp_path, "init", "--quiet")
    return tmp_path


def test_what_git_ignores_is_left_out(club: Path) -> None:
    put(club, "kept.layout.json", "new.layout.json", "drafts/a.layout.json", "x/old.layout.json")
    put(club, "x/drafts/b.layout.json", "caf\u00e9 1.layout.json", ".hidden/c.layout.json")
    (club / ".gitignore").write_text("/drafts/\nold.*\n", "utf-8")
    git(club, "add", "kept.layout.json")
    expected = ["caf\u00e9 1.layout.json", "kept.layout.json", "new.layout.json"]
    assert checked(club, ".") == [*expected, "x/drafts/b.layout.json"]
    assert checked(club, "x") == ["x/drafts/b.layout.json"]
    assert checked(club / "x", "..") == [f"../{name}" for name in expected] + [
        "../x/drafts/b.layout.json"
    ]


def test_a_plan_that_is_kept_is_checked_though_a_rule_ignores_it(club: Path) -> None:
    put(club, "a.layout.json")
    git(club, "add", "a.layout.json")
    (club / ".gitignore").write_text("*.layout.json\n", "utf-8")
    put(club, "b.layout.json")
    assert checked(club, ".") == ["a.layout.json"]


def test_the_ignore_rules_of_this_clone_count_too(club: Path) -> None:
    put(club, "a.layout.json", "mine.layout.json")
    (club / ".git" / "info" / "exclude").write_text("mine.*\n", "utf-8")
    assert checked(club, ".") == ["a.layout.json"]


def test_what_is_named_is_checked_though_it_is_ignored(club: Path) -> None:
    put(club, "drafts/a.layout.json", "b.layout.json")
    (club / ".gitignore").write_text("drafts\n", "utf-8")
    assert checked(club, "drafts") == ["drafts/a.layout.json"]
    assert checked(club, "drafts/a.layout.json") == ["drafts/a.layout.json"]


def test_a_plan_that_was_deleted_is_not_asked_for(club: Path) -> None:
    put(club, "a.layout.json", "b.layout.json")
    git(club, "add", ".")
    (club / "a.layout.json").unlink()
    assert checked(club, ".") == ["b.layout.json"]


def test_repositories_within_are_searched_by_their_own_rules(club: Path) -> None:
    put(club, "a.layout.json", "within/b.layout.json", "within/old/c.layout.json")
    (club / "within" / ".gitignore").write_text("old\n", "utf-8")
    git(club / "within", "init", "--quiet")
    assert checked(club, ".") == ["a.layout.json", "within/b.layout.json"]
    git(club / "within", "add", ".")
    git(club / "within", "commit", "--quiet", "-m", "Within")
    git(club, "-c", "advice.addEmbeddedRepo=false", "add", "within")
    assert checked(club, ".") == ["a.layout.json", "within/b.layout.json"]


def test_a_hook_of_another_repository_does_not_confuse_it(club: Path, tmp_path: Path) -> None:
    put(club, "a.layout.json", "old.layout.json")
    (club / ".gitignore").write_text("old.*\n", "utf-8")
    other = tmp_path / "nowhere.git"
    assert checked(club, ".", GIT_DIR=str(other), GIT_INDEX_FILE="x") == ["a.layout.json"]


def test_without_git_every_plan_is_checked(club: Path, tmp_path: Path) -> None:
    put(club, "a.layout.json", "old.layout.json")
    (club / ".gitignore").write_text("old.*\n", "utf-8")
    empty = tmp_path / "bin"
    empty.mkdir()
    assert checked(club, ".", PATH=str(empty)) == ["a.layout.json", "old.layout.json"]


def test_where_all_is_ignored_there_is_no_plan(club: Path) -> None:
    put(club, "a.layout.json")
    (club / ".gitignore").write_text("a.*\n", "utf-8")
    done = trappoint("check", ".", cwd=club)
    assert done.returncode == 2
    assert done.stderr == "trappoint: There is no *.layout.json in the folder ..\n"


def test_links_to_folders_are_not_followed(club: Path) -> None:
    put(club, "a.layout.json")
    (club / "round").symlink_to(".")
    git(club, "add", ".")
    assert checked(club, ".") == ["a.layout.json"]


def test_some_at_a_time(club: Path) -> None:
    put(club, *(f"{n}.layout.json" for n in range(5)))
    put(club, "old.layout.json", text=BAD)
    (club / ".gitignore").write_text("old.*\n", "utf-8")
    assert trappoint("check", "--jobs", "2", ".", cwd=club).returncode == 0
