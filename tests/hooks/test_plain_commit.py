"""The plain hook for commits checks staged files, not those in the folder. Real git."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from hooks.pushing import BAD, BROKEN, GOOD, PLAN, WORSE, environment, hook
from trappoint.core.findings import CAUTION_SHORT
from trappoint_hooks import commit

pytestmark = pytest.mark.usefixtures("quick")


class Member:
    """A member's repository, with the hook."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder / "our layouts"
        self.env = environment(folder)

    def run(self, *words: str) -> tuple[int, str]:
        done = subprocess.run(
            words,
            cwd=self.folder,
            env=self.env,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            check=False,
            timeout=120,
        )
        return done.returncode, os.fsdecode(done.stdout)

    def git(self, *words: str) -> str:
        code, said = self.run("git", *words)
        assert code == 0, said
        return said.strip()

    def write(self, text: str | bytes, name: str = PLAN) -> None:
        path = self.folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text.encode() if isinstance(text, str) else text)

    def commit(self, *words: str) -> tuple[bool, str]:
        """Commit, and return whether it was accepted, and the output in one line."""
        code, said = self.run("git", "commit", "--quiet", "-m", "A change", *words)
        return code == 0, " ".join(said.split())


@pytest.fixture(scope="module")
def first(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("member")
    member = Member(folder)
    member.folder.mkdir()
    member.git("init", "--quiet", "-b", "main", "--template=")
    done = hook(member.folder, "commit", "--install")
    assert done.returncode == 0, done.stderr
    assert done.stdout == (
        "Installed the hook .git/hooks/pre-commit.\n"
        "Installed the hook .git/hooks/pre-merge-commit.\n"
    )
    member.write(GOOD)
    member.git("add", ".")
    assert member.commit() == (True, "")
    return folder


@pytest.fixture
def member(first: Path, tmp_path: Path) -> Member:
    """A repository with the hook and a good plan."""
    shutil.copytree(first / "our layouts", tmp_path / "our layouts", symlinks=True)
    return Member(tmp_path)


def test_a_bad_plan_is_not_committed(member: Member) -> None:
    before = member.git("rev-parse", "HEAD")
    member.write(BAD)
    gone, said = member.commit("-a")
    assert not gone
    line = 1 + next(n for n, text in enumerate(BAD.splitlines()) if '"siding":' in text)
    assert said.startswith(f"{PLAN} does not hold: ")
    assert f" error unheld-exit {PLAN}:{line}:22 Nothing stops a train in siding" in said
    assert said.endswith(f"{CAUTION_SHORT} The commit is rejected.")
    assert member.git("rev-parse", "HEAD") == before
    member.write(GOOD.replace("Kelpie", "Selkie"))
    assert member.commit("-a") == (True, "")


def test_staged_files_count_and_not_those_in_the_folder(member: Member) -> None:
    member.write(BAD)
    member.git("add", PLAN)
    member.write(GOOD)  # mended in the folder, not staged
    gone, said = member.commit()
    assert not gone
    assert "error unheld-exit" in said
    member.write(GOOD.replace("Kelpie", "Selkie"))
    member.git("add", PLAN)
    member.write(BROKEN)  # half edited in the folder, not staged
    assert member.commit() == (True, "")
    assert (member.folder / PLAN).read_text("utf-8") == BROKEN
    assert "Selkie" in member.git("show", f"HEAD:{PLAN}")


def test_a_plan_that_is_not_in_the_commit_is_left_alone(member: Member) -> None:
    member.write(BAD, "draft.layout.json")
    member.write("1", "notes")
    member.git("add", "notes")
    assert member.commit() == (True, "")


def test_committing_one_file_by_name(member: Member) -> None:
    """Git makes a temporary index for such a commit, with only that file changed."""
    member.write(BAD)
    member.git("add", PLAN)
    member.write("1", "notes")
    member.git("add", "notes")
    assert member.commit("notes") == (True, "")
    assert member.git("show", "--format=", "--name-only", "HEAD") == "notes"
    assert not member.commit(PLAN)[0]


def test_amending_and_deleting_and_renaming(member: Member) -> None:
    member.write(BAD)
    assert not member.commit("-a", "--amend")[0]
    member.write(GOOD)
    member.git("mv", PLAN, "a b\u00e9.layout.json")
    assert member.commit("--amend") == (True, "")
    member.git("rm", "--quiet", "a b\u00e9.layout.json")
    assert member.commit() == (True, "")


def test_from_a_folder_below_and_in_another_work_tree(member: Member) -> None:
    member.write(BAD, "plans/west.layout.json")
    member.git("add", ".")
    code, said = member.run("git", "-C", "plans", "commit", "-m", "From below")
    assert code == 1
    assert said.startswith("plans/west.layout.json does not hold: ")
    member.git("worktree", "add", "--quiet", "../other", "HEAD")
    other = member.folder.parent / "other"
    (other / PLAN).write_text(BAD, "utf-8")
    code, said = member.run("git", "-C", str(other), "commit", "-a", "-m", "In another one")
    assert code == 1
    assert said.startswith(f"{PLAN} does not hold: ")


def test_the_first_commit_of_all(tmp_path: Path) -> None:
    member = Member(tmp_path)
    member.folder.mkdir()
    member.git("init", "--quiet", "--template=")
    assert commit.main(["--install", str(member.folder)]) == 0
    member.write(BAD)
    member.git("add", ".")
    assert not member.commit()[0]
    member.write(GOOD)
    member.git("add", ".")
    assert member.commit() == (True, "")


def test_a_merge_is_checked_too(member: Member) -> None:
    member.git("checkout", "--quiet", "-b", "bad")
    member.write(BAD)
    assert member.commit("-a", "--no-verify")[0]
    member.git("checkout", "--quiet", "main")
    member.write("1", "notes")
    member.git("add", ".")
    assert member.commit()[0]
    before = member.git("rev-parse", "HEAD")
    code, said = member.run("git", "merge", "--no-edit", "bad")
    assert code != 0
    assert "error unheld-exit" in said
    assert member.git("rev-parse", "HEAD") == before


def test_settings_are_read_from_the_index(member: Member) -> None:
    member.write('[levels]\nsiding-without-trap = "error"\n', "trappoint.toml")
    member.write(GOOD.replace("Kelpie", "Selkie"))
    member.git("add", PLAN)
    assert member.commit() == (True, "")
    member.git("add", "trappoint.toml")
    assert member.commit() == (True, "")
    member.write(GOOD)
    gone, said = member.commit("-a")
    assert not gone
    assert "error siding-without-trap" in said
    member.write("[levels]\nno-such-rule = 1\n", "trappoint.toml")
    member.git("checkout", "--quiet", PLAN)
    member.git("reset", "--quiet")
    member.git("add", "trappoint.toml")
    gone, said = member.commit()
    assert not gone
    assert said.startswith("trappoint.toml: there is no rule no-such-rule.")


def test_only_worse(member: Member) -> None:
    member.write(BAD)
    assert member.commit("-a", "--no-verify")[0]
    member.write(BAD.replace("Kelpie", "Selkie"))
    assert not member.commit("-a")[0]
    assert commit.main(["--install", str(member.folder), "--only-worse"]) == 0
    assert member.commit("-a") == (True, "")
    member.write(WORSE)
    gone, said = member.commit("-a")
    assert not gone
    assert "Nothing stops a train in main" in said
    assert "Nothing stops a train in siding" not in said


def test_binary_and_odd_files(member: Member) -> None:
    member.write(bytes(range(256)), "a.layout.json")
    (member.folder / "link.layout.json").symlink_to("nowhere")
    member.git("add", ".")
    gone, said = member.commit()
    assert not gone
    assert "error not-utf8" in said
    assert "link.layout.json: this link leads to a file that does not exist." in said
    assert "Traceback" not in said


def test_uninstalling(member: Member) -> None:
    done = hook(member.folder, "commit", "--uninstall")
    assert done.returncode == 0
    assert not (member.folder / ".git" / "hooks" / "pre-commit").exists()
    member.write(BAD)
    assert member.commit("-a") == (True, "")
    done = hook(member.folder, "commit", "--uninstall")
    assert (done.returncode, done.stdout) == (0, "No hook of trappoint is installed.\n")


def test_another_folder_for_hooks(member: Member) -> None:
    member.git("config", "core.hooksPath", "our-hooks")
    done = hook(member.folder, "commit", "--install")
    assert done.returncode == 0
    assert os.access(member.folder / "our-hooks" / "pre-commit", os.X_OK)
    member.write(BAD)
    assert not member.commit("-a")[0]


def test_hooks_of_other_programs_stay(member: Member) -> None:
    place = member.folder / ".git" / "hooks" / "pre-commit"
    place.write_text("#!/bin/sh\nexit 0\n", "utf-8")
    done = hook(member.folder, "commit", "--install")
    assert done.returncode == 2
    assert "There is another hook already" in done.stderr
    assert place.read_text("utf-8") == "#!/bin/sh\nexit 0\n"


def test_a_link_in_the_place_of_a_hook_stays(member: Member) -> None:
    """Nothing is written to its target, which does not exist."""
    place = member.folder / ".git" / "hooks" / "pre-commit"
    place.unlink()
    place.symlink_to(member.folder / "elsewhere")
    done = hook(member.folder, "commit", "--install")
    assert done.returncode == 2
    assert "There is another hook already" in done.stderr
    assert not (member.folder / "elsewhere").exists()


def test_a_commit_without_plans_does_not_import_the_check(member: Member) -> None:
    member.write("1", "notes")
    member.git("add", "notes")
    program = (
        "import sys\nfrom trappoint_hooks.commit import main\nassert main([]) == 0\n"
        "print(*(name for name in sys.modules if name.startswith('trappoint')))"
    )
    code, said = member.run(sys.executable, "-c", program)
    assert code == 0, said
    assert "trappoint.checking.check" not in said.split()


def test_wrong_options_and_no_repository(tmp_path: Path) -> None:
    done = hook(tmp_path, "commit", "--nonsense")
    assert (done.returncode, done.stdout) == (2, "")
    done = hook(tmp_path, "commit")
    assert done.returncode == 2
    assert done.stderr.startswith("trappoint-commit: git says: ")
    done = hook(tmp_path, "commit", "--help")
    assert done.returncode == 0
    assert "not for anything that carries people." in done.stdout
