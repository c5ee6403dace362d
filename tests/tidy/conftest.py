"""Git without the settings of the person who runs the tests."""

from __future__ import annotations

import pytest

from hooks.clubs import Bench
from tidy.clubs import bare_bench


@pytest.fixture
def git(tmp_path_factory: pytest.TempPathFactory) -> Bench:
    """Return a bench for git with its own settings, without a repository."""
    return bare_bench(tmp_path_factory.mktemp("settings"))
