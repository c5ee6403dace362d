"""Test ``trappoint new`` as a process, and the page that leads from nothing to a plan."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from commands.running import ROOT, environment, trappoint
from shapes.asking import TAKES
from trappoint import check

pytest.importorskip("highspy")

NAME = "plan.layout.json"
PAGE = (ROOT / "examples" / "README.md").read_text("utf-8")
WALK = PAGE.partition("## From nothing to a signalled plan\n")[2].partition("\n## ")[0]


def test_a_plan_goes_to_standard_output_and_holds() -> None:
    done = trappoint("new", "terminus", "passing-loop:roads=3", "--title", "Köpfchen")
    assert (done.returncode, done.stderr) == (0, "")
    report = check(done.stdout)
    assert (report.holds, report.findings) == (True, ())
    assert report.layout is not None
    assert report.layout.title == "Köpfchen"
    tidied = trappoint("tidy", "--check", "-", given=done.stdout.encode())
    assert tidied.returncode == 0


def test_a_file_is_never_written_over_without_being_told(tmp_path: Path) -> None:
    (tmp_path / NAME).write_text("Mine.", "utf-8")
    refused = trappoint("new", "junction", "-o", NAME, cwd=tmp_path)
    assert refused.returncode == 2
    assert refused.stdout == ""
    assert refused.stderr == (
        f"trappoint: {NAME} exists already, and is unchanged. To overwrite it, add --overwrite.\n"
    )
    assert (tmp_path / NAME).read_text("utf-8") == "Mine."
    done = trappoint("new", "junction", "-o", NAME, "--overwrite", cwd=tmp_path)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    assert check(tmp_path / NAME).holds is True
    assert [path.name for path in tmp_path.iterdir()] == [NAME]


def test_a_link_that_leads_nowhere_is_there_too(tmp_path: Path) -> None:
    (tmp_path / NAME).symlink_to("elsewhere")
    assert trappoint("new", "junction", "-o", NAME, cwd=tmp_path).returncode == 2
    assert not (tmp_path / "elsewhere").exists()


def test_where_nothing_can_be_written(tmp_path: Path) -> None:
    for words in (("-o", "none/plan.json"), ("-o", ".", "--overwrite")):
        done = trappoint("new", "junction", "--bare", *words, cwd=tmp_path)
        assert (done.returncode, done.stdout) == (2, "")
        assert done.stderr.startswith("trappoint: ")
        assert " cannot be written: " in done.stderr


def without_solver(*words: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    """Run the command in a process without the solver, and return the process."""
    program = (
        "import importlib.util as u, sys\n"
        "old = u.find_spec\n"
        "u.find_spec = lambda name, *a: None if name == 'highspy' else old(name, *a)\n"
        "sys.modules['highspy'] = None\n"
        "from trappoint.cli import main\n"
        "sys.exit(main(sys.argv[1:]))\n"
    )
    return subprocess.run(
        [sys.executable, "-c", program, *words],
        cwd=cwd,
        env=environment(),
        capture_output=True,
        text=True,
        check=False,
    )


def test_without_the_solver_one_line_says_how_to_get_it(tmp_path: Path) -> None:
    done = without_solver("new", "junction", "-o", NAME, cwd=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == (
        "trappoint: signals need the solver HiGHS, which is not installed: "
        "`pip install 'trappoint[propose]'`. To write the track alone, add --bare.\n"
    )
    assert list(tmp_path.iterdir()) == []
    bare = without_solver("new", "junction", "--bare", "-o", NAME, cwd=tmp_path)
    assert (bare.returncode, bare.stderr) == (0, "")
    assert "signals" not in json.loads((tmp_path / NAME).read_text("utf-8"))


def test_where_time_runs_out_that_is_said(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The test lowers the bound below the worth of each draft, as a time limit would leave it."""
    from trappoint.cli import main
    from trappoint.proposing import proposal

    def hurried(text: str, **more: Any) -> proposal.Proposal:
        found = propose(text, **more)
        drafts = tuple(replace(draft, bound=draft.worth - 1) for draft in found.drafts)
        return replace(found, drafts=drafts)

    propose = proposal.propose
    monkeypatch.setattr(proposal, "propose", hurried)
    assert main(["new", "passing-loop"]) == 0
    assert "the time limit ended the search: fewer signals may be enough" in capsys.readouterr().err


def test_words_are_looked_at_before_anything_is_drafted() -> None:
    done = trappoint("new", "junction", "terminus:platforms=9")
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == (
        "trappoint: A terminus may have platforms=0 to 7, not 9. `trappoint new --list` lists the "
        "shapes.\n"
    )
    assert trappoint("new").returncode == 2
    assert trappoint("new", "junction", "--roads", "many").returncode == 2
    assert trappoint("new", "--shape", "junction").returncode == 2


def test_the_shapes_are_listed() -> None:
    done = trappoint("new", "--list")
    assert (done.returncode, done.stderr) == (0, "")
    names = re.findall(r"^([a-z-]+): \w", done.stdout, re.MULTILINE)
    assert names == list(TAKES)
    assert max(map(len, done.stdout.splitlines())) <= 80


def test_the_list_ends_with_a_command_that_works(tmp_path: Path) -> None:
    example = trappoint("new", "--list").stdout.splitlines()[-1].split()
    assert example[:2] == ["trappoint", "new"]
    done = trappoint(*example[1:], "--bare", cwd=tmp_path)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    assert (tmp_path / example[-1]).exists()


def test_the_page_does_what_it_says(tmp_path: Path) -> None:
    """The commands of the page, run in order in one folder, print the output on the page."""
    env = environment(COLUMNS="80")
    env["PATH"] = os.pathsep.join([str(Path(sys.executable).parent), env["PATH"]])
    blocks = re.findall(r"^```console\n(.*?)^```$", WALK, re.DOTALL | re.MULTILINE)
    steps = [step for block in blocks for step in re.split(r"^\$ ", block, flags=re.M) if step]
    assert len(steps) == 7
    for step in steps:
        command, _, shown = step.partition("\n")
        done = subprocess.run(
            ["bash", "-c", command],
            cwd=tmp_path,
            env=env,
            capture_output=True,
            text=True,
            check=False,
        )
        assert (done.returncode, done.stdout, done.stderr) == (0, shown, ""), command
    assert {path.name for path in tmp_path.iterdir()} == {
        "sorrel-head.layout.json", "sorrel-head.svg", "fork.layout.json",
    }  # fmt: skip
