"""Where output goes wrong: closed pipes, full disks, poor encodings, colour, Ctrl-C."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from commands.running import BAD, GOOD, KELPIE, environment, plan, trappoint
from commands.terminal import CTRL_C, Terminal

PROGRAM = [sys.executable, "-m", "trappoint"]


def long_report(tmp_path: Path) -> Path:
    """A plan with more findings than fit into a pipe."""
    tracks = {f"t{n}": {"up": "buffer", "down": f"edge:e{n}", "lenght_mm": 1} for n in range(2000)}
    path = tmp_path / "long.layout.json"
    path.write_text(plan(tracks=tracks), "utf-8")
    return path


@pytest.mark.parametrize("words", [["check"], ["check", "--format", "json"]])
def test_a_pipe_closed_in_the_middle(tmp_path: Path, words: list[str]) -> None:
    """As with ``| head -1``: no complaint, and the exit code that it would have had."""
    with subprocess.Popen(
        [*PROGRAM, *words, long_report(tmp_path)], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        assert process.stdout.readline()
        process.stdout.close()
        complaints = process.stderr.read()
        assert process.wait(60) == 1
    assert complaints == b""


@pytest.mark.parametrize(("text", "code"), [(GOOD, 0), (BAD, 1)])
def test_a_pipe_closed_from_the_start(tmp_path: Path, text: str, code: int) -> None:
    path = tmp_path / "a.layout.json"
    path.write_text(text, "utf-8")
    read, write = os.pipe()
    os.close(read)
    with open(write, "wb") as closed:  # noqa: PTH123 - a descriptor, no path
        done = subprocess.run(
            [*PROGRAM, "check", path], stdout=closed, stderr=subprocess.PIPE, check=False
        )
    assert (done.returncode, done.stderr) == (code, b"")


@pytest.mark.parametrize("words", [["--help"], ["check", "--help"], ["--version"], ["rules"]])
def test_help_into_a_closed_pipe(words: list[str]) -> None:
    read, write = os.pipe()
    os.close(read)
    with open(write, "wb") as closed:  # noqa: PTH123
        done = subprocess.run(
            [*PROGRAM, *words], stdout=closed, stderr=subprocess.PIPE, check=False
        )
    assert (done.returncode, done.stderr) == (0, b"")


@pytest.mark.parametrize(("closing", "code"), [(">&-", 0), ("2>&-", 0), (">&- 2>&-", 0)])
def test_streams_that_are_not_there(closing: str, code: int) -> None:
    command = f'"$0" -m trappoint check "$1" {closing}'
    done = subprocess.run(
        ["sh", "-c", command, sys.executable, KELPIE], capture_output=True, check=False
    )
    assert (done.returncode, done.stderr) == (code, b"")


def test_standard_input_that_is_not_there() -> None:
    done = subprocess.run(
        ["sh", "-c", '"$0" -m trappoint check - <&-', sys.executable],
        capture_output=True,
        check=False,
    )
    assert done.returncode == 2
    assert b"Standard input is closed" in done.stderr


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no full disk to try")
def test_a_full_disk_is_told() -> None:
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            [*PROGRAM, "check", KELPIE], stdout=full, stderr=subprocess.PIPE, check=False
        )
    assert done.returncode == 2
    assert done.stderr == b"trappoint: the output cannot be written: no space left on device.\n"


def test_an_encoding_that_lacks_the_letters() -> None:
    text = plan(platforms={"Nr. \u00bd \u65e5": {"tracks": ["main"]}})
    env = environment(PYTHONIOENCODING="ascii", PYTHONUTF8="0", LC_ALL="C")
    done = trappoint("check", "-", given=text.encode(), env=env)
    assert done.returncode == 1
    assert done.stdout.isascii()
    assert "\\xbd \\u65e5" in done.stdout
    assert done.stderr == ""


def test_no_colour_in_a_pipe() -> None:
    assert "\x1b" not in trappoint("check", "-", given=BAD.encode()).stdout


def test_colour_where_it_is_asked_for() -> None:
    for word in ("--colour", "--color"):
        done = trappoint("check", word, "always", "-", given=BAD.encode())
        assert "\x1b[31merror\x1b[0m" in done.stdout


@pytest.mark.parametrize(
    ("variables", "coloured"),
    [
        ({}, True),
        ({"NO_COLOR": "1"}, False),
        ({"NO_COLOR": ""}, True),  # no-color.org: when present and not an empty string
        ({"TERM": "dumb"}, False),
    ],
)
def test_colour_on_a_terminal(variables: dict[str, str], coloured: bool) -> None:
    terminal = Terminal("check", KELPIE, env=environment(**variables))
    assert terminal.finish() == 0
    assert (b"\x1b[" in terminal.seen) is coloured


def test_no_colour_on_a_terminal_that_asked_for_none() -> None:
    terminal = Terminal("check", "--color", "never", KELPIE, env=environment())
    assert terminal.finish() == 0
    assert b"\x1b[" not in terminal.seen


@pytest.mark.parametrize("jobs", ["1", "2"])
def test_ctrl_c_is_quiet(tmp_path: Path, jobs: str) -> None:
    """The second plan never comes, so that the program waits until it is interrupted."""
    (tmp_path / "a.layout.json").write_text(GOOD, "utf-8")
    os.mkfifo(tmp_path / "b.layout.json")
    words = ["check", "--jobs", jobs, *map(str, sorted(tmp_path.iterdir()))]
    terminal = Terminal(*words, env=environment(NO_COLOR="1"))
    terminal.read_until(b"signalled.")
    terminal.press(CTRL_C)
    assert terminal.finish() == 130
    after = terminal.seen.partition(b"signalled.")[2]
    assert after.replace(b"^C", b"").strip() == b""


def test_documents_in_an_encoding_that_lacks_the_letters() -> None:
    env = environment(PYTHONIOENCODING="ascii", PYTHONUTF8="0", LC_ALL="C")
    text = plan(title="Quai d\u00e9sert").encode()
    done = trappoint("table", "--format", "markdown", "-", given=text, env=env)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.splitlines()[0] == "# Locking table of Quai d\\xe9sert"


@pytest.mark.skipif(sys.platform != "linux", reason="file names are bytes on Linux alone")
def test_a_file_name_that_is_no_text(tmp_path: Path) -> None:
    name = os.fsdecode(b"caf\xe9.layout.json")
    (tmp_path / name).write_text(BAD, "utf-8")
    for words in (["check"], ["check", "--format", "json"], ["table"]):
        done = trappoint(*words, name, cwd=tmp_path)
        assert "Traceback" not in done.stderr
        assert "caf" in done.stdout + done.stderr
        assert done.returncode == (0 if words == ["table"] else 1)
