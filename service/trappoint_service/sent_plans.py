"""Checks of the plans that a request sent: boards are read from the request, never from a disk."""

from __future__ import annotations

from typing import TYPE_CHECKING

import trappoint
from trappoint_service.answers import Tops

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from trappoint import Report
    from trappoint.model.settings import Settings
    from trappoint_service.jobs import FindTop, Plan


class FilesSent:
    """The files of one request. They have no folders: the file name identifies a board's plan."""

    def __init__(self, plans: Iterable[Plan]) -> None:
        self._contents: Mapping[str, bytes] = {plan.name: plan.content for plan in plans}

    def read(self, path: str) -> bytes:
        """Return a file of the request."""
        name = path.rpartition("/")[2]
        if name not in self._contents:
            raise FileNotFoundError(path)
        return self._contents[name]


def check_sent(plan: Plan, settings: Settings) -> Report:
    """Check a plan with the boards that came with it."""
    files = FilesSent(plan.boards) if plan.boards else None
    return trappoint.check(plan.content, name=plan.name, settings=settings, files=files)


def find_top(job: FindTop, settings: Settings) -> Tops:
    """Return the plan that lists the others as its boards; all that may be meant if unclear.

    The club's settings do not matter for it.
    """
    files = FilesSent(job.plans)
    names = {plan.name for plan in job.plans}
    boards = {plan.name: _boards_of(plan, files) & names - {plan.name} for plan in job.plans}
    tops = [name for name in boards if not any(name in own for own in boards.values())]
    leading = [name for name in tops if boards[name]]
    found = leading if len(leading) == 1 else tops or list(boards)
    return Tops(tuple(found))


def _boards_of(plan: Plan, files: FilesSent) -> set[str]:
    listed = trappoint.board_files(plan.content, files=files)
    return {str(name).replace("\\", "/").rpartition("/")[2] for name in listed}
