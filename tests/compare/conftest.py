"""A club for each test."""

from __future__ import annotations

from pathlib import Path

import pytest

from compare.repositories import Club, found_club


@pytest.fixture
def club(tmp_path: Path) -> Club:
    return found_club(tmp_path)
