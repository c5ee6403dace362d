"""A club's repository with a history of plans, for real git."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

from commands.running import environment
from warm import PYTHON

PLAN = "kelpie-quay.layout.json"


@dataclass(frozen=True)
class Club:
    """A repository, and an environment for git without this computer's settings."""

    folder: Path
    env: dict[str, str]

    def run(self, *words: str, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            words,
            cwd=cwd or self.folder,
            env=self.env,
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            encoding="utf-8",
            check=False,
            timeout=120,
        )

    def git(self, *words: str) -> str:
        done = self.run("git", *words)
        assert done.returncode == 0, done.stderr
        return done.stdout

    def trappoint(self, *words: str, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
        return self.run(sys.executable, "-m", "trappoint", *words, cwd=cwd)

    def driver(self, *words: str, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
        return self.run(sys.executable, "-m", "trappoint_hooks.diff", *words, cwd=cwd)

    def write(self, text: str, name: str = PLAN) -> None:
        (self.folder / name).parent.mkdir(exist_ok=True)
        (self.folder / name).write_text(text, "utf-8")

    def commit(self, message: str) -> None:
        self.git("add", "--all")
        self.git("commit", "--quiet", "-m", message)


def found_club(folder: Path) -> Club:
    club = _club_in(folder)
    club.folder.mkdir()
    club.git("init", "--quiet")
    return club


def copied(club: Club, folder: Path) -> Club:
    """Return a copy of a club's repository, for one test."""
    found = _club_in(folder)
    shutil.copytree(club.folder, found.folder, symlinks=True)
    return found


def _club_in(folder: Path) -> Club:
    settings = folder / "gitconfig"
    settings.write_text(
        "[user]\nname = Signals\nemail = signals@example.org\n[init]\ndefaultBranch = main\n",
        "utf-8",
    )
    kept = {name: value for name, value in environment().items() if not name.startswith("GIT_")}
    env = kept | {
        "GIT_CONFIG_GLOBAL": str(settings),
        "GIT_CONFIG_NOSYSTEM": "1",
        "GIT_CEILING_DIRECTORIES": str(folder),
        "PATH": os.pathsep.join([str(Path(PYTHON).parent), os.environ["PATH"]]),
    }
    return Club(folder / "layouts", env)
