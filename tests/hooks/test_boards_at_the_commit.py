"""A changed board is checked with every plan that includes it. Real git."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from hooks.clubs import Bench
from hooks.meets import CLASH, EAST, GOOD, MEET, WEST, board
from hooks.pushing import hook
from hooks.test_plain_commit import Member
from hooks.test_pre_commit import found_club

pytestmark = pytest.mark.usefixtures("quick")


@pytest.fixture
def member(tmp_path: Path) -> Member:
    """A member's repository with the plain hook, two boards and an assembled plan that holds."""
    found = Member(tmp_path)
    found.folder.mkdir()
    found.git("init", "--quiet", "-b", "main", "--template=")
    for name, text in GOOD.items():
        found.write(text, name)
    found.git("add", ".")
    assert hook(found.folder, "commit", "--install").returncode == 0
    assert found.commit() == (True, "")
    return found


def test_a_board_that_holds_alone_but_not_in_the_meet(member: Member) -> None:
    member.write(CLASH, EAST)
    gone, said = member.commit("-a")
    assert not gone
    assert f"error unheld-exit {EAST}:6:12 Nothing stops a train in east/line" in said
    assert f"{MEET} does not hold" in said
    assert f"{EAST} does not hold" not in said


def test_boards_are_read_from_the_index(member: Member) -> None:
    member.write(CLASH, EAST)
    member.git("add", EAST)
    member.write(GOOD[EAST], EAST)  # mended in the folder, not staged
    assert not member.commit()[0]
    member.git("add", EAST)
    member.write(CLASH, EAST)
    member.write("1", "notes")
    member.git("add", "notes")
    assert member.commit() == (True, "")


def test_a_board_that_is_deleted_or_renamed(member: Member) -> None:
    member.git("mv", EAST, "boards/far-east.layout.json")
    gone, said = member.commit()
    assert not gone
    assert f"error board-not-found {MEET}:8:12 There is no file {EAST}." in said
    member.git("mv", "boards/far-east.layout.json", EAST)
    member.git("rm", "--quiet", EAST)
    gone, said = member.commit()
    assert not gone
    assert "error board-not-found" in said
    member.git("rm", "--quiet", MEET)
    assert member.commit() == (True, "")


def test_only_what_gets_worse(member: Member) -> None:
    assert hook(member.folder, "commit", "--install", "--only-worse").returncode == 0
    member.write(CLASH, EAST)
    assert not member.commit("-a")[0]
    member.git("commit", "--quiet", "--no-verify", "-a", "-m", "All the same")
    member.write(board(stand=True).replace("{", '{"title": "West",', 1), WEST)
    assert member.commit("-a") == (True, "")


def test_the_first_commit_of_all(tmp_path: Path) -> None:
    found = Member(tmp_path)
    found.folder.mkdir()
    found.git("init", "--quiet", "-b", "main", "--template=")
    for name, text in (GOOD | {EAST: CLASH}).items():
        found.write(text, name)
    found.git("add", ".")
    assert hook(found.folder, "commit", "--install").returncode == 0
    gone, said = found.commit()
    assert not gone
    assert f"{MEET} does not hold" in said


# --- with the pre-commit program


@pytest.fixture(scope="module")
def first(bench: Bench, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("club")
    found_club(bench, folder)
    code, said = commit(bench, folder, GOOD)
    assert code == 0, said
    return folder


@pytest.fixture
def club(first: Path, tmp_path: Path) -> Path:
    """A club's repository with pre-commit, two boards and an assembled plan that holds."""
    return shutil.copytree(first, tmp_path / "club", symlinks=True)


def commit(bench: Bench, club: Path, files: dict[str, str]) -> tuple[int, str]:
    for name, text in files.items():
        (club / name).parent.mkdir(parents=True, exist_ok=True)
        (club / name).write_text(text, "utf-8")
    bench.git("add", "--all", cwd=club)
    done = bench.run("git", "commit", "-m", "A change", cwd=club)
    return done.returncode, " ".join(done.stdout.split())


def test_pre_commit_names_the_board_alone_and_the_meet_is_found(bench: Bench, club: Path) -> None:
    code, said = commit(bench, club, {EAST: CLASH})
    assert code == 1
    assert f"error unheld-exit {EAST}:6:12 Nothing stops a train in east/line" in said
    assert f"{MEET} does not hold" in said
    assert f"{EAST} does not hold" not in said
    code, said = commit(bench, club, {EAST: GOOD[EAST].replace("{", '{"title": "East",', 1)})
    assert code == 0, said


def test_pre_commit_with_a_board_that_is_deleted(bench: Bench, club: Path) -> None:
    """If the commit has no other plan, only the hook that always runs finds it."""
    config = club / ".pre-commit-config.yaml"
    told = json.loads(config.read_text("utf-8"))
    told["repos"][0]["hooks"].append({"id": "trappoint-deleted-boards"})
    code, said = commit(bench, club, {config.name: json.dumps(told)})
    assert code == 0, said
    bench.git("rm", "--quiet", EAST, cwd=club)
    code, said = commit(bench, club, {})
    assert code == 1
    assert f"error board-not-found {MEET}:8:12 There is no file {EAST}." in said
    bench.git("rm", "--quiet", MEET, cwd=club)
    code, said = commit(bench, club, {})
    assert code == 0, said


def test_pre_commit_with_a_board_that_is_renamed(bench: Bench, club: Path) -> None:
    bench.git("mv", EAST, "boards/far-east.layout.json", cwd=club)
    code, said = commit(bench, club, {})
    assert code == 1
    assert f"error board-not-found {MEET}:8:12 There is no file {EAST}." in said
