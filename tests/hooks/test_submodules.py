"""Boards in submodules are read at the pinned commit. Real git submodules."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from hooks.clubs import Bench
from hooks.meets import CLASH, board, meet
from hooks.pushing import Club
from hooks.test_committed import SUBMODULES_FROM_FOLDERS, Judged, judged, member
from hooks.test_plain_commit import Member
from hooks.test_pre_commit import hooked

pytestmark = pytest.mark.usefixtures("quick")

__all__ = ["judged", "member"]

MEET = "autumn.layout.json"
AUTUMN = meet(west="boards/west.layout.json", east="guests/inner/east.layout.json")
EAST = "guests/inner/east.layout.json"


@pytest.fixture
def guests(member: Member) -> Member:
    """The repository of guests, with a board; it is a submodule of ``member``."""
    found = Member(member.folder.parent / "guests")
    found.folder.mkdir(parents=True)
    found.env = member.env
    found.git("init", "--quiet", "-b", "main", "--template=")
    found.write(board(stand=False), "inner/east.layout.json")
    found.git("add", ".")
    found.git("commit", "--quiet", "-m", "A board")
    found.write(CLASH, "inner/east.layout.json")
    found.git("commit", "--quiet", "-a", "-m", "With a stand")
    member.git("submodule", "--quiet", "add", str(found.folder), "guests")
    member.git("-C", "guests", "checkout", "--quiet", "main~1")
    member.write(AUTUMN, MEET)
    member.git("add", ".")
    return found


@pytest.mark.usefixtures("guests")
def test_boards_are_read_at_the_pinned_commit(member: Member, judged: Judged) -> None:
    assert judged() == (True, "")
    member.git("commit", "--quiet", "-m", "Guests come")
    member.git("-C", "guests", "checkout", "--quiet", "main")
    member.write(AUTUMN.replace("{", '{"title": "Autumn",', 1), MEET)
    member.git("add", MEET)
    assert judged() == (True, "")  # the commit checked out there is not pinned
    member.git("add", "guests")
    assert judged("trappoint.toml")[1].count(f"{MEET} does not hold") == 2
    member.git("checkout", "--quiet", "HEAD", "--", MEET)
    taken, said = judged("trappoint.toml")  # only the submodule moves
    assert not taken
    assert said.count(f"{EAST}:6:12 Nothing stops a train in east/line") == 2
    member.git("config", "diff.ignoreSubmodules", "all")
    assert not judged("trappoint.toml")[0]


@pytest.mark.usefixtures("guests")
def test_a_missing_pinned_commit(member: Member, judged: Judged) -> None:
    pinned = member.git("rev-parse", ":guests")
    member.git("submodule", "--quiet", "deinit", "--force", "guests")
    taken, said = judged()
    assert not taken
    assert (
        said.count(
            f"{EAST} cannot be read: it is in a submodule, whose commit {pinned[:7]} is missing."
        )
        == 2
    )
    member.git("submodule", "--quiet", "update", "--init")
    assert judged() == (True, "")


def test_a_submodule_in_a_submodule(member: Member, guests: Member, judged: Judged) -> None:
    inner = Member(member.folder.parent / "inner")
    inner.folder.mkdir(parents=True)
    inner.env = member.env
    inner.git("init", "--quiet", "-b", "main", "--template=")
    inner.write(board(stand=False), "east.layout.json")
    inner.git("add", ".")
    inner.git("commit", "--quiet", "-m", "A board")
    guests.git("rm", "--quiet", "-r", "inner")
    guests.git("submodule", "--quiet", "add", str(inner.folder), "inner")
    guests.git("commit", "--quiet", "-m", "The board has a repository of its own")
    member.git("-C", "guests", "pull", "--quiet", "origin", "main")
    member.git("submodule", "--quiet", "update", "--init", "--recursive")
    member.git("add", "guests")
    member.git("-C", "guests", "checkout", "--quiet", "main~1")  # not the pinned commit
    member.git("-C", "guests", "checkout", "--quiet", "FETCH_HEAD")
    member.write(CLASH, EAST)
    assert judged() == (True, "")


def test_pre_commit_rejects_a_submodule_that_moves(
    member: Member, guests: Member, bench: Bench
) -> None:
    """For a submodule, pre-commit runs only the hook that always runs."""
    hooked(bench, member.folder, {"id": "trappoint-check"}, {"id": "trappoint-deleted-boards"})
    member.git("add", ".")
    env = {**bench.env, **SUBMODULES_FROM_FOLDERS}
    own = Bench(bench.hook, bench.rev, env, bench.home)
    installed = own.run(sys.executable, "-m", "pre_commit", "install", cwd=member.folder)
    assert installed.returncode == 0, installed.stdout
    done = own.run("git", "commit", "-m", "Guests come", cwd=member.folder)
    assert done.returncode == 0, done.stdout
    member.git("-C", "guests", "checkout", "--quiet", "main")
    member.git("add", "guests")
    done = own.run("git", "commit", "-m", "A bump", cwd=member.folder)
    assert done.returncode == 1
    assert "check the signalling of layout plans" in done.stdout
    assert "no files to check" in done.stdout
    assert f"{MEET} does not hold" in " ".join(done.stdout.split())
    member.git("add", ".")
    assert guests.git("rev-parse", "main") == member.git("rev-parse", ":guests")


def test_a_server_needs_the_objects_of_the_submodule(
    member: Member, guests: Member, tmp_path: Path
) -> None:
    """A bare repository has no submodules, but can borrow their objects."""
    (tmp_path / "push").mkdir()
    club = Club(tmp_path / "push")
    member.git("commit", "--quiet", "--no-verify", "-m", "Guests come")
    words = ("push", "--quiet", str(club.server), "HEAD:main")
    code, said = member.run("git", *words)
    assert code == 1
    assert "it is in a submodule, whose commit" in " ".join(said.replace("remote:", "").split())
    borrowed = club.server / "objects" / "info" / "alternates"
    borrowed.write_text(f"{guests.folder / '.git' / 'objects'}\n", "utf-8")
    assert member.run("git", *words) == (0, "")
    member.git("-C", "guests", "checkout", "--quiet", "main")
    member.git("commit", "--quiet", "-a", "-m", "A bump")
    code, said = member.run("git", *words)
    assert code == 1
    assert f"{MEET} does not hold" in " ".join(said.replace("remote:", "").split())
