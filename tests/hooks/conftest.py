"""One hook repository and one pre-commit home for all tests: building the environment is slow."""

from __future__ import annotations

import pytest

from hooks.clubs import Bench, set_up


@pytest.fixture(scope="session")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Bench:
    """Set up the hook's repository."""
    return set_up(tmp_path_factory.mktemp("bench"))
