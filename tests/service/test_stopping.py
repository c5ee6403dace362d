"""Stopping ``trappoint serve``: signals, exit codes, and as process 1."""

from __future__ import annotations

import http.client
import os
import re
import shutil
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from service.conftest import HEAVY
from service.load import children
from service.slow_clients import ask, slow_clients, wait_until

Start = Callable[..., tuple[subprocess.Popen[str], int]]


def begin_heavy(port: int, answers: list[tuple[int, str]]) -> threading.Thread:
    """Send a plan that takes seconds, in a thread; return once the service has it."""

    def send() -> None:
        with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=60)) as connection:
            connection.request("POST", "/api/v1/check", HEAVY, {"Content-Type": "application/json"})
            sent.set()
            answer = connection.getresponse()
            answers.append((answer.status, answer.headers.get("Connection", "")))
            answer.read()

    sent = threading.Event()
    thread = threading.Thread(target=send)
    thread.start()
    assert sent.wait(30)
    wait_until(lambda: re.search(r'jobs_running{queue="\w+"} 1', metrics(port)) is not None)
    return thread


def metrics(port: int) -> str:
    with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=60)) as connection:
        connection.request("GET", "/metrics")
        return connection.getresponse().read().decode()


def refuses(port: int) -> bool:
    try:
        ask(port, "/healthz")
    except OSError:
        return True
    return False


def test_it_ends_with_the_requests_that_run(start: Start) -> None:
    process, port = start(DEADLINE_SECONDS="1")
    answers: list[tuple[int, str]] = []
    with slow_clients(port, 8, ("header", "idle")):
        thread = begin_heavy(port, answers)
        for child in children(process.pid):
            os.kill(child, signal.SIGTERM)  # as a manager of services does
        process.terminate()
        while not refuses(port):
            time.sleep(0.05)
        thread.join()
        assert process.wait(60) == 0
    assert answers == [(422, "close")]


def test_it_waits_no_longer_than_it_may(start: Start) -> None:
    process, port = start(STOP_SECONDS="0")
    with slow_clients(port, 1, ("body",)):
        process.send_signal(signal.SIGHUP)
        assert process.wait(60) == 0


def test_a_second_signal_ends_it_at_once(start: Start) -> None:
    process, port = start(STOP_SECONDS="3600")
    with slow_clients(port, 1, ("body",)):
        wait_until(lambda: 'connections{phase="body"} 1' in metrics(port))
        process.terminate()
        while not refuses(port):
            time.sleep(0.05)
        assert process.poll() is None
        process.terminate()
        assert process.wait(60) == 128 + signal.SIGTERM


def test_it_outlives_its_terminal_where_that_was_ignored(start: Start) -> None:
    process, port = start("nohup")
    process.send_signal(signal.SIGHUP)
    assert ask(port, "/healthz")[0] == 200
    process.send_signal(signal.SIGINT)
    assert process.wait(60) == 0


def test_it_looks_for_garbage() -> None:
    """The command line starts without; a service that never did would grow with every fault."""
    program = (
        "import gc, sys; from trappoint_service import server; from trappoint.cli import main; "
        "server.serve = lambda *words, **more: print(gc.isenabled()); "
        "sys.argv[1:] = ['serve']; main()"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    assert done.stdout == "True\n", done.stderr


def can_be_process_one() -> bool:
    words = ["unshare", "--pid", "--fork", "--mount-proc", "true"]
    return bool(shutil.which("unshare")) and subprocess.run(words, check=False).returncode == 0


@pytest.mark.skipif(not can_be_process_one(), reason="only root may begin a world of processes")
def test_as_process_one_it_ends_and_buries_the_dead(start: Start) -> None:
    process, _ = start("unshare", "--pid", "--fork", "--mount-proc", "--kill-child")
    (first,) = children(process.pid)
    (service,) = [pid for pid in children(first) if "serve" in command_of(pid)]
    # A process whose parent ends before it becomes a child of process 1.
    words = ["nsenter", "--pid", "--target", str(first), "sh", "-c", "sleep 0.1 & exit 0"]
    subprocess.run(words, check=True)
    wait_until(lambda: children(first) == [service])
    os.kill(first, signal.SIGTERM)
    assert process.wait(60) == 0


def command_of(pid: int) -> str:
    return Path(f"/proc/{pid}/cmdline").read_text()
