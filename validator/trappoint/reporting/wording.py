"""The sentences of verdicts and locking tables, shared by all outputs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import LEVELS
from trappoint.core.terminal import plural

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from trappoint.checking.report import FileReport, Report
    from trappoint.core.findings import Finding
    from trappoint.dimensions.longest import Longest
    from trappoint.interlocking.conflicts import By
    from trappoint.interlocking.locking_table import (
        ArmEntry,
        ArmExclusion,
        LockingTable,
        RouteEntry,
    )
    from trappoint.model.layout import Layout

HOLDS = "no two trains can be brought together as signalled."
FAILS = "does not hold: two trains can be brought together as signalled."
STORE = "can be used as a store."
UNDECIDED = "cannot be judged: the search for two trains that meet reached its limit."


def verdict_of_file(report: FileReport) -> str:
    """Return the verdict on a plan or a store, without its name, the subject of the sentence."""
    if not report.of_store:
        return verdict_of(report, report.elsewhere)
    errors = sum(finding.level == "error" for finding in report.findings)
    if not errors:
        return STORE
    return f"cannot be used as a store: correct {plural(errors, 'error')} first."


def verdict_of(report: Report | FileReport, elsewhere: Iterable[Finding] = ()) -> str:
    """Return the verdict on a plan, without its name, the subject of the sentence.

    ``elsewhere``: its findings that are reported with another plan.
    """
    if report.holds is not None:
        return tell_holds(report.longest_train) if report.holds else FAILS
    if report.fault is not None:
        return f"cannot be judged: internal error in {report.fault}."
    found = (*report.findings, *report.accepted, *elsewhere)
    # An unheld exit does not stop the search; if it is the only error, the search gave up.
    slips = sum(f.level == "error" and f.rule != "unheld-exit" for f in found)
    if slips:
        return f"cannot be judged: correct {plural(slips, 'error')} first."
    return UNDECIDED


def tell_holds(longest: Longest | None) -> str:
    """Return the verdict on a plan that holds, without its name, the subject of the sentence.

    It gives the longest train for which it is valid, if that is known.
    """
    if longest is None:
        return f"holds: {HOLDS}"
    return f"holds, for trains up to {longest.mm:,} mm ({longest.place}): {HOLDS}"


GRANTED = "What this takes for granted"
"""The heading of the assumptions of the verdict."""


def verdict_of_table(holds: bool | None, longest: Longest | None) -> str:
    """Return the verdict on the plan of a locking table, as a whole sentence."""
    sentence = UNDECIDED if holds is None else tell_holds(longest) if holds else FAILS
    return f"This plan {sentence}"


def count_findings(findings: Iterable[Finding]) -> str:
    """Count findings by level, the worst first: ``1 error, 2 notes``. Empty for none."""
    levels = [finding.level for finding in findings]
    counted = [(levels.count(level), level) for level in LEVELS[::-1]]
    return ", ".join(plural(count, level) for count, level in counted if count)


def name_of(file: str) -> str:
    """Return the name of a file in a sentence."""
    return "standard input" if file == "-" else file


def title_of(report: Report) -> str:
    """Return the title of a plan, or the name of its file if it has none."""
    title = report.layout.title if report.layout is not None else ""
    return title or name_of(report.file)


_BY_LEVERS: Mapping[By, str] = {
    "points": "the points see to it",
    "direct": "the locking sees to it",
}
_BY_HAND: Mapping[By, str] = {**_BY_LEVERS, "direct": "you must see to it"}


def by_what(plan: Layout | LockingTable) -> Mapping[By, str]:
    """Return what keeps two arms from being off together: for ``direct``, the locking or you.

    A layout without levers has no locking, so its operator must see to it.
    """
    return _BY_LEVERS if plan.levers else _BY_HAND


def never_with(entry: ArmEntry, by: By) -> list[str]:
    """Return the arms that can never be off with an arm, for one cause."""
    return [c.arm for c in entry.conflicts if c.by == by and c.when is None]


def conditions_of(entry: ArmEntry) -> list[ArmExclusion]:
    """Return the conflicts of an arm that depend on how points lie."""
    return [conflict for conflict in entry.conflicts if conflict.when is not None]


def tell_lies(points: Mapping[str, str]) -> str:
    """Return lies as text: ``p1 left, p2 right``."""
    return ", ".join(f"{name} {lie}" for name, lie in points.items())


def tell_condition(conflict: ArmExclusion) -> str:
    """Return the condition of a conflict as text: ``p1 is left and p2 is right``."""
    when, called = conflict.when or {}, conflict.called or {}
    return " and ".join(f"{called.get(name, name)} is {lie}" for name, lie in when.items())


def tell_route(route: RouteEntry) -> str:
    """Return a route as text, with the lies that it needs."""
    over = ", ".join(route.over)
    way = f"from {route.start} over {over}" if over else f"from {route.start}"
    needs = f"with {tell_lies(route.points)}" if route.points else "with no points"
    return f"{way}; ends at {route.ends_at}; {needs}"


def named_id(key: str, name: str) -> str:
    """Return an id with the name behind it, for the first cell of a row; the id if no name."""
    return f"{key} {name}" if name else key


def count_pairs(table: LockingTable) -> str:
    """Return how many pairs of stop arms conflict, as sentences."""
    sometimes = {
        frozenset((entry.arm, conflict.arm))
        for entry in table.arms
        for conflict in conditions_of(entry)
    }
    text = (
        f"Of {plural(table.pairs_all, 'pair')} of stop arms, {table.pairs_conflicting} can never "
        "be off together."
    )
    if sometimes:
        text += f" {plural(len(sometimes), 'pair')} more only in certain lies of the points."
    return text
