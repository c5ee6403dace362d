"""What is kept of each open text: the text as it is understood, and what checks said of it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from trappoint.checking import Report, check
from trappoint.editor.names import Sketch

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.layout import Layout
    from trappoint.locking_table import ArmEntry, LockingTable, SignalEntry
    from trappoint.settings import Settings


class Worked:
    """A report on a plan that could be worked out, with what is looked up in it."""

    def __init__(self, report: Report) -> None:
        self.report = report

    @cached_property
    def table(self) -> LockingTable | None:
        """The locking table."""
        return self.report.table

    @cached_property
    def arms(self) -> Mapping[str, ArmEntry]:
        """The lines of the table, by the id of the arm."""
        return {entry.arm: entry for entry in self.table.arms} if self.table else {}

    @cached_property
    def duties(self) -> Mapping[str, tuple[str, ...]]:
        """The duties of each signal."""
        return {entry.signal: entry.duties for entry in self.table.signals} if self.table else {}


@dataclass(frozen=True, slots=True)
class Checked:
    """What is known of a text from its last check, and from the last one that went through."""

    report: Report | None = None
    """Of the last check."""
    worked: Worked | None = None
    """Of the last text that could be worked out."""

    @property
    def stale(self) -> bool:
        """True where what was worked out is older than the last check."""
        return self.worked is not None and self.worked.report is not self.report

    @property
    def layout(self) -> Layout | None:
        """The last plan that could be worked out."""
        return self.worked.report.layout if self.worked else None

    @property
    def arms(self) -> tuple[ArmEntry, ...]:
        """The lines of the last locking table."""
        return tuple(self.worked.arms.values()) if self.worked else ()

    @property
    def signals(self) -> tuple[SignalEntry, ...]:
        """The signals of the last locking table."""
        table = self.worked.table if self.worked else None
        return table.signals if table else ()

    def arm(self, name: str) -> ArmEntry | None:
        """Return the line of an arm in the last locking table."""
        return self.worked.arms.get(name) if self.worked else None

    def duties(self, signal: str) -> tuple[str, ...]:
        """Return the duties of a signal by the last locking table."""
        return self.worked.duties.get(signal, ()) if self.worked else ()


def check_text(text: str, name: str, settings: Settings, before: Checked) -> Checked:
    """Check a text and keep what was worked out before, where this one can not be."""
    report = check(text.encode("utf-8", "surrogatepass"), name=name, settings=settings)
    worked = Worked(report) if report.facts is not None else before.worked
    if worked is not None:
        _ = worked.arms, worked.duties  # worked out here, so that no answer waits for it
    return Checked(report, worked)


@dataclass(slots=True)
class Page:
    """One open text."""

    uri: str
    text: str
    version: int | None
    checked: Checked
    sketch: Sketch

    def change(self, text: str, version: int | None) -> None:
        """Take another text in."""
        self.text, self.version, self.sketch = text, version, Sketch(text)
