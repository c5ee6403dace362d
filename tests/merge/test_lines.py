"""The merge of texts by lines, against git's own on random texts."""

from __future__ import annotations

import random
import subprocess
from itertools import count
from pathlib import Path

import pytest

from amount import amount
from trappoint.merging.line_merge import merge_lines

BASE = "a\nb\nc\nd\ne\n"


@pytest.mark.parametrize(
    ("ours", "theirs", "merged"),
    [
        (BASE, "x\n", "x\n"),
        ("x\n", BASE, "x\n"),
        ("x\n", "x\n", "x\n"),
        ("a\nB\nc\nd\ne\n", "a\nb\nc\nD\ne\n", "a\nB\nc\nD\ne\n"),
        ("0\n" + BASE, BASE + "f", "0\n" + BASE + "f"),
        ("a\nc\nd\ne\n", "a\nb\nc\nd\n", "a\nc\nd\n"),
        ("a\nX\nc\nd\ne\n", "a\nX\nc\nd\nE\n", "a\nX\nc\nd\nE\n"),
    ],
)
def test_changes_in_different_places_are_merged(ours: str, theirs: str, merged: str) -> None:
    assert merge_lines(BASE, ours, theirs) == (merged, ())


def test_a_conflict_has_both_versions_and_its_line() -> None:
    found = merge_lines(BASE, "a\nB\nc\nd\ne\n", "a\nb2\nc\nd\ne\n")
    lines = ["a", "<<<<<<< ours", "B", "=======", "b2", ">>>>>>> theirs", "c", "d", "e", ""]
    assert found == ("\n".join(lines), (2,))
    assert merge_lines("", "x", "y").text == "<<<<<<< ours\nx\n=======\ny\n>>>>>>> theirs\n"


def changed(lines: list[str], rng: random.Random, fresh: count[int]) -> list[str]:
    """Return lines with up to three of them removed, replaced or added."""
    found = list(lines)
    for _ in range(rng.randint(0, 3)):
        at = rng.randrange(len(found) + 1)
        new = [f"{next(fresh)}\n" for _ in range(rng.randint(0, 2))]
        found[at : at + rng.randint(0, 2)] = new
    return found


def test_it_merges_what_git_merges(tmp_path: Path) -> None:
    rng, fresh = random.Random(5), count()
    clean = 0
    for _ in range(amount(60, long=2000)):
        base = [f"{next(fresh)}\n" for _ in range(12)]
        versions = [base, changed(base, rng, fresh), changed(base, rng, fresh)]
        places = [tmp_path / name for name in ("base", "ours", "theirs")]
        for place, lines in zip(places, versions, strict=True):
            place.write_text("".join(lines))
        words = ["git", "merge-file", "-p", "ours", "base", "theirs"]
        git = subprocess.run(words, cwd=tmp_path, capture_output=True, text=True, check=False)
        text, conflicts = merge_lines(*map("".join, versions))
        assert bool(conflicts) == bool(git.returncode), versions
        if not conflicts:
            clean += 1
            assert text == git.stdout
    assert clean > 10
