"""The hook with real git, the pre-commit program, and this checkout as its repository."""

from __future__ import annotations

import json
import shutil
import sys
from pathlib import Path

import pytest

from hooks.clubs import Bench
from trappoint.core.findings import CAUTION_SHORT
from trappoint.core.resources import read_resource
from trappoint.core.version import __version__
from trappoint.tidying.tidy import tidy_content

GOOD = read_resource("kelpie-quay.layout.json")
BAD = "".join(line for line in GOOD.splitlines(keepends=True) if '"6": {' not in line)
"""Kelpie Quay without signal 6: nothing holds a train in the siding."""

PLAN = "kelpie-quay.layout.json"


@pytest.fixture(scope="module")
def first(bench: Bench, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("club")
    found_club(bench, folder)
    done = commit(bench, folder, GOOD)
    assert done[0] == 0, done[1]
    assert "Passed" in done[1]
    assert count(bench, folder) == 1
    return folder


@pytest.fixture
def club(first: Path, tmp_path: Path) -> Path:
    """A club's repository with the hook and a good plan."""
    return shutil.copytree(first, tmp_path / "club", symlinks=True)


def found_club(bench: Bench, folder: Path) -> None:
    """Make a repository in a folder and install the hook."""
    hooked(bench, folder, {"id": "trappoint-check"})
    bench.git("init", "--quiet", cwd=folder)
    installed = bench.run(sys.executable, "-m", "pre_commit", "install", cwd=folder)
    assert installed.returncode == 0, installed.stdout


def commit(bench: Bench, club: Path, text: str | bytes) -> tuple[int, str]:
    """Write the plan, commit it, and return the exit code and the output."""
    (club / PLAN).write_bytes(text if isinstance(text, bytes) else text.encode())
    bench.git("add", "--all", cwd=club)
    done = bench.run("git", "commit", "-m", "Change the plan", cwd=club)
    return done.returncode, done.stdout


def count(bench: Bench, club: Path) -> int:
    return int(bench.git("rev-list", "--count", "HEAD", cwd=club))


def test_a_bad_plan_is_rejected_and_a_mended_one_committed(bench: Bench, club: Path) -> None:
    before = bench.git("rev-parse", "HEAD", cwd=club)
    code, said = commit(bench, club, BAD)
    assert code == 1
    line = 1 + next(n for n, text in enumerate(BAD.splitlines()) if '"siding":' in text)
    assert f"error unheld-exit\n{PLAN}:{line}:22\n" in said
    words = " ".join(said.split())
    assert "Nothing stops a train in siding, running up, before loop-west," in words
    assert " how Train A stands in siding" in words
    assert CAUTION_SHORT in words
    assert bench.git("rev-parse", "HEAD", cwd=club) == before
    assert bench.git("show", f"HEAD:{PLAN}", cwd=club) == GOOD.strip()

    code, said = commit(bench, club, GOOD.replace("Kelpie Quay", "Kelpie Quay, mended"))
    assert code == 0, said
    assert count(bench, club) == 2


def test_a_plan_that_is_not_even_json_is_rejected_at_its_line(bench: Bench, club: Path) -> None:
    broken = GOOD.replace('"p2": {"normal": "left"},', '"p2": {"normal": "left"}')
    line = 1 + next(n for n, text in enumerate(broken.splitlines()) if '"p2": {"n' in text)
    code, said = commit(bench, club, broken)
    assert code == 1
    assert f"{PLAN}:{line}:" in said
    assert "error not-json" in said
    assert "There is no comma between this entry and the next." in said
    assert count(bench, club) == 1


def test_a_mistyped_key_is_rejected_with_the_key_that_is_meant(bench: Bench, club: Path) -> None:
    """The hook's environment has the schema, which is part of the package."""
    code, said = commit(bench, club, GOOD.replace("length_mm", "lenght_mm", 1))
    assert code == 1
    assert "error unknown-key" in said
    assert "Perhaps length_mm is meant." in said


def test_a_commit_without_plans_is_accepted(bench: Bench, club: Path) -> None:
    (club / "notes.json").write_text("no JSON at all", "utf-8")
    bench.git("add", "--all", cwd=club)
    done = bench.run("git", "commit", "-m", "Notes", cwd=club)
    assert done.returncode == 0
    assert "no files to check" in done.stdout


def test_only_the_bad_one_of_many_is_printed(bench: Bench, club: Path) -> None:
    for number in range(12):
        (club / f"board-{number}.layout.json").write_text(GOOD, "utf-8")
    code, said = commit(bench, club, BAD)
    assert code == 1
    assert said.count("does not hold") == 1
    assert "board-" not in said


def hooked(bench: Bench, club: Path, *hooks: dict[str, object]) -> None:
    """Configure these hooks for the club, as the tutorial does: so both share an environment."""
    repo = {"repo": bench.hook.as_uri(), "rev": f"v{__version__}", "hooks": list(hooks)}
    config = {"repos": [repo]}
    (club / ".pre-commit-config.yaml").write_text(json.dumps(config), "utf-8")  # JSON is YAML


UNTIDY = json.dumps(json.loads(GOOD))
TIDY = tidy_content(UNTIDY)


def test_a_plan_is_tidied_and_the_commit_stopped_once(bench: Bench, club: Path) -> None:
    hooked(bench, club, {"id": "trappoint-tidy"}, {"id": "trappoint-check"})
    code, said = commit(bench, club, UNTIDY)
    assert code == 1
    assert f"{PLAN} was tidied" in said
    assert (club / PLAN).read_text("utf-8") == TIDY
    assert count(bench, club) == 1
    bench.git("add", "--all", cwd=club)
    done = bench.run("git", "commit", "-m", "Tidied", cwd=club)
    assert done.returncode == 0, done.stdout
    assert count(bench, club) == 2
    assert bench.git("show", f"HEAD:{PLAN}", cwd=club) + "\n" == TIDY


def test_tidying_with_check_only_names_the_plan(bench: Bench, club: Path) -> None:
    hooked(bench, club, {"id": "trappoint-tidy", "args": ["--check"]})
    (club / "notes.json").write_text('{"not":   "a plan"}', "utf-8")
    code, said = commit(bench, club, UNTIDY)
    assert code == 1
    assert f"{PLAN} is not tidy" in said
    assert "notes.json" not in said
    assert (club / PLAN).read_text("utf-8") == UNTIDY
    code, said = commit(bench, club, str(TIDY))
    assert code == 0, said


@pytest.mark.usefixtures("club")
def test_the_environment_stays_light(bench: Bench) -> None:
    """The checks need jsonschema and networkx (when a plan is rejected); nothing for the web."""
    (python,) = bench.home.glob("repo*/py_env-*/bin/python")
    assert (python.parent / "trappoint-check").exists()
    listing = (
        "from importlib.metadata import distributions\n"
        "print(*sorted({d.name.lower() for d in distributions()}))"
    )
    done = bench.run(str(python), "-I", "-c", listing, cwd=bench.home)
    names = set(done.stdout.split())
    assert {"trappoint", "jsonschema", "networkx"} <= names
    assert not names & {"flask", "werkzeug", "jinja2", "pytest", "hypothesis", "numpy"}
