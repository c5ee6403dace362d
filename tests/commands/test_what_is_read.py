"""The check of a folder reads its plans, stores and settings; no pipes, and no links out of it."""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from pathlib import Path

import pytest

from commands.running import BAD, GOOD, trappoint
from trappoint import cli
from trappoint.app import load

UNTIDY = json.dumps(json.loads(GOOD), indent=1)
RULE = "there is no rule no-such-rule."

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with a good plan and a secret beside it."""
    (tmp_path / "secret.json").write_text('{"a secret": 1}', "utf-8")
    (tmp_path / "club").mkdir()
    (tmp_path / "club" / "good.layout.json").write_text(GOOD, "utf-8")
    return tmp_path / "club"


@pytest.fixture
def run(folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run the program in this process, in the folder."""
    monkeypatch.chdir(folder)

    def call(*words: str) -> tuple[int, str, str]:
        load._settings_of.cache_clear()
        capsys.readouterr()
        return (cli.main(list(words)), *capsys.readouterr())

    return call


def test_bad_stores_and_settings_of_a_folder_are_refused(folder: Path, run: Run) -> None:
    assert run("check", ".")[0] == 0
    (folder / "drawer.store.json").write_text("{}", "utf-8")
    code, out, _ = run("check", ".")
    assert code == 1
    assert "error missing-key\ndrawer.store.json:1:1\n" in out
    (folder / "drawer.store.json").unlink()
    (folder / "OTHER.LAYOUT.JSON").write_text(GOOD, "utf-8")
    (folder / "below").mkdir()
    (folder / "pyproject.toml").write_text("[project]\nname = 1\n", "utf-8")
    for name in ("trappoint.toml", "below/trappoint.toml"):
        (folder / name).write_text("[levels]\nno-such-rule = 1\n", "utf-8")
        for jobs in ("1", "2"):
            code, _, err = run("check", "--jobs", jobs, ".")
            assert code == 2
            assert err.count(RULE) == 1  # once for both plans
        assert RULE in run("check", name)[2]
        (folder / name).unlink()
    code, out, _ = run("check", "--format", "json", ".")
    names = [file["file"] for file in json.loads(out)["files"]]
    assert (code, names) == (0, ["OTHER.LAYOUT.JSON", "good.layout.json"])


@pytest.mark.parametrize("in_repository", [False, True])
def test_links_and_pipes_in_a_folder_are_refused(
    folder: Path, run: Run, in_repository: bool
) -> None:
    if in_repository:
        (folder / ".git").mkdir()
    (folder / "link.layout.json").symlink_to("../secret.json")
    (folder / "link.store.json").symlink_to(folder.parent / "secret.json")
    os.mkfifo(folder / "pipe.layout.json")
    (folder / "zero.layout.json").symlink_to("/dev/zero")
    (folder / "inward.layout.json").symlink_to("good.layout.json")
    astray = "is a link that leads out of its repository or folder.\n"
    code, out, err = run("check", ".")
    assert code == 2
    assert "secret" not in out
    assert "inward.layout.json holds" in out
    for name in ("link.layout.json", "link.store.json", "zero.layout.json"):
        assert f"trappoint: {name} {astray}" in err
    assert "trappoint: pipe.layout.json cannot be read: it is a pipe.\n" in err
    code, _, err = run("tidy", ".")
    assert code == 2
    assert err.count(astray) == 2
    assert (folder.parent / "secret.json").read_text("utf-8") == '{"a secret": 1}'
    for command in ("check", "tidy"):
        # Outside of repositories a link that is named is meant.
        assert (astray in run(command, "link.layout.json")[2]) is in_repository


def test_a_link_within_the_folder_is_tidied_behind_it(folder: Path, run: Run) -> None:
    (folder / "real.layout.json").write_text(UNTIDY, "utf-8")
    (folder / "link.layout.json").symlink_to("real.layout.json")
    assert run("tidy", "link.layout.json")[0] == 0
    assert (folder / "link.layout.json").is_symlink()
    assert (folder / "real.layout.json").read_text("utf-8") != UNTIDY


def test_boards_behind_links_and_pipes(folder: Path, run: Run) -> None:
    (folder / "link.layout.json").symlink_to("../secret.json")
    os.mkfifo(folder / "pipe.layout.json")
    boards = {"a": {"plan": "link.layout.json"}, "b": {"plan": "pipe.layout.json"}}
    plan = {"format": "trappoint-layout/1", "tracks": {}, "boards": boards}
    (folder / "meet.layout.json").write_text(json.dumps(plan), "utf-8")
    code, out, _ = run("check", "meet.layout.json")
    assert code == 1
    assert "error board-out-of-reach" in out
    assert "pipe.layout.json cannot be read: it is a pipe." in out


def test_what_a_shell_hands_over_is_read(folder: Path) -> None:
    """A pipe outside of any repository that is named on the command line is meant."""
    done = trappoint("check", "/dev/stdin", given=BAD.encode(), cwd=folder)
    assert done.returncode == 1
    assert "error unheld-exit" in done.stdout
