"""The page that sets the hook up is followed word by word: hooks/README.md."""

from __future__ import annotations

import re
import sys
from dataclasses import replace
from pathlib import Path

from hooks.clubs import ROOT, Bench
from trappoint.core.version import __version__

PAGE = (ROOT / "hooks" / "README.md").read_text("utf-8")


def blocks(language: str) -> list[str]:
    """Return the fenced blocks of a language."""
    return re.findall(rf"^```{language}\n(.*?)^```$", PAGE, re.DOTALL | re.MULTILINE)


def commands(block: str) -> list[str]:
    """Split a block into its commands: a ``$`` begins each, what follows belongs to it."""
    return [command for command in re.split(r"^\$ ", block, flags=re.MULTILINE) if command]


def addressed(bench: Bench, repository: Path) -> Bench:
    """Set the address of the page, in the form that git and pip both take."""
    return replace(bench, env=bench.env | {"TRAPPOINT": repository.as_uri()})


def test_every_command_does_what_the_page_says(bench: Bench, tmp_path: Path) -> None:
    here = addressed(bench, bench.hook)
    steps = [command for block in blocks("console") for command in commands(block)]
    assert len(steps) > 8
    script, rejected = ["set -u"], 0
    for number, step in enumerate(steps):
        script.append(f'{step.rstrip()}\necho "step {number} gave $?"')
        rejected += "Signal 3 moved" in step
    assert rejected == 1
    done = here.run("bash", "-c", "\n".join(script), cwd=tmp_path)
    codes = {int(n): int(code) for n, code in re.findall(r"step (\d+) gave (\d+)", done.stdout)}
    for number, step in enumerate(steps):
        assert codes[number] == (1 if "Signal 3 moved" in step else 0), (step, done.stdout)
    (shown,) = blocks("text")
    assert shown in done.stdout
    club = tmp_path / "our-layouts"
    assert here.git("rev-list", "--count", "HEAD", cwd=club) == "1"
    assert f"rev: v{__version__}\n" in (club / ".pre-commit-config.yaml").read_text("utf-8")
    assert (club / ".git" / "hooks" / "pre-merge-commit").exists()


def test_a_repository_without_a_release(bench: Bench, tmp_path: Path) -> None:
    bench.git("clone", "--quiet", "--no-tags", str(bench.hook), "untagged", cwd=tmp_path)
    here = addressed(bench, tmp_path / "untagged")
    steps = [command for block in blocks("console")[:2] for command in commands(block)]
    config = [step for step in steps if not step.startswith("python")]
    update = "python -m pre_commit autoupdate --bleeding-edge"
    assert f"`{update}`" in PAGE
    done = here.run("bash", "-e", "-c", "\n".join([*config, update]), cwd=tmp_path)
    assert done.returncode == 0, done.stdout
    written = (tmp_path / "our-layouts" / ".pre-commit-config.yaml").read_text("utf-8")
    assert f"rev: {bench.rev}\n" in written


def test_a_merge_is_checked_too(bench: Bench, tmp_path: Path) -> None:
    """What was committed where the hook is not installed is met at the merge."""
    steps = [command for block in blocks("console")[:3] for command in commands(block)]
    here = addressed(bench, bench.hook)
    done = here.run("bash", "-e", "-c", "\n".join(steps), cwd=tmp_path)
    assert done.returncode == 0, done.stdout
    club = tmp_path / "our-layouts"
    plan = club / "sorrel-halt.layout.json"
    text = plan.read_text("utf-8")
    here.git("checkout", "--quiet", "-b", "no-siding-signal", cwd=club)
    bare = text.replace('{"track": "siding", "for": "up"', '{"track": "siding", "for": "down"')
    plan.write_text(bare, "utf-8")
    here.git("commit", "--quiet", "--no-verify", "-a", "-m", "Signal 3 turned round", cwd=club)
    here.git("checkout", "--quiet", "main", cwd=club)
    (club / "notes.txt").write_text("Other work.\n", "utf-8")
    here.git("add", "--all", cwd=club)
    here.git("commit", "--quiet", "-m", "Notes", cwd=club)
    before = here.git("rev-parse", "HEAD", cwd=club)
    merged = here.run("git", "merge", "--no-edit", "no-siding-signal", cwd=club)
    assert merged.returncode != 0
    assert "error unheld-exit" in merged.stdout
    assert here.git("rev-parse", "HEAD", cwd=club) == before


def test_the_project_checks_its_own_examples(bench: Bench) -> None:
    """With its own configuration, in a clean copy; a bad example is found."""
    command = [sys.executable, "-m", "pre_commit", "run", "--all-files"]
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
