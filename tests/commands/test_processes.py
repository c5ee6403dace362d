"""Work shared among processes: in order, ended at once by Ctrl-C, and never waited for in vain."""

from __future__ import annotations

import multiprocessing
import os
import signal
import time

import pytest

from trappoint.app.processes import share_out
from trappoint.core.errors import NoAnswer

LONG = 1 << 20
"""Bytes: far more than a pipe takes, so that a process is ended while it sends."""


def _double(number: int) -> int:
    time.sleep(0.01 * (number % 3))
    return 2 * number


def _send_much(number: int) -> bytes:
    if number == 5:
        os.kill(os.getppid(), signal.SIGINT)
    return bytes(LONG)


def _die(number: int) -> int:
    if number == 3:
        os.kill(os.getpid(), signal.SIGKILL)
    return number


def test_results_keep_the_order_of_the_items() -> None:
    assert list(share_out(_double, range(100), 3)) == [2 * number for number in range(100)]


def test_ctrl_c_ends_the_processes() -> None:
    with pytest.raises(KeyboardInterrupt):
        for _ in share_out(_send_much, range(1000), 2):
            pass
    assert multiprocessing.active_children() == []
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler


def test_a_process_ended_from_outside_is_named() -> None:
    with pytest.raises(NoAnswer, match="the system ended a process") as raised:
        list(share_out(_die, range(20), 2))
    assert raised.value.exit_code == 3
    assert multiprocessing.active_children() == []


def test_results_that_nobody_wants_any_more() -> None:
    results = share_out(_send_much, range(6, 1000), 2)
    assert next(results) == bytes(LONG)
    results.close()  # type: ignore[attr-defined] # it is a generator
    assert multiprocessing.active_children() == []
