"""The result of a check: the report on a plan, and the light record that is printed."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from trappoint.boards.assembly import Assembly, Board
    from trappoint.core.findings import Finding
    from trappoint.dimensions.longest import Longest
    from trappoint.facts.facts import Facts
    from trappoint.interlocking.locking_table import LockingTable
    from trappoint.model.layout import Layout


class Report(NamedTuple):
    """The result of the check of one plan."""

    file: str
    """The name of the file in reports."""
    holds: bool | None
    """The verdict; None if the plan could not be understood."""
    findings: tuple[Finding, ...]
    """Sorted by place and rule, the same on every run, without accepted findings."""
    accepted: tuple[Finding, ...] = ()
    """Findings that the plan accepts."""
    text: str | None = None
    """The text that was checked; None if there is none."""
    layout: Layout | None = None
    """The plan; None if the text could not be read as one."""
    fault: str | None = None
    """The rule that failed with an internal error; None if none did."""
    facts: Facts | None = None
    """The facts derived from the plan; None if none could be."""
    boards: tuple[Board, ...] = ()
    """The boards that the plan is put together from, in the order of their names in it."""
    assembly: Assembly | None = None
    """How it was put together from them; None for a plan without boards."""

    def text_of(self, finding: Finding) -> str:
        """Return the text of the file that a finding is in; empty if there is none."""
        return _text_of(finding, self.text, self.boards)

    @property
    def longest_train(self) -> Longest | None:
        """The longest train for which the verdict is valid, with the place that limits it.

        It is derived on first use. None if the plan does not hold, or if no length is known.
        """
        if self.facts is None or self.holds is not True:
            return None
        return self.facts.longest_train

    @property
    def longest_train_mm(self) -> int | None:
        """The longest train for which the verdict is valid, in mm; None if none is known."""
        longest = self.longest_train
        return None if longest is None else longest.mm

    @property
    def takes_for_granted(self) -> tuple[str, ...]:
        """The assumptions of the verdict, as sentences; none if there is no verdict."""
        if self.facts is None or self.holds is None:
            return ()
        return self.facts.takes_for_granted

    @property
    def table(self) -> LockingTable | None:
        """The locking table, derived on first use; None if there can be none."""
        return self.facts.table if self.facts is not None and self.fault is None else None

    def for_printing(self) -> FileReport:
        """Return the record to print, with the longest train and the assumptions."""
        return self._light(self.longest_train, self.takes_for_granted)

    def without_facts(self) -> FileReport:
        """Return the record to print, without values that take derivation."""
        return self._light(None, ())

    def _light(self, longest: Longest | None, granted: tuple[str, ...]) -> FileReport:
        text, boards = self.text, self.boards
        if not self.findings and not self.accepted:
            text, boards = None, tuple(board._replace(text="") for board in boards)
        return FileReport(
            self.file,
            self.holds,
            self.findings,
            self.accepted,
            text=text,
            fault=self.fault,
            boards=boards,
            longest_train=longest,
            takes_for_granted=granted,
            unsignalled=self.layout is not None and not self.layout.signals,
        )


class FileReport(NamedTuple):
    """The record of one file, a plan or a store, that is printed.

    It is light: it has neither the plan nor its facts, so it can travel between processes, and many
    can be kept. ``findings`` are printed; ``accepted``, ``known`` and ``elsewhere`` are not.
    """

    file: str
    """The name of the file in reports."""
    holds: bool | None
    """The verdict; None if the plan could not be understood, and for a store."""
    findings: tuple[Finding, ...]
    """Sorted by place and rule."""
    accepted: tuple[Finding, ...] = ()
    """Findings that the plan accepts."""
    known: tuple[Finding, ...] = ()
    """Findings in the baseline."""
    elsewhere: tuple[Finding, ...] = ()
    """Findings reported with another plan of the same run."""
    text: str | None = None
    """The text that was checked; None if it has no finding."""
    fault: str | None = None
    """The rule that failed with an internal error; None if none did."""
    boards: tuple[Board, ...] = ()
    """The boards of the plan, without their texts if there is no finding."""
    of_store: bool = False
    """True for a store, which has no verdict."""
    longest_train: Longest | None = None
    """The longest train for which the verdict is valid; None if none is known."""
    takes_for_granted: tuple[str, ...] = ()
    """The assumptions of the verdict, as sentences."""
    unsignalled: bool = False
    """True for a plan without a single signal."""

    def text_of(self, finding: Finding) -> str:
        """Return the text of the file that a finding is in; empty if there is none."""
        return _text_of(finding, self.text, self.boards)

    @property
    def longest_train_mm(self) -> int | None:
        """The longest train for which the verdict is valid, in whole millimetres; None if none is
        known."""
        return None if self.longest_train is None else self.longest_train.mm


def _text_of(finding: Finding, text: str | None, boards: tuple[Board, ...]) -> str:
    if not finding.file:
        return text or ""
    return next((board.text for board in boards if board.file == finding.file), "")
