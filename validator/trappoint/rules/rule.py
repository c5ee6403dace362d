"""What a rule is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from trappoint.facts import Facts
    from trappoint.findings import Finding, Level


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule: its name, its documentation and its check.

    ``fails`` and ``passes`` are JSON merge patches (RFC 7396) on the demonstration plan, Kelpie
    Quay: with the first the rule speaks, with the second it is silent. Tests run both.
    """

    id: str
    level: Level
    """The level of its findings, unless its documentation says when it differs."""
    summary: str
    why: str
    source: str
    fails: Mapping[str, Any]
    passes: Mapping[str, Any]
    check: Callable[[Facts], Iterable[Finding]]
