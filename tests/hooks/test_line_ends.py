"""Line ends: hooks and drivers under each setting of git, with plans as Windows writes them.

The plan's name has spaces and letters outside English. Real git.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from hooks.page import saved
from hooks.pushing import BAD, GOOD, Club, hook
from hooks.test_plain_commit import Member
from merge.versions import finish
from trappoint_hooks import commit

pytestmark = pytest.mark.usefixtures("quick")

PLAN = "Länge (2) süd.layout.json"
LONGER = GOOD.replace('"length_mm": 1450', '"length_mm": 1500')
SHORTER = GOOD.replace('"length_mm": 1450', '"length_mm": 1400')
OTHER_TITLE = GOOD.replace("Kelpie Quay", "Old Quay")
LINE = 1 + next(n for n, text in enumerate(BAD.splitlines()) if '"siding":' in text)

SETTINGS = ("true", "input", "false")
"""The values of ``core.autocrlf``: convert both ways, convert at the commit, never convert."""


def windows(text: str) -> bytes:
    """Return a text with the line ends of Windows."""
    return text.replace("\n", "\r\n").encode()


def stored(setting: str, text: str) -> bytes:
    """Return the object that git makes of a text with the line ends of Windows."""
    return windows(text) if setting == "false" else text.encode()


def checked_out(setting: str, text: str) -> bytes:
    """Return the file that git writes for that object."""
    return text.encode() if setting == "input" else windows(text)


def found_member(folder: Path, setting: str) -> Member:
    """Make a repository with a good plan and a setting for line ends."""
    member = Member(folder)
    member.folder.mkdir()
    member.git("init", "--quiet", "-b", "main", "--template=")
    member.git("config", "core.autocrlf", setting)
    member.git("config", "core.safecrlf", "false")  # no warnings in the output
    member.write(windows(GOOD), PLAN)
    member.git("add", ".")
    assert member.commit() == (True, "")
    return member


def install(member: Member, *drivers: str) -> None:
    """Install drivers of git."""
    for name in drivers:
        done = hook(member.folder, name, "--install")
        assert done.returncode == 0, done.stderr


@pytest.fixture(params=SETTINGS)
def setting(request: pytest.FixtureRequest) -> str:
    """Each value of ``core.autocrlf``."""
    value: str = request.param
    return value


@pytest.fixture
def member(tmp_path: Path, setting: str) -> Member:
    return found_member(tmp_path, setting)


def content(member: Member, name: str) -> bytes:
    """Return the bytes of an object."""
    return output_of(member, "cat-file", "blob", name).encode()


def output_of(member: Member, *words: str) -> str:
    """Run git, which must succeed, and return all of its output."""
    code, output = member.run("git", *words)
    assert code == 0, output
    return output


def test_the_hooks_for_commits(member: Member, setting: str) -> None:
    assert content(member, f"HEAD:{PLAN}") == stored(setting, GOOD)
    assert commit.main(["--install", str(member.folder)]) == 0
    member.write(windows(BAD), PLAN)
    member.git("add", ".")
    code, output = member.run("git", "commit", "--quiet", "-m", "Bad")
    assert code == 1
    assert f"\n\nerror unheld-exit\n{PLAN}:{LINE}:22\n" in output
    assert "\r" not in output
    done = hook(member.folder, "check", PLAN)
    assert done.returncode == 1
    assert done.stdout.split() == output.removesuffix("The commit is rejected.\n").split()


def test_tidying_keeps_the_line_ends(member: Member) -> None:
    member.write(windows(GOOD.replace('"title": ', '"title":     ')), PLAN)
    done = hook(member.folder, "tidy", PLAN)
    assert done.returncode == 0, done.stderr
    assert (member.folder / PLAN).read_bytes() == windows(GOOD)


def branch(member: Member, ours: str, theirs: str) -> None:
    """Install the merge driver; commit one version on ``main``, the other on ``theirs``."""
    install(member, "merge")
    member.git("checkout", "--quiet", "-b", "theirs")
    for text, other in ((theirs, "main"), (ours, "")):
        member.write(windows(text), PLAN)
        assert member.commit("-a") == (True, "")
        if other:
            member.git("checkout", "--quiet", other)


def test_a_merge(member: Member, setting: str) -> None:
    branch(member, LONGER, OTHER_TITLE)
    code, output = member.run("git", "merge", "--no-edit", "theirs")
    assert code == 0, output
    merged = LONGER.replace("Kelpie Quay", "Old Quay")
    assert content(member, f"HEAD:{PLAN}") == stored(setting, merged)
    assert (member.folder / PLAN).read_bytes() == checked_out(setting, merged)
    assert member.git("status", "--porcelain") == ""


def test_a_conflict(member: Member, setting: str) -> None:
    branch(member, LONGER, SHORTER)
    code, output = member.run("git", "merge", "--no-edit", "theirs")
    assert code == 1
    assert "main, length_mm: ours has 1500, theirs has 1400; before, it was 1450." in output
    text = (member.folder / PLAN).read_bytes()
    assert text.count(b"\r\n") == (0 if setting == "input" else text.count(b"\n"))
    for side, wanted in (("ours", LONGER), ("theirs", SHORTER)):
        assert finish(text.decode(), side).encode() == checked_out(setting, wanted)


def test_a_difference(member: Member, setting: str) -> None:
    install(member, "diff")
    member.write(GOOD, PLAN)  # only the line ends differ
    output = output_of(member, "diff")
    changed = setting == "false"
    assert ("Still holds" in output) == changed  # otherwise git sees no difference
    assert bool(output) == changed
    assert "Track and signals" not in output
    member.write(windows(LONGER), PLAN)
    output = output_of(member, "diff")
    assert "track main: length: now 1500 mm, before 1450 mm" in output
    assert f"{PLAN} (work tree), compared with {PLAN} (" in " ".join(output.split())
    assert "\r" not in output


def test_a_merge_of_files_with_different_line_ends(tmp_path: Path) -> None:
    """The merged plan has the line ends of ours."""
    member = found_member(tmp_path, "false")
    branch(member, LONGER, SHORTER)
    member.git("checkout", "--quiet", "theirs")
    member.write(OTHER_TITLE, PLAN)
    assert member.commit("-a") == (True, "")
    member.git("checkout", "--quiet", "main")
    code, output = member.run("git", "merge", "--no-edit", "theirs")
    assert code == 0, output
    merged = LONGER.replace("Kelpie Quay", "Old Quay")
    assert (member.folder / PLAN).read_bytes() == windows(merged)


def test_a_push(tmp_path: Path) -> None:
    club = Club(tmp_path)
    club.commit_files("Bad", {PLAN: windows(BAD)})
    taken, output = club.push()
    assert not taken
    assert f"{PLAN}:{LINE}:22 error unheld-exit" in output
    assert "\\r" not in output
    club.commit_files("Good", {PLAN: windows(GOOD)})
    assert club.push() == (True, "")


def test_the_attributes_of_the_page(tmp_path: Path) -> None:
    """Git stores and checks out plans with LF, even if the member's setting differs."""
    member = found_member(tmp_path, "true")
    member.write(saved(".gitattributes"), ".gitattributes")
    member.write(windows(OTHER_TITLE), PLAN)
    member.git("add", ".")
    assert member.commit() == (True, "")
    assert content(member, f"HEAD:{PLAN}") == OTHER_TITLE.encode()
    (member.folder / PLAN).unlink()
    member.git("checkout", "--", ".")
    assert (member.folder / PLAN).read_bytes() == OTHER_TITLE.encode()
