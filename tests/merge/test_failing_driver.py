"""Merge with real git and a driver whose program cannot start, or ends in the middle."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import venv
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType

import pytest

from commands.running import GOOD
from merge.versions import finish
from tidy.clubs import SETTINGS
from trappoint.core.version import __version__
from trappoint_hooks import diff, merge

OURS, THEIRS = GOOD.replace("1450", "1500"), GOOD.replace("1450", "1400")
MERGED = GOOD.replace("1450", "1500").replace("Kelpie Quay", "Old Quay")
NAME = b"kelpie quay.layout.json"
NAMES = [
    b"-out.layout.json",
    b"--name=x.layout.json",
    b'it\'s "quoted" $HOME `id` \\n %A.layout.json',
    b"new\nline.layout.json",
    b"Gl\xfcck in Latin-1, Gl\xc3\xbcck in UTF-8.layout.json",
]
"""Names of plans that are hard for a shell, for a parser of arguments, or for an encoding."""


@dataclass
class Club:
    """A club's repository, with drivers that run in their own Python."""

    folder: Path
    python: Path
    env: dict[str, str]

    def run(self, *words: str | bytes) -> subprocess.CompletedProcess[str]:
        """Run a command and return its result, with its errors in its output."""
        return subprocess.run(
            words,
            cwd=self.folder,
            env=self.env,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            encoding="utf-8",
            errors="surrogateescape",
            check=False,
            timeout=300,
        )

    def git(self, *words: str | bytes) -> str:
        done = self.run(GIT, *words)
        assert done.returncode == 0, done.stdout
        return done.stdout

    def install(self, module: str) -> None:
        """Install a driver as in a terminal; later calls of git have no search path."""
        self.env["PATH"] = os.environ["PATH"]
        done = self.run(str(self.python), "-m", module, "--install")
        assert done.returncode == 0, done.stdout
        del self.env["PATH"]

    def read(self, name: bytes = NAME) -> str:
        return Path(os.fsdecode(os.fsencode(self.folder) + b"/" + name)).read_text("utf-8")

    def commit(self, versions: dict[bytes, str]) -> None:
        for name, text in versions.items():
            Path(os.fsdecode(os.fsencode(self.folder) + b"/" + name)).write_text(text, "utf-8")
        self.git("add", "--all")
        self.git("commit", "--quiet", "-m", "A version")

    def branch(self, ours: dict[bytes, str], theirs: dict[bytes, str]) -> None:
        """Commit plans, then their versions on the branch ``theirs`` and on ``main``."""
        self.commit(dict.fromkeys(ours, GOOD))
        self.git("checkout", "--quiet", "-b", "theirs")
        self.commit(theirs)
        self.git("checkout", "--quiet", "main")
        self.commit(ours)

    def merge(self) -> subprocess.CompletedProcess[str]:
        return self.run(GIT, "merge", "--no-edit", "theirs")

    def unmerged(self) -> int:
        """Return the number of plans that git marks as unmerged."""
        assert self.run(GIT, "commit", "-m", "Too early").returncode != 0
        return self.git("status", "--porcelain").count("UU")


GIT = shutil.which("git") or "git"
PACKAGES = os.pathsep.join(path for path in sys.path if path)


@pytest.fixture
def club(tmp_path: Path) -> Club:
    """A repository with the driver, whose Python finds its packages by a variable."""
    venv.create(tmp_path / "a python's home", symlinks=True)
    python = tmp_path / "a python's home" / "bin" / "python"
    (tmp_path / "gitconfig").write_text(SETTINGS, "utf-8")
    env = {"GIT_CONFIG_GLOBAL": str(tmp_path / "gitconfig"), "PYTHONPATH": PACKAGES}
    club = Club(tmp_path / "club", python, env)
    club.folder.mkdir()
    club.git("init", "--quiet")
    club.install("trappoint_hooks.merge")
    return club


def test_a_window_without_a_search_path(club: Club) -> None:
    club.branch({NAME: OURS}, {NAME: GOOD.replace("Kelpie Quay", "Old Quay")})
    for path in (None, "/nowhere"):
        club.env |= {} if path is None else {"PATH": path}
        done = club.merge()
        assert done.returncode == 0, done.stdout
        assert club.read() == MERGED
        club.git("reset", "--quiet", "--hard", "HEAD~1")


def test_names(club: Club) -> None:
    """The drivers merge and compare these names, and git does if they cannot start."""
    club.install("trappoint_hooks.diff")
    club.branch(
        dict.fromkeys(NAMES, OURS), dict.fromkeys(NAMES, GOOD.replace("Kelpie Quay", "Old Quay"))
    )
    done = club.merge()
    assert done.returncode == 0, done.stdout
    assert {club.read(name) for name in NAMES} == {MERGED}
    club.git("reset", "--quiet", "--hard", "HEAD~1")
    said = " ".join(club.git("diff", "HEAD~1").split())
    assert said.count("length: now 1500 mm, before 1450 mm") == len(NAMES)
    club.python.unlink()
    assert club.merge().returncode == 1
    assert {club.read(name) for name in NAMES} == {MERGED}
    assert club.unmerged() == len(NAMES)
    club.git("reset", "--quiet", "--hard")
    assert club.git("diff", "HEAD~1").count('+    "main"') == len(NAMES)


def assert_left_with_marks(club: Club) -> None:
    done = club.merge()
    assert done.returncode == 1
    assert "CONFLICT (content): Merge conflict in kelpie quay.layout.json" in done.stdout
    assert "so git works on the lines of this plan" in done.stdout
    assert "trappoint-merge --install" in done.stdout
    text = club.read()
    assert [finish(text, side) for side in ("ours", "theirs")] == [OURS, THEIRS]
    assert club.unmerged() == 1


def test_its_python_is_gone(club: Club) -> None:
    club.branch({NAME: OURS}, {NAME: THEIRS})
    shutil.rmtree(club.python.parents[1])
    assert_left_with_marks(club)


def test_its_package_is_gone(club: Club) -> None:
    club.install("trappoint_hooks.diff")
    club.branch({NAME: OURS}, {NAME: THEIRS})
    del club.env["PYTHONPATH"]
    assert_left_with_marks(club)
    club.git("merge", "--abort")
    assert "No module named" in club.run(GIT, "diff", "HEAD~1").stdout
    assert '"length_mm": 1500' in club.git("diff", "HEAD~1")
    assert '"length_mm": 1500' in club.git("log", "-p", "--ext-diff")


def test_it_ends_in_the_middle(club: Club, tmp_path: Path) -> None:
    """The driver ends just before it writes the merged plan."""
    (tmp_path / "sitecustomize.py").write_text(
        "import os\n"
        "import trappoint.source.writing\n"
        "def write_file(*_, **__):\n"
        "    exec(os.environ['END'])\n"
        "trappoint.source.writing.write_file = write_file\n",
        "utf-8",
    )
    club.branch({NAME: OURS}, {NAME: THEIRS})
    club.env["PYTHONPATH"] = f"{tmp_path}{os.pathsep}{PACKAGES}"
    for end in ("os.kill(os.getpid(), 9)", "raise MemoryError", "os._exit(1)", "os._exit(130)"):
        club.env["END"] = end
        assert_left_with_marks(club)
        club.git("merge", "--abort")


def test_what_lines_cannot_merge_is_marked_below_ours(club: Club) -> None:
    """Git sees a file with a NUL as binary, and would leave ours unchanged."""
    club.branch({NAME: OURS + "\0"}, {NAME: THEIRS + "\0"})
    club.python.unlink()
    assert club.merge().returncode == 1
    assert club.read().startswith(f"{OURS}\0\n<<<<<<< ours\n")
    assert club.unmerged() == 1
    club.git("checkout", "--theirs", "--", NAME)
    assert club.read() == THEIRS + "\0"


def test_a_plan_too_long_to_be_read_loses_nothing(club: Club) -> None:
    """The reader stops after 8 MiB, so such a plan is not merged."""
    filling = " " * 8_400_000
    club.branch({NAME: f"{OURS}{filling}1\n"}, {NAME: f"{THEIRS}{filling}2\n"})
    done = club.merge()
    assert done.returncode == 1
    assert "is longer than 8 MiB" in done.stdout
    text = club.read()
    assert finish(text, "ours") == f"{OURS}{filling}1\n"
    assert finish(text, "theirs") == f"{THEIRS}{filling}2\n"


@pytest.mark.parametrize("attributes", [None, b"", b"*.pdf binary\n", b"*.pdf binary"])
@pytest.mark.parametrize("order", [(diff, merge), (merge, diff)])
def test_both_drivers_leave_in_any_order(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    order: tuple[ModuleType, ModuleType],
    attributes: bytes | None,
) -> None:
    subprocess.run([GIT, "init", "--quiet", str(tmp_path)], check=True)
    monkeypatch.chdir(tmp_path)
    file = tmp_path / ".git" / "info" / "attributes"
    if attributes is not None:
        file.write_bytes(attributes)
    before = (tmp_path / ".git" / "config").read_bytes()
    for driver in (diff, merge):
        assert driver.main(["--install"]) == 0
    assert file.read_text().count("diff=trappoint") == 1
    assert file.read_text().count("merge=trappoint") == 1
    for driver in order:
        assert driver.main(["--uninstall"]) == 0
    assert (file.read_bytes() if file.exists() else None) == attributes
    assert (tmp_path / ".git" / "config").read_bytes() == before


def test_another_driver_of_that_name_is_left_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    subprocess.run([GIT, "init", "--quiet", str(tmp_path)], check=True)
    monkeypatch.chdir(tmp_path)
    subprocess.run([GIT, "config", "merge.trappoint.driver", "other %A"], check=True)
    for word in ("--install", "--uninstall"):
        assert merge.main([word]) == 2
        assert "merge.trappoint.driver is already set to 'other %A'" in capsys.readouterr().err


def test_wrong_words(capsys: pytest.CaptureFixture[str]) -> None:
    for words in ([], ["--what"], ["base", "ours", "theirs"], ["a", "b", "c", "d", "e"]):
        assert merge.main(words) == 2
        assert "trappoint-merge --install" in capsys.readouterr().err
    for driver, name in ((merge, "trappoint-merge"), (diff, "trappoint-diff")):
        assert driver.main(["--version"]) == 0
        assert capsys.readouterr().out == f"{name} {__version__}\n"
