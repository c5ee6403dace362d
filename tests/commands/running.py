"""Runs the program as a process of its own, as its users do."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

from trappoint.core.resources import read_resource

ROOT = Path(__file__).parents[2]
EXAMPLES = ROOT / "examples"
KELPIE = EXAMPLES / "kelpie-quay.layout.json"

GOOD = read_resource("kelpie-quay.layout.json")
BAD = "".join(line for line in GOOD.splitlines(keepends=True) if '"6": {' not in line)
"""Kelpie Quay without signal 6: a train in the siding is not held (the design of the format)."""


def plan(**changes: Any) -> str:
    """Kelpie Quay with some top keys replaced."""
    return json.dumps(json.loads(GOOD) | changes, indent=2)


def environment(**more: str) -> dict[str, str]:
    """The environment without variables that change the look, and with those in ``more``."""
    kept = {k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "COLUMNS", "TERM")}
    return {**kept, "TERM": "xterm", "PYTHONIOENCODING": "utf-8", **more}


def trappoint(
    *words: str | Path,
    given: bytes = b"",
    cwd: Path | None = None,
    env: dict[str, str] | None = None,
) -> subprocess.CompletedProcess[str]:
    """Run ``trappoint`` with these words and return its exit code and what it wrote."""
    done = subprocess.run(
        [sys.executable, "-m", "trappoint", *map(str, words)],
        input=given,
        capture_output=True,
        cwd=cwd,
        env=env or environment(),
        check=False,
        timeout=120,
    )
    return subprocess.CompletedProcess(
        done.args, done.returncode, done.stdout.decode("utf-8"), done.stderr.decode("utf-8")
    )


def flat(text: str) -> str:
    """Return a text in one line, without its line breaks and indents."""
    return " ".join(text.split())
