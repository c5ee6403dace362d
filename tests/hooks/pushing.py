"""A club's bare repository with the hook in it, and a member's clone. Real git, real pushes."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from trappoint.core.resources import read_resource
from trappoint_hooks import receive

GOOD = read_resource("kelpie-quay.layout.json")
BAD = "".join(line for line in GOOD.splitlines(keepends=True) if '"6": {' not in line)
"""Kelpie Quay without signal 6: nothing holds a train in the siding."""
WORSE = "".join(line for line in BAD.splitlines(keepends=True) if '"3": {' not in line)
"""Kelpie Quay without signals 6 and 3: a train in main is not held either."""
BROKEN = GOOD.replace('"p2": {"normal": "left"},', '"p2": {"normal": "left"}')

PLAN = "quay.layout.json"


def environment(home: Path) -> dict[str, str]:
    """Return an environment without settings of git and the user, with a name for commits."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith("GIT_")}
    return kept | {
        "HOME": str(home),
        "GIT_CONFIG_NOSYSTEM": "1",
        "GIT_AUTHOR_NAME": "Signals",
        "GIT_AUTHOR_EMAIL": "signals@example.org",
        "GIT_COMMITTER_NAME": "Signals",
        "GIT_COMMITTER_EMAIL": "signals@example.org",
    }


class Club:
    """``server`` is the bare repository, ``clone`` a member's."""

    def __init__(self, folder: Path, *hook: str, form: str = "sha1") -> None:
        self.server = folder / "server.git"
        self.clone = folder / "clone"
        self.env = environment(folder)
        if self.server.exists():  # copied from another club
            return
        words = ["init", "--quiet", "-b", "main", f"--object-format={form}", "--template="]
        self.git(*words, "--bare", str(self.server), cwd=folder)
        self.git(*words, str(self.clone), cwd=folder)
        self.git("remote", "add", "origin", "../server.git")
        self.set_up(*hook)

    def set_up(self, *hook: str) -> None:
        """Install the hook with these options."""
        assert receive.main(["--install", str(self.server), *hook]) == 0

    def take_out(self) -> None:
        """Uninstall the hook."""
        assert receive.main(["--uninstall", str(self.server)]) == 0

    def run(
        self, *words: str, cwd: Path | None = None, given: bytes = b""
    ) -> subprocess.CompletedProcess[bytes]:
        return subprocess.run(
            words,
            cwd=cwd or self.clone,
            env=self.env,
            input=given,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            check=False,
            timeout=120,
        )

    def git(self, *words: str, cwd: Path | None = None) -> str:
        """Run git, which must succeed, and return its output."""
        done = self.run("git", *words, cwd=cwd)
        assert done.returncode == 0, done.stdout
        return os.fsdecode(done.stdout).strip()

    def commit(self, title: str, **files: str | bytes | None) -> str:
        """Commit files, ``quay`` for the plan; None deletes one. Return the commit."""
        return self.commit_files(
            title, {PLAN if name == "quay" else name: text for name, text in files.items()}
        )

    def commit_files(self, title: str, files: dict[str, str | bytes | None]) -> str:
        for name, text in files.items():
            path = self.clone / name
            path.parent.mkdir(parents=True, exist_ok=True)
            if text is None:
                path.unlink()
            else:
                path.write_bytes(text.encode() if isinstance(text, str) else text)
        self.git("add", "--all")
        self.git("commit", "--quiet", "--allow-empty", "-m", title)
        return self.git("rev-parse", "HEAD")

    def push(self, *words: str) -> tuple[bool, str]:
        """Push, and return whether it was accepted, and the server's output in one line."""
        done = self.run("git", "push", "origin", *(words or ("HEAD",)))
        said = os.fsdecode(done.stdout)
        remote = [
            line.removeprefix("remote:").strip()
            for line in said.splitlines()
            if line.startswith("remote:")
        ]
        return done.returncode == 0, " ".join(" ".join(remote).split())

    def start_bad(self, text: str = BAD) -> None:
        """Push a bad plan to main without the hook, then install the hook."""
        self.take_out()
        self.commit("As it always was", quay=text, notes="1")
        assert self.push()[0]
        self.set_up()

    def at(self, ref: str) -> str:
        """Return the commit of a ref on the server, empty if it has none."""
        done = self.run("git", "rev-parse", "--quiet", "--verify", ref, cwd=self.server)
        return os.fsdecode(done.stdout).strip()


def hook(
    folder: Path, name: str, *words: str, given: bytes = b""
) -> subprocess.CompletedProcess[str]:
    """Call a hook's program by hand."""
    done = subprocess.run(
        [sys.executable, "-m", f"trappoint_hooks.{name}", *words],
        cwd=folder,
        env=environment(folder),
        input=given,
        capture_output=True,
        check=False,
        timeout=120,
    )
    return subprocess.CompletedProcess(
        done.args, done.returncode, os.fsdecode(done.stdout), os.fsdecode(done.stderr)
    )
