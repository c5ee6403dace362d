"""Run ``trappoint-diff`` by real git, install it and uninstall it."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import pytest

from commands.running import BAD, GOOD
from compare.repositories import PLAN, Club, copied, found_club

pytestmark = pytest.mark.usefixtures("quick")

RENAMED = GOOD.replace("loop-west", "loop")


def flat(text: str) -> str:
    return " ".join(text.split())


def install(club: Club) -> None:
    done = club.driver("--install")
    assert (done.returncode, done.stderr) == (0, "")


@pytest.fixture(scope="module")
def first(quick: None, tmp_path_factory: pytest.TempPathFactory) -> Club:
    club = found_club(tmp_path_factory.mktemp("club"))
    club.write(GOOD)
    club.write("Minutes of the meeting.\n", "minutes.txt")
    club.commit("Kelpie Quay")
    install(club)
    return club


@pytest.fixture
def history(first: Club, tmp_path: Path) -> Club:
    return copied(first, tmp_path)


def test_git_diff_shows_changes_in_railway_terms(history: Club) -> None:
    history.write(RENAMED)
    history.write("Minutes of the next meeting.\n", "minutes.txt")
    said = history.git("diff")
    assert "track loop: renamed from loop-west" in said
    assert f"{PLAN} (work tree), compared with {PLAN} (" in flat(said)
    assert "Still holds" in said
    assert "+Minutes of the next meeting." in said  # other files are compared as texts
    assert '"loop-west"' not in said


def test_staged_commits_and_branches(history: Club) -> None:
    history.git("switch", "--quiet", "--create", "winter")
    history.write(BAD)
    history.git("add", PLAN)
    said = history.git("diff", "--staged")
    assert "signal 6: gone: on siding" in said
    assert "Before it held. Now it does not hold" in flat(said)
    assert "error unheld-exit" in said
    history.commit("Signal 6 sold")
    assert history.git("diff", "main", "winter") == said


def test_the_log(history: Club) -> None:
    history.write(RENAMED)
    history.commit("A shorter name")
    history.git("mv", PLAN, "quay.layout.json")
    history.write(GOOD.replace("loop-west", "circuit"), "quay.layout.json")
    history.commit("Another name")
    said = history.git("log", "-p", "--ext-diff")
    assert "track loop: renamed from loop-west" in said
    assert "track circuit: renamed from loop" in said
    assert "This plan is new. It holds" in said
    assert "tracks: 6" in said
    assert "signals: 7" in said
    assert "quay.layout.json (" in said
    # Without the option the log has patches, which other programs can apply.
    assert '+    "loop"' in history.git("log", "-p")
    assert '+    "loop"' in history.git("show", "HEAD~1")


def test_no_ext_diff_prints_a_patch_that_applies(history: Club) -> None:
    history.write(RENAMED)
    patch = history.git("diff", "--no-ext-diff")
    history.git("checkout", "--", PLAN)
    subprocess.run(
        ["git", "apply"], input=patch, text=True, cwd=history.folder, env=history.env, check=True
    )
    assert (history.folder / PLAN).read_text("utf-8") == RENAMED


def test_a_removed_plan_and_an_added_one(history: Club) -> None:
    history.git("rm", "--quiet", PLAN)
    history.write(GOOD.replace("Kelpie", "Grindylow"), "other.layout.json")
    history.git("add", "--all")
    said = history.git("diff", "--staged", "--no-renames")
    assert "This plan was deleted." in said
    assert "This plan is new." in said
    assert "Grindylow Quay" in said


def test_unreadable_plans_do_not_stop_git(history: Club) -> None:
    history.write(GOOD[:200])
    history.write("Last minutes.\n", "minutes.txt")
    history.write("b" * 9_000_000, "large.layout.json")
    history.git("add", "--all")
    said = history.git("diff", "--staged")
    assert "cannot be read as a plan" in flat(said)
    assert "+Last minutes." in said
    assert "Traceback" not in said


def test_a_conflict_is_named(history: Club) -> None:
    history.git("switch", "--quiet", "--create", "winter")
    history.write(GOOD.replace("1450", "1500"))
    history.commit("Longer")
    history.git("switch", "--quiet", "main")
    history.write(GOOD.replace("1450", "1400"))
    history.commit("Shorter")
    assert history.run("git", "merge", "winter").returncode == 1
    assert f"{PLAN} is not merged yet" in history.git("diff", "--staged")


def test_files_in_the_repository_are_not_run(history: Club) -> None:
    """Python does not import a module of the repository that is named like one of its own."""
    for name in ("json.py", "shlex.py", "trappoint.py"):
        history.write("open('ran', 'w').close()\n", name)
    history.write(RENAMED)
    assert "renamed" in history.git("diff")
    assert not (history.folder / "ran").exists()


def test_a_folder_with_spaces_and_a_folder_below(club: Club) -> None:
    club.write(GOOD, f"our layouts/{PLAN}")
    club.commit("Kelpie Quay")
    below = club.folder / "our layouts"
    done = club.driver("--install", cwd=below)
    assert done.returncode == 0
    club.write(RENAMED, f"our layouts/{PLAN}")
    said = club.run("git", "diff", cwd=below).stdout
    assert "track loop: renamed" in said
    assert f"our layouts/{PLAN}" in flat(said)
    assert club.driver("--uninstall", cwd=below).returncode == 0
    assert '+    "loop"' in club.run("git", "diff", cwd=below).stdout


# --- installing


def state(club: Club) -> dict[str, bytes]:
    """Return the files in the repository's ``.git``, without those that git rewrites."""
    root = club.folder / ".git"
    return {
        str(path.relative_to(root)): path.read_bytes()
        for path in sorted(root.rglob("*"))
        if path.is_file() and path.name != "index"
    }


@pytest.mark.parametrize(
    "attributes",
    [None, b"", b"*.pdf binary\n", b"*.pdf binary", b"# caf\xe9\n*.pdf binary\r\n", b"\n\n"],
)
def test_uninstall_leaves_everything_as_it_was(club: Club, attributes: bytes | None) -> None:
    info = club.folder / ".git" / "info" / "attributes"
    if attributes is not None:
        info.parent.mkdir(exist_ok=True)
        info.write_bytes(attributes)
    club.git("config", "diff.other.command", "other")
    before = state(club)
    install(club)
    during = state(club)
    assert during != before
    install(club)  # the second time changes nothing
    assert state(club) == during
    assert club.git("check-attr", "diff", PLAN).strip() == f"{PLAN}: diff: trappoint"
    done = club.driver("--uninstall")
    assert (done.returncode, done.stderr) == (0, "")
    assert state(club) == before
    assert club.driver("--uninstall").returncode == 0
    assert state(club) == before


def test_later_lines_stay(club: Club) -> None:
    install(club)
    info = club.folder / ".git" / "info" / "attributes"
    info.write_text(info.read_text("utf-8") + "*.png binary\n", "utf-8")
    assert club.driver("--uninstall").returncode == 0
    assert info.read_text("utf-8") == "*.png binary\n"


def test_another_driver_of_that_name_stays(club: Club) -> None:
    club.git("config", "diff.trappoint.command", "something else")
    before = state(club)
    for word in ("--install", "--uninstall"):
        done = club.driver(word)
        assert done.returncode == 2
        assert "is already set to 'something else'" in done.stderr
    assert state(club) == before


def test_no_committed_file_changes(club: Club) -> None:
    club.write(GOOD)
    club.commit("Kelpie Quay")
    install(club)
    assert club.git("status", "--porcelain") == ""


def test_a_second_work_tree_has_it_too(history: Club, tmp_path: Path) -> None:
    history.git("worktree", "add", "--quiet", str(tmp_path / "second"))
    plan = tmp_path / "second" / PLAN
    plan.write_text(RENAMED, "utf-8")
    assert "track loop: renamed" in history.run("git", "diff", cwd=tmp_path / "second").stdout


def test_wrong_words(club: Club, tmp_path: Path) -> None:
    for words in ((), ("--what",), ("a", "b")):
        done = club.driver(*words)
        assert (done.returncode, done.stdout) == (2, "")
        assert "--install" in done.stderr
    assert "--install" in club.driver("--help").stdout
    done = club.driver("--install", cwd=tmp_path)
    assert done.returncode == 2
    assert "not in a git repository" in done.stderr


def test_the_settings_of_the_club_apply(history: Club) -> None:
    """A comparison has no findings of a rule that the club switched off."""
    plan = json.loads(GOOD)
    plan["signals"]["1"]["mount"] = "post"
    text = json.dumps(plan, indent=2)
    history.write(text)
    assert "mount-too-small" in history.git("diff")
    history.write('[levels]\nmount-too-small = "off"\n', "trappoint.toml")
    assert "mount-too-small" not in history.git("diff")
