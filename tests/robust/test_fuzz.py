"""A short run of the coverage-guided fuzzer, if it is installed.

``pytest --long`` makes the run long.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from amount import amount
from robust.fuzz import NAMES

pytest.importorskip("atheris", reason="pip install atheris", exc_type=ImportError)

SECONDS = amount(5, long=600)


@pytest.mark.parametrize("subject", NAMES)
def test_finds_nothing(subject: str, tmp_path: Path) -> None:
    fuzz = Path(__file__).with_name("fuzz.py")
    done = subprocess.run(
        [sys.executable, str(fuzz), subject, "--seconds", str(SECONDS), "--seed", "1"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
        timeout=10 * SECONDS + 120,
    )
    assert done.returncode == 0, done.stderr[-3000:]
    assert list(tmp_path.iterdir()) == []
    assert "Done " in done.stderr
