"""Limits of time, memory and output for the check of one push.

The check runs in its own process. That process and the git processes that it starts are one group,
which is killed when the time is up. Each of them has the same memory limit. On Windows, where a
process cannot fork, only the time is limited.
"""

from __future__ import annotations

import os
import signal
import sys
import time
from collections import Counter
from contextlib import suppress
from typing import TYPE_CHECKING, NamedTuple, NoReturn

from trappoint.app.exit_codes import INTERNAL_ERROR, USAGE_ERROR
from trappoint.core.errors import CannotUse
from trappoint.core.quoting import visible
from trappoint.core.terminal import plural
from trappoint.source.git import GitError

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from trappoint.app.streams import Streams
    from trappoint.core.terminal import RenderOptions

    Watch = Callable[[str], None]
    """A function that takes the name of the next step: ``checking a.layout.json``."""

    Guard = Callable[[Callable[[], int]], int]
    """A function that runs another and returns its exit code.

    It prints errors, and lets ``MemoryError`` pass."""


class Limits(NamedTuple):
    """The limits of the check of one push. The owner of the server sets them."""

    seconds: int = 60
    memory_mb: int = 512
    """The memory limit of each process, in units of 1,048,576 bytes."""
    lines: int = 200
    """The lines of output for findings; further findings are counted."""


class LimitMet(CannotUse):
    """Raised when the check of a push reaches a limit. The message is a complete error message."""

    def __init__(self, what: str, at: str, word: str, now: int) -> None:
        """``what`` is the limit, ``at`` the step that was stopped, ``word`` the option."""
        while_ = f" while {at}" if at else ""
        super().__init__(
            f"The check of this push takes more than {what}; it stopped{while_}. Push fewer "
            "plans or commits at a time, or ask the owner of the server to raise "
            f"{word} (now {now}). The push is rejected."
        )


_OUT_OF_MEMORY = 99
"""The exit code of the checking process when it runs out of memory."""

_LONGEST = 200
"""The maximum length of a step's name, in characters: paths may have any length."""

_MB = 1024 * 1024


def within(limits: Limits, guard: Guard, job: Callable[[Watch], int]) -> int:
    """Run a job within limits, and return its exit code. Raises ``LimitMet``."""
    if sys.platform == "win32":
        return _with_deadline(limits, guard, job)
    reader, writer = os.pipe()
    signal.signal(signal.SIGCHLD, signal.SIG_DFL)  # the caller may ignore it
    child = os.fork()
    if not child:
        os.close(reader)
        _work(limits, guard, job, writer)
    os.close(writer)
    in_time = False
    try:
        with suppress(OSError):
            os.setpgid(child, child)  # the child does this too; one of them is first
        at, in_time = _listen(reader, time.monotonic() + limits.seconds)
    finally:
        os.close(reader)
        status = _end(child, at_once=not in_time)
    if not in_time or status == -signal.SIGXCPU:
        raise LimitMet(plural(limits.seconds, "second"), at, "--seconds", limits.seconds)
    if status == _OUT_OF_MEMORY or status < 0:  # the system may have killed it
        raise LimitMet(f"{limits.memory_mb} MB of memory", at, "--memory", limits.memory_mb)
    return status


def _end(child: int, *, at_once: bool) -> int:
    """Wait for a process to end, kill the processes that it started, return its exit code."""
    if not at_once and hasattr(os, "waitid"):
        os.waitid(os.P_PID, child, os.WEXITED | os.WNOWAIT)  # its number stays in use
        at_once = True
    if at_once:
        with suppress(OSError):
            os.killpg(child, signal.SIGKILL)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def _listen(reader: int, until: float) -> tuple[str, bool]:
    """Return the last step that the child named, and whether the child ended in time."""
    import select

    heard = b""
    while (left := until - time.monotonic()) > 0:
        if not select.select([reader], [], [], left)[0]:
            continue
        piece = os.read(reader, 1 << 16)
        if not piece:
            return _last(heard), True
        heard = (heard + piece)[-8 * _LONGEST :]
    return _last(heard), False


def _last(heard: bytes) -> str:
    return heard.decode("utf-8", "replace").rpartition("\0")[0].rpartition("\0")[2]


def _work(limits: Limits, guard: Guard, job: Callable[[Watch], int], writer: int) -> NoReturn:
    """Run the job in this process, the child, and end the process."""

    def watch(at: str) -> None:
        shown = visible(at if len(at) <= _LONGEST else f"{at[:_LONGEST]}...")
        os.write(writer, f"{shown}\0".encode())

    code = INTERNAL_ERROR
    try:
        os.setpgid(0, 0)
        _limit(limits)
        code = guard(lambda: _or_out_of_memory(job, watch))
    except MemoryError:
        code = _OUT_OF_MEMORY
    finally:
        os._exit(code)


def _or_out_of_memory(job: Callable[[Watch], int], watch: Watch) -> int:
    try:
        return job(watch)
    except MemoryError:
        return _OUT_OF_MEMORY
    except GitError as error:
        if any(word in str(error).lower() for word in ("out of memory", "cannot allocate memory")):
            return _OUT_OF_MEMORY
        raise


def _limit(limits: Limits) -> None:
    """Limit this process and the processes that it starts."""
    import resource

    signal.alarm(limits.seconds + 2)  # in case the parent is killed
    most = limits.memory_mb * _MB
    for kind, value in ((resource.RLIMIT_CPU, limits.seconds + 2), (resource.RLIMIT_AS, most)):
        with suppress(OSError, ValueError):  # not every system has both limits
            resource.setrlimit(kind, (value, value))
    _spare_git_memory()


def _spare_git_memory() -> None:
    """Let git map large files piece by piece, because mapped memory counts too."""
    words = {
        "core.packedGitWindowSize": "16m",
        "core.packedGitLimit": "64m",
        "core.deltaBaseCacheLimit": "16m",
        "core.bigFileThreshold": "16m",
    }
    count = os.environ.get("GIT_CONFIG_COUNT", "")
    first = int(count) if count.isdecimal() else 0
    for number, (word, value) in enumerate(words.items(), first):
        os.environ[f"GIT_CONFIG_KEY_{number}"] = word
        os.environ[f"GIT_CONFIG_VALUE_{number}"] = value
    os.environ["GIT_CONFIG_COUNT"] = str(first + len(words))


def _with_deadline(limits: Limits, guard: Guard, job: Callable[[Watch], int]) -> int:
    """Run a job in this process, and end the process when the time is up."""
    from threading import Timer

    at = [""]

    def give_up() -> None:
        met = LimitMet(plural(limits.seconds, "second"), at[0], "--seconds", limits.seconds)
        sys.stderr.write(f"trappoint-receive: {met}\n")
        sys.stderr.flush()
        os._exit(USAGE_ERROR)

    timer = Timer(limits.seconds, give_up)
    timer.daemon = True
    timer.start()
    try:
        return guard(lambda: job(lambda step: at.__setitem__(0, visible(step[:_LONGEST]))))
    finally:
        timer.cancel()


class Output:
    """Prints why a push is rejected, up to a number of lines, and counts the rest."""

    LINES_OF_BLOCK = 40
    """The maximum lines of a block: a movement may have a thousand steps."""

    LETTERS_OF_LINE = 250
    """The maximum characters of a line: paths and keys may have any length."""

    BYTES_OF_LINE = 320
    """The bytes of output for each line of the limit: 64 kB for 200 lines."""

    def __init__(self, streams: Streams, look: RenderOptions, lines: int) -> None:
        """``lines`` is the maximum number of lines for findings."""
        self._streams = streams
        self.look = look
        self._lines = lines
        self._bytes = lines * self.BYTES_OF_LINE
        self._lines_of_block = min(self.LINES_OF_BLOCK, max(lines - 2, 0))
        self._left_out: Counter[str] = Counter()

    @property
    def room(self) -> int:
        """The findings for which there is room; each takes at least three lines."""
        return self._lines // 3

    def say(self, text: str, holds: Mapping[str, int]) -> None:
        """Print whole lines. If there is no room, count their content: ``{"finding": 1}``."""
        lines = [self._cut(line) for line in text.split("\n")]
        if len(lines) > self._lines_of_block:
            lines = [*lines[: self._lines_of_block], "  ...", "", ""]
        shown = "\n".join(lines)
        self._lines -= len(lines) - 1
        self._bytes -= len(shown.encode("utf-8", "backslashreplace"))
        if self._lines < 0 or self._bytes < 0:
            self._lines = 0  # print nothing after a gap
            self.leave_out(holds)
        else:
            self._streams.say(shown)
            self._streams.flush()

    def leave_out(self, holds: Mapping[str, int]) -> None:
        """Count findings or refs without printing them."""
        self._left_out.update(holds)

    def say_last(self, *sentences: str) -> None:
        """Print the counts of omitted findings and refs, then these sentences, past the limit."""

        counts = [plural(n, f"more {kind}") for kind, n in self._left_out.items() if n]
        if counts:
            sentences = f"... and {' and '.join(counts)}.", *sentences
        for sentence in sentences:
            self._streams.say("\n".join(self.look.wrap(sentence)) + "\n")

    def _cut(self, line: str) -> str:
        most = self.LETTERS_OF_LINE
        return line if len(line) <= most else f"{line[:most]}..."
