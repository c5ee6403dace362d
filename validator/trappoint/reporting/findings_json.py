"""Findings for programs: one JSON object (RFC 8259)."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from trappoint.core.findings import CAUTION

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from trappoint.checking.report import FileReport, Report
    from trappoint.core.findings import Finding
    from trappoint.core.terminal import RenderOptions


def render(reports: Iterable[FileReport], look: RenderOptions) -> Iterator[str]:
    """Yield the object piece by piece, each file as its report comes in.

    It is ASCII, so that it stays JSON in every encoding.
    """
    from trappoint.core.version import __version__

    yield f'{{\n  "tool": "trappoint",\n  "version": {json.dumps(__version__)},\n  "files": ['
    separator = "\n"
    for report in reports:
        yield separator + _indented(report_to_json(report), 4)
        separator = ",\n"
    end = "]" if separator == "\n" else "\n  ]"
    yield f'{end},\n  "caution": {json.dumps(CAUTION)}\n}}\n'


def report_to_json(report: FileReport | Report) -> dict[str, Any]:
    """Return a report as plain values: its file, verdict and findings, and the longest train."""
    return {
        "file": report.file,
        "holds": report.holds,
        "findings": [finding_to_json(finding) for finding in report.findings],
        "longest_train_mm": report.longest_train_mm,
        "takes_for_granted": list(report.takes_for_granted),
    }


def finding_to_json(finding: Finding) -> dict[str, Any]:
    """Return a finding as plain values; with ``file`` where it stands in the plan of a board."""
    elsewhere = {"file": finding.file} if finding.file else {}
    return {
        "rule": finding.rule,
        "level": finding.level,
        **elsewhere,
        "pointer": finding.pointer,
        "line": finding.line,
        "column": finding.column,
        "message": finding.message,
        "why": finding.why,
        "fix": finding.fix,
        "path": list(finding.path),
    }


def _indented(value: object, spaces: int) -> str:
    before = " " * spaces
    return "\n".join(before + line for line in json.dumps(value, indent=2).split("\n"))
