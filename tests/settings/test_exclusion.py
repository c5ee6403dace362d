"""Patterns of ``exclude`` mean the same as in a .gitignore; real git is the judge."""

from __future__ import annotations

import random
import re
import subprocess
from pathlib import Path

import pytest

from amount import amount
from trappoint.config.exclusion import is_excluded, is_file_excluded, why_unusable

NAMES = ("a", "b", "ab", "b.json", "a]b", "a-b", "a.b")
PATTERNS = (
    "a", "/a", "a/", "/a/", "a/b", "a/**", "**/a", "**/a/b", "a/**/b", "a/**/", "**", "**/", "*",
    "*.json", "a*", "a/*", "*/b", "*/*/b", "?", "??", "a?b", "[ab]", "[!a]", "[^a]b",
    "[a-b]", "[^a-b]", "a[]]b", "a[!]]b", "a[-.]b", "a**b", "a/**b", "**b", "**b/a", "\\a",
    "a\\.b", "a[\\]]b", "a[a\\-b]b", "a[!-]b",
)  # fmt: skip


def trees(rng: random.Random) -> list[str]:
    folders = ["", *NAMES[:3], *(f"{one}/{other}" for one in NAMES[:3] for other in NAMES[:3])]
    folders += ["a/a/b", "b/ab/a"]
    return [
        f"{folder}/{name}.{'x' * rng.randint(0, 1)}".strip("/").rstrip(".")
        for folder in folders
        for name in rng.sample(NAMES, 4)
    ]


def any_pattern(rng: random.Random) -> str:
    pieces = ("a", "b", "ab", "*", "**", "?", "[ab]", "[!b]", ".json", "/", "/", "/**/", "**/")
    found = "".join(rng.choice(pieces) for _ in range(rng.randint(1, 5)))
    # Git cuts off a literal prefix first and then takes ** for the start of the pattern.
    return found if not re.search(r"[^/]\*\*+/", found) else any_pattern(rng)


def git_ignores(repository: Path, pattern: str, paths: list[str]) -> set[str]:
    """Return the paths that git ignores because of one pattern."""
    (repository / ".git" / "info" / "exclude").write_text(f"{pattern}\n", "utf-8")
    done = subprocess.run(
        ["git", "check-ignore", "--no-index", "-z", "--stdin"],
        input="\0".join(paths),
        capture_output=True,
        text=True,
        cwd=repository,
        check=False,
    )
    assert done.returncode in (0, 1), done.stderr
    return {path for path in done.stdout.split("\0") if path}


def test_a_pattern_leaves_out_what_git_would_ignore(tmp_path: Path) -> None:
    subprocess.run(["git", "init", "--quiet"], cwd=tmp_path, check=True)
    rng = random.Random(15)
    paths = sorted(set(trees(rng)))
    drawn = [any_pattern(rng) for _ in range(amount(100, long=3000))]
    patterns = [each for each in (*PATTERNS, *drawn) if not why_unusable(each)]
    assert set(PATTERNS) <= set(patterns)
    matching = 0
    for pattern in patterns:
        found = {path for path in paths if is_excluded(path, [pattern])}
        assert found == git_ignores(tmp_path, pattern, paths), pattern
        matching += 0 < len(found) < len(paths)
    assert matching > len(patterns) / 3


@pytest.mark.parametrize("pattern", ["", "/", "//", "!a", "a[", "a\\", "[]", "[a/]b", "x" * 501])
def test_what_is_no_pattern(pattern: str) -> None:
    assert why_unusable(pattern).endswith(".")


def test_a_pattern_of_a_stranger_takes_no_time() -> None:
    """Test patterns for which a matcher that backtracks at every star would never end."""
    names = f"{'a' * 200}/" * 20 + "a" * 200
    assert not is_excluded(names, ["*a" * 240 + "b", "**/a*" * 100, "/**/*a*a*a*a*b/" * 30])


def test_patterns_are_seen_from_their_folder(tmp_path: Path) -> None:
    plan = str(tmp_path / "club" / "attic" / "x.layout.json")
    assert is_file_excluded(plan, ["attic/**"], str(tmp_path / "club"))
    assert not is_file_excluded(plan, ["attic/**"], str(tmp_path))
    assert is_file_excluded(plan, ["attic"], str(tmp_path / "club" / "elsewhere"))
    assert not is_file_excluded(plan, [], str(tmp_path))
