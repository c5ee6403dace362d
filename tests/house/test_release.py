"""The release script refuses a bad version or tree before it builds anything."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from trappoint.core.version import __version__

ROOT = Path(__file__).parents[2]
VERSION_FILE = "validator/trappoint/core/version.py"
ENTRY = f"# Changelog\n\n## {__version__} (2026-01-02)\n\n- A change.\n"


def git(folder: Path, *words: str) -> None:
    who = ("-c", "user.name=Nobody", "-c", "user.email=nobody@example.invalid")
    subprocess.run(["git", *who, *words], cwd=folder, check=True, capture_output=True)


@pytest.fixture
def checkout(tmp_path: Path) -> Path:
    """Return a repository with the script and the version file, and nothing to build."""
    for name in (".ci/release.py", VERSION_FILE):
        (tmp_path / name).parent.mkdir(parents=True)
        shutil.copy(ROOT / name, tmp_path / name)
    git(tmp_path, "init", "--quiet")
    return tmp_path


def refusal(checkout: Path, changelog: str, *words: str) -> str:
    """Commit a changelog, run the script and return its error message."""
    (checkout / "CHANGELOG.md").write_text(changelog, "utf-8")
    git(checkout, "add", "--all")
    git(checkout, "commit", "--quiet", "--message", "Release")
    return run(checkout, *words)


def run(checkout: Path, *words: str) -> str:
    script = [sys.executable, "-B", ".ci/release.py", *words]
    done = subprocess.run(script, cwd=checkout, capture_output=True, text=True, check=False)
    assert done.returncode == 1
    assert "build the wheel" not in done.stdout
    assert not (checkout / "dist").exists()
    return done.stderr


@pytest.mark.parametrize(
    ("changelog", "why"),
    [
        ("# Changelog\n\n## Unreleased\n\n- A change.\n", "is 'Unreleased', not"),
        ("# Changelog\n", "is '', not"),
        (ENTRY.replace(__version__, "99.0.0"), f"not '{__version__} (YEAR-MONTH-DAY)'"),
        (ENTRY.replace(" (2026-01-02)", ""), f"not '{__version__} (YEAR-MONTH-DAY)'"),
        (ENTRY.replace("- A change.", "Nothing."), "lists no change"),
    ],
)
def test_a_version_needs_its_entry(checkout: Path, changelog: str, why: str) -> None:
    assert why in refusal(checkout, changelog)


def test_a_changed_tree_is_refused(checkout: Path) -> None:
    refusal(checkout, "# Changelog\n")
    (checkout / "new.txt").write_text("", "utf-8")
    assert "not clean" in run(checkout)


def test_a_tag_is_not_made_twice(checkout: Path) -> None:
    git(checkout, "commit", "--quiet", "--allow-empty", "--message", "Begin")
    git(checkout, "tag", f"v{__version__}")
    assert f"v{__version__} exists already" in refusal(checkout, ENTRY, "--tag")
