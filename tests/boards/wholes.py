"""Plans put together: the whole as one document, for those who look at it in another way."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from trappoint import FilesAtHand, Report, check
from trappoint.boards.assembly import assemble
from trappoint.source.files import Files, files_beside
from trappoint.source.reading import Document, read_document

Plan = dict[str, Any]


def at_hand(boards: dict[str, Plan]) -> FilesAtHand:
    """The plans of boards as files, by their paths."""
    return FilesAtHand({path: json.dumps(plan, indent=1) for path, plan in boards.items()})


def checked(plan: Plan, boards: dict[str, Plan], name: str = "whole.layout.json") -> Report:
    """What there is to say of a plan with these boards."""
    report = check(json.dumps(plan, indent=1), name=name, files=at_hand(boards))
    assert report.fault is None, report.findings
    return report


def as_one(plan: Plan | Path, files: Files | None = None) -> Plan:
    """The plan put together, as one document."""
    if isinstance(plan, Path):
        files = files_beside(str(plan))
        document = read_document(plan.read_bytes(), str(plan))
    else:
        document = read_document(json.dumps(plan), "whole.layout.json")
    assert isinstance(document, Document)
    assembly = assemble(document, files)
    assert assembly.troubles == ()
    return {key: value for key, value in assembly.data.items() if value}
