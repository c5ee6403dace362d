"""The content of a plan's page, derived from its report."""

from __future__ import annotations

from os.path import commonprefix
from typing import TYPE_CHECKING, Any, Literal

from trappoint.core.findings import LEVELS
from trappoint.core.terminal import RenderOptions
from trappoint.model.names import Names
from trappoint.reporting.excerpt import SourceLines, excerpt
from trappoint.reporting.findings_json import finding_to_json
from trappoint.reporting.matrix import conflict_letters, holding_arms, legend
from trappoint.reporting.wording import (
    by_what,
    conditions_of,
    count_findings,
    count_pairs,
    never_with,
    tell_condition,
    tell_lies,
    verdict_of,
)
from trappoint_service.answers import PlanPage
from trappoint_service.diagrams import draw_report, picture_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from trappoint import Finding, Layout, LockingTable, Report
    from trappoint.drawing.diagram import Diagram
    from trappoint.facts.facts import Facts
    from trappoint.interlocking.conflicts import By
    from trappoint.interlocking.locking_table import ArmEntry

MAX_FINDINGS = 200
"""Findings shown on a page; the downloads have all of them."""

MAX_OPEN = 10
"""Findings that are open at first; the others open with a click."""

MAX_ARMS = 400
"""Most arms with which a page shows the table."""

MAX_SQUARE = 60
"""Most arms with which a page shows the square of conflicts."""

MAX_LINES = 4000
MAX_TEXT = 400_000
"""Most lines and characters with which a page shows the text."""

MAX_SVG = 3_000_000
"""Most characters of the SVG with which a page shows the diagram."""

MAX_STANDS = 400
"""Most tracks and platforms with which a page offers roads between them."""

_LOOK = RenderOptions(width=100)


def page_of(report: Report, diagram: Diagram | None = None, *, strip: bool = False) -> PlanPage:
    """Return the content of the page.

    ``diagram`` is that of the report, if it is drawn already; ``strip`` is as for ``draw_report``.
    """
    table = report.table
    layout = report.layout
    diagram = diagram or draw_report(report, strip=strip)
    svg = picture_of(diagram)
    inline = svg if svg is not None and len(svg) <= MAX_SVG else None
    working = _working(report, inline)
    shown = sorted(report.findings, key=_gravity)[:MAX_FINDINGS]
    lines = SourceLines(report.text or "")
    findings = [_finding(finding, lines, report.file) for finding in shown]
    if working is not None and report.facts is not None:
        _note_plays(report.facts, shown, findings)
    names = Names(layout) if layout is not None else None
    return PlanPage(
        file=report.file,
        title=layout.title if layout is not None else "",
        holds=report.holds,
        verdict=verdict_of(report),
        counts=count_findings(report.findings),
        findings=findings,
        groups=_groups(findings),
        errors=any(finding.level == "error" for finding in report.findings),
        without_signals=layout is not None and not layout.signals,
        more=len(report.findings) - len(shown),
        accepted=[
            {**_finding(finding, lines, report.file), "number": number}
            for number, finding in enumerate(report.accepted[:MAX_FINDINGS], 1)
        ],
        svg=inline if working is None else None,
        working=working,
        drawable=svg is not None,
        view=_view(diagram, strip=strip),
        table=_table(table) if table is not None else None,
        levers=_levers(layout, names) if layout is not None and names is not None else [],
        granted=list(report.takes_for_granted),
        stands=_stands(report, names) if table is not None and names is not None else [],
        scenes=_scenes(layout) if layout is not None else [],
        sessions=table is not None and bool(layout and layout.sessions),
        lines=_lines(report.text),
    )


def _view(diagram: Diagram | None, *, strip: bool) -> Literal["", "rows", "strip"]:
    if diagram is not None and strip:
        return "strip"
    return "rows" if diagram is not None and len(diagram.sketch.rows) > 1 else ""


def _working(report: Report, svg: str | None) -> str | None:
    """Return the diagram that works; None if the page has no room for it."""
    table = report.table
    if svg is None or report.facts is None or table is None or len(table.arms) > MAX_ARMS:
        return None
    from trappoint.drawing.working_page import component
    from trappoint.reporting.work_data import work_data

    return component(svg, work_data(report.facts), level=3)


def _note_plays(facts: Facts, findings: Sequence[Finding], shown: Sequence[dict[str, Any]]) -> None:
    """Note at each finding with a movement its number among the plays, counted from the last."""
    from trappoint.reporting.work_data import movements_of

    movements = movements_of(facts)
    for finding, entry in zip(findings, shown, strict=True):
        if finding.movement in movements:
            entry["play"] = movements.index(finding.movement) - len(movements)


def _gravity(finding: Finding) -> int:
    """Return a sort key that puts errors first and notes last."""
    return -LEVELS.index(finding.level)


def _finding(finding: Finding, lines: SourceLines, file: str) -> dict[str, Any]:
    shown = finding_to_json(finding)
    place = shown.get("file") or file
    shown["board"] = "" if place == file else place.rpartition("/")[2]
    line = None if shown["board"] else lines.line(finding.line)
    shown["source"] = shown["mark"] = ""
    if line is not None and line.strip():
        shown["source"], shown["mark"] = excerpt(line, finding.column, "", _LOOK)
    # The first part of the pointer is the kind of the thing, the second its id.
    parts = finding.pointer.split("/")[1:3]
    about = [part.replace("~1", "/").replace("~0", "~") for part in parts]
    shown["about"] = about if len(about) == 2 else None
    return shown


def _groups(findings: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """Group findings by level and rule; give each finding its number on the page.

    The first ``MAX_OPEN`` findings are ``open``, the others ``folded``. Text that all findings of
    a group share moves to the group.
    """
    members: dict[tuple[str, str], list[dict[str, Any]]] = {}
    for finding in findings:
        members.setdefault((finding["level"], finding["rule"]), []).append(finding)
    groups = []
    number = 0
    for (level, rule), group in members.items():
        for finding in group:
            number += 1
            finding["number"] = number
        left = max(0, MAX_OPEN - (number - len(group)))
        groups.append(
            {
                "level": level,
                "rule": rule,
                "why": _share(group, "why"),
                "fix": _share(group, "fix"),
                "open": group[:left],
                "folded": group[left:],
            }
        )
    return groups


def _share(group: Sequence[dict[str, Any]], key: str) -> str:
    """Take the first sentences that all findings of a group share out of them; return these.

    A single finding keeps its text.
    """
    if len(group) == 1:
        return ""
    texts = [f"{finding[key]} " for finding in group]
    start = commonprefix(texts)  # noqa: RUF071 - characters are meant, not folders
    end = start.rfind(". ")
    shared = start[: end + 2] if end >= 0 else ""
    for finding, text in zip(group, texts, strict=True):
        finding[key] = text.removeprefix(shared).strip()
    return shared.strip()


def _table(table: LockingTable) -> dict[str, Any]:
    arms = holding_arms(table)
    letters = conflict_letters(table)
    square = []
    if len(arms) <= MAX_SQUARE:
        for one in arms:
            cells = ["=" if one == two else letters.get((one, two), "") for two in arms]
            square.append({"arm": one, "cells": cells})
    crowded = len(table.arms) > MAX_ARMS
    return {
        "rows": [] if crowded else [_row(entry, by_what(table)) for entry in table.arms],
        "crowded": crowded,
        "signals": [] if crowded else [entry._asdict() for entry in table.signals],
        "by": by_what(table),
        "count": len(table.arms),
        "pairs": count_pairs(table),
        "square_arms": arms,
        "square": square,
        "legend": legend(table),
        "conflicts": {} if crowded else {entry.arm: _conflicts(entry) for entry in table.arms},
    }


def _row(entry: ArmEntry, by: Mapping[By, str]) -> dict[str, Any]:
    return {
        "arm": entry.arm,
        "name": entry.name,
        "signal": entry.signal,
        "kind": entry.kind,
        "meaning": entry.meaning,
        "points": [tell_lies(route.points) or "none" for route in entry.routes],
        "by_points": never_with(entry, "points"),
        "direct": never_with(entry, "direct"),
        "sometimes": [
            f"{c.arm} while {tell_condition(c)} ({by[c.by]})" for c in conditions_of(entry)
        ],
    }


def _conflicts(entry: ArmEntry) -> list[dict[str, Any]]:
    """Return the conflicts of an arm, from which the script marks the rows of the table."""
    return [
        {"arm": c.arm, "by": c.by, "when": None if c.when is None else dict(c.when)}
        for c in entry.conflicts
    ]


def _levers(layout: Layout, names: Names) -> list[dict[str, Any]]:
    """Return the points and slips that can be thrown; those worked together are one entry."""
    groups: list[list[str]] = []
    for together in layout.worked_together:
        members = [name for name in together if layout.switch(name) is not None]
        near = [group for group in groups if set(group) & set(members)]
        merged = list(dict.fromkeys([name for group in near for name in group] + members))
        groups = [group for group in groups if group not in near] + ([merged] if merged else [])
    levers = []
    seen: set[str] = set()
    slips = [name for name, crossing in layout.crossings.items() if crossing.lies]
    for name in (*layout.points, *slips):
        if name in seen:
            continue
        members = next((group for group in groups if name in group), [name])
        seen.update(members)
        called = [
            names.called("points" if member in layout.points else "crossings", member)
            for member in members
        ]
        levers.append({"ids": members, "called": called, "words": _words(layout, members)})
    return levers


def _words(layout: Layout, members: list[str]) -> list[dict[str, Any]]:
    """Return the positions of a lever, normal first, each with the lies of its points."""
    from trappoint.model.layout import lie_of

    switches = {name: layout.switch(name) for name in members}
    first = next(iter(switches.values()))
    words = ["normal", "reverse"]
    if len(members) == 1 and first is not None and len(first.lies) > 2:
        words = ["normal", *(lie for lie in first.lies if lie != first.normal)]
    positions = []
    for word in words:
        lies = {
            name: lie
            for name, switch in switches.items()
            if switch is not None and (lie := lie_of(switch, word)) is not None
        }
        positions.append({"word": word, "lies": lies})
    return positions


def _scenes(layout: Layout) -> list[dict[str, Any]]:
    return [
        {"id": scene.id, "points": dict(scene.points), "off": list(scene.off)}
        for scene in layout.scenes.values()
    ]


def _lines(text: str | None) -> list[str] | None:
    """Return the lines of the text, None if there are too many to show."""
    if text is None or len(text) > MAX_TEXT:
        return None
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    if len(lines) > MAX_LINES:
        return None
    if lines and not lines[-1]:
        lines.pop()
    return lines


def _stands(report: Report, names: Names) -> list[dict[str, str]]:
    """Return the tracks, yards and platforms between which a train can run: ids and names.

    Empty if there are more than ``MAX_STANDS``.
    """
    if report.facts is None:
        return []
    network, layout = report.facts.network, report.facts.layout
    ids = dict.fromkeys(network.places[stand.place].id for stand in network.stands)
    found = [{"id": key, "called": names.called("platforms", key)} for key in layout.platforms]
    for key in ids:
        if key not in layout.platforms:
            kind = "yards" if key in layout.yards else "tracks"
            found.append({"id": key, "called": names.called(kind, key)})
    return found if len(found) <= MAX_STANDS else []
