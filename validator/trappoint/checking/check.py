"""The check: from a text to a report."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import islice
from typing import TYPE_CHECKING

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

    from trappoint.boards.assembly import Assembly, Board
    from trappoint.dimensions.longest import Longest
    from trappoint.interlocking.locking_table import LockingTable
    from trappoint.model.layout import Layout
    from trappoint.model.settings import Settings
    from trappoint.rules.rule import Rule
    from trappoint.source.files import Files
    from trappoint.source.reading import Document


@dataclass(frozen=True, slots=True)
class Report:
    """What a check has to say of one plan."""

    file: str
    """What the file is called in reports."""
    holds: bool | None
    """The verdict alone, whatever else was found; None where the plan could not be understood."""
    findings: tuple[Finding, ...]
    """Sorted by place and rule, the same on every run; those accepted are left out."""
    accepted: tuple[Finding, ...] = ()
    """Findings that the plan says its club lives with."""
    text: str | None = None
    """The text that was checked, where there is one."""
    layout: Layout | None = None
    """The plan, where the text could be read as one."""
    fault: str | None = None
    """The rule that failed by a fault of this program; None where all went well."""
    facts: Facts | None = None
    """What was derived from the plan, where anything could be."""
    known: tuple[Finding, ...] = ()
    """Findings that were known before and are left out: set by those who compare, not here."""
    elsewhere: tuple[Finding, ...] = ()
    """Findings that are told with another plan: set by those who tell of several, not here."""
    boards: tuple[Board, ...] = ()
    """The boards that the plan is put together from, in the order of their names in it."""
    assembly: Assembly | None = None
    """How it was put together from them; None for a plan without boards."""
    of_store: bool = False
    """True where it is no plan but a store, of which there is no verdict."""
    longest_kept: Longest | None = None
    """The longest train, where the facts are left out of the report."""
    granted_kept: tuple[str, ...] = ()
    """What is taken for granted, likewise."""

    def text_of(self, finding: Finding) -> str:
        """Return the text of the file that a finding stands in; empty where there is none."""
        if not finding.file:
            return self.text or ""
        return next((board.text for board in self.boards if board.file == finding.file), "")

    @property
    def longest_train(self) -> Longest | None:
        """The longest train for which the verdict stands, with the place that limits it.

        It is derived when it is asked for. None where the plan does not hold, or where no length is
        known.
        """
        if self.facts is None or self.holds is not True:
            return self.longest_kept
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
            return self.granted_kept
        return self.facts.takes_for_granted

    @property
    def table(self) -> LockingTable | None:
        """The locking table, derived when it is asked for; None where there can be none."""
        if self.facts is None or self.fault is not None:
            return None
        if self.facts.routes.overflowed_heads or self.facts.too_much:
            return None
        from trappoint.interlocking.locking_table import derive_table

        return derive_table(self.facts)


FEW_LETTERS = 200_000
"""A document with fewer letters can not be far too large."""


def check(
    source: str | bytes | os.PathLike[str],
    *,
    name: str | None = None,
    settings: Settings = DEFAULTS,
    files: Files | None = None,
) -> Report:
    """Check a plan and report what there is to say.

    ``source`` is a path, or the plan itself: bytes, or a text that begins with a brace. ``name``
    is what reports call it; ``settings`` are the club's. ``files`` are those around the plan, from
    which the plans of its boards are read: for a path those on the disk, unless others are given;
    for a text none, unless they are given. Only a file that can not be opened raises
    (``UnusableFile``).
    """
    content, called, own_files = _content(source)
    return check_content(content, name or called, settings, files or own_files)


def _content(source: str | bytes | os.PathLike[str]) -> tuple[str | bytes, str, Files | None]:
    if isinstance(source, bytes) or (isinstance(source, str) and _is_text(source)):
        return source, "<text>", None
    return read_file(source), str(source), files_beside(str(source))


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
        return Report(name, None, document.findings, text=document.text)
    of_form = _far_too_large(document) or schema_findings(document.data)
    if of_form:
        return Report(name, None, _placed(document.text, of_form), text=document.text)
    return _check_whole(_put_together(document, files), settings)


class _WholePlan:
    """A plan as it is checked: of one file, or put together from several."""

    def __init__(
        self,
        document: Document,
        layout: Layout,
        assembly: Assembly | None,
        too_large: Finding | None = None,
    ) -> None:
        self.document = document
        self.layout = layout
        self.assembly = assembly
        self.too_large = too_large


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

    They are named as seen from the folder of the plan, each once; those that are not there are
    named too. Nothing is judged: what can not be read as a plan has no boards. ``source`` and
    ``files`` are as for ``check``.
    """
    content, name, own_files = _content(source)
    files = files or own_files
    document = read_document(content, name)
    if files is None or isinstance(document, Unreadable) or not document.data.get("boards"):
        return ()
    if schema_findings(document.data):
        return ()
    from trappoint.boards.assembly import list_boards

    return list_boards(document, files)


def _far_too_large(document: Document) -> list[Finding]:
    if len(document.text) < FEW_LETTERS:
        return []
    from trappoint.rules.size import far_too_large

    found = far_too_large(document.data)
    return [found] if found else []


def load(source: str | bytes | os.PathLike[str], *, files: Files | None = None) -> Layout:
    """Read a plan, with its boards put together.

    ``source`` and ``files`` are as for ``check``. Raises ``PlanError`` with the findings where it
    can not be understood.
    """
    content, name, own_files = _content(source)
    document = read_document(content, name)
    if isinstance(document, Unreadable):
        raise PlanError(document.findings)
    of_form = _far_too_large(document) or schema_findings(document.data)
    if of_form:
        raise PlanError(_placed(document.text, of_form))
    whole = _put_together(document, files or own_files)
    found, _ = _ask_of_plan(whole, Facts(whole.layout, DEFAULTS, whole.assembly), DEFAULTS)
    errors = [finding for finding in found if finding.level == "error"]
    if errors:
        raise PlanError(_located(whole, errors))
    return whole.layout


def locking(layout: Layout, settings: Settings = DEFAULTS) -> LockingTable:
    """Derive the locking table of a plan that ``load`` gave.

    Raises ``PlanError`` where a signal has more routes than can be followed, or the plan has.
    """
    from trappoint.interlocking.locking_table import derive_table

    facts = Facts(layout, settings)
    if facts.routes.overflowed_heads or facts.too_much:
        from trappoint.rules.reach import TOO_MANY_ROUTES
        from trappoint.rules.size import TOO_MUCH

        found, _ = _ask((TOO_MANY_ROUTES, TOO_MUCH), facts, settings)
        raise PlanError(found)
    return derive_table(facts)


def _check_whole(whole: _WholePlan, settings: Settings) -> Report:
    from trappoint.rules.catalogue import FACT_RULES

    document, layout, assembly = whole.document, whole.layout, whole.assembly
    facts = Facts(layout, settings, assembly)
    found, fault = _ask_of_plan(whole, facts, settings)
    judged = worst(found) != "error" and fault is None
    holds = None
    if judged:
        more, fault = _ask(FACT_RULES, facts, settings)
        found += more
        holds = facts.verdict.holds if fault is None else None
    kept, accepted = _without_accepted(whole, found, judged=judged)
    return Report(
        document.name,
        holds,
        _located(whole, kept),
        _located(whole, accepted),
        document.text,
        layout,
        fault,
        facts if judged else None,
        boards=assembly.boards if assembly is not None else (),
        assembly=assembly,
    )


def _ask_of_plan(
    whole: _WholePlan, facts: Facts, settings: Settings
) -> tuple[list[Finding], str | None]:
    """Ask the rules on how the plan is put together, if it is, and then those on it as written."""
    from trappoint.rules.catalogue import PLAN_RULES

    if whole.assembly is None:
        return _ask(PLAN_RULES, facts, settings)
    from trappoint.rules.catalogue import board_rules

    if whole.too_large is not None:
        return [whole.too_large], None
    found, fault = _ask(board_rules(), facts, settings)
    if worst(found) == "error" or fault is not None:
        return found, fault
    more, fault = _ask(PLAN_RULES, facts, settings)
    return found + more, fault


def _ask(
    rules: tuple[Rule, ...], facts: Facts, settings: Settings
) -> tuple[list[Finding], str | None]:
    """Ask every rule. One that fails is named in a finding; the others are asked all the same."""
    found: list[Finding] = []
    fault: str | None = None
    for rule in rules:
        level = settings.level_of(rule.id, rule.level, optional=rule.optional)
        if rule.check is None or level is None:
            continue
        try:
            own = _not_too_many(rule, rule.check(facts))
            if level == rule.level:
                found += own
            else:
                found += [replace(f, level=level) if f.level == rule.level else f for f in own]
            if own and rule.ends:
                break
        except Exception as error:  # whatever it is, it must not look like a clean run
            fault = fault or rule.id
            found.append(
                Finding(
                    "fault-in-rule",
                    "error",
                    "",
                    f"The rule {rule.id} failed on this plan ({type(error).__name__}: {error}).",
                    "This is a fault of the program, not of the plan: its verdict can not be "
                    "relied on.",
                    "Please report it, with the plan.",
                )
            )
    return found, fault


def _not_too_many(rule: Rule, findings: Iterable[Finding]) -> list[Finding]:
    """Return the findings of a rule; where there are very many only the first, and a word on it."""
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

    placed = place_findings(text, findings)
    return tuple(sorted(placed, key=lambda f: (f.line, f.column, f.rule, f.pointer, f.message)))
