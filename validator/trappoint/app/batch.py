"""The check of many plans, one after another or several at a time."""

from __future__ import annotations

import gc
import os
from functools import partial
from typing import TYPE_CHECKING, TypeVar

from trappoint.app.dedup import without_those_of_boards
from trappoint.app.discovery import PlanSource
from trappoint.app.load import Outcome, Overrides, Unusable, check_alone, is_excluded
from trappoint.checking.report import FileReport
from trappoint.config.settings_file import SettingsError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

T = TypeVar("T")


def check_each(sources: Sequence[PlanSource], jobs: int, overrides: Overrides) -> Iterator[Outcome]:
    """Check plans, ``jobs`` at a time, and yield the outcomes in order.

    Then check their boards as plans, except those named already or excluded. The reports are light
    (no plan, no facts, no text without a finding): they travel between processes.
    """
    if len(sources) > 1:
        gc.enable()  # the command line starts without it, since most runs end soon
    named = {os.path.normpath(source.name) for source in sources}
    boards: dict[str, PlanSource] = {}
    check = partial(check_one, overrides=overrides)
    for source, outcome in zip(sources, each_of(sources, check, jobs), strict=True):
        if isinstance(outcome, FileReport):
            for board in outcome.boards:
                boards.setdefault(board.file, PlanSource(board.file, around=source.around))
        yield outcome
    others = [boards[file] for file in sorted(boards.keys() - named)]
    wanted = [source for source in others if _is_wanted(source, overrides)]
    yield from each_of(wanted, check, jobs)


def _is_wanted(board: PlanSource, overrides: Overrides) -> bool:
    try:
        return not is_excluded(board, overrides)
    except SettingsError:  # the check of the board reports it
        return True


def each_of(
    sources: Sequence[PlanSource], work: Callable[[PlanSource], T], jobs: int
) -> Iterator[T]:
    """Yield the work on each plan, in order."""
    processes = min(jobs, len(sources))
    if processes > 1:
        from trappoint.app.processes import share_out

        yield from share_out(work, sources, processes)
    else:
        yield from map(work, sources)


def check_one(source: PlanSource, overrides: Overrides) -> Outcome:
    """Check one plan, and drop findings already reported for its boards."""
    outcome = check_alone(source, overrides)
    if isinstance(outcome, Unusable) or not any(found.file for found in outcome.findings):
        return outcome
    return without_those_of_boards(outcome, source.around, overrides)
