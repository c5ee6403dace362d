"""The state of each open text: its syntax, and the results of its checks."""

from __future__ import annotations

import os
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

from trappoint import Report, board_files, check
from trappoint.checking.check import may_have_boards
from trappoint.lsp.names import LiveText
from trappoint.source.files import FilesOnDisk

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint import Files, Layout, LockingTable
    from trappoint.interlocking.locking_table import ArmEntry, SignalEntry
    from trappoint.model.settings import Settings


class CheckedPage:
    """A report with facts, and look-ups in its locking table."""

    def __init__(self, report: Report) -> None:
        self.report = report

    @cached_property
    def table(self) -> LockingTable | None:
        """The locking table."""
        return self.report.table

    @cached_property
    def arms(self) -> Mapping[str, ArmEntry]:
        """The rows of the table, by the id of the arm."""
        return {entry.arm: entry for entry in self.table.arms} if self.table else {}

    @cached_property
    def duties(self) -> Mapping[str, tuple[str, ...]]:
        """The duties of each signal."""
        return {entry.signal: entry.duties for entry in self.table.signals} if self.table else {}


@dataclass(frozen=True, slots=True)
class CheckedText:
    """The last report on a text, and the last one with facts."""

    report: Report | None = None
    """The report of the last check."""
    worked: CheckedPage | None = None
    """The last report from which routes and locking could be derived."""
    boards: frozenset[str] = frozenset()
    """The files of its boards, missing ones included."""

    @property
    def stale(self) -> bool:
        """True if ``worked`` is older than the last check."""
        return self.worked is not None and self.worked.report is not self.report

    @property
    def layout(self) -> Layout | None:
        """The layout of ``worked``."""
        return self.worked.report.layout if self.worked else None

    @property
    def arms(self) -> tuple[ArmEntry, ...]:
        """The rows of the last locking table."""
        return tuple(self.worked.arms.values()) if self.worked else ()

    @property
    def signals(self) -> tuple[SignalEntry, ...]:
        """The signals of the last locking table."""
        table = self.worked.table if self.worked else None
        return table.signals if table else ()

    def arm(self, name: str) -> ArmEntry | None:
        """Return the row of an arm in the last locking table; None if there is none."""
        return self.worked.arms.get(name) if self.worked else None

    def duties(self, signal: str) -> tuple[str, ...]:
        """Return the duties of a signal in the last locking table."""
        return self.worked.duties.get(signal, ()) if self.worked else ()


@dataclass(slots=True)
class Page:
    """One open text."""

    uri: str
    name: str
    """Its path, or the editor's name for a text that was never saved."""
    text: str
    version: int | None
    sketch: LiveText
    checked: CheckedText = field(default_factory=CheckedText)
    whole: LiveText | None = None
    """The last text that was readable as a plan."""

    def change(self, text: str, version: int | None) -> None:
        """Replace the text."""
        self.text, self.version, self.sketch = text, version, LiveText(text)

    def take(self, checked: CheckedText, sketch: LiveText) -> None:
        """Store the result of a check. Its text may be older than the present one."""
        self.checked = checked
        if checked.report is not None and checked.report.layout is not None:
            self.whole = sketch


class OpenFiles:
    """The files around a plan; for open files, the unsaved text of the editor."""

    def __init__(self, folder: str, texts: Mapping[str, str]) -> None:
        """``texts`` are the open texts, by their full paths."""
        self._folder = folder
        self._texts = texts
        self._disk = FilesOnDisk(folder)

    def read(self, path: str) -> bytes:
        """Return a file's content. Open files have the same limits as files on the disk."""
        full = full_path(os.path.join(self._folder, *path.split("/")))  # noqa: PTH118
        try:
            content = self._disk.read(path)
        except FileNotFoundError:
            if full not in self._texts:
                raise
            content = b""
        found = self._texts.get(full)
        return content if found is None else found.encode("utf-8", "surrogatepass")


def full_path(path: str) -> str:
    """Return the full path of a file with links resolved, the same for all names of the file."""
    return os.path.realpath(path)


def check_text(
    text: str, name: str, settings: Settings, before: CheckedText, files: Files | None = None
) -> CheckedText:
    """Check a text; keep the earlier facts if this text has none."""
    content = text.encode("utf-8", "surrogatepass")
    report = check(content, name=name, settings=settings, files=files)
    worked = CheckedPage(report) if report.facts is not None else before.worked
    if worked is not None:
        _ = worked.arms, worked.duties  # derive them here, so that no answer waits for them
    return CheckedText(
        report, worked, _boards(content, name, files) if may_have_boards(content) else frozenset()
    )


def _boards(content: bytes, name: str, files: Files | None) -> frozenset[str]:
    folder = os.path.dirname(name)  # noqa: PTH120
    found = board_files(content, files=files)
    return frozenset(full_path(os.path.join(folder, *path.split("/"))) for path in found)  # noqa: PTH118
