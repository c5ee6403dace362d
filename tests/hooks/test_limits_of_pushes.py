"""The limits of the server hold for every push. Real git, real processes."""

from __future__ import annotations

import io
import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from hooks.objects import FOLDER, Objects
from hooks.pushing import BAD, PLAN, Club, environment, hook
from trappoint.app.streams import Streams
from trappoint.core.terminal import RenderOptions
from trappoint_hooks.limits import LimitMet, Limits, Output, within
from trappoint_hooks.recent import Recent

NOTHING = "The push is rejected."


@pytest.fixture
def club(tmp_path: Path) -> Club:
    return Club(tmp_path)


def brought(club: Club, tree: str) -> str:
    """Commit a tree that was written by hand to main of the clone."""
    commit = Objects(club.clone / ".git").commit(tree)
    club.git("update-ref", "refs/heads/main", commit)
    return commit


def bomb(club: Club) -> str:
    """Write a tree of ten entries that are the same tree, ten levels deep."""
    objects = Objects(club.clone / ".git")
    inner = objects.folder({PLAN: objects.blob(BAD)})
    for _ in range(10):
        inner = objects.tree((FOLDER, b"%d" % n, inner) for n in range(10))
    return brought(club, inner)


def test_a_push_that_takes_too_long(club: Club) -> None:
    club.set_up("--seconds=1", "--memory=4000")
    bomb(club)
    taken, said = club.push("main")
    assert not taken
    assert re.fullmatch(
        r"trappoint-receive: The check of this push takes more than 1 second; it stopped"
        # A slow machine may not get to this step.
        r"( while (looking through refs/heads/main|reading what git says))?\. Push fewer plans or "
        r"commits at a time, or ask the owner of the server to raise --seconds \(now 1\)\. "
        + re.escape(NOTHING),
        said,
    )
    assert club.at("main") == ""


def keys() -> str:
    """Write a plan that takes about 200 MB to read."""
    return "{" + ",".join(f'"{n:x}":1' for n in range(690_000)) + "}"


def test_a_push_that_takes_too_much_memory(club: Club) -> None:
    club.set_up("--memory=100")
    objects = Objects(club.clone / ".git")
    tree = objects.folder({PLAN: objects.blob(keys())})
    for _ in range(30):
        tree = objects.tree([(FOLDER, b"x" * 200, tree)])
    brought(club, tree)
    taken, said = club.push("main")
    assert not taken
    assert "takes more than 100 MB of memory; it stopped while checking xxx" in said
    assert "raise --memory (now 100)" in said
    assert "x" * 150 in said
    assert "x" * 201 not in said  # a long path is cut
    assert club.at("main") == ""


def test_many_findings_are_counted_and_the_check_stops(club: Club) -> None:
    club.set_up("--lines=50")
    files: dict[str, str | bytes | None] = {f"{n}.layout.json": BAD for n in range(60)}
    club.commit_files("All bad", files)
    done = club.run("git", "push", "origin", "HEAD")
    lines = [line for line in os.fsdecode(done.stdout).splitlines() if line.startswith("remote:")]
    assert done.returncode == 1
    assert 40 < len(lines) < 60
    said = " ".join(line.removeprefix("remote:").strip() for line in lines)
    assert "more findings. The rest of the push was not checked." in said
    assert said.strip().endswith(NOTHING)


def test_a_bad_plan_is_rejected_without_room_for_findings(club: Club) -> None:
    objects = Objects(club.server)
    new = objects.commit(objects.folder({PLAN: objects.blob(BAD), f"x{PLAN}": objects.blob(BAD)}))
    line = f"{objects.nothing} {new} refs/heads/main\n"
    done = hook(club.server, "receive", "--lines=1", given=line.encode())
    assert done.returncode == 1
    assert done.stdout.startswith(
        "... and 1 more finding.\nThe rest of the push was not checked.\n"
    )


def test_refs_that_are_rejected_alike_are_counted(club: Club) -> None:
    objects = Objects(club.server)
    new = objects.commit(objects.folder({PLAN: objects.blob(BAD)}))
    lines = "".join(f"{objects.nothing} {new} refs/heads/{n}\n" for n in range(500))
    done = hook(club.server, "receive", "--lines=60", given=lines.encode())
    assert done.returncode == 1
    counted = done.stdout.count(": rejected, like refs/heads/0.")
    assert 30 < counted < 60
    assert f"... and {499 - counted} more refs.\n" in done.stdout


def test_a_standard_input_without_an_end(club: Club) -> None:
    with Path("/dev/zero").open("rb") as endless:
        done = subprocess.run(
            [sys.executable, "-m", "trappoint_hooks.receive"],
            cwd=club.server,
            env=environment(club.server),
            stdin=endless,
            capture_output=True,
            check=False,
            timeout=120,
        )
    assert done.returncode == 2
    assert b"This push has more than 16,777,216 bytes of refs" in done.stderr


@pytest.mark.parametrize("word", ["0", "-1", "x", "1.5", "99999999"])
def test_limits_are_whole_numbers(club: Club, word: str) -> None:
    done = hook(club.server, "receive", f"--seconds={word}")
    assert done.returncode == 2
    assert f"argument --seconds: '{word}' is not a whole number" in done.stderr


def test_processes_of_the_check_end_with_it(tmp_path: Path) -> None:
    """No process stays that could hold the push open, even if the check itself is killed."""
    started = tmp_path / "started"

    def job(_: object) -> int:
        started.write_text(str(subprocess.Popen(["sleep", "600"]).pid))
        os.kill(os.getpid(), signal.SIGKILL)
        return 0

    with pytest.raises(LimitMet, match=r"more than 512 MB of memory; it stopped\. Push"):
        within(Limits(), lambda work: work(), job)
    about = Path(f"/proc/{started.read_text()}/stat")
    for _ in range(200):  # init removes dead processes
        if not about.exists() or ") Z " in about.read_text():
            return
        time.sleep(0.05)
    pytest.fail("a process is left")


def test_exit_codes_are_passed_on() -> None:
    def job(watch: Callable[[str], None]) -> int:
        watch("at it")
        return 7

    assert within(Limits(), lambda work: work(), job) == 7


@pytest.mark.parametrize("how", [MemoryError, RecursionError])
def test_only_memory_is_a_limit_of_memory(how: type[BaseException]) -> None:
    def job(_: object) -> int:
        raise how

    if how is MemoryError:
        with pytest.raises(LimitMet, match=r"more than 512 MB of memory; it stopped\. Push"):
            within(Limits(), lambda work: work(), job)
    else:
        assert within(Limits(), lambda work: work(), job) == 3


def test_output_is_cut_and_the_rest_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    shown = io.StringIO()
    monkeypatch.setattr(sys, "stdout", shown)
    output = Output(Streams(), RenderOptions(), 100)
    output.say("x" * 10_000 + "\n", {"finding": 1})
    output.say("y\n" * 1000, {"finding": 1})
    output.say("z\n" * 30, {"finding": 1})
    assert output.room == 9
    output.say("\U0001f682" * 250 + "\n" * 35, {"finding": 3})
    output.say("short\n", {"ref": 1})
    output.say_last("The end.")
    lines = shown.getvalue().splitlines()
    assert lines[0] == "x" * 250 + "..."
    assert lines[1:41] == ["y"] * 40
    assert lines[41:43] == ["  ...", ""]
    assert lines[43:] == ["z"] * 30 + ["... and 3 more findings and 1 more ref.", "The end."]


def test_the_least_recently_used_value_is_dropped() -> None:
    recent: Recent[str] = Recent(10)
    for key in "abc":
        recent.keep(key, key, 4)
    assert [recent.get(key) for key in "abc"] == [None, "b", "c"]
    assert recent.get("b") == "b"
    recent.keep("d", "d", 4)
    assert [recent.get(key) for key in "bcd"] == ["b", None, "d"]
    recent.keep("e", "large", 1000)
    assert [recent.get(key) for key in "bde"] == [None, None, "large"]
