"""Compare two plans in railway terms.

``read_side`` reads each plan as far as it can be understood. ``compare`` compares the two and
returns a ``Comparison``, which the modules ``trappoint.reporting.compare_*`` render.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from trappoint.comparing.arms import match_arms
from trappoint.comparing.differences import things_changed
from trappoint.comparing.finding_changes import CHOSEN, findings_changed
from trappoint.comparing.interlocking_diff import Both
from trappoint.comparing.matching import match
from trappoint.comparing.model import Comparison, FindingChange, Side
from trappoint.comparing.names import Names
from trappoint.comparing.sides import no_side, read_side

if TYPE_CHECKING:
    from trappoint.core.findings import Finding

__all__ = ["Comparison", "Side", "compare", "new_findings", "no_side", "read_side"]


def compare(old: Side, new: Side) -> Comparison:
    """Return the changes from ``old`` to ``new``; ``compare(new, old)`` returns the reverse."""
    if old.report.text is not None and _texts(old) == _texts(new):
        return Comparison(old, new, "bytes", None)
    names = _names(old, new)
    result = Comparison(
        old,
        new,
        "",
        names,
        findings_gone=findings_changed(old, new, names, gone=True),
        findings_new=findings_changed(new, old, names, gone=False),
    )
    if names is None:
        return result
    worked = result.worked
    result = replace(result, things=tuple(things_changed(old, new, names, worked=worked)))
    if worked and old.report.facts is not None and new.report.facts is not None:
        both = Both(old.report.facts, new.report.facts, names)
        lost, gained = both.routes()
        result = replace(
            result,
            arms=tuple(both.arms()),
            routes_lost=lost,
            routes_gained=gained,
            conflicts=tuple(both.conflicts(result.things)),
            duties=tuple(both.duties()),
        )
    if all(change.how == ("renamed",) for change in result.things) and not result.worked_otherwise:
        result = replace(
            result,
            findings_gone=_not_chosen(result.findings_gone),
            findings_new=_not_chosen(result.findings_new),
        )
    return result if result.found else replace(result, same="meaning")


def _texts(side: Side) -> list[str | None]:
    return [side.report.text, *(board.text for board in side.report.boards)]


def match_things(old: Side, new: Side) -> Names | None:
    """Return the pairs of things; None if one of the two cannot be read as a plan."""
    return _names(old, new)


def new_findings(old: Side, new: Side) -> tuple[Finding, ...]:
    """Return the findings of the new plan that the old one does not have."""

    changes = findings_changed(new, old, _names(old, new), gone=False)
    return tuple(change.finding for change in changes)


def _not_chosen(changes: tuple[FindingChange, ...]) -> tuple[FindingChange, ...]:
    return tuple(change for change in changes if change.finding.rule not in CHOSEN)


def _names(old: Side, new: Side) -> Names | None:
    if old.things is None or new.things is None:
        return None
    found = match(old.things, new.things)
    match_arms(old, new, found)
    return Names(found)
