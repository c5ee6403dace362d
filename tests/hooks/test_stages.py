"""The hooks at every stage of the pre-commit program. Real git, real program."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from hooks.clubs import Bench
from hooks.meets import CLASH, EAST, GOOD, MEET
from hooks.pushing import BAD
from hooks.pushing import GOOD as QUAY
from hooks.test_pre_commit import hooked


class Program:
    """The pre-commit program in a club's repository with both hooks."""

    def __init__(self, bench: Bench, folder: Path) -> None:
        self.bench = bench
        self.folder = folder
        folder.mkdir()
        self.git("init", "--quiet", "--template=")
        hooked(bench, folder, {"id": "trappoint-check"}, {"id": "trappoint-deleted-boards"})
        self.commit(GOOD)

    def git(self, *words: str) -> str:
        return self.bench.git(*words, cwd=self.folder)

    def write(self, files: dict[str, str]) -> None:
        for name, text in files.items():
            (self.folder / name).parent.mkdir(parents=True, exist_ok=True)
            (self.folder / name).write_text(text, "utf-8")

    def commit(self, files: dict[str, str]) -> str:
        """Commit files without hooks, and return the commit."""
        self.write(files)
        self.git("add", "--all")
        self.git("commit", "--quiet", "--no-verify", "-m", "A change")
        return self.git("rev-parse", "HEAD")

    def run(self, *words: str) -> tuple[int, str]:
        done = self.bench.run(*words, cwd=self.folder)
        return done.returncode, " ".join(done.stdout.split())

    def pre_commit(self, *words: str) -> tuple[int, str]:
        return self.run(sys.executable, "-m", "pre_commit", *words)


@pytest.fixture
def program(bench: Bench, tmp_path: Path) -> Program:
    return Program(bench, tmp_path / "club")


def test_the_names_that_the_program_passes_on(program: Program) -> None:
    """The hooks judge settings, names in capitals and links too."""
    program.write({"pyproject.toml": "[tool.trappoint]\nlevel = 1\n", "QUAY.LAYOUT.JSON": BAD})
    (program.folder / "meets" / "link.layout.json").symlink_to("../../elsewhere")
    program.write({"meets/trappoint.toml": ""})
    program.git("add", "--all")
    code, said = program.pre_commit("run", "trappoint-check")
    assert code == 1
    assert "meets/link.layout.json is a link that leads out of its repository" in said
    assert said.count("pyproject.toml: there is no setting level.") == 1
    program.git("rm", "--quiet", "--force", "pyproject.toml")
    code, said = program.pre_commit("run", "trappoint-check", "--files", "QUAY.LAYOUT.JSON")
    assert code == 1
    assert "QUAY.LAYOUT.JSON does not hold" in said


def test_between_two_commits(program: Program) -> None:
    """The hooks judge the second commit, whichever commit is checked out."""
    first = program.git("rev-parse", "HEAD")
    program.git("rm", "--quiet", EAST)
    second = program.commit({"quay.layout.json": BAD, "trappoint.toml": ""})
    program.git("checkout", "--quiet", first)
    code, said = program.pre_commit("run", "--from-ref", first, "--to-ref", second)
    assert code == 1
    assert f"There is no file {EAST}." in said
    assert "quay.layout.json does not hold" in said
    program.write({EAST: CLASH, "quay.layout.json": BAD})
    third = program.commit({EAST: GOOD[EAST], "quay.layout.json": QUAY})
    program.write({"quay.layout.json": BAD})
    assert program.pre_commit("run", "--from-ref", first, "--to-ref", third)[0] == 0


def test_at_a_push_and_after_a_merge(program: Program, tmp_path: Path) -> None:
    program.bench.git("init", "--quiet", "--bare", str(tmp_path / "server"), cwd=tmp_path)
    program.git("remote", "add", "origin", str(tmp_path / "server"))
    program.pre_commit("install", "-t", "pre-push", "-t", "post-merge")
    code, said = program.run("git", "push", "origin", "HEAD:main")
    assert code == 0, said
    program.git("checkout", "--quiet", "-b", "bad")
    program.commit({EAST: CLASH})
    program.git("checkout", "--quiet", "main")
    code, said = program.run("git", "push", "origin", "bad:main")  # another commit is checked out
    assert code == 1
    assert f"{MEET} does not hold" in said
    code, said = program.run("git", "merge", "bad")  # a fast-forward makes no commit
    assert f"{MEET} does not hold" in said
