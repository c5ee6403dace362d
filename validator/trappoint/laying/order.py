"""What "in order" means: the plan follows the schema, and its references and tracks are whole."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trappoint.facts.facts import Facts
from trappoint.model.building import build_layout
from trappoint.rules.catalogue import PLAN_RULES
from trappoint.schema.validation import schema_findings

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.core.findings import Finding
    from trappoint.rules.rule import Rule

RULES: tuple[Rule, ...] = PLAN_RULES
"""The rules that a plan in order does not break: those without which no facts can be derived."""


def faults(data: Mapping[str, Any]) -> list[Finding]:
    """Return why a plan is not in order; empty if it is.

    Ids on boards (``west/p1``) are taken to exist: no step reads another file.
    """
    of_form = schema_findings(data)
    if of_form:
        return of_form
    facts = Facts(build_layout(data))
    found = [finding for rule in RULES if rule.check for finding in rule.check(facts)]
    return [finding for finding in found if not _of_board(finding)] if "boards" in data else found


def _of_board(finding: Finding) -> bool:
    return finding.rule == "unknown-reference" and any("/" in name for name in finding.path)
