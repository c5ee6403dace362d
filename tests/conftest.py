"""Options for all tests, and a summary of seconds used by each folder."""

from __future__ import annotations

import os
import shutil
import signal
import sys
import tempfile
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest

from amount import VARIABLE
from budgets import SECONDS, table
from warm import seconds, warm

if TYPE_CHECKING:
    from playwright.sync_api import Browser

FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--rewrite",
        action="store_true",
        help="write what is printed now into the files that hold what should be printed; "
        "then read the difference",
    )
    parser.addoption(
        "--long",
        action="store_true",
        help="try many more random plans, as DEVELOPERS.md lists; takes an hour or more",
    )


def pytest_configure(config: pytest.Config) -> None:
    if config.getoption("--long"):
        os.environ[VARIABLE] = "1"  # before pytest collects tests; workers inherit it
    keep_compiled_code(config)
    # Jobs that a shell starts in the background ignore Ctrl-C, and child processes inherit that.
    for number in (signal.SIGINT, signal.SIGHUP):
        if signal.getsignal(number) is signal.SIG_IGN:
            default = signal.default_int_handler if number == signal.SIGINT else signal.SIG_DFL
            signal.signal(number, default)


def keep_compiled_code(config: pytest.Config) -> None:
    """Let the programs that tests start find their code compiled, as users' programs do.

    If the environment says that Python writes no compiled code, each start compiles the whole
    library again, and takes four times as long. A folder of this run then holds the compiled code;
    the work tree stays clean. Workers inherit the variables.
    """
    if os.environ.pop("PYTHONDONTWRITEBYTECODE", None):
        folder = tempfile.mkdtemp(prefix="compiled-")
        os.environ["PYTHONPYCACHEPREFIX"] = folder
        config.add_cleanup(lambda: shutil.rmtree(folder, ignore_errors=True))


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    reports = [
        report
        for some in terminalreporter.stats.values()
        for report in some
        if isinstance(report, pytest.TestReport)
    ]
    if reports:
        terminalreporter.section("seconds of processor time by folder")
        for line in table(reports):
            terminalreporter.line(line)


STARTED = pytest.StashKey[float]()


def processor_seconds() -> float:
    """Return the processor time of this process and of its children that have ended."""
    return sum(os.times()[:4]) + seconds()


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_setup(item: pytest.Item) -> None:
    item.stash[STARTED] = processor_seconds()


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_makereport(item: pytest.Item, call: pytest.CallInfo[None]) -> None:
    if call.when == "teardown" and STARTED in item.stash:
        used = round(processor_seconds() - item.stash[STARTED], 2)
        item.user_properties.append((SECONDS, used))


@pytest.fixture
def rewrite(request: pytest.FixtureRequest) -> bool:
    """Return whether to overwrite files of expected output."""
    return bool(request.config.getoption("--rewrite"))


@pytest.fixture(scope="session")
def warm_python() -> Iterator[str]:
    """A stand-in for Python that starts the project's programs at once."""
    with warm() as python:
        yield python


@pytest.fixture(scope="module")
def quick(warm_python: str) -> Iterator[None]:
    """Save the start of each program that the tests of this module call."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sys, "executable", warm_python)
        yield


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """The system's own browser, without a window."""
    found = shutil.which("chromium")
    if found is None:
        if os.environ.get("CI"):
            pytest.fail("chromium is missing: `apt-get install chromium` installs it")
        pytest.skip("chromium is missing: `apt-get install chromium` installs it")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=found, args=list(FLAGS))
        yield started
        started.close()


def pytest_xdist_auto_num_workers() -> int:
    """Return the number of processors plus one: tests wait for servers and for git."""
    return (os.cpu_count() or 1) + 1
