"""Reports for forges name files from the top of the repository. Uses real git."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from commands.running import BAD, GOOD, trappoint
from reports.test_folders import git, put
from reports.test_github import read_annotations
from reports.test_sarif import FINGERPRINT, sarif
from trappoint import cli

pytestmark = pytest.mark.usefixtures("quick")

WHOLE = """{"format": "trappoint-layout/1", "tracks": {},
 "boards": {"a": {"plan": "../boards/a b.layout.json"}}}"""


@pytest.fixture
def club(tmp_path: Path) -> Path:
    """Return a repository with a board and a whole, and a plan outside it."""
    club = tmp_path / "club"
    club.mkdir()
    git(club, "init", "--quiet")
    put(club, "boards/a b.layout.json", text=BAD)
    put(club, "meets/whole.layout.json", text=WHOLE)
    put(tmp_path, "outside.layout.json", text=BAD)
    return club


def parsed(text: str) -> ElementTree.Element:
    return ElementTree.fromstring(text)  # noqa: S314 - it comes from this program


Names = Callable[..., list[Any]]


@pytest.fixture
def names_in(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Names:
    """Return a function that returns the names of files in a report of one format."""

    def names(folder: Path, form: str, word: str | Path) -> list[Any]:
        monkeypatch.chdir(folder)
        assert cli.main(["check", "--format", form, str(word)]) == 1
        out, err = capsys.readouterr()
        assert err == ""
        if form == "github":
            return [parts["file"] for _, parts, _ in read_annotations(out)]
        if form == "junit":
            return [case.get("file") for case in parsed(out).iter("testcase") if len(case)]
        run = json.loads(out)["runs"][0]
        assert list(run["originalUriBaseIds"]) == ["%SRCROOT%"]
        places = [
            result["locations"][0]["physicalLocation"]["artifactLocation"]
            for result in run["results"]
        ]
        return [{k: place[k] for k in place if k != "index"} for place in places]

    return names


def test_from_any_folder_of_the_repository(club: Path, tmp_path: Path, names_in: Names) -> None:
    (tmp_path / "link").symlink_to(club)
    plan = "boards/a b.layout.json"
    uri = {"uri": "boards/a%20b.layout.json", "uriBaseId": "%SRCROOT%"}
    ways = (
        (club, plan),
        (club / "boards", "a b.layout.json"),
        (club / "meets", f"../{plan}"),
        (club / "meets", club / plan),
        (club, tmp_path / "link" / plan),
    )
    for folder, word in ways:
        for form, name in (("github", plan), ("junit", plan), ("sarif", uri)):
            assert names_in(folder, form, word) == [name], (folder, word, form)


def test_what_lies_outside_has_its_full_path(club: Path, tmp_path: Path, names_in: Names) -> None:
    plan = tmp_path / "outside.layout.json"
    word = "../../outside.layout.json"
    assert names_in(club / "boards", "github", word) == [str(plan)]
    assert names_in(club / "boards", "junit", word) == [str(plan)]
    assert names_in(club / "boards", "sarif", word) == [{"uri": plan.as_uri()}]


def test_elsewhere_the_current_folder_is_the_top(tmp_path: Path, names_in: Names) -> None:
    put(tmp_path, "plans/a.layout.json", text=BAD)
    assert names_in(tmp_path, "github", tmp_path) == ["plans/a.layout.json"]
    assert names_in(tmp_path / "plans", "github", ".") == ["a.layout.json"]


def test_what_belongs_to_a_finding_is_named_so_too(club: Path) -> None:
    """Test suites, verdicts and fingerprints, which do not depend on the current folder."""
    words = ("check", "--format", "sarif", ".")
    put(club, "boards/c.layout.json", text=GOOD)
    logs = [
        sarif(trappoint(*words[:-1], word, cwd=folder).stdout)
        for folder, word in ((club, "."), (club / "meets", ".."))
    ]
    prints = [
        [result["partialFingerprints"][FINGERPRINT] for result in log["results"]] for log in logs
    ]
    assert sorted(prints[0]) == sorted(prints[1]) != []
    done = trappoint("check", "--format", "junit", "..", cwd=club / "meets")
    suites = {suite.get("name") for suite in parsed(done.stdout).iter("testsuite")}
    files = {"boards/a b.layout.json", "boards/c.layout.json", "meets/whole.layout.json"}
    assert suites == files
    done = trappoint("check", "--format", "github", "..", cwd=club / "meets")
    assert all(f"verdict: {name} " in done.stdout for name in files)
    own = json.loads(trappoint("check", "--format", "json", "..", cwd=club / "meets").stdout)
    assert all(file["file"].startswith("../") for file in own["files"])
