"""Git, run without the settings of whoever runs the tests."""

from __future__ import annotations

import pytest

from hooks.clubs import Bench
from tidy.clubs import bare_bench


@pytest.fixture
def git(tmp_path_factory: pytest.TempPathFactory) -> Bench:
    """Git with settings of its own, and no repository yet."""
    return bare_bench(tmp_path_factory.mktemp("settings"))
