"""The process that checks plans: takes jobs from its standard input until that ends."""

from __future__ import annotations

import gc
import os
import select
import signal
import sys
import threading
from typing import TYPE_CHECKING

from trappoint_service.config import load_settings
from trappoint_service.jobs import UnusableWish
from trappoint_service.memory import give_back_early
from trappoint_service.messages import (
    Done,
    Failed,
    Misunderstood,
    OutOfMemory,
    WorkerReady,
    receive,
    send,
)
from trappoint_service.work import do, warm_up

if TYPE_CHECKING:
    from typing import Any, BinaryIO

    from trappoint.model.settings import Settings
    from trappoint_service.jobs import Job
    from trappoint_service.messages import Reply

MAX_JOBS = 2000
"""Jobs after which a process is replaced."""

TIRED_MB = 300
"""MiB in use after a job, above which a process is replaced."""

SPARE_SECONDS = 5
"""Seconds after the time limit at which an abandoned process ends itself."""


def main(words: list[str]) -> int:
    """Do jobs until the input ends. ``words``: memory in MiB, time limit, settings file."""
    memory_mb, deadline, settings_file = int(words[0]), float(words[1]), words[2]
    jobs, answers = _streams()
    for name in ("SIGINT", "SIGTERM", "SIGHUP"):  # the service handles them, and ends this process
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), signal.SIG_IGN)
    give_back_early()
    _end_with_the_service(jobs)
    _limit_memory(memory_mb)
    settings = load_settings(settings_file)
    warm_up()
    gc.freeze()
    send(answers, WorkerReady())
    for number in range(1, MAX_JOBS + 1):
        try:
            job = receive(jobs)
        except EOFError:
            return 0
        _alarm(deadline + SPARE_SECONDS)
        reply = _reply(job, settings, last=number == MAX_JOBS)
        try:
            send(answers, reply)
        except BrokenPipeError:
            return 0
        _alarm(0)
        if reply.last:
            return 0
    return 0


def _streams() -> tuple[BinaryIO, BinaryIO]:
    """Return the pipes, and redirect other output away from them."""
    jobs = os.fdopen(os.dup(0), "rb")
    answers = os.fdopen(os.dup(1), "wb")
    nowhere = os.open(os.devnull, os.O_RDWR)
    os.dup2(nowhere, 0)
    os.dup2(nowhere, 1)
    return jobs, answers


def _end_with_the_service(jobs: BinaryIO) -> None:
    """End this process as soon as the service has closed its pipe, in the middle of a job too."""
    if not hasattr(select, "poll"):  # Windows has none
        return

    def wait() -> None:
        poll = select.poll()
        poll.register(jobs, 0)  # reports only that the other side has closed
        poll.poll()
        os._exit(0)

    threading.stack_size(256 * 1024)
    threading.Thread(target=wait, daemon=True).start()


def _reply(job: Job[Any], settings: Settings, *, last: bool) -> Reply:
    """Do a job. A worker that holds much memory afterwards makes this its last."""
    try:
        answer = do(job, settings)
    except UnusableWish as wrong:
        return Misunderstood(str(wrong), last or _tired())
    except MemoryError:
        return OutOfMemory(last or _tired())
    except Exception as error:
        return Failed(_where(error), last or _tired())
    return Done(answer, last or _tired())


def _where(error: Exception) -> str:
    """Return the type and place of an error, without its message: that may quote the plan."""
    trace = error.__traceback__
    while trace is not None and trace.tb_next is not None:
        trace = trace.tb_next
    where = ""
    if trace is not None:
        where = f" in {trace.tb_frame.f_globals.get('__name__')}, line {trace.tb_lineno}"
    return type(error).__name__ + where


def _limit_memory(megabytes: int) -> None:
    try:
        import resource
    except ImportError:  # Windows has none
        return
    if megabytes:
        limit = megabytes * 1024 * 1024
        resource.setrlimit(resource.RLIMIT_AS, (limit, limit))


def _tired() -> bool:
    return _held_mb() > TIRED_MB


def _held_mb() -> float:
    """Return the memory of the process, in MiB; 0 if the system does not report it."""
    try:
        with open("/proc/self/statm", encoding="ascii") as file:  # noqa: PTH123
            return int(file.read().split()[1]) * os.sysconf("SC_PAGE_SIZE") / (1024 * 1024)
    except (OSError, ValueError, AttributeError):
        return 0.0


def _alarm(seconds: float) -> None:
    if hasattr(signal, "setitimer"):
        signal.setitimer(signal.ITIMER_REAL, seconds)


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
