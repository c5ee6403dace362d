"""Merge with git itself, set up with the commands of hooks/README.md."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest

from commands.running import GOOD
from hooks.clubs import Bench
from hooks.page import block, blocks
from merge.test_merge_command import LONGER, OUT_OF_USE
from merge.versions import finish
from tidy.clubs import bare_bench

NAME = "kelpie quay.layout.json"
"""A name with a space: git passes it to a shell."""

IN_EACH_CLONE, UNDO = blocks("Merge plans", "sh")
"""The commands of the page."""


@pytest.fixture
def git(tmp_path: Path) -> Bench:
    """Git, and the commands of this checkout on the search path."""
    settings = tmp_path / "settings"
    (settings / "bin").mkdir(parents=True)
    command = settings / "bin" / "trappoint-merge"
    command.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m trappoint_hooks.merge "$@"\n')
    command.chmod(0o755)
    bench = bare_bench(settings)
    env = bench.env | {"PATH": f"{settings / 'bin'}:{bench.env['PATH']}"}
    return Bench(bench.hook, "", env, bench.home)


@pytest.fixture
def club(git: Bench, tmp_path: Path) -> Path:
    """A club's repository with a plan, and the driver, installed by the commands of the page."""
    club = tmp_path / "club"
    club.mkdir()
    git.git("init", "--quiet", cwd=club)
    (club / NAME).write_text(GOOD, "utf-8")
    git.git("add", "--all", cwd=club)
    git.git("commit", "--quiet", "-m", "A plan", cwd=club)
    done = git.run("bash", "-e", "-c", IN_EACH_CLONE, cwd=club)
    assert done.returncode == 0, done.stdout
    return club


def branch(git: Bench, club: Path, ours: str, theirs: str) -> None:
    """Commit one version on the branch ``theirs``, the other on ``main``, and stay there."""
    git.git("checkout", "--quiet", "-b", "theirs", cwd=club)
    (club / NAME).write_text(theirs, "utf-8")
    git.git("commit", "--quiet", "-a", "-m", "One end", cwd=club)
    git.git("checkout", "--quiet", "main", cwd=club)
    (club / NAME).write_text(ours, "utf-8")
    git.git("commit", "--quiet", "-a", "-m", "The other end", cwd=club)


def moved(text: str) -> str:
    """Give signal 2 a side; signal 3 is in the next line."""
    before = '"for": "down", "arms": [{"id": "2"}]'
    assert before in text
    return text.replace(before, before.replace(", ", ', "side": "left", ', 1))


def renamed(text: str) -> str:
    """Name signal 3."""
    before = '"for": "up", "arms": [{"id": "3"}]'
    assert before in text
    return text.replace(before, before.replace(", ", ', "name": "Up home", ', 1))


def test_two_ends_of_a_station(git: Bench, club: Path) -> None:
    """The changes are in neighbouring lines: git alone would see a conflict."""
    branch(git, club, moved(GOOD), renamed(GOOD))
    for name, text in (("base", GOOD), ("ours", moved(GOOD)), ("theirs", renamed(GOOD))):
        (git.home / name).write_text(text, "utf-8")
    alone = git.run("git", "merge-file", "-p", "ours", "base", "theirs", cwd=git.home)
    assert alone.returncode == 1, alone.stdout
    done = git.run("git", "merge", "--no-edit", "theirs", cwd=club)
    assert done.returncode == 0, done.stdout
    merged = json.loads((club / NAME).read_text("utf-8"))
    assert merged == json.loads(moved(renamed(GOOD)))
    assert git.git("status", "--porcelain", cwd=club) == ""


def test_a_conflict_that_a_person_finishes(git: Bench, club: Path) -> None:
    branch(git, club, GOOD.replace("1450", "1500"), renamed(GOOD.replace("1450", "1400")))
    done = git.run("git", "merge", "--no-edit", "theirs", cwd=club)
    assert done.returncode == 1
    sentence = block("Merge plans", "text").strip().replace("Main line (main)", "main")
    assert f"trappoint: {NAME}: {sentence}" in done.stdout
    assert "CONFLICT (content)" in done.stdout
    text = (club / NAME).read_text("utf-8")
    assert text.count("<<<<<<< ours\n") == 1
    (club / NAME).write_text(finish(text, "theirs"), "utf-8")
    git.git("commit", "--quiet", "-a", "--no-edit", cwd=club)
    assert json.loads((club / NAME).read_text("utf-8")) == json.loads(
        renamed(GOOD.replace("1450", "1400"))
    )
    assert len(git.git("rev-list", "--parents", "-1", "HEAD", cwd=club).split()) == 3


def test_a_merge_after_which_the_plan_no_longer_holds_stops(git: Bench, club: Path) -> None:
    branch(git, club, OUT_OF_USE, LONGER)
    before = git.git("rev-parse", "HEAD", cwd=club)
    done = git.run("git", "merge", "--no-edit", "theirs", cwd=club)
    assert done.returncode == 1
    assert "error unheld-exit" in done.stdout
    assert "the merge fails" in done.stdout
    assert git.git("rev-parse", "HEAD", cwd=club) == before
    assert git.git("status", "--porcelain", cwd=club).startswith("UU ")
    # The merged plan is in the file, so a person can mend it.
    merged = json.loads((club / NAME).read_text("utf-8"))
    merged["signals"]["6"] = json.loads(GOOD)["signals"]["6"]
    (club / NAME).write_text(json.dumps(merged), "utf-8")
    git.git("commit", "--quiet", "-a", "--no-edit", cwd=club)


def test_a_rebase_and_both_add_a_plan(git: Bench, club: Path) -> None:
    branch(git, club, moved(GOOD), renamed(GOOD))
    git.git("rebase", "--quiet", "theirs", cwd=club)
    assert json.loads((club / NAME).read_text("utf-8")) == json.loads(moved(renamed(GOOD)))
    git.git("checkout", "--quiet", "-b", "added", cwd=club)
    for name, text in (("added", GOOD), ("main", GOOD.replace("1450", "1500"))):
        git.git("checkout", "--quiet", name, cwd=club)
        (club / "new.layout.json").write_text(text, "utf-8")
        git.git("add", "--all", cwd=club)
        git.git("commit", "--quiet", "-m", "Another plan", cwd=club)
    done = git.run("git", "merge", "--no-edit", "added", cwd=club)
    assert done.returncode == 1
    assert "new.layout.json: conflict: track main: both add it" in done.stdout


def test_the_set_up_can_be_undone(git: Bench, club: Path) -> None:
    done = git.run("bash", "-e", "-c", UNDO, cwd=club)
    assert done.returncode == 0, done.stdout
    assert git.run("git", "config", "--get-regexp", "^merge\\.", cwd=club).stdout == ""
    assert "unspecified" in git.git("check-attr", "merge", NAME, cwd=club)


def test_cherry_pick_pull_and_stash(git: Bench, club: Path, tmp_path: Path) -> None:
    wanted = json.loads(moved(renamed(GOOD)))
    branch(git, club, moved(GOOD), renamed(GOOD))
    git.git("clone", "--quiet", "--branch", "theirs", str(club), str(tmp_path / "mine"), cwd=club)
    git.git("checkout", "--quiet", "-b", "picked", cwd=club)
    git.git("cherry-pick", "theirs", cwd=club)
    assert json.loads((club / NAME).read_text("utf-8")) == wanted
    git.git("checkout", "--quiet", "main", cwd=club)
    (club / NAME).write_text(moved(GOOD).replace("Kelpie Quay", "Old Quay"), "utf-8")
    git.git("stash", cwd=club)
    git.git("merge", "--quiet", "--no-edit", "theirs", cwd=club)
    git.git("stash", "pop", cwd=club)
    title = {"title": "Old Quay"}
    assert json.loads((club / NAME).read_text("utf-8")) == wanted | title
    mine = tmp_path / "mine"
    done = git.run("bash", "-e", "-c", IN_EACH_CLONE, cwd=mine)
    assert done.returncode == 0, done.stdout
    git.git("pull", "--quiet", "--no-rebase", "--no-edit", "origin", "picked", cwd=mine)
    assert json.loads((mine / NAME).read_text("utf-8")) == wanted


def test_a_plan_that_is_moved_on_one_side(git: Bench, club: Path) -> None:
    branch(git, club, moved(GOOD), renamed(GOOD))
    (club / "quays").mkdir()
    git.git("mv", NAME, "quays/kelpie.LAYOUT.JSON", cwd=club)
    git.git("commit", "--quiet", "-m", "A folder for quays", cwd=club)
    git.git("merge", "--no-edit", "theirs", cwd=club)
    merged = json.loads((club / "quays" / "kelpie.LAYOUT.JSON").read_text("utf-8"))
    assert merged == json.loads(moved(renamed(GOOD)))


def test_marks_that_were_committed(git: Bench, club: Path) -> None:
    """The marks of the merge are longer than those in the plan."""
    marked = GOOD.replace("{", "{\n<<<<<<< ours\n=======\n>>>>>>> theirs\n", 1)
    branch(git, club, marked, renamed(GOOD))
    done = git.run("git", "merge", "--no-edit", "theirs", cwd=club)
    assert done.returncode == 1
    assert "ours cannot be read (line 2, column 1: A conflict between two versions" in done.stdout
    assert (club / NAME).read_text("utf-8") == (
        f"<<<<<<<< ours\n{marked}========\n{renamed(GOOD)}>>>>>>>> theirs\n"
    )


def test_what_git_does_not_ask_the_driver_for(git: Bench, club: Path) -> None:
    """The page lists them: options of the strategy, and links."""
    branch(git, club, GOOD.replace("1450", "1500"), GOOD.replace("1450", "1400"))
    done = git.run("git", "merge", "-X", "ours", "--no-edit", "theirs", cwd=club)
    assert done.returncode == 1
    text = (club / NAME).read_text("utf-8")
    assert [finish(text, side) for side in ("ours", "theirs")] == [
        GOOD.replace("1450", length) for length in ("1500", "1400")
    ]
    git.git("merge", "--abort", cwd=club)
    done = git.run("git", "merge", "-s", "resolve", "--no-edit", "theirs", cwd=club)
    assert done.returncode == 1
    assert "trappoint" not in done.stdout
    git.git("reset", "--quiet", "--hard", cwd=club)
    for name, target in (("theirs", "b.layout.json"), ("main", NAME)):
        git.git("checkout", "--quiet", name, cwd=club)
        (club / "link.layout.json").symlink_to(target)
        git.git("add", "--all", cwd=club)
        git.git("commit", "--quiet", "-m", "A link", cwd=club)
    done = git.run("git", "merge", "--no-edit", "theirs", cwd=club)
    assert "Merge conflict in link.layout.json" in done.stdout
    assert "link.layout.json: conflict" not in done.stdout
    assert (club / "link.layout.json").readlink() == Path(NAME)


def test_an_octopus_merges_lines(git: Bench, club: Path) -> None:
    branch(git, club, moved(GOOD), GOOD.replace("Kelpie Quay", "Old Quay"))
    git.git("branch", "third", "main~1", cwd=club)
    git.git("checkout", "--quiet", "third", cwd=club)
    (club / NAME).write_text(renamed(GOOD), "utf-8")
    git.git("commit", "--quiet", "-a", "-m", "A third end", cwd=club)
    git.git("checkout", "--quiet", "main", cwd=club)
    done = git.run("git", "merge", "--no-edit", "theirs", "third", cwd=club)
    assert done.returncode != 0
    assert "trappoint" not in done.stdout


def test_a_submodule(git: Bench, club: Path, tmp_path: Path) -> None:
    """The driver merges plans beside the submodule and in it."""
    whole = tmp_path / "whole"
    whole.mkdir()
    git.git("init", "--quiet", cwd=whole)
    allowed = ("-c", "protocol.file.allow=always")
    git.git(*allowed, "submodule", "--quiet", "add", str(club), "boards", cwd=whole)
    (whole / NAME).write_text(GOOD, "utf-8")
    git.git("add", "--all", cwd=whole)
    git.git("commit", "--quiet", "-m", "A whole", cwd=whole)
    for place in (whole, whole / "boards"):
        done = git.run("bash", "-e", "-c", IN_EACH_CLONE, cwd=place)
        assert done.returncode == 0, done.stdout
        branch(git, place, moved(GOOD), renamed(GOOD))
        git.git("merge", "--no-edit", "theirs", cwd=place)
        merged = json.loads((place / NAME).read_text("utf-8"))
        assert merged == json.loads(moved(renamed(GOOD)))
