"""Test ``trappoint tidy``: its files, its messages and its exit codes."""

from __future__ import annotations

import json
import os
import re
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from commands.in_process import trappoint
from commands.running import GOOD, ROOT, environment
from hooks.clubs import Bench
from trappoint.tidying.tidy import tidy_content


def tidied(text: str) -> str:
    done = tidy_content(text)
    assert isinstance(done, str)
    return done


TIDY = GOOD
"""A tidy plan, as all examples are."""
UNTIDY = GOOD.replace('{"up"', '{  "up"').replace("\n    ", "\n\t")
NAME = "plan.layout.json"


@pytest.fixture
def plan(tmp_path: Path) -> Path:
    path = tmp_path / NAME
    path.write_text(UNTIDY, "utf-8")
    return path


def test_the_layout_is_the_one_of_the_library() -> None:
    assert tidied(UNTIDY) == TIDY


def test_a_plan_is_written_anew(plan: Path) -> None:
    plan.chmod(0o640)
    done = trappoint("tidy", NAME, cwd=plan.parent)
    assert (done.returncode, done.stdout) == (0, "")
    assert done.stderr == f"trappoint: {NAME} was tidied.\n"
    assert plan.read_bytes() == TIDY.encode()
    assert stat.S_IMODE(plan.stat().st_mode) == 0o640
    assert [path.name for path in plan.parent.iterdir()] == [NAME]


def test_a_tidy_plan_is_not_touched(plan: Path) -> None:
    plan.write_text(TIDY, "utf-8")
    os.utime(plan, ns=(1, 1))
    before = plan.stat()
    for words in (("tidy", NAME), ("tidy", "--check", NAME)):
        done = trappoint(*words, cwd=plan.parent)
        assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    after = plan.stat()
    assert (before.st_ino, before.st_mtime_ns) == (after.st_ino, after.st_mtime_ns)


def test_check_names_what_would_change_and_writes_nothing(plan: Path) -> None:
    (plan.parent / "b.layout.json").write_text(TIDY, "utf-8")
    (plan.parent / "c.layout.json").write_text(UNTIDY + "\n", "utf-8")
    done = trappoint("tidy", "--check", ".", cwd=plan.parent)
    assert done.returncode == 1
    assert done.stdout == f"c.layout.json is not tidy.\n{NAME} is not tidy.\n"
    assert done.stderr == ""
    assert plan.read_text("utf-8") == UNTIDY


def test_standard_input_goes_to_standard_output() -> None:
    text = UNTIDY.replace("Kelpie Quay", "Quai des Kelpies — café")
    expected = tidied(text)
    done = trappoint("tidy", "-", given=text.encode())
    assert (done.returncode, done.stdout, done.stderr) == (0, expected, "")
    for encoding in ("ascii", "utf-16"):
        raw = subprocess.run(
            [sys.executable, "-m", "trappoint", "tidy", "-"],
            input=text.encode(),
            capture_output=True,
            env=environment(PYTHONIOENCODING=encoding, LC_ALL="C"),
            check=True,
        )
        assert raw.stdout == expected.encode()
    checked = trappoint("tidy", "--check", "-", given=text.encode())
    assert (checked.returncode, checked.stdout) == (1, "standard input is not tidy.\n")


def test_what_can_not_be_read_stays_as_it_is(plan: Path) -> None:
    bad = GOOD.replace('"scale": "OO",', '"scale": "OO"')
    (plan.parent / "bad.layout.json").write_text(bad, "utf-8")
    for words in (("tidy", "."), ("tidy", "--check", ".")):
        done = trappoint(*words, cwd=plan.parent)
        assert done.returncode == 1
        line = 1 + bad.splitlines().index('  "scale": "OO"')
        assert re.search(rf"^error \S+\nbad\.layout\.json:{line}:\d+$", done.stdout, re.MULTILINE)
        assert (plan.parent / "bad.layout.json").read_text("utf-8") == bad
    assert plan.read_bytes() == TIDY.encode()  # the command still tidies the other plan


def test_nothing_but_the_plan_is_written_to_standard_output() -> None:
    done = trappoint("tidy", "-", given=b'{"a": 1, "a": 2}')
    assert (done.returncode, done.stdout) == (1, "")
    assert "\nerror duplicate-key\nstandard input:1:10\n" in done.stderr


def test_what_can_not_be_used(plan: Path) -> None:
    done = trappoint("tidy", "missing.layout.json", NAME, cwd=plan.parent)
    assert done.returncode == 2
    assert done.stderr.startswith("trappoint: There is no file missing.layout.json.\n")
    assert plan.read_bytes() == TIDY.encode()
    assert trappoint("tidy").returncode == 2


def test_a_plan_that_would_be_too_long_to_be_read_again(plan: Path) -> None:
    short = json.dumps({"tracks": {str(n): 0 for n in range(600_000)}}, separators=(",", ":"))
    assert len(short) < 8 * 1024 * 1024
    plan.write_text(short, "utf-8")
    done = trappoint("tidy", NAME, cwd=plan.parent)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == f"trappoint: {NAME} would be longer than 8 MiB, and is unchanged.\n"
    assert plan.read_text("utf-8") == short


@pytest.mark.skipif(os.geteuid() == 0, reason="nothing is forbidden to the administrator")
def test_a_file_that_may_not_be_written(plan: Path) -> None:
    plan.chmod(0o444)
    done = trappoint("tidy", NAME, cwd=plan.parent)
    assert done.returncode == 2
    assert done.stderr == f"trappoint: {NAME} cannot be written: permission was refused.\n"
    assert plan.read_text("utf-8") == UNTIDY


def test_a_link_stays_a_link(plan: Path) -> None:
    link = plan.parent / "link.layout.json"
    link.symlink_to(NAME)
    done = trappoint("tidy", "link.layout.json", cwd=plan.parent)
    assert done.returncode == 0
    assert link.is_symlink()
    assert plan.read_bytes() == TIDY.encode()


def test_the_hook_stops_the_commit_once(plan: Path, git: Bench) -> None:
    """Real git and pre-commit refuse the commit until the tidied plan is staged."""
    club = plan.parent
    entry = f"{sys.executable} -m trappoint_hooks.tidy"
    (club / ".pre-commit-config.yaml").write_text(
        "repos:\n- repo: local\n  hooks:\n  - id: trappoint-tidy\n    name: tidy\n"
        f"    entry: {entry}\n    language: system\n    files: \\.layout\\.json$\n",
        "utf-8",
    )
    git.git("init", "--quiet", cwd=club)
    git.git("add", "--all", cwd=club)
    assert git.run(sys.executable, "-m", "pre_commit", "install", cwd=club).returncode == 0
    first = git.run("git", "commit", "-m", "A plan", cwd=club)
    assert first.returncode == 1, first.stdout
    assert f"trappoint: {NAME} was tidied." in first.stdout
    assert plan.read_bytes() == TIDY.encode()
    git.git("add", "--all", cwd=club)
    second = git.run("git", "commit", "-m", "A plan", cwd=club)
    assert second.returncode == 0, second.stdout
    assert git.git("show", f"HEAD:{NAME}", cwd=club) == TIDY.strip()


def test_a_plan_is_written_out_and_shortened(plan: Path) -> None:
    for word, mark in (("--explicit", True), ("--short", False)):
        checked = trappoint("tidy", word, "--check", NAME, cwd=plan.parent)
        assert (checked.returncode, checked.stdout) == (1, f"{NAME} is not tidy.\n")
        done = trappoint("tidy", word, NAME, cwd=plan.parent)
        assert (done.returncode, done.stderr) == (0, f"trappoint: {NAME} was tidied.\n")
        assert ('"running": "both"' in plan.read_text("utf-8")) is mark
    assert trappoint("tidy", "--short", "--check", NAME, cwd=plan.parent).returncode == 0
    both = trappoint("tidy", "--short", "--explicit", NAME, cwd=plan.parent)
    assert both.returncode == 2
    no_plan = trappoint("tidy", "--short", "-", given=b'{"tracks": {}}')
    assert (no_plan.returncode, no_plan.stdout) == (1, "")
    assert "error missing-key" in no_plan.stderr


def test_the_hook_is_offered_and_installed() -> None:
    offered = (ROOT / ".pre-commit-hooks.yaml").read_text("utf-8")
    assert "- id: trappoint-tidy\n" in offered
    assert "  entry: trappoint-tidy\n" in offered
    scripts = (ROOT / "pyproject.toml").read_text("utf-8")
    assert 'trappoint-tidy = "trappoint_hooks.tidy:main"\n' in scripts
    done = subprocess.run(
        [sys.executable, "-m", "trappoint_hooks.tidy", "--check", "-"],
        input=TIDY.encode(),
        capture_output=True,
        check=False,
    )
    assert (done.returncode, done.stdout, done.stderr) == (0, b"", b"")
