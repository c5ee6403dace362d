"""Findings for programs that gather them from many tools: SARIF 2.1.0.

Source: Static Analysis Results Interchange Format (SARIF) Version 2.1.0, OASIS Standard.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from trappoint.core.findings import CAUTION, CAUTION_SHORT, HOW_THEY_MEET
from trappoint.reporting.rules_markdown import render_rules
from trappoint.reporting.sarif_files import Artifacts, Documents
from trappoint.reporting.sarif_places import ROOT, ROOT_TOLD
from trappoint.reporting.wording import verdict_of_file

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from trappoint.checking.report import FileReport
    from trappoint.core.findings import Finding
    from trappoint.core.terminal import RenderOptions
    from trappoint.rules.rule import Rule
    from trappoint.verdict.movements import Letter, Movement

SCHEMA = (
    "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
)

FINGERPRINT = "trappointFinding/v1"
"""The name of the fingerprint. A finding keeps its own when lines move or wording changes."""


def render(reports: Iterable[FileReport], look: RenderOptions) -> Iterator[str]:
    """Yield one log with one run. It is written in ASCII, so that any encoding carries it."""
    yield json.dumps(log_of(reports), indent=2) + "\n"


def log_of(reports: Iterable[FileReport]) -> dict[str, Any]:
    """Return the log as plain values."""
    from trappoint.core.version import __version__
    from trappoint.rules.catalogue import all_rules

    numbers = {rule.id: number for number, rule in enumerate(all_rules())}
    artifacts = Artifacts()
    results: list[dict[str, Any]] = []
    faults: list[dict[str, Any]] = []
    for report in reports:
        artifacts.listed[artifacts.number(report.file)] |= _verdict(report)
        told = _Results(Documents(report, artifacts), numbers)
        results += told.results
        faults += told.faults
    driver = {
        "name": "trappoint",
        "version": __version__,
        "semanticVersion": __version__,
        "shortDescription": {"text": "Checks the signalling plans of model railways."},
        "fullDescription": {"text": CAUTION},
        "rules": [_rule(rule) for rule in all_rules()],
    }
    run: dict[str, Any] = {
        "tool": {"driver": driver},
        "columnKind": "unicodeCodePoints",
        "newlineSequences": ["\r\n", "\n", "\r"],
        # Without its URI, which is another one on each machine: a forge has its own copy.
        "originalUriBaseIds": {ROOT: {"description": {"text": ROOT_TOLD}}},
        "artifacts": artifacts.listed,
        "results": results,
        "properties": {"caution": CAUTION_SHORT},
    }
    if faults:
        run["invocations"] = [{"executionSuccessful": False, "toolExecutionNotifications": faults}]
    return {"$schema": SCHEMA, "version": "2.1.0", "runs": [run]}


def _verdict(report: FileReport) -> dict[str, Any]:
    return {
        "description": {"text": f"This plan {verdict_of_file(report)}"},
        "properties": {"holds": report.holds},
    }


def _rule(rule: Rule) -> dict[str, Any]:
    return {
        "id": rule.id,
        "shortDescription": {"text": _sentence(rule.summary)},
        "fullDescription": {"text": rule.why},
        "help": {
            "text": f"{rule.why} Source: {_sentence(rule.source)}",
            "markdown": render_rules([rule], whole=False),
        },
        "defaultConfiguration": {"level": rule.level, "enabled": not rule.optional},
        "properties": {"stage": rule.stage, "source": rule.source},
    }


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:] + ("" if text.endswith(".") else ".")


class _Results:
    """The results of one plan."""

    def __init__(self, documents: Documents, numbers: Mapping[str, int]) -> None:
        self.documents = documents
        self.numbers = numbers
        self.seen: dict[str, int] = {}
        self.results: list[dict[str, Any]] = []
        self.faults: list[dict[str, Any]] = []
        report = documents.report
        for finding in report.findings:
            if finding.rule.startswith("fault-in-"):
                self.faults.append(_fault(finding, documents))
            else:
                self._add(finding, [])
        for finding in report.accepted:
            self._add(finding, [_accepted(finding, documents)])
        for finding in report.known:
            self._add(finding, [{"kind": "external", "justification": "Known before: baseline."}])

    def _add(self, finding: Finding, suppressions: list[dict[str, Any]]) -> None:
        documents = self.documents
        result: dict[str, Any] = {"ruleId": finding.rule}
        if finding.rule in self.numbers:
            result["ruleIndex"] = self.numbers[finding.rule]
        place = documents.of(finding).location(finding.line, finding.column, context=True)
        place["logicalLocations"] = [{"fullyQualifiedName": finding.pointer}]
        result |= {
            "level": finding.level,
            "message": {"text": _message(finding)},
            "locations": [place],
            "partialFingerprints": {FINGERPRINT: self._fingerprint(finding)},
            "suppressions": suppressions,
            "properties": {"pointer": finding.pointer, "ids": list(finding.path)},
        }
        related = documents.places_of(finding.path)
        if related:
            result["relatedLocations"] = [
                {"id": number, **found} for number, found in enumerate(related, 1)
            ]
        if finding.movement is not None:
            result["codeFlows"] = [_flow(finding.movement, documents)]
        self.results.append(result)

    def _fingerprint(self, finding: Finding) -> str:
        """Return the fingerprint of a finding, which stays the same if its line changes."""
        from hashlib import sha256

        # A finding of a whole on a board is another one in each whole.
        files = [finding.file, self.documents.report.file] if finding.file else []
        parts = json.dumps([finding.rule, finding.pointer, *finding.path, *files])
        digest = sha256(parts.encode("ascii")).hexdigest()[:32]
        count = self.seen[digest] = self.seen.get(digest, 0) + 1
        return f"{digest}:{count}"


def _message(finding: Finding) -> str:
    told = [finding.message]
    if finding.movement is not None:
        at = finding.why.find(HOW_THEY_MEET)
        told += [finding.why[at:]] if at >= 0 else []
    if finding.fix:
        told.append(finding.fix)
    return "\n".join(told)


def _fault(finding: Finding, documents: Documents) -> dict[str, Any]:
    return {
        "level": "error",
        "message": {"text": f"{finding.message} {finding.why}"},
        "descriptor": {"id": finding.rule},
        "locations": [documents.of(finding).location(finding.line, finding.column)],
    }


def _accepted(finding: Finding, documents: Documents) -> dict[str, Any]:
    suppression: dict[str, Any] = {"kind": "inSource", "status": "accepted"}
    entry = documents.acceptance_of(finding)
    if entry is not None:
        location, because = entry
        if because:
            suppression["justification"] = because
        suppression["location"] = location
    return suppression


def _at_first(letter: Letter, place: str) -> str:
    return f"Train {letter} stands in {place}." if place else f"Train {letter} is outside the plan."


def _flow(movement: Movement, documents: Documents) -> dict[str, Any]:
    """Return how two trains meet: a thread for each train, its steps numbered over both."""
    letters: tuple[Letter, Letter] = ("A", "B")
    at: dict[Letter, str] = {
        letter: place or "" for letter, place in zip(letters, movement.starts, strict=True)
    }
    threads: dict[Letter, list[dict[str, Any]]] = {
        letter: [_step(_at_first(letter, place), place, 0, documents)]
        for letter, place in at.items()
    }
    for number, step in enumerate(movement.steps, 1):
        train = step.train
        where = step.signal or step.to or at[train]
        if step.do == "set-off":
            told = f"Train {train} sets off{f' {step.heading}' if step.heading else ''}."
        elif step.do == "come-on":
            at[train] = step.to or ""
            told = f"Train {train} comes on at edge:{step.edge} to {step.to}."
        elif step.do == "leave":
            told = f"Train {train} leaves the plan."
        elif step.do == "take":
            told = f"Signal {step.signal} is taken off for train {train}, to {step.over[-1]}."
        else:
            at[train] = step.to or ""
            told = f"Train {train} runs to {step.to}."
        found = _step(told, where, number, documents, signal=step.do == "take")
        threads[train].append(found)
    meeting = threads[movement.steps[-1].train][-1]
    meeting["importance"] = "essential"
    meeting["location"]["message"]["text"] += f" Both trains are in {movement.meets_at}."
    return {
        "message": {"text": f"How two trains meet in {movement.meets_at}."},
        "threadFlows": [
            {"id": letter, "message": {"text": f"Train {letter}"}, "locations": steps}
            for letter, steps in threads.items()
        ],
    }


def _step(
    told: str, where: str, number: int, documents: Documents, *, signal: bool = False
) -> dict[str, Any]:
    place = documents.place_of(where, signal=signal)
    return {"location": {**place, "message": {"text": told}}, "executionOrder": number}
