"""Runs the program in the process of the tests: the same words, streams and codes, no start.

Tests of what only a process has (its start, its end, signals, encodings) use ``commands.running``.
"""

from __future__ import annotations

import os
import subprocess
import sys
from contextlib import chdir, nullcontext, redirect_stderr, redirect_stdout
from io import BytesIO, TextIOWrapper
from pathlib import Path
from unittest.mock import patch

from commands.running import environment
from trappoint.cli import main


def trappoint(
    *words: str | Path, given: bytes = b"", cwd: Path | None = None
) -> subprocess.CompletedProcess[str]:
    """Run ``trappoint`` with these words and return its exit code and what it wrote."""
    out, err = (TextIOWrapper(BytesIO(), "utf-8", newline="\n") for _ in range(2))
    with (
        patch.dict(os.environ, environment(), clear=True),
        patch.object(sys, "stdin", TextIOWrapper(BytesIO(given), "utf-8")),
        redirect_stdout(out),
        redirect_stderr(err),
        nullcontext() if cwd is None else chdir(cwd),
    ):
        code = main([*map(str, words)])
    told = [_written(stream) for stream in (out, err)]
    return subprocess.CompletedProcess(["trappoint", *map(str, words)], code, *told)


def _written(stream: TextIOWrapper) -> str:
    stream.flush()
    content = stream.buffer
    assert isinstance(content, BytesIO)
    return content.getvalue().decode("utf-8")
