"""The hook at the push rejects bad plans: real pushes into a bare repository."""

from __future__ import annotations

import os
import shutil
import sys
from pathlib import Path

import pytest

from hooks.pushing import BAD, BROKEN, GOOD, PLAN, WORSE, Club, hook
from trappoint.checking.report import FileReport
from trappoint.core.findings import CAUTION_SHORT, Finding
from trappoint_hooks.judging import CheckedPlan, Judge
from trappoint_hooks.repository import Repository
from warm import PYTHON

pytestmark = pytest.mark.usefixtures("quick")


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


def test_a_good_plan_is_accepted_and_a_bad_one_rejected(club: Club) -> None:
    before = club.at("main")
    bad = club.commit("Signal 6 moved to another layout", quay=BAD)
    taken, said = club.push()
    assert not taken
    line = 1 + next(n for n, text in enumerate(BAD.splitlines()) if '"siding":' in text)
    assert said.startswith(
        f"refs/heads/main: rejected, for commit {bad[:7]} (Signal 6 moved to another layout): "
        f"{PLAN}:{line}:22 error unheld-exit Nothing stops a train in siding, running up,"
    )
    assert " how Train A stands in siding" in said
    assert f"{PLAN} does not hold" in said
    assert said.count(CAUTION_SHORT) == 1
    assert said.endswith("The push is rejected.")
    assert club.at("main") == before
    # The server does not keep the pushed objects: the hook read them from git's temporary folder.
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


def test_a_new_branch_is_compared_with_the_commits_that_it_grew_from(club: Club) -> None:
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


def test_a_bad_plan_may_stay_as_bad_or_get_better_but_not_worse(club: Club) -> None:
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


def test_strict_rejects_a_plan_that_was_bad_before(club: Club) -> None:
    club.start_bad()
    club.set_up("--strict")
    club.commit("Only notes", notes="2")
    taken, said = club.push()
    assert not taken
    assert "error unheld-exit" in said
    club.commit("Mended", quay=GOOD)
    assert club.push() == (True, "")


def test_a_plan_that_becomes_readable_is_better(club: Club) -> None:
    """It is better with any findings; a plan that becomes unreadable is worse."""
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


def test_the_commit_that_brought_the_finding_is_named(club: Club) -> None:
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
    assert said.count(": rejected") == 2
    assert said.count("z.layout.json:") == 2
    for part in said.split("refs/heads/main: rejected, ")[1:]:
        assert ("Nothing stops a train in siding" in part) is part.startswith(one)
        assert ("Nothing stops a train in main" in part) is part.startswith(other)


def test_a_mistake_that_a_later_commit_mends_counts_only_with_every_commit(club: Club) -> None:
    before = club.at("main")
    bad = club.commit("A slip", quay=BAD)
    club.commit("More notes", notes="2")
    club.commit("Mended", quay=GOOD)
    club.set_up("--every-commit")
    taken, said = club.push()
    assert not taken
    assert f"refs/heads/main: rejected, for commit {bad[:7]} (A slip)" in said
    assert said.count(": rejected") == 1
    assert club.at("main") == before
    club.set_up()
    assert club.push() == (True, "")


def test_a_forced_push_is_compared_with_the_commits_that_it_removes(club: Club) -> None:
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


def test_deleting_is_always_accepted(club: Club) -> None:
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


def test_one_bad_ref_rejects_the_whole_push(club: Club) -> None:
    club.git("branch", "good")
    club.commit("Bad", quay=BAD)
    taken, said = club.push("good", "HEAD", "HEAD:refs/tags/now")
    assert not taken
    assert "refs/tags/now: rejected, like refs/heads/main." in said
    assert club.at("good") == ""


def test_only_some_refs_are_judged(club: Club) -> None:
    club.set_up("--ref", "refs/heads/main", "--ref", "refs/tags/*")
    club.commit("Bad", quay=BAD)
    assert club.push("HEAD:refs/heads/draft") == (True, "")
    assert not club.push("HEAD:refs/tags/v1")[0]
    assert not club.push()[0]


def test_a_merge_of_two_good_branches_that_is_bad(club: Club) -> None:
    """One branch removes signal 6 and makes the siding no stand; the merge makes it a stand."""
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
    club.commit("A rule for traps", **{"plans/trappoint.toml": strict})
    assert club.push() == (True, "")
    club.commit("A plan that they are for", **{"plans/a/b.layout.json": GOOD})
    taken, said = club.push()
    assert not taken
    assert "plans/a/b.layout.json:" in said
    assert "error siding-without-trap" in said
    club.commit_files("Off again", {"plans/trappoint.toml": '[levels]\nstandstill = "off"\n'})
    (club.clone / "trappoint.toml").write_text(strict, "utf-8")  # in the clone, not pushed
    (club.server / "trappoint.toml").write_text(strict, "utf-8")
    assert club.push() == (True, "")


def test_settings_of_the_server_replace_those_of_the_push(club: Club) -> None:
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


def test_settings_of_the_server_with_a_mistake(club: Club) -> None:
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
        "These are the settings of the server: ask its owner to mend them. Until then every push "
        "is rejected."
    )


def test_pushed_settings_with_a_mistake_are_rejected(club: Club) -> None:
    club.commit("Off with it", **{"trappoint.toml": '[levels]\nunheld-exit = "off"\n'})
    taken, said = club.push()
    assert not taken
    assert "trappoint.toml: the level of unheld-exit cannot be changed" in said
    club.git("reset", "--quiet", "--hard", "HEAD~")
    club.commit(
        "Of another program", **{"pyproject.toml": "[tool.other]\n", "x/pyproject.toml": b"\xff"}
    )
    assert club.push()[0] is False  # it is not UTF-8, so it may have settings
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


def test_fail_on_warnings(club: Club) -> None:
    entry = '"accept": [{"rule": "unheld-exit", "at": "siding", "because": "x"}], "title"'
    club.commit("Accepted for nothing", quay=GOOD.replace('"title"', entry))
    club.set_up("--fail-on", "warning")
    taken, said = club.push()
    assert not taken
    assert "warning accept-without-match" in said
    club.set_up()
    assert club.push() == (True, "")


def test_odd_names_links_and_long_files(club: Club) -> None:
    (club.clone / "link.layout.json").symlink_to("nowhere")
    club.commit("A link")
    assert "link.layout.json: this link leads to a file that does not exist." in club.push()[1]
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


def test_a_push_without_plans_checks_none(club: Club) -> None:
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


def test_called_outside_of_a_repository(tmp_path: Path) -> None:
    done = hook(tmp_path, "receive", "--install", "nowhere")
    assert done.returncode == 2
    assert done.stderr.startswith("trappoint-receive: git says: fatal: ")
    assert "Traceback" not in done.stderr


def test_hooks_of_other_programs_stay(club: Club) -> None:
    place = club.server / "hooks" / "pre-receive"
    place.write_text("#!/bin/sh\nexit 0\n", "utf-8")
    done = hook(club.server, "receive", "--install")
    assert done.returncode == 2
    assert "There is another hook already" in done.stderr
    assert "trappoint_hooks.receive" in done.stderr
    done = hook(club.server, "receive", "--uninstall")
    assert (done.returncode, place.read_text("utf-8")) == (0, "#!/bin/sh\nexit 0\n")


def test_a_missing_program_rejects_every_push(club: Club) -> None:
    place = club.server / "hooks" / "pre-receive"
    lines = place.read_text("utf-8").splitlines()
    lines = ["python=/gone/python" if line.startswith("python=") else line for line in lines]
    place.write_text("\n".join(lines) + "\n", "utf-8")
    club.commit("Notes", notes="2")
    taken, said = club.push()
    assert not taken
    assert said.startswith("trappoint: /gone/python is missing. Install the hook again")


def test_nothing_is_imported_from_the_repository(
    club: Club, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "executable", PYTHON)
    club.set_up()
    (club.server / "trappoint_hooks").mkdir()
    (club.server / "trappoint_hooks" / "__init__.py").write_text("raise SystemExit(0)\n", "utf-8")
    club.commit("Bad", quay=BAD)
    assert not club.push()[0]


def test_an_internal_error_always_rejects() -> None:
    """It does even if the plan was unreadable before, or had the same error."""
    fault = Finding("fault-in-rule", "error", "", "The rule duty-mismatch failed on this plan.")
    faulty = CheckedPlan(FileReport("a", None, (fault,), text="{}", fault="duty-mismatch"), 3)
    unreadable = CheckedPlan(FileReport("a", None, (Finding("not-json", "error", "", "No."),)), 0)
    with Repository() as repository:
        judge = Judge(repository, "error")
        assert judge.worse(faulty, [unreadable]) == [fault]
        assert judge.worse(faulty, [faulty]) == [fault]
        assert judge.worse(unreadable, [unreadable]) == []
