"""A changed board is judged with every plan that includes it. Real pushes."""

from __future__ import annotations

from pathlib import Path

import pytest

from hooks.meets import CLASH, EAST, GOOD, MEET, WEST, board, meet, misspelt
from hooks.pushing import Club

pytestmark = pytest.mark.usefixtures("quick")


@pytest.fixture
def club(tmp_path: Path) -> Club:
    """A club with two boards and an assembled plan that holds."""
    found = Club(tmp_path)
    found.commit_files("Two boards, and how we meet", dict(GOOD))
    assert found.push("HEAD:main") == (True, "")
    return found


def test_a_board_that_holds_alone_but_not_in_the_meet(club: Club) -> None:
    before = club.at("main")
    commit = club.commit_files("Wait on the second board too", {EAST: CLASH})
    taken, said = club.push("HEAD:main")
    assert not taken
    assert f"rejected, for commit {commit[:7]} (Wait on the second board too)" in said
    line = 1 + next(n for n, text in enumerate(CLASH.splitlines()) if '"down"' in text)
    assert f"{EAST}:{line}:12 error unheld-exit Nothing stops a train in east/line" in said
    assert f"{WEST}:5:10 error unheld-exit Nothing stops a train in west/line" in said
    assert f"{MEET} does not hold" in said
    assert said.count("does not hold") == 1  # each board holds alone
    assert club.at("main") == before
    club.commit_files("Not there", {EAST: GOOD[EAST]})
    assert club.push("HEAD:main") == (True, "")


def test_a_change_of_a_board_that_harms_nobody(club: Club) -> None:
    club.commit_files("Named", {EAST: board(stand=False).replace("{", '{"title": "East",', 1)})
    assert club.push("HEAD:main") == (True, "")


def test_the_commit_that_brought_it_is_named(club: Club) -> None:
    first = club.commit_files("Wait there", {EAST: CLASH})
    club.commit_files("Something else", {"notes": "1"})
    club.commit_files("A title", {MEET: GOOD[MEET].replace("{", '{"title": "Spring",', 1)})
    taken, said = club.push("HEAD:main")
    assert not taken
    assert f"rejected, for commit {first[:7]} (Wait there)" in said


def test_a_board_that_is_deleted(club: Club) -> None:
    club.commit_files("The owner has left", {EAST: None})
    taken, said = club.push("HEAD:main")
    assert not taken
    assert f"{MEET}:8:12 error board-not-found There is no file {EAST}." in said
    club.commit_files("And the meet is off", {MEET: None})
    assert club.push("HEAD:main") == (True, "")


def test_each_commit_that_may_spoil_a_meet_is_judged(club: Club) -> None:
    club.set_up("--every-commit")
    club.commit_files("A note", {"notes": "1"})
    club.commit_files("A note in a folder", {"boards/notes": "1"})
    gone = club.commit_files("Lost", {EAST: None})
    club.commit_files("Found again", {EAST: GOOD[EAST]})
    (club.clone / "link").symlink_to("boards")
    club.commit_files("A link", {})
    taken, said = club.push("HEAD:main")
    assert not taken
    assert said.count(": rejected") == 1
    assert f"rejected, for commit {gone[:7]} (Lost)" in said
    club.git("reset", "--quiet", "--hard", "HEAD~3")
    assert club.push("HEAD:main") == (True, "")


def test_a_board_that_is_renamed(club: Club) -> None:
    club.git("mv", EAST, "boards/far-east.layout.json")
    club.commit_files("Another name", {})
    taken, said = club.push("HEAD:main")
    assert not taken
    assert f"There is no file {EAST}." in said
    other = meet(west=f"../{WEST}", east="../boards/far-east.layout.json")
    club.commit_files("In the meet too", {MEET: other})
    assert club.push("HEAD:main") == (True, "")


def test_an_edge_of_a_board_that_gets_another_name(club: Club) -> None:
    club.commit_files("Rebuilt", {EAST: board(stand=False, edge="gate")})
    taken, said = club.push("HEAD:main")
    assert not taken
    assert f"{MEET}:18:9 error join-without-edge east:door: no track end of the plan" in said


def test_boards_are_those_of_the_commit_and_not_of_the_folder(club: Club) -> None:
    """The server does not see a bad board that is in the clone and not committed."""
    club.commit_files("A note", {"notes": "1", WEST: GOOD[WEST] + "\n"})
    (club.clone / EAST).write_text(CLASH, "utf-8")
    assert club.push("HEAD:main") == (True, "")


def test_a_meet_that_was_bad_before_may_stay_so(club: Club) -> None:
    club.take_out()
    club.commit_files("As it always was", {EAST: CLASH})
    assert club.push("HEAD:main")[0]
    club.set_up()
    club.commit_files("No better", {WEST: GOOD[WEST].replace("{", '{"title": "West",', 1)})
    assert club.push("HEAD:main") == (True, "")
    club.commit_files("Mended", {EAST: GOOD[EAST]})
    assert club.push("HEAD:main") == (True, "")
    club.commit_files("And spoilt again", {EAST: CLASH})
    assert not club.push("HEAD:main")[0]


def test_strict_judges_every_assembled_plan_and_reports_nothing_twice(tmp_path: Path) -> None:
    found = Club(tmp_path, "--strict")
    other = MEET.replace("spring", "summer")
    bad = misspelt(GOOD[WEST])
    found.commit_files("All at once", {**GOOD, WEST: bad, other: GOOD[MEET]})
    taken, said = found.push("HEAD:main")
    assert not taken
    assert said.count("error unknown-reference") == 1
    assert f"{WEST}:13:5 error unknown-reference" in said


def test_a_path_that_leaves_the_repository(club: Club) -> None:
    other = meet(west=f"../{WEST}", east="../../boards/east.layout.json")
    club.commit_files("From elsewhere", {MEET: other})
    taken, said = club.push("HEAD:main")
    assert not taken
    assert "error board-out-of-reach" in said


def test_a_merge_of_a_board_here_and_a_meet_there(club: Club) -> None:
    """One branch lets trains stand on the second board, the other on the first."""
    club.commit_files("None waits", {WEST: board(stand=False)})
    assert club.push("HEAD:main") == (True, "")
    club.git("checkout", "--quiet", "-b", "here")
    club.commit_files("Wait in the west", {WEST: board(stand=True)})
    assert club.push("HEAD:here") == (True, "")
    club.git("checkout", "--quiet", "-b", "there", "HEAD~1")
    club.commit_files("Wait in the east", {EAST: CLASH})
    assert club.push("HEAD:there") == (True, "")
    club.git("merge", "--quiet", "-m", "Both", "here")
    taken, said = club.push("HEAD:there")
    assert not taken
    assert f"{MEET} does not hold" in said
