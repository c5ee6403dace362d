"""The check: from a text to a report."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import islice
from typing import TYPE_CHECKING

from trappoint.building import build_layout
from trappoint.facts import Facts
from trappoint.findings import Finding, worst
from trappoint.reading import Unreadable, read_document, read_file
from trappoint.schema import schema_findings
from trappoint.settings import DEFAULTS

if TYPE_CHECKING:
    import os
    from collections.abc import Iterable

    from trappoint.layout import Layout
    from trappoint.locking_table import LockingTable
    from trappoint.reading import Document
    from trappoint.rules import Rule
    from trappoint.settings import Settings


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

    @property
    def table(self) -> LockingTable | None:
        """The locking table, derived when it is asked for; None where there can be none."""
        if self.facts is None or self.fault is not None:
            return None
        if self.facts.routes.crowded or self.facts.too_much:
            return None
        from trappoint.locking_table import derive_table

        return derive_table(self.facts)


FEW_LETTERS = 200_000
"""A document with fewer letters can not be far too large."""


class PlanError(Exception):
    """A plan that can not be understood. ``findings`` says where and why."""

    def __init__(self, findings: Iterable[Finding]) -> None:
        self.findings = tuple(findings)
        first = self.findings[0]
        super().__init__(f"line {first.line}, column {first.column}: {first.message}")


def check(
    source: str | bytes | os.PathLike[str],
    *,
    name: str | None = None,
    settings: Settings = DEFAULTS,
) -> Report:
    """Check a plan and report what there is to say.

    ``source`` is a path, or the plan itself: bytes, or a text that begins with a brace. ``name``
    is what reports call it; ``settings`` are the club's. Only a file that can not be opened raises
    (``UnusableFile``).
    """
    content, called = _content(source)
    return check_content(content, name or called, settings)


def _content(source: str | bytes | os.PathLike[str]) -> tuple[str | bytes, str]:
    if isinstance(source, bytes) or (isinstance(source, str) and _is_text(source)):
        return source, "<text>"
    return read_file(source), str(source)


def _is_text(source: str) -> bool:
    return source.lstrip("\ufeff \t\r\n")[:1] in ("{", "[", "") or "\n" in source


def check_content(content: str | bytes, name: str, settings: Settings = DEFAULTS) -> Report:
    """Check the text of a plan, or its bytes: a pure function, the same report each time."""
    document = read_document(content, name)
    if isinstance(document, Unreadable):
        return Report(name, None, document.findings, text=document.text)
    of_form = _far_too_large(document) or schema_findings(document.data)
    if of_form:
        return Report(name, None, _placed(document.text, of_form), text=document.text)
    layout = build_layout(document.data)
    return _check_layout(layout, name, document.text, settings)


def _far_too_large(document: Document) -> list[Finding]:
    if len(document.text) < FEW_LETTERS:
        return []
    from trappoint.rules.size import far_too_large

    found = far_too_large(document.data)
    return [found] if found else []


def load(source: str | bytes | os.PathLike[str]) -> Layout:
    """Read a plan. Raises ``PlanError`` with the findings where it can not be understood."""
    content, name = _content(source)
    document = read_document(content, name)
    if isinstance(document, Unreadable):
        raise PlanError(document.findings)
    of_form = _far_too_large(document) or schema_findings(document.data)
    if of_form:
        raise PlanError(_placed(document.text, of_form))
    layout = build_layout(document.data)
    found, _ = _ask(_plan_rules(), Facts(layout), DEFAULTS)
    errors = [finding for finding in found if finding.level == "error"]
    if errors:
        raise PlanError(_placed(document.text, errors))
    return layout


def locking(layout: Layout, settings: Settings = DEFAULTS) -> LockingTable:
    """Derive the locking table of a plan that ``load`` gave.

    Raises ``PlanError`` where a signal has more routes than can be followed, or the plan has.
    """
    from trappoint.locking_table import derive_table

    facts = Facts(layout, settings)
    if facts.routes.crowded or facts.too_much:
        from trappoint.rules.roads import TOO_MANY_ROUTES
        from trappoint.rules.size import TOO_MUCH

        found, _ = _ask((TOO_MANY_ROUTES, TOO_MUCH), facts, settings)
        raise PlanError(found)
    return derive_table(facts)


def _check_layout(layout: Layout, name: str, text: str, settings: Settings) -> Report:
    from trappoint.rules import FACT_RULES

    facts = Facts(layout, settings)
    found, fault = _ask(_plan_rules(), facts, settings)
    judged = worst(found) != "error" and fault is None
    holds = None
    if judged:
        more, fault = _ask(FACT_RULES, facts, settings)
        found += more
        holds = facts.verdict.holds if fault is None else None
    kept, accepted = _without_accepted(layout, found, judged=judged)
    return Report(
        name,
        holds,
        _placed(text, kept),
        _placed(text, accepted),
        text,
        layout,
        fault,
        facts if judged else None,
    )


def _plan_rules() -> tuple[Rule, ...]:
    from trappoint.rules import PLAN_RULES

    return PLAN_RULES


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
    from trappoint.rules.size import MOST_TOLD, more_than_told

    found = list(islice(findings, MOST_TOLD + 1))
    if len(found) > MOST_TOLD:
        found[-1] = more_than_told(rule, found[-1])
    return found


def _without_accepted(
    layout: Layout, found: list[Finding], *, judged: bool
) -> tuple[list[Finding], list[Finding]]:
    if not layout.accept:
        return found, []
    from trappoint.rules import RULES
    from trappoint.rules.accepted import WITHOUT_MATCH, split_accepted, stale_entries

    kept, accepted, matched = split_accepted(layout, found)
    if judged:
        stale = stale_entries(layout, matched, [rule.id for rule in RULES])
        kept += _not_too_many(WITHOUT_MATCH, stale)
    return kept, accepted


def _placed(text: str, findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Look up lines and columns, and sort by place and rule."""
    findings = list(findings)
    if not findings:
        return ()
    from trappoint.positions import place_findings

    placed = place_findings(text, findings)
    return tuple(sorted(placed, key=lambda f: (f.line, f.column, f.rule, f.pointer, f.message)))
