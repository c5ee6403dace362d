"""Reports on wholes give each finding once, with the right file and line."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from jsonschema import Draft4Validator

from commands.running import trappoint
from hooks.meets import CLASH, EAST, GOOD, MEET, WEST, misspelt
from reports.test_sarif import SCHEMA

pytestmark = pytest.mark.usefixtures("quick")

LINE = 1 + next(n for n, text in enumerate(CLASH.splitlines()) if '"down"' in text)


@pytest.fixture
def club(tmp_path: Path) -> Path:
    """Return a folder with two boards that hold and a meet that does not."""
    (tmp_path / ".git").mkdir()
    for name, text in (GOOD | {EAST: CLASH}).items():
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text(text, "utf-8")
    return tmp_path


def as_json(club: Path, *words: str) -> dict[str, Any]:
    done = trappoint("check", "--format", "json", *words, cwd=club)
    assert done.stderr == ""
    return {file["file"]: file for file in json.loads(done.stdout)["files"]}


def test_a_finding_says_in_which_file_it_is(club: Path) -> None:
    files = as_json(club, ".")
    assert list(files) == [EAST, WEST, MEET]
    assert [file["holds"] for file in files.values()] == [True, True, False]
    told = [(f["file"], f["pointer"], f["line"], f["column"]) for f in files[MEET]["findings"]]
    assert told == [(EAST, "/tracks/line/down", LINE, 12), (WEST, "/tracks/line/up", LINE - 1, 10)]
    assert [f["path"] for f in files[MEET]["findings"]] == [
        ["east/line", "flap", "west/line"],
        ["west/line", "back-flap", "east/line"],
    ]


def test_findings_of_one_file_have_no_file_of_their_own(club: Path) -> None:
    (club / EAST).write_text(misspelt(GOOD[EAST]), "utf-8")
    (finding,) = as_json(club, EAST)[EAST]["findings"]
    assert "file" not in finding


def test_who_names_the_meet_alone_gets_its_boards_too(club: Path) -> None:
    files = as_json(club, MEET)
    assert {name: file["holds"] for name, file in files.items()} == {
        MEET: False,
        EAST: True,
        WEST: True,
    }
    assert as_json(club, WEST) == {WEST: files[WEST]}


@pytest.mark.parametrize("words", [(".",), (MEET,), (EAST, MEET, WEST), ("--jobs", "3", ".")])
def test_what_a_board_has_by_itself_is_told_there_and_once(
    club: Path, words: tuple[str, ...]
) -> None:
    """Test that checking two wholes with the same bad board reports it once."""
    (club / EAST).write_text(misspelt(GOOD[EAST]), "utf-8")
    (club / MEET.replace("spring", "summer")).write_text(GOOD[MEET], "utf-8")
    files = as_json(club, *words)
    assert files[MEET]["holds"] is None
    assert files[MEET]["findings"] == []
    assert [f["rule"] for f in files[EAST]["findings"]] == ["unknown-reference"]


def test_what_two_wholes_say_word_for_word_is_told_once(club: Path) -> None:
    summer = MEET.replace("spring", "summer")
    (club / summer).write_text(GOOD[MEET], "utf-8")
    files = as_json(club, ".")
    assert [len(files[name]["findings"]) for name in (MEET, summer)] == [2, 0]
    assert files[summer]["holds"] is False
    done = trappoint("check", ".", cwd=club)
    assert done.returncode == 1
    assert f"{summer} does not hold" in done.stdout
    assert "2 findings reported with another plan." in " ".join(done.stdout.split())


def test_the_text_shows_the_line_of_the_board(club: Path) -> None:
    done = trappoint("check", MEET, cwd=club)
    assert f"error unheld-exit\n{EAST}:{LINE}:12\n" in done.stdout
    assert f'{LINE:>6}  "down": "edge:door",\n' in done.stdout
    assert "Train A stands in east/line, train B in west/line" in " ".join(done.stdout.split())


def test_the_exit_code_is_that_of_all_of_it(club: Path) -> None:
    assert trappoint("check", EAST, WEST, cwd=club).returncode == 0
    assert trappoint("check", "--quiet", MEET, cwd=club).returncode == 1


def test_annotations_stand_in_the_file_of_the_board(club: Path) -> None:
    done = trappoint("check", "--format", "github", MEET, cwd=club)
    assert f"::error file={EAST},line={LINE},col=12," in done.stdout
    assert f"verdict: {MEET} does not hold" in done.stdout


def test_junit_has_a_suite_for_the_meet_with_cases_of_its_boards(club: Path) -> None:
    done = trappoint("check", "--format", "junit", MEET, cwd=club)
    suites = {suite.get("name"): suite for suite in ElementTree.fromstring(done.stdout)}  # noqa: S314 - our own
    assert sorted(suites) == sorted([MEET, EAST, WEST])
    cases = suites[MEET].findall("testcase")
    assert [case.get("file") for case in cases] == [EAST, WEST]
    assert f"{EAST}:{LINE}:12 error unheld-exit" in (cases[0].findtext("failure") or "")


def test_sarif_names_the_file_of_every_place(club: Path) -> None:
    done = trappoint("check", "--format", "sarif", MEET, cwd=club)
    log = json.loads(done.stdout)
    Draft4Validator(SCHEMA).validate(log)
    (run,) = log["runs"]
    files = [artifact["location"]["uri"] for artifact in run["artifacts"]]
    assert sorted(files) == sorted([MEET, EAST, WEST])
    assert all("description" in artifact for artifact in run["artifacts"])
    first = run["results"][0]
    place = first["locations"][0]["physicalLocation"]
    assert place["artifactLocation"]["uri"] == EAST
    assert files[place["artifactLocation"]["index"]] == EAST
    assert place["region"]["startLine"] == LINE
    assert place["region"]["snippet"]["text"] == '"edge:door"'
    related = [
        each["physicalLocation"]["artifactLocation"]["uri"] for each in first["relatedLocations"]
    ]
    assert related == [EAST, MEET, WEST]
    flow = first["codeFlows"][0]["threadFlows"]
    steps = [
        step["location"]["physicalLocation"]["artifactLocation"]["uri"]
        for thread in flow
        for step in thread["locations"]
    ]
    assert set(steps) == {EAST, WEST, MEET}, "the flaps are in the plan of the meet"
    prints = [next(iter(result["partialFingerprints"].values())) for result in run["results"]]
    assert len(set(prints)) == len(prints)


def test_sarif_says_where_a_board_accepts_a_finding(club: Path) -> None:
    text = json.loads(CLASH)
    text["accept"] = [{"rule": "unheld-exit", "at": "line", "because": "Only at shows."}]
    (club / EAST).write_text(json.dumps(text, indent=1), "utf-8")
    done = trappoint("check", "--format", "sarif", MEET, cwd=club)
    results = json.loads(done.stdout)["runs"][0]["results"]
    accepted = [result for result in results if result["suppressions"]]
    assert len(accepted) == 1
    (entry,) = accepted[0]["suppressions"]
    assert entry["justification"] == "Only at shows."
    assert entry["location"]["physicalLocation"]["artifactLocation"]["uri"] == EAST


def test_a_baseline_knows_findings_of_wholes_again(club: Path) -> None:
    done = trappoint("check", "--write-baseline", "known.json", ".", cwd=club)
    assert done.returncode == 0, done.stderr
    again = trappoint("check", "--baseline", "known.json", ".", cwd=club)
    assert (again.returncode, again.stderr) == (0, "")
    assert "2 findings known from the baseline." in " ".join(again.stdout.split())


def test_standard_input_stands_in_the_current_folder(club: Path) -> None:
    given = GOOD[MEET].replace("../boards/", "boards/").encode()
    done = trappoint("check", "-", given=given, cwd=club)
    assert done.returncode == 1
    assert f"error unheld-exit\n{EAST}:{LINE}:12\n" in done.stdout
