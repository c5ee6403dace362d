"""Options for all tests."""

from __future__ import annotations

import pytest


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--rewrite",
        action="store_true",
        help="write what is printed now into the files that hold what should be printed; "
        "then read the difference",
    )


@pytest.fixture
def rewrite(request: pytest.FixtureRequest) -> bool:
    """Whether files of expected output are to be written anew."""
    return bool(request.config.getoption("--rewrite"))
