"""A quick stand-in for ``python -m trappoint...``: a process that has the library in memory forks.

Each call is still a process of its own, with its own environment, streams, folder and exit code;
only its start is saved. Tests of the start itself take ``PYTHON``. Calls of anything else than the
project's programs go to Python.
"""

from __future__ import annotations

import io
import marshal
import os
import pkgutil
import runpy
import signal
import socket
import subprocess
import sys
import traceback
import warnings
from contextlib import contextmanager, suppress
from importlib import import_module
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

import trappoint
import trappoint_hooks

if TYPE_CHECKING:
    from collections.abc import Iterator

PYTHON = sys.executable
"""The real Python."""


CLIENT = """\
#!{python} -IS
import os, sys
words = sys.argv[1:]
if words[:1] == ["-P"]:
    del words[0]
if words[:1] != ["-m"] or words[1].partition(".")[0] not in ("trappoint", "trappoint_hooks"):
    os.execv({python!r}, [{python!r}, *sys.argv[1:]])
import marshal, socket
streams = []
for number in range(3):
    try:
        os.fstat(number)
    except OSError:
        os.execv({python!r}, [{python!r}, *sys.argv[1:]])
with socket.socket(socket.AF_UNIX) as server:
    server.connect({address!r})
    call = marshal.dumps((words[1:], os.getcwdb(), dict(os.environb)))
    socket.send_fds(server, [len(call).to_bytes(8, "big")], [0, 1, 2])
    server.sendall(call)
    code = server.recv(4)
    sys.exit(int.from_bytes(code, "big") if code else 1)
"""
"""The program; it needs few modules, so that it starts at once. A closed stream goes to Python."""


STARTED: list[int] = []
"""The processes that answer calls."""


def seconds() -> float:
    """Return the processor time of these processes and of all calls."""
    ticks = 0
    for number in STARTED:
        after_name = Path(f"/proc/{number}/stat").read_text("ascii").rpartition(")")[2].split()
        ticks += sum(map(int, after_name[11:15]))  # proc(5): utime, stime, cutime, cstime
    return ticks / os.sysconf("SC_CLK_TCK")


@contextmanager
def warm() -> Iterator[str]:
    """Start a process that has imported the library; yield the path of the stand-in."""
    with TemporaryDirectory(prefix="warm") as folder:
        address, client = f"{folder}/socket", Path(folder, "python")
        client.write_text(CLIENT.format(python=PYTHON, address=address), "utf-8")
        client.chmod(0o755)
        with socket.socket(socket.AF_UNIX) as listener:
            listener.bind(address)
            listener.listen(64)
            server = subprocess.Popen(
                [PYTHON, "-m", "warm", str(listener.fileno())],
                cwd=Path(__file__).parent,
                pass_fds=[listener.fileno()],
            )
            STARTED.append(server.pid)
            try:
                yield str(client)
            finally:
                STARTED.remove(server.pid)
                server.terminate()
                server.wait()


def serve(listener: socket.socket) -> None:
    """Answer calls, each with a process of its own, until SIGTERM; then wait for all of them."""
    signal.signal(signal.SIGTERM, lambda *_: sys.exit())
    try:
        while True:
            call, _ = listener.accept()
            if os.fork() == 0:
                signal.signal(signal.SIGTERM, signal.SIG_DFL)
                listener.close()
                answer(call)
            call.close()
            wait(os.WNOHANG)
    finally:
        wait(0)


def wait(how: int) -> None:
    """Take the processes that have ended off the system's list, so that their time counts."""
    with suppress(ChildProcessError):
        while os.waitpid(-1, how)[0]:
            pass


def answer(call: socket.socket) -> None:
    """Do what a call asks for, send its exit code, and end."""
    head, streams, _, _ = socket.recv_fds(call, 8, 3)
    size, text = int.from_bytes(head, "big"), b""
    while len(text) < size and (part := call.recv(size - len(text))):
        text += part
    words, folder, variables = marshal.loads(text)  # noqa: S302 - it comes from the client above
    child = os.fork()
    if child == 0:
        call.close()
        run(words, folder, variables, streams)
    for stream in streams:
        os.close(stream)
    code = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    with suppress(OSError):  # the client may have been killed
        call.sendall((code % 256).to_bytes(4, "big"))
    os._exit(0)


def run(words: list[str], folder: bytes, variables: dict[bytes, bytes], streams: list[int]) -> None:
    """Run a module as Python does with ``-m``, and end."""
    code = 1
    try:
        for number, stream in enumerate(streams):
            os.dup2(stream, number)
            os.close(stream)
        os.chdir(folder)
        os.environb.clear()
        os.environb.update(variables)
        encoding, _, errors = os.environ.get("PYTHONIOENCODING", "utf-8").partition(":")
        how = encoding, errors or None
        sys.stdin = io.TextIOWrapper(io.BufferedReader(io.FileIO(0)), *how)
        sys.stdout = io.TextIOWrapper(io.BufferedWriter(io.FileIO(1, "w")), *how)
        sys.stderr = io.TextIOWrapper(
            io.BufferedWriter(io.FileIO(2, "w")), encoding, "backslashreplace", line_buffering=True
        )
        sys.argv = list(words)
        warnings.simplefilter("ignore", RuntimeWarning)  # the module is imported already
        runpy.run_module(words[0], run_name="__main__", alter_sys=True)
        code = 0
    except SystemExit as end:
        code = end.code if isinstance(end.code, int) else int(end.code is not None)
    except BaseException:
        traceback.print_exc()
    finally:
        with suppress(Exception):
            sys.stdout.flush()
        with suppress(Exception):
            sys.stderr.flush()
        os._exit(code % 256)


def import_all() -> None:
    """Import every module of the library and the hooks."""
    for package in (trappoint, trappoint_hooks):
        for module in pkgutil.walk_packages(package.__path__, f"{package.__name__}."):
            if not module.name.endswith("__main__"):
                import_module(module.name)


if __name__ == "__main__":
    import_all()
    serve(socket.socket(fileno=int(sys.argv[1])))
