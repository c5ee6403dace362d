"""Bad plans are turned aside at the push: real pushes into a bare repository over a path."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest

from hooks.pushing import BAD, BROKEN, GOOD, PLAN, WORSE, Club, hook
from trappoint.checking.report import FileReport
from trappoint.core.findings import CAUTION_SHORT, Finding
from trappoint_hooks.judging import CheckedPlan, Judge
from trappoint_hooks.repository import Repository


@pytest.fixture(scope="module")
def first(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("club")
    club = Club(folder)
    club.commit("The quay", quay=GOOD, notes="1")
    assert club.push() == (True, "")
    return folder


@pytest.fixture
def club(first: Path, tmp_path: Path) -> Club:
    """A club with a good plan in main."""
    for name in ("server.git", "clone"):
        shutil.copytree(first / name, tmp_path / name, symlinks=True)
    return Club(tmp_path)


def test_a_good_plan_is_taken_and_a_bad_one_is_not(club: Club) -> None:
    before = club.at("main")
    bad = club.commit("Signal 6 moved to another layout", quay=BAD)
    taken, said = club.push()
    assert not taken
    line = 1 + next(n for n, text in enumerate(BAD.splitlines()) if '"siding":' in text)
    assert said.startswith(
        f"refs/heads/main: rejected, for commit {bad[:7]} (Signal 6 moved to another layout): "
        f"{PLAN}:{line}:22 error unheld-exit Nothing stops a train in siding, running up,"
    )
    assert "How they meet:" in said
    assert f"{PLAN} does not hold" in said
    assert said.count(CAUTION_SHORT) == 1
    assert said.endswith("Nothing of this push was taken.")
    assert club.at("main") == before
    # What was pushed is not even kept: it was read while git held it apart.
    assert club.run("git", "cat-file", "-e", bad, cwd=club.server).returncode != 0
    good = club.commit("Signal 6 is back", quay=GOOD)
    assert club.push() == (True, "")
    assert club.at("main") == good


@pytest.mark.parametrize("form", ["sha1", "sha256"])
def test_a_first_push_is_judged_whole(tmp_path: Path, form: str) -> None:
    club = Club(tmp_path, form=form)
    club.commit("The quay", quay=GOOD)
    bad = club.commit("A second plan", **{"b.layout.json": BAD})
    club.commit("Notes", notes="1")
    taken, said = club.push()
    assert not taken
    assert f"for commit {bad[:7]} (A second plan): b.layout.json:" in said
    assert club.at("main") == ""
    club.commit("Mended", **{"b.layout.json": GOOD})
    assert club.push() == (True, "")


def test_a_new_branch_is_judged_against_what_it_grew_from(club: Club) -> None:
    club.start_bad()
    club.git("checkout", "--quiet", "-b", "notes")
    club.commit("Notes", notes="2")
    assert club.push() == (True, "")
    club.git("checkout", "--quiet", "-b", "worse")
    club.commit("Signal 3 is gone too", quay=WORSE)
    taken, said = club.push()
    assert not taken
    assert "refs/heads/worse: rejected" in said
    assert "Nothing stops a train in main" in said
    assert "Nothing stops a train in siding" not in said
    club.git("checkout", "--quiet", "-b", "same", "main")
    assert club.push() == (True, "")


def test_what_was_bad_before_may_stay_so_or_get_better_but_not_worse(club: Club) -> None:
    club.start_bad(WORSE)
    club.commit("Only notes", notes="2")
    assert club.push() == (True, "")
    club.commit("Another title", quay="\n\n" + WORSE.replace("Kelpie", "Selkie"))
    assert club.push() == (True, "")
    club.commit("Half mended", quay=BAD)
    assert club.push() == (True, "")
    club.commit("Undone again", quay=WORSE)
    taken, said = club.push()
    assert not taken
    assert "Nothing stops a train in main" in said
    assert "Nothing stops a train in siding" not in said


def test_strict_rejects_what_was_bad_before(club: Club) -> None:
    club.start_bad()
    club.set_up("--strict")
    club.commit("Only notes", notes="2")
    taken, said = club.push()
    assert not taken
    assert "error unheld-exit" in said
    club.commit("Mended", quay=GOOD)
    assert club.push() == (True, "")


def test_finding_out_more_is_no_worse_and_finding_out_less_is(club: Club) -> None:
    """A plan that could not be read and now can is better, whatever is found in it."""
    club.start_bad(BROKEN)
    club.commit("It can be read", quay=BAD)
    assert club.push() == (True, "")
    club.commit("It cannot", quay=BROKEN)
    taken, said = club.push()
    assert not taken
    assert "error not-json There is no comma" in said


def test_a_plan_renamed_stays_the_same_plan(club: Club) -> None:
    club.start_bad()
    club.git("mv", PLAN, "harbour.layout.json")
    club.commit("Renamed")
    assert club.push() == (True, "")
    (club.clone / "folder").mkdir()
    club.git("mv", "harbour.layout.json", "folder/quay b.layout.json")
    club.commit_files("Renamed and worse", {"folder/quay b.layout.json": WORSE})
    taken, said = club.push()
    assert not taken
    assert "(Renamed and worse): folder/quay b.layout.json:" in said
    assert "Nothing stops a train in siding" not in said


def test_a_copy_of_a_bad_plan_is_a_new_bad_plan(club: Club) -> None:
    club.start_bad()
    club.commit("A copy", **{"b.layout.json": BAD})
    taken, said = club.push()
    assert not taken
    assert "b.layout.json:" in said
    assert PLAN not in said


def test_a_file_that_becomes_a_plan_is_judged(club: Club) -> None:
    club.commit("A draft", **{"draft.json": BAD})
    assert club.push() == (True, "")
    club.git("mv", "draft.json", "draft.layout.json")
    club.commit("Done")
    assert not club.push()[0]


def test_of_many_commits_the_one_that_brought_it_is_named(club: Club) -> None:
    club.commit("One", quay=GOOD.replace("Kelpie", "Selkie"))
    club.commit("Two", notes="2")
    bad = club.commit("Three", quay=BAD)
    club.git("mv", PLAN, "z.layout.json")
    club.commit("Four")
    worse = club.commit_files("Five", {"z.layout.json": WORSE})
    club.commit("Six", notes="6")
    taken, said = club.push()
    assert not taken
    one, other = f"for commit {bad[:7]} (Three)", f"for commit {worse[:7]} (Five)"
    parts = said.partition(one)[2].partition(other)
    assert parts[1] or said.partition(other)[2].partition(one)[1]
    assert said.count("rejected") == 2
    assert said.count("z.layout.json:") == 2
    for part in said.split("refs/heads/main: rejected, ")[1:]:
        assert ("Nothing stops a train in siding" in part) is part.startswith(one)
        assert ("Nothing stops a train in main" in part) is part.startswith(other)


def test_what_a_later_commit_mends_does_no_harm_unless_each_is_judged(club: Club) -> None:
    before = club.at("main")
    bad = club.commit("A slip", quay=BAD)
    club.commit("More notes", notes="2")
    club.commit("Mended", quay=GOOD)
    club.set_up("--every-commit")
    taken, said = club.push()
    assert not taken
    assert f"refs/heads/main: rejected, for commit {bad[:7]} (A slip)" in said
    assert said.count("rejected") == 1
    assert club.at("main") == before
    club.set_up()
    assert club.push() == (True, "")


def test_a_forced_push_is_judged_against_what_it_takes_away(club: Club) -> None:
    first = club.git("rev-parse", "HEAD")
    club.commit("To be rewritten", notes="2")
    assert club.push()[0]
    before = club.at("main")
    club.git("reset", "--quiet", "--hard", first)
    club.commit("Rewritten, and bad", quay=BAD)
    taken, said = club.push("--force", "HEAD")
    assert not taken
    assert "(Rewritten, and bad)" in said
    assert club.at("main") == before
    club.git("reset", "--quiet", "--hard", first)
    club.commit("Rewritten, and good", notes="3")
    assert club.push("--force", "HEAD") == (True, "")


def test_going_back_to_a_bad_commit_is_getting_worse(club: Club) -> None:
    club.start_bad()
    bad = club.git("rev-parse", "HEAD")
    club.commit("Mended", quay=GOOD)
    assert club.push()[0]
    taken, said = club.push("--force", f"{bad}:main")
    assert not taken
    assert f"for commit {bad[:7]}" in said


def test_what_is_deleted_needs_no_judging(club: Club) -> None:
    club.take_out()
    club.commit("Bad", quay=BAD)
    assert club.push("HEAD:refs/heads/bad", "HEAD:refs/tags/bad")[0]
    club.set_up("--strict", "--every-commit")
    assert club.push(":refs/heads/bad") == (True, "")
    assert club.push(":refs/tags/bad") == (True, "")
    assert club.at("bad") == ""
    club.git("reset", "--quiet", "--hard", "HEAD~")
    club.commit("The plan is given up", quay=None)
    assert club.push() == (True, "")


def test_tags(club: Club) -> None:
    club.git("tag", "light")
    club.git("tag", "-a", "-m", "Spring meet", "spring")
    club.git("tag", "a-file", f"HEAD:{PLAN}")
    assert club.push("--tags") == (True, "")
    club.commit("Bad", quay=BAD)
    club.git("tag", "-a", "-m", "Autumn meet", "autumn")
    taken, said = club.push("autumn")
    assert not taken
    assert "refs/tags/autumn: rejected" in said
    club.git("tag", "-f", "light")
    assert not club.push("--force", "light")[0]
    assert club.at("autumn") == ""


def test_one_bad_ref_turns_the_whole_push_aside(club: Club) -> None:
    club.git("branch", "good")
    club.commit("Bad", quay=BAD)
    taken, said = club.push("good", "HEAD", "HEAD:refs/tags/now")
    assert not taken
    assert "refs/tags/now: rejected, as refs/heads/main is." in said
    assert club.at("good") == ""


def test_only_some_refs_are_judged(club: Club) -> None:
    club.set_up("--ref", "refs/heads/main", "--ref", "refs/tags/*")
    club.commit("Bad", quay=BAD)
    assert club.push("HEAD:refs/heads/draft") == (True, "")
    assert not club.push("HEAD:refs/tags/v1")[0]
    assert not club.push()[0]


def test_a_merge_of_two_good_branches_that_is_bad(club: Club) -> None:
    """One takes signal 6 away and makes the siding no stand; the other needs it to be one."""
    first = club.git("rev-parse", "HEAD")
    siding = next(line for line in GOOD.splitlines() if '"siding":' in line)
    shut = siding.replace('"length_mm"', '"stand": false, "length_mm"')
    assert shut != siding
    club.commit("No stand, no signal", quay=BAD.replace(siding, shut))
    taken, said = club.push()
    assert (taken, said) == (True, "")
    club.git("checkout", "--quiet", "-b", "other", first)
    club.commit("Other work", notes="2")
    club.git("merge", "--quiet", "--no-commit", "main")
    merge = club.commit("Merged by hand", quay=BAD)
    taken, said = club.push("HEAD:main")
    assert not taken
    assert f"for commit {merge[:7]} (Merged by hand)" in said


def test_settings_are_those_of_the_push(club: Club) -> None:
    strict = '[levels]\nsiding-without-trap = "error"\n'
    club.commit("Traps are asked for", **{"plans/trappoint.toml": strict})
    assert club.push() == (True, "")
    club.commit("A plan that they are for", **{"plans/a/b.layout.json": GOOD})
    taken, said = club.push()
    assert not taken
    assert "plans/a/b.layout.json:" in said
    assert "error siding-without-trap" in said
    club.commit_files("No more", {"plans/trappoint.toml": '[levels]\nstandstill = "off"\n'})
    (club.clone / "trappoint.toml").write_text(strict, "utf-8")  # lies there, is not pushed
    (club.server / "trappoint.toml").write_text(strict, "utf-8")
    assert club.push() == (True, "")


def test_settings_of_the_server_go_before_those_of_the_push(club: Club) -> None:
    settings = club.server.parent / "ours.toml"
    settings.write_text('[levels]\nsiding-without-trap = "error"\n', "utf-8")
    club.set_up("--settings", os.path.relpath(settings))
    club.commit("A plan that they are for", **{"a/b.layout.json": GOOD})
    off = '[levels]\nsiding-without-trap = "off"\n'
    club.commit("Not for us", **{"a/trappoint.toml": off, "trappoint.toml": off})
    taken, said = club.push()
    assert not taken
    assert "error siding-without-trap" in said
    settings.write_text("[choices]\noverlap = false\n", "utf-8")
    strict = '[levels]\nsiding-without-trap = "error"\n'
    club.commit("None of theirs count", **{"a/trappoint.toml": strict})
    assert club.push() == (True, "")


def test_settings_of_the_server_that_cannot_be_used(club: Club) -> None:
    settings = club.server.parent / "ours.toml"
    done = hook(club.server, "receive", "--install", "--settings", str(settings))
    assert done.returncode == 2
    assert f"trappoint-receive: {settings}: this cannot be read: no such file" in done.stderr
    settings.write_text("", "utf-8")
    club.set_up("--settings", str(settings))
    club.commit("Notes", notes="2")
    assert club.push() == (True, "")
    settings.write_text("nonsense = 1\n", "utf-8")
    club.commit("More notes", notes="3")
    taken, said = club.push()
    assert not taken
    assert said.startswith(f"trappoint-receive: {settings}: there is no setting nonsense. ")
    assert said.endswith(
        "These are the settings of the server: its owner must mend them. Until then no push is "
        "taken."
    )


def test_settings_that_can_not_be_used_are_turned_aside(club: Club) -> None:
    club.commit("Off with it", **{"trappoint.toml": '[levels]\nunheld-exit = "off"\n'})
    taken, said = club.push()
    assert not taken
    assert "trappoint.toml: the level of unheld-exit cannot be changed" in said
    club.git("reset", "--quiet", "--hard", "HEAD~")
    club.commit(
        "Of another program", **{"pyproject.toml": "[tool.other]\n", "x/pyproject.toml": b"\xff"}
    )
    assert club.push()[0] is False  # what is not UTF-8 cannot be told to have no settings
    club.commit("Text again", **{"x/pyproject.toml": "not TOML, nor ours"})
    assert club.push() == (True, "")


def test_settings_that_were_bad_before_block_only_plans_that_change(club: Club) -> None:
    club.take_out()
    club.commit("Bad settings", **{"trappoint.toml": "nonsense = 1\n"})
    club.push()
    club.set_up()
    club.commit("Notes", notes="2")
    assert club.push() == (True, "")
    club.commit("Another title", quay=GOOD.replace("Kelpie", "Selkie"))
    taken, said = club.push()
    assert not taken
    assert "there is no setting nonsense" in said


def test_warnings_where_they_are_asked_for(club: Club) -> None:
    entry = '"accept": [{"rule": "unheld-exit", "at": "siding", "because": "x"}], "title"'
    club.commit("Accepted for nothing", quay=GOOD.replace('"title"', entry))
    club.set_up("--fail-on", "warning")
    taken, said = club.push()
    assert not taken
    assert "warning accept-without-match" in said
    club.set_up()
    assert club.push() == (True, "")


def test_odd_names_and_what_is_no_file(club: Club) -> None:
    (club.clone / "link.layout.json").symlink_to("nowhere")
    club.commit("A link")
    assert "link.layout.json: this is a link to a file that is not there." in club.push()[1]
    club.commit_files("No link", {"link.layout.json": None})
    assert club.push() == (True, "")
    name = 'a\n"b" \u00e9\t.layout.json'
    club.commit_files("An odd name", {name: BAD})
    taken, said = club.push()
    assert not taken
    assert "error unheld-exit" in said
    club.commit_files("Huge", {name: b" " * 9_000_000})
    assert "error too-long" in club.push()[1]
    club.commit_files("Good", {name: GOOD})
    assert club.push() == (True, "")


def test_a_push_without_plans_costs_no_look_at_any(club: Club) -> None:
    club.start_bad()
    club.commit("Notes", notes="2")
    club.commit("More", more="3")
    assert club.push() == (True, "")


@pytest.mark.parametrize(
    ("given", "code", "said"),
    [
        (b"", 0, ""),
        (b"nonsense\n", 2, "trappoint-receive: Git gives lines `OLD NEW REF`, not 'nonsense'.\n"),
        (b"0 1 a\n", 2, "trappoint-receive: Git gives lines `OLD NEW REF`, not '0 1 a'.\n"),
        (b"%s %s refs/heads/\xff\n" % (b"0" * 40, b"0" * 40), 0, ""),
        (
            b"%s %s refs/heads/a\n" % (b"0" * 40, b"1" * 40),
            2,
            f"trappoint-receive: git says: fatal: Not a valid object name {'1' * 40}^{{}}\n",
        ),
    ],
)
def test_called_by_hand(club: Club, given: bytes, code: int, said: str) -> None:
    done = hook(club.server, "receive", given=given)
    assert (done.returncode, done.stdout, done.stderr) == (code, "", said)


def test_called_where_there_is_no_repository(tmp_path: Path) -> None:
    done = hook(tmp_path, "receive", "--install", "nowhere")
    assert done.returncode == 2
    assert done.stderr.startswith("trappoint-receive: git says: fatal: ")
    assert "Traceback" not in done.stderr


def test_hooks_of_others_are_left_alone(club: Club) -> None:
    place = club.server / "hooks" / "pre-receive"
    place.write_text("#!/bin/sh\nexit 0\n", "utf-8")
    done = hook(club.server, "receive", "--install")
    assert done.returncode == 2
    assert "There is a hook already" in done.stderr
    assert "trappoint_hooks.receive" in done.stderr
    done = hook(club.server, "receive", "--uninstall")
    assert (done.returncode, place.read_text("utf-8")) == (0, "#!/bin/sh\nexit 0\n")


def test_a_program_that_has_gone_lets_nothing_through(club: Club) -> None:
    place = club.server / "hooks" / "pre-receive"
    lines = place.read_text("utf-8").splitlines()
    lines = ["python=/gone/python" if line.startswith("python=") else line for line in lines]
    place.write_text("\n".join(lines) + "\n", "utf-8")
    club.commit("Notes", notes="2")
    taken, said = club.push()
    assert not taken
    assert said.startswith("trappoint: /gone/python is gone: install the hook again")


def test_nothing_is_imported_from_the_repository(club: Club) -> None:
    (club.server / "trappoint_hooks").mkdir()
    (club.server / "trappoint_hooks" / "__init__.py").write_text("raise SystemExit(0)\n", "utf-8")
    club.commit("Bad", quay=BAD)
    assert not club.push()[0]


def test_a_fault_of_the_program_is_never_let_through() -> None:
    """Not even where the plan could not be read before, or where the same fault was there."""
    fault = Finding("fault-in-rule", "error", "", "The rule duty-mismatch failed on this plan.")
    faulty = CheckedPlan(FileReport("a", None, (fault,), text="{}", fault="duty-mismatch"), 3)
    unreadable = CheckedPlan(FileReport("a", None, (Finding("not-json", "error", "", "No."),)), 0)
    with Repository() as repository:
        judge = Judge(repository, "error")
        assert judge.worse(faulty, [unreadable]) == [fault]
        assert judge.worse(faulty, [faulty]) == [fault]
        assert judge.worse(unreadable, [unreadable]) == []
