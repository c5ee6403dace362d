"""Assembles plans from boards, for tests that check them or read them as one document."""

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
    """Return the plans of boards as files, by path."""
    return FilesAtHand({path: json.dumps(plan, indent=1) for path, plan in boards.items()})


def checked(plan: Plan, boards: dict[str, Plan], name: str = "whole.layout.json") -> Report:
    """Return the report on a plan with these boards; fail on an internal error."""
    report = check(json.dumps(plan, indent=1), name=name, files=at_hand(boards))
    assert report.fault is None, report.findings
    return report


def as_one(plan: Plan | Path, files: Files | None = None) -> Plan:
    """Return the assembled plan as one document, without empty values."""
    if isinstance(plan, Path):
        files = files_beside(str(plan))
        document = read_document(plan.read_bytes(), str(plan))
    else:
        document = read_document(json.dumps(plan), "whole.layout.json")
    assert isinstance(document, Document)
    assembly = assemble(document, files)
    assert assembly.troubles == ()
    return {key: value for key, value in assembly.data.items() if value}
