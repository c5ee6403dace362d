"""Test ``trappoint new``, as a process and as the page of the examples shows it."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from commands.in_process import trappoint
from commands.running import ROOT, environment
from examples import consoles
from shapes.asking import TAKES
from trappoint import check
from trappoint.laying.catalogue import VERBS

pytest.importorskip("highspy")

NAME = "plan.layout.json"
PAGE = ROOT / "examples" / "README.md"
WALK = (
    PAGE.read_text("utf-8").partition("## Begin with a common station\n")[2].partition("\n## ")[0]
)


New = Callable[..., subprocess.CompletedProcess[str]]


@pytest.fixture
def new(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> New:
    """Return the command, run in this process in a folder of its own."""
    from trappoint.cli import main

    monkeypatch.chdir(tmp_path)

    def run(*words: str) -> subprocess.CompletedProcess[str]:
        try:
            code = main(["new", *words])
        except SystemExit as ended:
            code = int(str(ended.code))
        said = capsys.readouterr()
        return subprocess.CompletedProcess(words, code, said.out, said.err)

    return run


def test_a_plan_goes_to_standard_output_and_holds() -> None:
    done = trappoint("new", "terminus", "passing-loop:roads=3", "--title", "Köpfchen")
    assert (done.returncode, done.stderr) == (0, "")
    report = check(done.stdout)
    assert (report.holds, report.findings) == (True, ())
    assert report.layout is not None
    assert report.layout.title == "Köpfchen"
    tidied = trappoint("tidy", "--check", "-", given=done.stdout.encode())
    assert tidied.returncode == 0


def test_a_file_is_never_written_over_without_being_told(new: New, tmp_path: Path) -> None:
    (tmp_path / NAME).write_text("Mine.", "utf-8")
    refused = new("junction", "-o", NAME)
    assert refused.returncode == 2
    assert refused.stdout == ""
    assert refused.stderr == (
        f"trappoint: {NAME} exists already, and is unchanged. To overwrite it, add --overwrite.\n"
    )
    assert (tmp_path / NAME).read_text("utf-8") == "Mine."
    done = new("junction", "-o", NAME, "--overwrite")
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    assert check(tmp_path / NAME).holds is True
    assert [path.name for path in tmp_path.iterdir()] == [NAME]


def test_a_link_that_leads_nowhere_is_there_too(new: New, tmp_path: Path) -> None:
    (tmp_path / NAME).symlink_to("elsewhere")
    assert new("junction", "-o", NAME).returncode == 2
    assert not (tmp_path / "elsewhere").exists()


def test_where_nothing_can_be_written(new: New, tmp_path: Path) -> None:
    for words in (("-o", "none/plan.json"), ("-o", ".", "--overwrite")):
        done = new("junction", "--bare", *words)
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


def test_words_are_looked_at_before_anything_is_drafted(new: New) -> None:
    done = new("junction", "terminus:platforms=19")
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == (
        "trappoint: A terminus may have platforms=0 to 12, not 19. "
        "`trappoint new --list` lists the shapes.\n"
    )
    assert new().returncode == 2
    assert new("junction", "--roads", "many").returncode == 2
    assert new("--shape", "junction").returncode == 2


def test_the_shapes_are_listed(new: New) -> None:
    done = new("--list")
    assert (done.returncode, done.stderr) == (0, "")
    names = re.findall(r"^([a-z-]+): \w", done.stdout, re.MULTILINE)
    assert names == list(TAKES)
    assert max(map(len, done.stdout.splitlines())) <= 80


def test_the_steps_are_listed(new: New, tmp_path: Path) -> None:
    """Each verb has its measures, and the example at the end is a file that works."""
    done = new("--list-steps")
    assert (done.returncode, done.stderr) == (0, "")
    assert max(map(len, done.stdout.splitlines())) <= 80
    listed: dict[str, list[str]] = {}
    for indent, key in re.findall(
        r"^(|    )([a-z_-]+)(?: \(needed\))?: ", done.stdout, re.MULTILINE
    ):
        if indent:
            listed[list(listed)[-1]].append(key)
        else:
            listed[key] = []
    assert listed == {name: list(verb.measures) for name, verb in VERBS.items()}
    (tmp_path / "steps.json").write_text(done.stdout.splitlines()[-1], "utf-8")
    made = new("--steps", "steps.json")
    assert (made.returncode, made.stderr) == (0, "")
    assert check(made.stdout).holds is True


def test_the_list_ends_with_a_command_that_works(new: New, tmp_path: Path) -> None:
    example = new("--list").stdout.splitlines()[-1].split()
    assert example[:2] == ["trappoint", "new"]
    done = new(*example[2:], "--bare")
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    assert (tmp_path / example[-1]).exists()


def test_the_page_does_what_it_says(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    rewrite: bool,
) -> None:
    """The commands of the page, run in order in one folder, print the output on the page."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    printed = consoles.run(WALK, capsys)
    assert len(printed) == 5
    consoles.check(PAGE, WALK, printed, rewrite=rewrite)
    assert {path.name for path in tmp_path.iterdir()} == {
        "sorrel-head.layout.json", "sorrel-head.svg", "longer.layout.json",
    }  # fmt: skip


# --- onto a plan, and by steps


def test_shapes_are_set_onto_a_plan(new: New, tmp_path: Path) -> None:
    """The plan's own file stays; what was there keeps its ids, and the whole holds."""
    new("passing-loop", "-o", NAME)
    before = (tmp_path / NAME).read_text("utf-8")
    words = ("siding:trap=yes", "terminus:roads=2", "--onto", NAME, "--at", "edge:west")
    done = new(*words)
    assert (done.returncode, done.stderr) == (0, "")
    assert (tmp_path / NAME).read_text("utf-8") == before
    plan, old = json.loads(done.stdout), json.loads(before)
    assert {"siding", "terminus-road-1", "terminus-road-2"} <= plan["tracks"].keys()
    assert old["tracks"].keys() <= plan["tracks"].keys()
    assert old["signals"].items() <= plan["signals"].items()
    assert check(done.stdout).holds is True
    bare = new(*words, "--bare", "--title", "Town")
    assert json.loads(bare.stdout)["signals"] == old["signals"]
    assert json.loads(bare.stdout)["title"] == "Town"


def test_a_plan_with_faults_gets_track_but_no_signals(new: New) -> None:
    """A signal names a track that is not there: the command says so; --bare writes the track."""
    head = {"track": "mian", "for": "down", "arms": [{"id": "1"}]}
    plan = {
        "format": "trappoint-layout/1",
        "tracks": {"main": {"up": "edge:west", "down": "edge:east"}},
        "signals": {"1": head},
    }
    Path(NAME).write_text(json.dumps(plan), "utf-8")
    refused = new("siding", "--onto", NAME)
    assert (refused.returncode, refused.stdout) == (1, "")
    assert "unknown-reference" in refused.stderr
    bare = new("siding", "--onto", NAME, "--bare")
    assert json.loads(bare.stdout)["signals"] == {"1": head}


def test_a_shape_is_set_onto_a_buffer(new: New, tmp_path: Path) -> None:
    new("siding", "--bare", "-o", NAME)
    words = ("junction", "--onto", NAME, "--at", "tracks/siding/down", "--bare")
    done = new(*words)
    assert json.loads(done.stdout)["tracks"]["siding"]["down"] == "p2.toe"
    two = new("junction", *words)
    assert (two.returncode, two.stdout) == (2, "")
    assert "several shapes follow one another only from an edge" in two.stderr


STEPS: Any = [
    {"do": "lay-shape", "shape": "terminus", "roads": 3, "faces": 3},
    {"do": "lay-shape", "shape": "siding", "at": "edge:west", "side": "north"},
]


def test_a_plan_is_laid_by_steps(new: New, tmp_path: Path) -> None:
    (tmp_path / "steps.json").write_text(json.dumps({"steps": STEPS}), "utf-8")
    done = new("--steps", "steps.json", "--title", "By steps")
    assert (done.returncode, done.stderr) == (0, "")
    plan = json.loads(done.stdout)
    assert plan["title"] == "By steps"
    assert "signals" not in plan
    (tmp_path / NAME).write_text(done.stdout, "utf-8")
    (tmp_path / "more.json").write_text(json.dumps({"steps": STEPS[1:]}), "utf-8")
    more = new("--steps", "more.json", "--onto", NAME)
    assert {"siding", "siding-2"} <= json.loads(more.stdout)["tracks"].keys()


@pytest.mark.parametrize(
    ("content", "told"),
    [
        ({"steps": [*STEPS, {"do": "lay-shap"}]}, "step 3: There is no verb"),
        ({"steps": [*STEPS, 3]}, "step 3: A step is an object"),
        ({"steps": {}}, 'steps.json has no list of steps: write {"steps": [...]}.'),
        ({"step": []}, "has no list of steps"),
        ([], "has no list of steps"),
        ({"steps": []}, "steps.json has no steps: write at least one"),
    ],
)
def test_steps_that_cannot_be_done_are_said(
    new: New, tmp_path: Path, content: Any, told: str
) -> None:
    (tmp_path / "steps.json").write_text(json.dumps(content), "utf-8")
    done = new("--steps", "steps.json")
    assert (done.returncode, done.stdout) == (2, "")
    assert told in done.stderr


def test_files_that_are_no_plan_and_no_steps(new: New, tmp_path: Path) -> None:
    (tmp_path / "steps.json").write_text('{"steps": [}', "utf-8")
    done = new("--steps", "steps.json")
    assert (done.returncode, done.stdout) == (1, "")
    assert "steps.json:1:12" in done.stderr
    (tmp_path / NAME).write_text('{"format": "trappoint-layout/1"}', "utf-8")
    onto = new("siding", "--onto", NAME)
    assert (onto.returncode, onto.stdout) == (2, "")
    assert onto.stderr.startswith(f"trappoint: {NAME}: The text is no plan yet. Line 1")
    new("siding", "--bare", "--overwrite", "-o", NAME)
    nowhere = new("siding", "--onto", NAME, "--at", "edge:wst")
    assert nowhere.stderr == (
        'trappoint: The plan has no free end "edge:wst". Give one of its free ends: edge:west, '
        "edge:east or tracks/siding/down.\n"
    )
    one = new("--onto", "-", "--steps", "-")
    assert one.stderr == "trappoint: only one of plan and steps can be standard input.\n"
    for words in (("siding",), ("--steps", "steps.json", "--onto", NAME)):
        stray = new(*words, "--at", "edge:west")
        assert stray.stderr == "trappoint: --at is for shapes that --onto sets onto a plan.\n"
    both = new("siding", "--steps", "steps.json")
    assert "either shapes or --steps can be laid, not both" in both.stderr
    assert new("--onto", NAME).returncode == 2
