"""The progress line of a long check appears only on a terminal, after one second."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from commands.running import GOOD, environment
from commands.terminal import Terminal


def slow_plans(folder: Path) -> list[str]:
    """Return the paths of three plans; the second and the third are pipes without a writer."""
    (folder / "a.layout.json").write_text(GOOD, "utf-8")
    os.mkfifo(folder / "b.layout.json")
    os.mkfifo(folder / "c.layout.json")
    return [str(folder / name) for name in ("a.layout.json", "b.layout.json", "c.layout.json")]


def feed(path: str, after: float) -> None:
    time.sleep(after)
    Path(path).write_text(GOOD, "utf-8")


def test_on_a_terminal_after_a_second(tmp_path: Path) -> None:
    names = slow_plans(tmp_path)
    terminal = Terminal("check", *names, env=environment(NO_COLOR="1"))
    terminal.read_until(b"signalled.")
    feed(names[1], 1.1)
    terminal.read_until(b"2 of 3 plans checked")
    assert b"1 of 3" not in terminal.seen
    feed(names[2], 0)
    assert terminal.finish() == 0
    after = terminal.seen.split(b"2 of 3 plans checked")[1]
    assert after.startswith(b"\r\x1b[K")
    assert terminal.seen.count(b"plans checked") == 1


def test_not_within_a_second(tmp_path: Path) -> None:
    names = slow_plans(tmp_path)
    terminal = Terminal("check", *names, env=environment(NO_COLOR="1"))
    feed(names[1], 0)
    feed(names[2], 0)
    assert terminal.finish() == 0
    assert b"plans checked" not in terminal.seen
    assert b"\x1b[K" not in terminal.seen


def test_not_on_a_terminal_that_can_not_erase(tmp_path: Path) -> None:
    names = slow_plans(tmp_path)
    terminal = Terminal("check", *names, env=environment(TERM="dumb"))
    feed(names[1], 1.2)
    feed(names[2], 0.1)
    assert terminal.finish() == 0
    assert b"plans checked" not in terminal.seen


@pytest.mark.parametrize("jobs", ["1", "2"])
def test_not_where_nobody_looks(tmp_path: Path, jobs: str) -> None:
    names = slow_plans(tmp_path)
    feeders = [
        threading.Thread(target=feed, args=(names[1], 1.2)),
        threading.Thread(target=feed, args=(names[2], 1.3)),
    ]
    for feeder in feeders:
        feeder.start()
    done = subprocess.run(
        [sys.executable, "-m", "trappoint", "check", "--jobs", jobs, *names],
        capture_output=True,
        check=False,
        timeout=60,
        env=environment(),
    )
    for feeder in feeders:
        feeder.join()
    assert (done.returncode, done.stderr) == (0, b"")
    assert b"plans checked" not in done.stdout
