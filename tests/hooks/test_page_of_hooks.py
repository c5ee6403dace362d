"""Run the sections on plain hooks, pushes and continuous integration of hooks/README.md."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
import yaml

from hooks.page import PLAN, SORREL_HALT, block, blocks, edited, section
from hooks.pushing import BAD, GOOD, environment
from trappoint.commands.catalogue import COMMANDS
from trappoint.core.version import __version__

ENTRIES = {
    "trappoint": "trappoint.cli",
    "trappoint-commit": "trappoint_hooks.commit",
    "trappoint-receive": "trappoint_hooks.receive",
}


class Desk:
    """A folder in which a shell finds the programs, installed or not."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        programs = folder / "bin"
        programs.mkdir()
        for name, module in ENTRIES.items():
            path = programs / name
            path.write_text(
                f"#!{sys.executable}\nimport sys\nfrom {module} import main\nsys.exit(main())\n",
                "utf-8",
            )
            path.chmod(0o755)
        self.env = environment(folder)
        self.env["PATH"] = f"{programs}{os.pathsep}{self.env['PATH']}"
        self.club = folder / "club"
        self.run(f"git init --quiet -b main '{self.club}'", folder)

    def run(self, script: str, cwd: Path | None = None) -> tuple[int, str]:
        done = subprocess.run(
            ["bash", "-eu", "-o", "pipefail", "-c", script],
            cwd=cwd or self.club,
            env=self.env,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            check=False,
            timeout=120,
        )
        return done.returncode, os.fsdecode(done.stdout)

    def plan(self, text: str) -> None:
        (self.club / "quay.layout.json").write_text(text, "utf-8")


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk(tmp_path)


def test_the_plain_hook(desk: Desk) -> None:
    assert desk.run(block("The hook without pre-commit", "sh"))[0] == 0
    desk.plan(BAD)
    assert desk.run("git add . && git commit -m Bad")[0] == 1
    desk.plan(GOOD)
    assert desk.run("git add . && git commit -m Good")[0] == 0


def test_the_hook_at_the_push(desk: Desk) -> None:
    desk.run("git init --quiet --bare -b main layouts.git", desk.folder)
    install, with_settings = blocks("Check at the push", "sh")
    assert desk.run(install, desk.folder)[0] == 0
    plan = desk.club / PLAN
    plan.write_text(SORREL_HALT, "utf-8")
    push = "git add . && git commit --quiet -m '{}' && git push --quiet ../layouts.git main"
    assert desk.run(push.format("Sorrel Halt")) == (0, "")
    plan.write_text(edited(SORREL_HALT), "utf-8")
    code, said = desk.run(push.format("Signal 3 moved to another layout"))
    assert code == 1
    commit = desk.run("git rev-parse --short=7 HEAD")[1].strip()
    shown = block("Check at the push", "json5").replace("5a1c9e2", commit)
    assert shown == "".join(f"{line.rstrip()}\n" for line in said.splitlines())[: len(shown)]
    (desk.folder / "club.toml").write_text("[level]\n", "utf-8")
    assert desk.run(with_settings, desk.folder)[0] == 2
    (desk.folder / "club.toml").write_text("[levels]\n", "utf-8")
    assert desk.run(with_settings, desk.folder)[0] == 0
    assert desk.run("git push --quiet ../layouts.git main")[0] == 1


def test_the_outline_for_continuous_integration(desk: Desk) -> None:
    outline = yaml.safe_load(block("In continuous integration", "yaml"))["check-plans"]
    install, check = outline["script"]
    assert install == f'python -m pip install "git+ADDRESS@v{__version__}"'
    (always,) = outline["always"]
    desk.plan(BAD)
    assert desk.run(check)[0] == 1
    assert desk.run(always)[0] == 0
    for kept in outline["keep"].values():
        assert (desk.club / kept).stat().st_size > 1000
    desk.plan(GOOD)
    assert desk.run(check)[0] == 0


def test_the_outline_for_publishing(desk: Desk) -> None:
    outline = yaml.safe_load(block("Publish the plans", "yaml"))["publish-plans"]
    install, write = outline["script"]
    assert install == f'python -m pip install "git+ADDRESS@v{__version__}"'
    desk.plan(BAD)
    assert desk.run("git add . && git commit --quiet -m Bad")[0] == 0
    for command in (write, block("Publish the plans", "sh")):
        code, said = desk.run(command)
        assert (code, said) == (0, "trappoint: 1 plan written to public.\n")
        page = (desk.club / outline["publish"] / "quay/index.html").read_text("ascii")
        assert "does not hold" in page
        assert "Changes" in page


def test_the_baseline(desk: Desk) -> None:
    desk.plan(BAD)
    code, said = desk.run(block("Start with plans that have errors", "sh"))
    assert code == 0, said
    assert desk.run("trappoint check .")[0] == 1
    assert desk.run("git ls-files")[1] == "plans.baseline.json\n"


def test_every_program_has_a_version(desk: Desk) -> None:
    for name in ENTRIES:
        assert desk.run(f"{name} --version") == (0, f"trappoint {__version__}\n")


def test_editors_start_a_command_that_exists() -> None:
    started = re.findall(r'"trappoint",? "(\w+)"', section("In your editor"))
    assert len(started) == 2
    assert set(started) <= set(COMMANDS)


def test_every_option_on_the_page_exists(desk: Desk) -> None:
    helps = {name: desk.run(f"{name} --help")[1] for name in ENTRIES}
    for title, name in (
        ("The hook without pre-commit", "trappoint-commit"),
        ("Check at the push", "trappoint-receive"),
    ):
        words = set(re.findall(r"`(--[a-z-]+)", section(title)))
        assert len(words) >= 3
        assert all(word in helps[name] for word in words), words
