"""What a check finds: the report on a plan, and the light record of it that is printed."""

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
    """What the check of one plan finds."""

    file: str
    """What the file is called in reports."""
    holds: bool | None
    """The verdict alone, whatever else was found; None if the plan could not be understood."""
    findings: tuple[Finding, ...]
    """Sorted by place and rule, the same on every run; those accepted are left out."""
    accepted: tuple[Finding, ...] = ()
    """Findings that the plan says its club lives with."""
    text: str | None = None
    """The text that was checked, where there is one."""
    layout: Layout | None = None
    """The plan, where the text could be read as one."""
    fault: str | None = None
    """The rule that failed by a fault of this program; None if all went well."""
    facts: Facts | None = None
    """What was derived from the plan, where anything could be."""
    boards: tuple[Board, ...] = ()
    """The boards that the plan is put together from, in the order of their names in it."""
    assembly: Assembly | None = None
    """How it was put together from them; None for a plan without boards."""

    def text_of(self, finding: Finding) -> str:
        """Return the text of the file that a finding stands in; empty if there is none."""
        return _text_of(finding, self.text, self.boards)

    @property
    def longest_train(self) -> Longest | None:
        """The longest train for which the verdict stands, with the place that limits it.

        It is derived when it is asked for. None if the plan does not hold, or where no length is
        known.
        """
        if self.facts is None or self.holds is not True:
            return None
        return self.facts.longest_train

    @property
    def longest_train_mm(self) -> int | None:
        """The length of the longest train for which the verdict stands, in whole millimetres."""
        longest = self.longest_train
        return None if longest is None else longest.mm

    @property
    def takes_for_granted(self) -> tuple[str, ...]:
        """What the verdict takes for granted, as sentences; none where there is no verdict."""
        if self.facts is None or self.holds is None:
            return ()
        return self.facts.takes_for_granted

    @property
    def table(self) -> LockingTable | None:
        """The locking table, derived when it is asked for; None if there can be none."""
        return self.facts.table if self.facts is not None and self.fault is None else None

    def for_printing(self) -> FileReport:
        """Return what is printed of it, with the longest train and what is taken for granted."""
        return self._light(self.longest_train, self.takes_for_granted)

    def without_facts(self) -> FileReport:
        """Return what is printed of it, without what would have to be derived first."""
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
        )


class FileReport(NamedTuple):
    """What is printed of one file, a plan or a store.

    It is light: it holds neither the plan nor its facts. So it can travel between processes, and
    many can be kept. Its findings are those to be told; each finding that is not told is in one of
    the three lists of those left out.
    """

    file: str
    """What the file is called in reports."""
    holds: bool | None
    """The verdict alone; None if the plan could not be understood, and for a store."""
    findings: tuple[Finding, ...]
    """Sorted by place and rule."""
    accepted: tuple[Finding, ...] = ()
    """Left out: the plan says that its club lives with them."""
    known: tuple[Finding, ...] = ()
    """Left out: a baseline records them."""
    elsewhere: tuple[Finding, ...] = ()
    """Left out: they are told with another plan of the same run."""
    text: str | None = None
    """The text that was checked; None if no finding stands in it."""
    fault: str | None = None
    """The rule that failed by a fault of this program; None if all went well."""
    boards: tuple[Board, ...] = ()
    """The boards that the plan is put together from, without their texts where nothing is found."""
    of_store: bool = False
    """True for a store, which has no verdict."""
    longest_train: Longest | None = None
    """The longest train for which the verdict stands; None if none is known."""
    takes_for_granted: tuple[str, ...] = ()
    """What the verdict takes for granted, as sentences."""

    def text_of(self, finding: Finding) -> str:
        """Return the text of the file that a finding stands in; empty if there is none."""
        return _text_of(finding, self.text, self.boards)

    @property
    def longest_train_mm(self) -> int | None:
        """The length of the longest train for which the verdict stands, in whole millimetres."""
        return None if self.longest_train is None else self.longest_train.mm


def _text_of(finding: Finding, text: str | None, boards: tuple[Board, ...]) -> str:
    if not finding.file:
        return text or ""
    return next((board.text for board in boards if board.file == finding.file), "")
