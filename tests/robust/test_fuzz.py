"""A short run of the coverage-guided fuzzer, where it is installed.

``TRAPPOINT_FUZZ_SECONDS=N`` makes it a long one.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

SECONDS = int(os.environ.get("TRAPPOINT_FUZZ_SECONDS", "5"))


def test_finds_nothing(tmp_path: Path) -> None:
    pytest.importorskip("atheris", reason="pip install atheris", exc_type=ImportError)
    fuzz = Path(__file__).with_name("fuzz.py")
    done = subprocess.run(
        [sys.executable, str(fuzz), "--seconds", str(SECONDS), "--seed", "1"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
        timeout=10 * SECONDS + 120,
    )
    assert done.returncode == 0, done.stderr[-3000:]
    assert list(tmp_path.iterdir()) == []
    assert "Done " in done.stderr
