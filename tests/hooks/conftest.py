"""One hook repository and one pre-commit home for all tests: building the environment is slow."""

from __future__ import annotations

import os
from fcntl import LOCK_EX, flock

import pytest

from hooks.clubs import Bench, set_up


@pytest.fixture(scope="session")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Bench:
    """Set up the hook's repository, once for all workers."""
    base = tmp_path_factory.getbasetemp()
    folder = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "bench"
    folder.mkdir(exist_ok=True)
    with (folder / "lock").open("w") as lock:
        flock(lock, LOCK_EX)
        return set_up(folder)
