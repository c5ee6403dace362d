"""Findings of a whole that a board's own plan lives with."""

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
    """Part findings into those that no board accepts and those that one does.

    What a board's own plan accepts it accepts in every whole, at the same place. Whether it still
    finds something there is seen where that plan is checked by itself.
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
