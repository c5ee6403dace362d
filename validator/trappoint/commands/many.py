"""Many plans checked one after another, or some at a time."""

from __future__ import annotations

import gc
import os
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

from trappoint.checking import Report, check
from trappoint.commands.gathering import STANDARD_INPUT, Source, read_standard_input
from trappoint.files import files_beside
from trappoint.findings import Finding
from trappoint.reading import UnusableFile
from trappoint.settings_file import SettingsError, find_settings

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from trappoint.assembling import Board
    from trappoint.commands.streams import Streams
    from trappoint.settings import Settings


STORE_ENDING = ".store.json"


class Unusable(NamedTuple):
    """A file that could not be read, and the sentence that says why."""

    file: str
    complaint: str


Outcome = Report | Unusable


def check_each(sources: Sequence[Source], jobs: int) -> Iterator[Outcome]:
    """Check plans and yield what comes of each, in their order, with ``jobs`` at a time.

    After them come the boards that they are put together from, if those were not named too: each
    plan is checked by itself as well as in the whole. The reports are light: the plan and its facts
    are left out, and the texts where there was nothing to find, so that they can travel between
    processes and many can be kept.
    """
    if len(sources) > 1:
        gc.enable()  # the command line leaves it off for what ends soon
    named = {os.path.normpath(source.name) for source in sources}
    boards: set[str] = set()
    for outcome in _check_all(sources, jobs):
        if isinstance(outcome, Report):
            boards.update(board.file for board in outcome.boards)
        yield outcome
    yield from _check_all([Source(file) for file in sorted(boards - named)], jobs)


def _check_all(sources: Sequence[Source], jobs: int) -> Iterator[Outcome]:
    if jobs > 1 and len(sources) > 1:
        yield from _check_some_at_a_time(sources, min(jobs, len(sources)))
    else:
        yield from map(check_one, sources)


def check_one(source: Source) -> Outcome:
    """Check one plan, and leave out of it what its boards have by themselves."""
    outcome = check_alone(source)
    if isinstance(outcome, Unusable) or not any(found.file for found in outcome.findings):
        return outcome
    from trappoint.commands.once import without_those_of_boards

    return without_those_of_boards(outcome)


def check_alone(source: Source) -> Outcome:
    """Check one plan or store. Nothing is raised: a fault of the program is in the report."""
    try:
        if source.name.endswith(STORE_ENDING):
            return _check_store(source)
        settings, files = settings_beside(source.name), files_beside(source.name)
        report = check(source.read(), name=source.name, settings=settings, files=files)
    except (UnusableFile, SettingsError) as error:
        return Unusable(source.name, str(error))
    except Exception as error:  # whatever it is, the other plans are checked all the same
        return _faulty(source.name, error)
    text = report.text if report.findings or report.accepted else None
    boards = report.boards if text is not None else _without_texts(report.boards)
    return replace(
        report,
        layout=None,
        facts=None,
        assembly=None,
        text=text,
        boards=boards,
        longest_kept=report.longest_train,
        granted_kept=report.takes_for_granted,
    )


def _check_store(source: Source) -> Report:
    from trappoint.parts.store_reading import read_store

    found = read_store(source.read(), source.name)
    text = found.text if found.findings else None
    return Report(source.name, None, found.findings, text=text, of_store=True)


def _without_texts(boards: tuple[Board, ...]) -> tuple[Board, ...]:
    return tuple(board._replace(text="") for board in boards)


def open_plan(name: str, streams: Streams) -> tuple[bytes, Settings] | None:
    """Return a plan's bytes and its club's settings. None where there are none, which is said."""
    try:
        content = read_standard_input() if name == STANDARD_INPUT else Source(name).read()
        return content, settings_beside(name)
    except (UnusableFile, SettingsError) as error:
        streams.complain(f"trappoint: {error}")
        return None


def read_plan(name: str, streams: Streams) -> Report | None:
    """Check one plan with its club's settings. None where it could not be opened, which is said."""
    opened = open_plan(name, streams)
    if opened is None:
        return None
    content, settings = opened
    return check(content, name=name, settings=settings, files=files_beside(name))


def settings_beside(name: str) -> Settings:
    """Find the settings of the club whose plan this is: beside it, or in a folder above.

    Raises ``SettingsError`` where there are some that can not be used.
    """
    return _settings_of(os.path.dirname(name))  # noqa: PTH120 # pathlib costs more than this


@cache
def _settings_of(folder: str) -> Settings:
    return find_settings(folder or ".")


def _faulty(name: str, error: Exception) -> Report:
    what = f"{type(error).__name__}: {error}"
    finding = Finding(
        "fault-in-program",
        "error",
        "",
        f"The program failed on this plan ({what}).",
        "This is a fault of the program, not of the plan: there is no verdict.",
        "Please report it, with the plan.",
        line=1,
        column=1,
    )
    return Report(name, None, (finding,), fault=what)


def _check_some_at_a_time(sources: Sequence[Source], jobs: int) -> Iterator[Outcome]:
    import multiprocessing
    from concurrent.futures import ProcessPoolExecutor

    chunk = max(1, min(4, len(sources) // (4 * jobs)))
    with ProcessPoolExecutor(jobs, initializer=_ignore_interrupts) as pool:
        try:
            yield from pool.map(check_one, sources, chunksize=chunk)
        except BaseException:  # interrupted, or nobody wants the rest
            # Without its workers the pool ends at once. To leave it to itself while it ends is no
            # better: its thread may then find its pipes closed, and complain.
            for worker in multiprocessing.active_children():
                worker.terminate()
            pool.shutdown(cancel_futures=True)
            raise


def _ignore_interrupts() -> None:
    """Leave Ctrl-C to the first process: every worker would print a traceback."""
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)
