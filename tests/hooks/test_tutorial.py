"""Follow the page that sets the hook up, step by step: hooks/README.md."""

from __future__ import annotations

import json
import re
import sys
import tomllib
from pathlib import Path

import yaml

from amount import is_long
from hooks.clubs import ROOT, Bench
from hooks.page import PAGE, PLAN, SORREL_HALT, block, blocks, edited, saved
from trappoint.core.version import __version__

CONFIG = ".pre-commit-config.yaml"
SET_UP = "Set up the hook"
REJECTED = "Signal 3 moved"


def begin(bench: Bench, folder: Path, repository: Path) -> Path:
    """Follow steps 1 to 3: a repository, a plan, the configuration, the hook."""
    make, install = blocks(SET_UP, "sh")[:2]
    club = folder / "our-layouts"
    succeed(bench, make, folder)
    (club / PLAN).write_text(SORREL_HALT, "utf-8")
    config = saved(CONFIG).replace("ADDRESS", repository.as_uri())
    (club / CONFIG).write_text(config, "utf-8")
    succeed(bench, install, club)
    return club


def succeed(bench: Bench, commands: str, folder: Path) -> None:
    """Run the commands of a block, which must succeed."""
    done = bench.run("bash", "-e", "-c", commands, cwd=folder)
    assert done.returncode == 0, done.stdout


def test_every_command_does_what_the_page_says(bench: Bench, tmp_path: Path) -> None:
    club = begin(bench, tmp_path, bench.hook)
    commit, bad_commit, mend = blocks(SET_UP, "sh")[2:]
    succeed(bench, commit, club)
    assert (club / CONFIG).read_text("utf-8").count(f"rev: v{__version__}\n") == 1
    assert (club / ".git" / "hooks" / "pre-merge-commit").exists()
    (club / PLAN).write_text(edited(SORREL_HALT), "utf-8")
    assert REJECTED in bad_commit
    done = bench.run("bash", "-e", "-c", bad_commit, cwd=club)
    assert done.returncode == 1, done.stdout
    assert block(SET_UP, "text") in done.stdout
    assert bench.git("rev-list", "--count", "HEAD", cwd=club) == "1"
    succeed(bench, mend, club)
    assert (club / PLAN).read_text("utf-8") == SORREL_HALT
    assert bench.git("status", "--porcelain", cwd=club) == ""


def test_a_repository_without_a_release(bench: Bench, tmp_path: Path) -> None:
    bench.git("clone", "--quiet", "--no-tags", str(bench.hook), "untagged", cwd=tmp_path)
    club = begin(bench, tmp_path, tmp_path / "untagged")
    update = "python -m pre_commit autoupdate --bleeding-edge"
    assert f"`{update}`" in PAGE
    succeed(bench, update, club)
    assert f"rev: {bench.rev}\n" in (club / CONFIG).read_text("utf-8")


def test_a_merge_is_checked_too(bench: Bench, tmp_path: Path) -> None:
    """A bad plan, committed in a clone without the hook, is rejected at the merge."""
    club = begin(bench, tmp_path, bench.hook)
    succeed(bench, blocks(SET_UP, "sh")[2], club)
    plan = club / PLAN
    text = plan.read_text("utf-8")
    bench.git("checkout", "--quiet", "-b", "no-siding-signal", cwd=club)
    bare = text.replace('{"track": "siding", "for": "up"', '{"track": "siding", "for": "down"')
    plan.write_text(bare, "utf-8")
    bench.git("commit", "--quiet", "--no-verify", "-a", "-m", "Signal 3 turned round", cwd=club)
    bench.git("checkout", "--quiet", "main", cwd=club)
    (club / "notes.txt").write_text("Other work.\n", "utf-8")
    bench.git("add", "--all", cwd=club)
    bench.git("commit", "--quiet", "-m", "Notes", cwd=club)
    before = bench.git("rev-parse", "HEAD", cwd=club)
    merged = bench.run("git", "merge", "--no-edit", "no-siding-signal", cwd=club)
    assert merged.returncode != 0
    assert "error unheld-exit" in merged.stdout
    assert bench.git("rev-parse", "HEAD", cwd=club) == before


def test_commands_for_powershell_stand_beside_those_that_need_a_shell() -> None:
    """Commands outside of the marked blocks have no syntax of one shell alone."""
    assert len(blocks("Before you start", "powershell")) == 1
    shared = re.findall(r"^ *```sh\n(.*?)^ *```$", PAGE, re.DOTALL | re.MULTILINE)[1:]
    odd = [text for text in shared if re.search(r"[$'\\<&|;]|\bexport\b|\bsed\b|\bcat\b", text)]
    assert len(shared) > 12
    assert odd == []


def test_the_project_checks_its_own_examples(bench: Bench, tmp_path: Path) -> None:
    """With its own configuration, in a clean copy; a bad example is found.

    Only `--long` builds the environment of the hooks; otherwise they run in that of the tests.
    """
    config = yaml.safe_load((ROOT / CONFIG).read_text("utf-8"))
    needed = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["dependencies"]
    for hook in config["repos"][0]["hooks"]:
        assert hook["additional_dependencies"] == needed
        if not is_long():
            del hook["additional_dependencies"]
            hook["language"] = "system"
    (tmp_path / CONFIG).write_text(json.dumps(config), "utf-8")  # JSON is YAML
    command = [sys.executable, "-m", "pre_commit", "run", "--all-files"]
    command += ["--config", str(tmp_path / CONFIG)]
    done = bench.run(*command, cwd=bench.hook)
    assert done.returncode == 0, done.stdout
    assert "Passed" in done.stdout
    plan = bench.hook / "examples" / "kelpie-quay.layout.json"
    text = plan.read_text("utf-8")
    try:
        plan.write_text(text.replace('"6": {"track": "siding"', '"6": {"track": "main"'), "utf-8")
        bench.git("add", str(plan), cwd=bench.hook)
        done = bench.run(*command, cwd=bench.hook)
    finally:
        plan.write_text(text, "utf-8")
        bench.git("add", str(plan), cwd=bench.hook)
    assert done.returncode == 1
    assert "examples/kelpie-quay.layout.json:" in done.stdout
