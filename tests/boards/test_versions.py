"""Comparing and merging plans: each version is read with its own boards. Uses real git."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import pytest

from compare.repositories import Club, found_club
from hooks.meets import CLASH, EAST, GOOD, MEET, WEST, board

pytestmark = pytest.mark.usefixtures("quick")

HOLDS, FAILS = "it holds", "it does not hold"


@pytest.fixture
def club(tmp_path: Path) -> Club:
    """Return a repository: a meet that holds, then a commit that breaks its second board."""
    found = found_club(tmp_path)
    for name, text in GOOD.items():
        found.write(text, name)
    found.commit("Good")
    found.write(CLASH, EAST)
    found.commit("A board that breaks the meet")
    return found


def compared(club: Club, *words: str, cwd: Path | None = None) -> dict[str, object]:
    done = club.trappoint("compare", "--format", "json", *words, cwd=cwd)
    assert done.returncode == 0, done.stderr
    found: dict[str, object] = json.loads(done.stdout)
    return found


def holds(found: dict[str, object]) -> list[object]:
    return [found[side]["holds"] for side in ("old", "new")]  # type: ignore[index]


def things(found: dict[str, Any]) -> list[dict[str, Any]]:
    kept: list[dict[str, Any]] = found["things"]
    return kept


def test_each_revision_has_its_own_boards(club: Club) -> None:
    """Test two revisions in which the meet is the same and only a board differs."""
    found = compared(club, f"HEAD~1:{MEET}", f"HEAD:{MEET}")
    assert holds(found) == [True, False]
    assert holds(compared(club, f"HEAD:{MEET}", f"HEAD~1:{MEET}")) == [False, True]
    assert holds(compared(club, f"HEAD~1:{MEET}", MEET)) == [True, False]
    below = club.folder / "meets"
    assert holds(compared(club, "HEAD~1:./spring.layout.json", "HEAD:./spring.layout.json",
                          cwd=below)) == [True, False]  # fmt: skip


def test_what_is_staged_has_the_boards_that_are_staged(club: Club) -> None:
    club.write(GOOD[EAST], EAST)
    assert holds(compared(club, f":{MEET}", MEET)) == [False, True]
    club.git("add", "--all")
    club.write(CLASH, EAST)
    assert holds(compared(club, f":{MEET}", MEET)) == [True, False]


def test_what_has_changed_on_a_board_is_told_by_the_name_of_the_whole(club: Club) -> None:
    done = club.trappoint("compare", f"HEAD~1:{MEET}", f"HEAD:{MEET}")
    said = " ".join(done.stdout.split())
    assert "Before it held. Now it does not hold" in said
    assert "track east/line: trains may stand: now yes, before no" in said
    place = f"error unheld-exit, {EAST}, line 6"
    assert f"{place}: Nothing stops a train in east/line, running up," in said


def test_a_board_that_gets_another_name_is_told_of_and_not_all_that_stands_on_it(
    club: Club,
) -> None:
    other = GOOD[MEET].replace('"east":', '"far":').replace("east:", "far:")
    club.write(other, "meets/other.layout.json")
    found = compared(club, MEET, "meets/other.layout.json")
    told = {(each["kind"], each["old"], each["new"]) for each in things(found)}
    assert told == {("boards", "east", "far")}


def test_nothing_has_changed_where_neither_plan_nor_boards_have(club: Club) -> None:
    same, other = (compared(club, f"{rev}:{MEET}", f"HEAD:{MEET}") for rev in ("HEAD", "HEAD~1"))
    assert (same["differ"], same["written_differently"]) == (False, False)
    assert other["differ"] is True


def test_the_diff_driver_finds_the_boards_of_each_version(club: Club) -> None:
    done = club.driver("--install")
    assert done.returncode == 0, done.stderr
    titled = GOOD[MEET].replace("{", '{"title": "Spring",', 1)
    club.write(titled, MEET)
    club.commit("A title")
    club.write(GOOD[EAST], EAST)
    club.commit("Mended")
    club.write(titled.replace("Spring", "Summer"), MEET)
    club.commit("Another title")
    said = " ".join(club.git("diff", "HEAD~3", "HEAD", "--", MEET).split())
    assert "Before it did not hold" in said
    assert "Now it holds" in said
    said = " ".join(club.git("diff", "HEAD~1", "HEAD", "--", MEET).split())
    assert "Still holds: no two trains" in said
    club.write(titled.replace("Spring", "Winter"), MEET)
    club.write(CLASH, EAST)
    said = " ".join(club.git("diff", "--", MEET).split())
    assert "Before it held. Now it does not hold" in said


# --- merging


def merging(club: Club) -> None:
    done = club.run(sys.executable, "-m", "trappoint_hooks.merge", "--install")
    assert done.returncode == 0, done.stderr


def two_branches(club: Club, here: dict[str, str], there: dict[str, str]) -> None:
    """Commit changes on two branches from the first commit and check out the branch `here`."""
    merging(club)
    club.git("checkout", "--quiet", "-b", "there", "HEAD~1")
    club.git("branch", "here")
    for name, text in there.items():
        club.write(text, name)
    club.commit("There")
    club.git("checkout", "--quiet", "here")
    for name, text in here.items():
        club.write(text, name)
    club.commit("Here")


def with_title(text: str, title: str) -> str:
    return text.replace("{", f'{{"title": "{title}",', 1)


def with_note(text: str) -> str:
    return text.replace('"joins"', '"note": "Doors open at ten.", "joins"', 1)


NOBODY = {WEST: board(stand=False), EAST: board(stand=False)}


def test_a_merge_is_judged_with_the_boards_of_both_sides(club: Club) -> None:
    """Test a merge of two stands on different boards: each side holds, both together do not."""
    for name, text in NOBODY.items():
        club.write(text, name)
    club.commit("Nobody waits")
    club.write("1", "notes")
    club.commit("Notes")
    here = {WEST: board(stand=True), MEET: with_title(GOOD[MEET], "Spring")}
    there = {EAST: board(stand=True), MEET: with_note(GOOD[MEET])}
    two_branches(club, here, there)
    done = club.run("git", "merge", "--quiet", "-m", "Both", "there")
    said = " ".join((done.stdout + done.stderr).split())
    assert done.returncode != 0
    assert "error unheld-exit" in said
    assert "Nothing stops a train in west/line" in said
    assert "the merge fails" in said


def test_a_merge_that_brings_its_own_board_is_no_worse(club: Club) -> None:
    """Test a board from the other side, which is not in the work tree while git merges."""
    club.write("1", "notes")
    club.commit("Notes")
    far = GOOD[MEET].replace(EAST, "boards/far.layout.json")
    here = {MEET: with_title(GOOD[MEET], "Spring")}
    there = {MEET: with_note(far), "boards/far.layout.json": board(stand=False)}
    two_branches(club, here, there)
    done = club.run("git", "merge", "--quiet", "-m", "Both", "there")
    assert done.returncode == 0, done.stdout + done.stderr
    found = club.trappoint("check", MEET)
    assert found.returncode == 0, found.stdout
