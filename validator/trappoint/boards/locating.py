"""Locates each finding of the whole in the file that it belongs to."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from trappoint.boards.assembly import Assembly
    from trappoint.boards.collecting import BoardPart
    from trappoint.core.findings import Finding

_ENDS = re.compile(r"\b(up|down|at_mm)\b")


def locate_findings(assembly: Assembly, findings: list[Finding]) -> list[tuple[str, list[Finding]]]:
    """Return each file's text and findings: the plan itself first, then boards by file name."""
    by_file: dict[str, tuple[str, list[Finding]]] = {}
    for finding in findings:
        part, pointer = assembly.places.spot(finding.pointer)
        found = _written_in(part, pointer, finding) if part.name else finding
        by_file.setdefault(found.file, (part.document.text, []))[1].append(found)
    return [by_file[file] for file in sorted(by_file)]


def _written_in(part: BoardPart, pointer: str, finding: Finding) -> Finding:
    fix = finding.fix + _turned(part, finding)
    return finding._replace(pointer=pointer, file=part.file, whole=finding.pointer, fix=fix)


def _turned(part: BoardPart, finding: Finding) -> str:
    """Return a reminder that up is down in the board's own plan; empty if none is needed."""
    if not part.turned or not _ENDS.search(f"{finding.message} {finding.fix}"):
        return ""
    return (
        f" (Board {part.name} is turned round: what is up and down here is down and up in its own "
        "plan.)"
    )
