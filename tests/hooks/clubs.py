"""A club's repository, and this checkout as the repository that its hook comes from."""

from __future__ import annotations

import os
import shutil
import subprocess
from dataclasses import dataclass, replace
from pathlib import Path

from trappoint.core.version import __version__
from warm import PYTHON

ROOT = Path(__file__).parents[2]


@dataclass(frozen=True)
class Bench:
    """The repository of the hook, and the environment in which git and pre-commit run."""

    hook: Path
    rev: str
    env: dict[str, str]
    home: Path
    """The folder in which pre-commit builds environments."""

    def run(self, *words: str, cwd: Path) -> subprocess.CompletedProcess[str]:
        """Run a command and return its result, with its errors in its output."""
        return subprocess.run(
            words,
            cwd=cwd,
            env=self.env,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            encoding="utf-8",
            check=False,
            timeout=900,
        )

    def git(self, *words: str, cwd: Path) -> str:
        """Run git, which must succeed, and return its output."""
        done = self.run("git", *words, cwd=cwd)
        assert done.returncode == 0, done.stdout
        return done.stdout.strip()


def set_up(folder: Path) -> Bench:
    """Copy this checkout, with changes that are not committed, into a new repository.

    If the folder already has that repository, it is returned.
    """
    bench = Bench(folder / "hook", "", _environment(folder), folder / "pre-commit")
    if not bench.hook.exists():
        _copy_checkout(bench.hook)
        (folder / "gitconfig").write_text(
            "[user]\nname = Signals\nemail = signals@example.org\n"
            "[init]\ndefaultBranch = main\n[advice]\ndefaultBranchName = false\n",
            "utf-8",
        )
        bench.git("init", "--quiet", cwd=bench.hook)
        bench.git("add", "--all", cwd=bench.hook)
        bench.git("commit", "--quiet", "-m", "As it lies here", cwd=bench.hook)
        bench.git("tag", f"v{__version__}", cwd=bench.hook)
    return replace(bench, rev=bench.git("rev-parse", "HEAD", cwd=bench.hook))


def _copy_checkout(hook: Path) -> None:
    names = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        check=True,
    ).stdout.decode()
    for name in filter(None, names.split("\0")):
        if (ROOT / name).is_file():  # git lists deleted files too
            (hook / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(ROOT / name, hook / name)


def _environment(folder: Path) -> dict[str, str]:
    kept = {name: value for name, value in os.environ.items() if not name.startswith("GIT_")}
    return kept | {
        "GIT_CONFIG_GLOBAL": str(folder / "gitconfig"),
        "GIT_CONFIG_NOSYSTEM": "1",
        "PRE_COMMIT_HOME": str(folder / "pre-commit"),
        "PRE_COMMIT_COLOR": "never",
        # The hook compiles the modules that it imports, and no others.
        "PIP_NO_COMPILE": "1",
        "PIP_DISABLE_PIP_VERSION_CHECK": "1",
        "PATH": os.pathsep.join([str(Path(PYTHON).parent), os.environ["PATH"]]),
    }
