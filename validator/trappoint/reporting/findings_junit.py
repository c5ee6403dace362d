"""Findings as test results: the XML that build servers read as the results of JUnit.

The format has no standard. This module writes only elements that readers usually know:
``testsuites``, ``testsuite``, ``testcase``, ``failure``, ``error``, ``skipped``, ``properties`` and
``system-out`` (common practice, no source).
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from trappoint.core.findings import CAUTION_SHORT, reaches
from trappoint.reporting.wording import name_of, verdict_of_file

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from trappoint.checking.report import FileReport
    from trappoint.core.findings import Finding
    from trappoint.core.terminal import RenderOptions

_NOT_IN_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""What may not stand in XML 1.0, not even as a reference (production 2, Char)."""


def render(reports: Iterable[FileReport], look: RenderOptions) -> Iterator[str]:
    """Yield one document with one suite for each plan.

    A finding at or above the level asked for is a test that failed, any other one a test that
    passed and prints it; one that is accepted, or known from a baseline, a test that was left
    out. A plan without any that failed has a test that passed: that nothing stands in its way. It
    is written in ASCII, so it is right in every encoding.
    """
    yield '<?xml version="1.0" encoding="UTF-8"?>\n<testsuites name="trappoint">\n'
    for report in reports:
        yield _suite(report, look)
    yield "</testsuites>\n"


def _suite(report: FileReport, look: RenderOptions) -> str:
    cases: list[str] = []
    counts = {"failure": 0, "error": 0, "skipped": 0}
    for finding in report.findings:
        if finding.rule.startswith("fault-in-"):
            kind = "error"
        else:
            kind = "failure" if reaches(finding.level, look.floor) else ""
        cases.append(_case(report, finding, kind))
        if kind:
            counts[kind] += 1
    for why, left_out in (
        ("accepted by the plan itself", report.accepted),
        ("known from the baseline", report.known),
    ):
        cases += [_case(report, finding, "skipped", why) for finding in left_out]
        counts["skipped"] += len(left_out)
    if not counts["failure"] and not counts["error"]:
        name = f"no finding at the level {look.floor} or above it"
        cases.insert(0, f"    <testcase {_attributes(name=name, classname=report.file)}/>\n")
    verdict = f"{name_of(report.file)} {verdict_of_file(report)}"
    holds = {True: "true", False: "false", None: "unknown"}[report.holds]
    head = _attributes(
        name=report.file,
        tests=str(len(cases)),
        failures=str(counts["failure"]),
        errors=str(counts["error"]),
        skipped=str(counts["skipped"]),
    )
    return (
        f"  <testsuite {head}>\n"
        f"    <properties>\n      <property {_attributes(name='holds', value=holds)}/>\n"
        "    </properties>\n"
        f"{''.join(cases)}"
        f"    <system-out>{_content(f'{verdict} {CAUTION_SHORT}')}</system-out>\n"
        "  </testsuite>\n"
    )


def _case(report: FileReport, finding: Finding, kind: str, because: str = "") -> str:
    head = _attributes(
        name=f"{finding.rule} at {finding.pointer or 'the whole plan'}",
        classname=report.file,
        file=finding.file or report.file,
        line=str(finding.line),
    )
    told = _told(report, finding)
    if kind == "skipped":
        inner = f"<skipped {_attributes(message=f'{because}: {finding.message}')}/>"
    elif kind:
        about = _attributes(message=finding.message, type=finding.rule)
        inner = f"<{kind} {about}>{_content(told)}</{kind}>"
    else:
        inner = f"<system-out>{_content(told)}</system-out>"
    return f"    <testcase {head}>\n      {inner}\n    </testcase>\n"


def _told(report: FileReport, finding: Finding) -> str:
    place = f"{name_of(finding.file or report.file)}:{finding.line}:{finding.column}"
    lines = [f"{place} {finding.level} {finding.rule}", finding.message]
    if finding.why:
        lines.append(f"Why: {finding.why}")
    if finding.fix:
        lines.append(f"What to do: {finding.fix}")
    return "\n".join(lines)


def _attributes(**values: str) -> str:
    return " ".join(f'{key}="{_attribute(value)}"' for key, value in values.items())


def _attribute(text: str) -> str:
    # A reader takes line ends and tabs in attributes for spaces, unless they are references.
    kept = _content(text).replace('"', "&quot;")
    return kept.replace("\n", "&#10;").replace("\r", "&#13;").replace("\t", "&#9;")


def _content(text: str) -> str:
    known = _NOT_IN_XML.sub(lambda found: ascii(found[0])[1:-1], text)
    marked = known.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    return marked.encode("ascii", "xmlcharrefreplace").decode("ascii")
