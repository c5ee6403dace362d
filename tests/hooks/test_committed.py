"""Both hooks for commits judge the staged files and give the same answers. Real git."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from hooks.meets import CLASH, EAST, GOOD, MEET, WEST, meet
from hooks.pushing import BAD
from hooks.pushing import GOOD as QUAY
from hooks.test_plain_commit import Member
from trappoint.source.files import is_checked
from trappoint_hooks import check, commit

Judged = Callable[..., tuple[bool, str]]

SUBMODULES_FROM_FOLDERS = {
    "GIT_CONFIG_COUNT": "1",
    "GIT_CONFIG_KEY_0": "protocol.file.allow",
    "GIT_CONFIG_VALUE_0": "always",
}
"""Git refuses submodules from folders by default."""


@pytest.fixture
def member(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Member:
    """A repository with two boards and an assembled plan that holds; it is the current folder."""
    found = Member(tmp_path)
    found.folder.mkdir()
    found.env |= SUBMODULES_FROM_FOLDERS
    for name, value in found.env.items():
        monkeypatch.setenv(name, value)
    monkeypatch.chdir(found.folder)
    found.git("init", "--quiet", "-b", "main", "--template=")
    for name, text in GOOD.items():
        found.write(text, name)
    found.git("add", ".")
    found.git("commit", "--quiet", "-m", "Two boards and a meet")
    return found


@pytest.fixture
def judged(member: Member, capfd: pytest.CaptureFixture[str]) -> Judged:
    """A function that returns whether both hooks accept a commit, and their output."""

    def judge(*words: str) -> tuple[bool, str]:
        changed = member.git("diff", "--cached", "--name-only", "-z", "--diff-filter=d").split("\0")
        names = words or filter(is_checked, changed)
        capfd.readouterr()
        codes = check.main(["--deleted", *names]), commit.main([])
        done = capfd.readouterr()
        assert "Traceback" not in done.err
        assert "fault" not in done.err
        assert (codes[0] == 0) == (codes[1] == 0), (codes, done)
        return codes == (0, 0), " ".join((done.out + done.err).split())

    return judge


def test_an_untracked_board_hides_nothing(member: Member, judged: Judged) -> None:
    member.write(GOOD[EAST], "boards/new.layout.json")
    member.write(meet(west="../boards/west.layout.json", east="../boards/new.layout.json"), MEET)
    member.git("add", MEET)
    taken, said = judged()
    assert not taken
    assert said.count("There is no file boards/new.layout.json.") == 2
    member.git("add", ".")
    assert judged() == (True, "")


def test_files_that_are_not_staged_do_not_count(member: Member, judged: Judged) -> None:
    member.write(QUAY, "quay.layout.json")
    member.git("add", ".")
    member.write('[levels]\nsiding-without-trap = "error"\n', "trappoint.toml")
    member.write(CLASH, EAST)
    member.write("{", "quay.layout.json")
    (member.folder / WEST).unlink()
    assert judged() == (True, "")
    member.git("add", "trappoint.toml")
    assert judged()[1].count("error siding-without-trap") == 2
    member.git("reset", "--quiet", "trappoint.toml")
    member.git("add", EAST)
    member.write(GOOD[EAST], EAST)
    assert judged()[1].count(f"{MEET} does not hold") == 2


def test_a_sparse_checkout_blocks_no_good_commit(member: Member, judged: Judged) -> None:
    member.git("sparse-checkout", "set", "meets")
    assert not (member.folder / "boards").exists()
    member.write(GOOD[MEET].replace("{", '{"title": "Spring",', 1), MEET)
    member.git("add", MEET)
    assert judged() == (True, "")


def test_plans_that_are_not_in_the_folder_are_judged(member: Member, judged: Judged) -> None:
    member.write(BAD, "quay.layout.json")
    member.git("add", ".")
    (member.folder / "quay.layout.json").unlink()
    words = ("trappoint.toml",)  # pre-commit names only the files in the folder
    assert judged(*words)[1].count("quay.layout.json does not hold") == 2


def test_stores_and_settings_are_judged(member: Member, judged: Judged) -> None:
    member.write("{}", "drawer.store.json")
    member.git("add", ".")
    assert judged()[1].count("drawer.store.json:1:1 The store has no currency.") == 2
    member.git("rm", "--quiet", "-f", "drawer.store.json")
    member.write(QUAY, "one.layout.json")
    member.write(QUAY, "TWO.LAYOUT.JSON")
    member.git("add", ".")
    assert judged() == (True, "")
    for name, text in (
        ("trappoint.toml", "[levels]\nno-such-rule = 1\n"),
        ("pyproject.toml", "[tool . trappoint . levels]\nno-such-rule = 1\n"),
    ):
        member.write(text, name)
        member.git("add", ".")
        taken, said = judged()
        assert not taken
        assert said.count(f"{name}: there is no rule no-such-rule.") == 2  # once by each hook
        member.git("rm", "--quiet", "-f", name)


def test_capitals_and_escapes_change_nothing(member: Member, judged: Judged) -> None:
    member.write(BAD, "QUAY.Layout.JSON")
    member.git("add", ".")
    assert judged()[1].count("QUAY.Layout.JSON does not hold") == 2
    member.git("rm", "--quiet", "-f", "QUAY.Layout.JSON")
    member.write(GOOD[MEET].replace('"boards"', '"\\u0062\\u006Fards"'), MEET)
    member.git("add", ".")
    member.git("commit", "--quiet", "-m", "Another spelling")
    member.write(CLASH, EAST)
    member.git("add", ".")
    assert judged()[1].count(f"{MEET} does not hold") == 2


def test_links_lead_to_files_of_the_repository(member: Member, judged: Judged) -> None:
    (member.folder / "shared").symlink_to("boards")
    member.write(meet(west="../shared/west.layout.json", east="../boards/east.layout.json"), MEET)
    (member.folder / "spring.layout.json").symlink_to(WEST)
    member.git("add", ".")
    assert judged() == (True, "")
    member.git("commit", "--quiet", "-m", "Links")
    member.write(CLASH.replace("stand", "stnad"), WEST)
    member.git("add", ".")
    assert not judged()[0]
    member.git("checkout", "--quiet", "HEAD", "--", WEST)
    (member.folder / "spring.layout.json").unlink()
    for target, said in (
        ("../secret", "this link leads out of its repository."),
        ("/etc/hostname", "this link leads out of its repository."),
        ("spring.layout.json", "this link leads to a file that does not exist."),
        ("gone", "this link leads to a file that does not exist."),
    ):
        (member.folder / "spring.layout.json").symlink_to(target)
        member.git("add", ".")
        told = judged("trappoint.toml")[1]
        assert told.count(f"spring.layout.json: {said}") == 2
        (member.folder / "spring.layout.json").unlink()
    (member.folder / "trappoint.toml").symlink_to("/etc/hostname")
    member.write(QUAY, "quay.layout.json")
    member.git("add", ".")
    said = judged()[1]
    assert said.count("trappoint.toml: this link leads out of its repository.") == 2


def test_names_that_look_like_options(member: Member, judged: Judged) -> None:
    member.write(BAD, "-out.layout.json")
    member.git("add", ".")
    assert "-out.layout.json does not hold" in judged()[1]


def test_options_of_check_work_on_staged_files(
    member: Member, judged: Judged, capfd: pytest.CaptureFixture[str]
) -> None:
    for name in ("one", "two", "three"):
        member.write(BAD.replace("Kelpie", name), f"{name}.layout.json")
    member.git("add", ".")
    said = judged()[1]
    names = [f"{name}.layout.json" for name in ("one", "two", "three")]
    for name in names:
        member.write("{", name)
        assert said.count(f"{name} does not hold") == 2
    words = ["--jobs", "2", "--format", "json", *names, EAST]
    assert check.main(words) == 1
    files = json.loads(capfd.readouterr().out)["files"]
    assert [(file["file"], file["holds"]) for file in files] == [
        (name, False) for name in sorted(names)
    ]
    assert check.main(["--write-baseline", "known.json", *names]) == 0
    assert check.main(["--baseline", "known.json", *names]) == 0


def test_files_that_git_does_not_track_are_read_from_the_folder(member: Member) -> None:
    member.write(BAD, "new.layout.json")
    code, said = member.run("git", "ls-files", "new.layout.json")
    assert (code, said) == (0, "")
    assert check.main(["new.layout.json"]) == 1
    assert check.main([str(member.folder / WEST)]) == 0  # by its full path


def test_excluded_plans_are_left_out(member: Member, judged: Judged) -> None:
    member.write(BAD, "attic/quay.layout.json")
    member.git("add", ".")
    member.write('exclude = ["attic"]\n', "trappoint.toml")
    assert not judged()[0]  # the settings are not staged
    member.git("add", ".")
    assert judged() == (True, "")
