"""No push causes an internal error of the hook, with any content of git's objects."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest

from amount import amount
from hooks.objects import FILE, Objects
from hooks.odd_pushes import outcome
from hooks.pushing import BAD, GOOD, Club, hook

pytestmark = pytest.mark.usefixtures("quick")

MANY = amount(12, long=400)


def test_random_pushes_end_with_a_code_and_a_sentence(tmp_path: Path) -> None:
    codes = set()
    for seed in range(MANY):
        folder = tmp_path / str(seed)
        folder.mkdir()
        found = outcome(folder, seed)
        assert found.wrong == "", (seed, found.said)
        codes.add(found.code)
    assert codes == {0, 1, 2}


class Server:
    """A bare repository with objects that are written by hand."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder / "server.git"
        subprocess.run(["git", "init", "--quiet", "--bare", self.folder], check=True)
        self.objects = Objects(self.folder)

    def judge(self, tree: str, *words: str, ref: bytes = b"refs/heads/main") -> tuple[int, str]:
        """Call the hook for a first push of a tree, and return its exit code and output."""
        commit = self.objects.commit(tree, message=b"\x1b]0;t\x07 A \xc2\x9b31m push\n")
        given = b"%s %s %s\n" % (self.objects.nothing.encode(), commit.encode(), ref)
        done = hook(self.folder, "receive", *words, given=given)
        return done.returncode, done.stdout + done.stderr


@pytest.fixture
def server(tmp_path: Path) -> Server:
    return Server(tmp_path)


def test_no_control_characters_reach_the_terminal(server: Server) -> None:
    objects = server.objects
    bad = objects.blob(BAD.replace('"siding"', '"\\u001b[2Jsiding"'))
    name = b"\x1b[31m\x07\xc2\x9b.layout.json"
    code, said = server.judge(objects.tree([(FILE, name, bad)]), ref=b"refs/heads/\x1b[2J")
    assert code == 1
    assert "refs/heads/\\x1b[2J: rejected" in said
    assert "\\x1b[31m\\x07\\x9b.layout.json:" in said
    assert "\\x1b]0;t\\x07 A \\x9b31m push" in " ".join(said.split())
    assert all(char.isprintable() or char == "\n" for char in said)


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("trappoint.toml", "x = " + "[" * 5000, "trappoint.toml: this is nested too deeply."),
        ("pyproject.toml", "tool = 1\n#[tool.trappoint", "pyproject.toml: tool must be a table"),
        ("trappoint.toml", "x" * 9_000_000, "trappoint.toml: this is longer than 1,048,576 bytes."),
    ],
)
def test_settings_that_cannot_be_read(server: Server, name: str, text: str, said: str) -> None:
    objects = server.objects
    files = {name: objects.blob(text), "a.layout.json": objects.blob(GOOD)}
    code, printed = server.judge(objects.folder(files))
    assert code == 1
    assert said in printed


def test_a_push_from_a_clone_without_its_history(tmp_path: Path) -> None:
    club = Club(tmp_path)
    club.commit("The quay", quay=GOOD)
    club.commit("Notes", notes="1")
    assert club.push() == (True, "")
    club.git("config", "receive.shallowUpdate", "true", cwd=club.server)
    club.git("clone", "--quiet", "--depth=1", f"file://{club.server}", "../short")
    club.clone = tmp_path / "short"
    club.commit("Bad", quay=BAD)
    taken, said = club.push("HEAD:refs/heads/other")
    assert not taken
    assert "error unheld-exit" in said
    club.commit("Good again", quay=GOOD)
    assert club.push("HEAD:refs/heads/other") == (True, "")
