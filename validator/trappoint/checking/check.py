"""The check: from a text to a report."""

from __future__ import annotations

from itertools import islice
from typing import TYPE_CHECKING, NamedTuple

from trappoint.checking.report import Report
from trappoint.core.errors import PlanError
from trappoint.core.findings import Finding, worst
from trappoint.facts.facts import Facts
from trappoint.model.building import build_layout
from trappoint.model.settings import DEFAULTS
from trappoint.schema.validation import schema_findings
from trappoint.source.files import files_beside
from trappoint.source.reading import Unreadable, read_document, read_file

if TYPE_CHECKING:
    import os
    from collections.abc import Iterable

    from trappoint.boards.assembly import Assembly
    from trappoint.interlocking.locking_table import LockingTable
    from trappoint.model.layout import Layout
    from trappoint.model.settings import Settings
    from trappoint.rules.rule import Rule
    from trappoint.source.files import Files
    from trappoint.source.reading import Document


FEW_LETTERS = 200_000
"""A document with fewer letters cannot be far too large."""


def check(
    source: str | bytes | os.PathLike[str],
    *,
    name: str | None = None,
    settings: Settings = DEFAULTS,
    files: Files | None = None,
) -> Report:
    """Check a plan and return the report.

    ``source`` is a path, or the plan itself: bytes, or a text that begins with a brace. ``name``
    is what reports call it; ``settings`` are the club's. ``files`` are those around the plan, from
    which the plans of its boards are read: for a path those on the disk, unless others are given;
    for a text none, unless they are given. Only a file that cannot be opened raises
    (``UnusableFile``).
    """
    given = _open(source, files)
    return check_content(given.content, name or given.name, settings, given.files)


class _Source(NamedTuple):
    """The text of a plan, and the files from which its boards are read."""

    content: str | bytes
    name: str
    files: Files | None


def _open(source: str | bytes | os.PathLike[str], files: Files | None) -> _Source:
    if isinstance(source, bytes) or (isinstance(source, str) and _is_text(source)):
        return _Source(source, "<text>", files)
    return _Source(read_file(source), str(source), files or files_beside(str(source)))


def _is_text(source: str) -> bool:
    return source.lstrip("\ufeff \t\r\n")[:1] in ("{", "[", "") or "\n" in source


def check_content(
    content: str | bytes, name: str, settings: Settings = DEFAULTS, files: Files | None = None
) -> Report:
    """Check the text of a plan, or its bytes: a pure function, the same report each time.

    ``files``: from where the plans of its boards are read, if it has any.
    """
    document = read_document(content, name)
    if isinstance(document, Unreadable):
        from trappoint.checking.beyond_slips import beyond_slips

        beyond = beyond_slips(document, lambda text: check_content(text, name, settings, files))
        found = _sorted((*document.findings, *beyond))
        return Report(name, None, found, text=document.text)
    of_form = _far_too_large(document) or schema_findings(document.data)
    if of_form:
        return Report(name, None, _placed(document.text, of_form), text=document.text)
    report = _check_whole(_put_together(document, files), settings)
    if files is None or all(finding.rule != "board-not-a-plan" for finding in report.findings):
        return report
    from trappoint.checking.beyond_slips import with_mended_boards

    return with_mended_boards(
        report, files, lambda around: _check_whole(_put_together(document, around), settings)
    )


class _WholePlan(NamedTuple):
    """A plan as it is checked: of one file, or put together from several."""

    document: Document
    layout: Layout
    assembly: Assembly | None
    too_large: Finding | None = None


def _put_together(document: Document, files: Files | None) -> _WholePlan:
    if not (document.data.get("boards") or document.data.get("joins")):
        return _WholePlan(document, build_layout(document.data), None)
    from trappoint.boards.assembly import assemble
    from trappoint.rules.size import far_too_large

    assembly = assemble(document, files)
    layout = build_layout(assembly.data)
    return _WholePlan(document, layout, assembly, far_too_large(assembly.data))


def board_files(
    source: str | bytes | os.PathLike[str], *, files: Files | None = None
) -> tuple[str, ...]:
    """Return the files that a plan is put together from, those of its boards' boards included.

    Their names are relative to the folder of the plan, each once, missing files included. Nothing
    is judged: a file that cannot be read as a plan has no boards. ``source`` and ``files`` are as
    for ``check``.
    """
    given = _open(source, files)
    document = read_document(given.content, given.name)
    if given.files is None or isinstance(document, Unreadable) or not document.data.get("boards"):
        return ()
    if schema_findings(document.data):
        return ()
    from trappoint.boards.assembly import list_boards

    return list_boards(document, given.files)


def may_have_boards(content: bytes) -> bool:
    """Return whether a plan may have boards, from a quick look at its bytes.

    The look also finds the key if it is written with escapes.
    """
    if b'"boards"' in content:
        return True
    if b"\\u" not in content:
        return False
    import re

    letters = (rb"(?:%c|\\u00(?i:%02x))" % (letter, letter) for letter in b"boards")
    return re.search(b'"' + b"".join(letters) + b'"', content) is not None


def _far_too_large(document: Document) -> list[Finding]:
    if len(document.text) < FEW_LETTERS:
        return []
    from trappoint.rules.size import far_too_large

    found = far_too_large(document.data)
    return [found] if found else []


def load(source: str | bytes | os.PathLike[str], *, files: Files | None = None) -> Layout:
    """Read a plan, with its boards put together.

    ``source`` and ``files`` are as for ``check``. Raises ``PlanError`` with the findings where it
    cannot be understood.
    """
    given = _open(source, files)
    document = read_document(given.content, given.name)
    if isinstance(document, Unreadable):
        raise PlanError(document.findings)
    of_form = _far_too_large(document) or schema_findings(document.data)
    if of_form:
        raise PlanError(_placed(document.text, of_form))
    whole = _put_together(document, given.files)
    asked = _Inquiry(Facts(whole.layout, DEFAULTS, whole.assembly))
    asked.ask_of_plan(whole.too_large)
    errors = [finding for finding in asked.found if finding.level == "error"]
    if errors:
        raise PlanError(_located(whole, errors))
    return whole.layout


def locking(layout: Layout, settings: Settings = DEFAULTS) -> LockingTable:
    """Return the locking table of a plan that ``load`` returned.

    Raises ``PlanError`` if a signal or the plan has more routes than the limit.
    """
    facts = Facts(layout, settings)
    if facts.table is None:
        raise PlanError(limit_findings(facts))
    return facts.table


def limit_findings(facts: Facts) -> list[Finding]:
    """Return the findings on a plan too large to analyse, which name the limit."""
    from trappoint.rules.reach import TOO_MANY_ROUTES
    from trappoint.rules.size import TOO_MUCH

    asked = _Inquiry(facts)
    asked.ask((TOO_MANY_ROUTES, TOO_MUCH))
    return asked.found


def _check_whole(whole: _WholePlan, settings: Settings) -> Report:
    from trappoint.rules.catalogue import FACT_RULES

    document, layout, assembly = whole.document, whole.layout, whole.assembly
    facts = Facts(layout, settings, assembly)
    asked = _Inquiry(facts)
    asked.ask_of_plan(whole.too_large)
    judged = asked.in_order
    holds = None
    if judged:
        asked.ask(FACT_RULES)
        holds = facts.verdict.holds if asked.fault is None else None
    kept, accepted = _without_accepted(whole, asked.found, judged=judged)
    return Report(
        document.name,
        holds,
        _located(whole, kept),
        _located(whole, accepted),
        document.text,
        layout,
        asked.fault,
        facts if judged else None,
        boards=assembly.boards if assembly is not None else (),
        assembly=assembly,
    )


class _Inquiry:
    """Runs rules on one plan, and collects their findings."""

    def __init__(self, facts: Facts) -> None:
        self.facts = facts
        self.found: list[Finding] = []
        self.fault: str | None = None
        """The first rule that failed with an internal error; None if none did."""

    @property
    def in_order(self) -> bool:
        """True if no error was found so far, and no rule failed."""
        return self.fault is None and worst(self.found) != "error"

    def ask_of_plan(self, too_large: Finding | None) -> None:
        """Run the rules on the boards, if there are any, then those on the plan as written.

        ``too_large``: the finding that the assembled plan is too large to analyse, or None.
        """
        from trappoint.rules.catalogue import PLAN_RULES

        if too_large is not None:
            self.found.append(too_large)
            return
        if self.facts.assembly is not None:
            from trappoint.rules.catalogue import board_rules

            self.ask(board_rules())
            if not self.in_order:
                return
        self.ask(PLAN_RULES)

    def ask(self, rules: tuple[Rule, ...]) -> None:
        """Run every rule. A rule that fails gives a finding; the others run all the same.

        A rule whose findings make all others useless is the last to run.
        """
        settings = self.facts.settings
        for rule in rules:
            level = settings.level_of(rule.id, rule.level, optional=rule.optional)
            if rule.check is None or level is None:
                continue
            try:
                own = _not_too_many(rule, rule.check(self.facts))
            except MemoryError:  # no fault of the rule
                raise
            except Exception as error:  # a failure must not look like a clean run
                self._fail(rule, error)
                continue
            if level != rule.level:
                own = [f._replace(level=level) if f.level == rule.level else f for f in own]
            self.found += own
            if own and rule.ends:
                break

    def _fail(self, rule: Rule, error: Exception) -> None:
        self.fault = self.fault or rule.id
        self.found.append(
            Finding(
                "fault-in-rule",
                "error",
                "",
                f"The rule {rule.id} failed on this plan ({type(error).__name__}: {error}).",
                "This is a fault of the program, not of the plan: do not rely on its verdict.",
                "Please report it, with the plan.",
            )
        )


def _not_too_many(rule: Rule, findings: Iterable[Finding]) -> list[Finding]:
    """Return the findings of a rule: the first of very many, with one that says so."""
    from trappoint.rules.size import MAX_TOLD, more_than_told

    found = list(islice(findings, MAX_TOLD + 1))
    if len(found) > MAX_TOLD:
        found[-1] = more_than_told(rule, found[-1])
    return found


def _without_accepted(
    whole: _WholePlan, found: list[Finding], *, judged: bool
) -> tuple[list[Finding], list[Finding]]:
    accept = whole.layout.accept
    of_boards: list[Finding] = []
    if whole.assembly is not None:
        from trappoint.checking.acceptance import split_by_boards

        found, of_boards = split_by_boards(whole.assembly, found)
    if not accept:
        return found, of_boards
    from trappoint.rules.accepted import WITHOUT_MATCH, split_accepted, stale_entries
    from trappoint.rules.catalogue import all_rules

    kept, accepted, matched = split_accepted(accept, found)
    if judged:
        stale = stale_entries(whole.layout, matched, [rule.id for rule in all_rules()])
        kept += _not_too_many(WITHOUT_MATCH, stale)
    return kept, accepted + of_boards


def _located(whole: _WholePlan, findings: list[Finding]) -> tuple[Finding, ...]:
    """Find the file, line and column of each finding, and sort them."""
    if whole.assembly is None or not findings:
        return _placed(whole.document.text, findings)
    from trappoint.boards.locating import locate_findings

    of_file = locate_findings(whole.assembly, findings)
    return tuple(found for text, own in of_file for found in _placed(text, own))


def _placed(text: str, findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Look up lines and columns, and sort by place and rule."""
    findings = list(findings)
    if not findings:
        return ()
    from trappoint.source.positions import place_findings

    return _sorted(place_findings(text, findings))


def _sorted(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Sort findings of one file by place and rule."""
    return tuple(
        sorted(findings, key=lambda f: (f.file, f.line, f.column, f.rule, f.pointer, f.message))
    )
