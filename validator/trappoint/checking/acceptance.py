"""Findings of an assembled plan that the plan of a board accepts."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.model.layout import Accepted
from trappoint.rules.accepted import matches

if TYPE_CHECKING:
    from trappoint.boards.assembly import Assembly
    from trappoint.core.findings import Finding


def split_by_boards(
    assembly: Assembly, findings: list[Finding]
) -> tuple[list[Finding], list[Finding]]:
    """Return the findings that no board accepts, and those that one accepts.

    A finding accepted by the plan of a board is accepted in every assembled plan, at the same
    place. The check of the board alone reports entries that no longer occur.
    """
    entries = {
        part.name: [
            Accepted(entry["rule"], entry["at"], entry.get("because", ""))
            for entry in part.data.get("accept", ())
        ]
        for part in assembly.parts
        if part.name
    }
    kept: list[Finding] = []
    accepted: list[Finding] = []
    for finding in findings:
        hit = any(
            matches(entry, finding._replace(pointer=seen))
            for part in assembly.places.boards(finding.pointer)
            if entries.get(part.name)
            for seen in (assembly.places.seen_from(part, finding.pointer),)
            for entry in entries[part.name]
        )
        (accepted if hit else kept).append(finding)
    return kept, accepted
