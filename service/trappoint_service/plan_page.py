"""What the page of a checked plan shows, derived from its report."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trappoint.core.terminal import RenderOptions
from trappoint.reporting.excerpt import SourceLines, excerpt
from trappoint.reporting.findings_json import finding_to_json
from trappoint.reporting.matrix import LEGEND, conflict_letters, stop_arms
from trappoint.reporting.wording import (
    BY_WHAT,
    conditions_of,
    count_findings,
    count_pairs,
    never_with,
    tell_condition,
    tell_lies,
    verdict_of,
)
from trappoint_service.answers import PlanPage
from trappoint_service.diagrams import draw_report

if TYPE_CHECKING:
    from trappoint import Finding, Layout, LockingTable, Report
    from trappoint.drawing.roads import Lit
    from trappoint.interlocking.locking_table import ArmEntry

MAX_FINDINGS = 200
"""Findings shown on a page; the others are counted, and stand in the downloads."""

MAX_ARMS = 400
"""Arms up to which the table is shown on a page."""

MAX_SQUARE = 60
"""Arms up to which the square of conflicts is shown on a page."""

MAX_LINES = 4000
MAX_TEXT = 400_000
"""Lines and characters up to which the text is shown on a page."""

MAX_SVG = 3_000_000
"""Characters up to which the drawing is shown on a page."""

MAX_STANDS = 400
"""Tracks up to which the page offers them to choose from."""

_LOOK = RenderOptions(width=100)


def page_of(report: Report, lit: Lit | None = None) -> PlanPage:
    """Return all that the page shows. ``lit``: a road to light on the diagram."""
    table = report.table
    layout = report.layout
    svg = draw_report(report, heading=False, lit=lit)
    shown = report.findings[:MAX_FINDINGS]
    lines = SourceLines(report.text or "")
    return PlanPage(
        file=report.file,
        title=layout.title if layout is not None else "",
        holds=report.holds,
        verdict=verdict_of(report),
        counts=count_findings(report.findings),
        findings=[_finding(finding, lines) for finding in shown],
        more=len(report.findings) - len(shown),
        accepted=[_finding(finding, lines) for finding in report.accepted[:MAX_FINDINGS]],
        svg=svg if svg is not None and len(svg) <= MAX_SVG else None,
        drawable=svg is not None,
        table=_table(table) if table is not None else None,
        levers=_levers(layout) if layout is not None else [],
        granted=list(report.takes_for_granted),
        stands=_stands(report) if table is not None else [],
        scenes=_scenes(layout) if layout is not None else [],
        lines=_lines(report.text),
    )


def _finding(finding: Finding, lines: SourceLines) -> dict[str, Any]:
    told = finding_to_json(finding)
    line = lines.line(finding.line)
    told["source"] = told["mark"] = ""
    if line is not None and line.strip():
        told["source"], told["mark"] = excerpt(line, finding.column, "", _LOOK)
    # The first part of the pointer says of what kind the thing is, the second which one.
    parts = finding.pointer.split("/")[1:3]
    about = [part.replace("~1", "/").replace("~0", "~") for part in parts]
    told["about"] = about if len(about) == 2 else None
    return told


def _table(table: LockingTable) -> dict[str, Any]:
    arms = stop_arms(table)
    letters = conflict_letters(table)
    square = []
    if len(arms) <= MAX_SQUARE:
        for one in arms:
            cells = ["=" if one == two else letters.get((one, two), "") for two in arms]
            square.append({"arm": one, "cells": cells})
    crowded = len(table.arms) > MAX_ARMS
    return {
        "rows": [] if crowded else [_row(entry) for entry in table.arms],
        "crowded": crowded,
        "signals": [] if crowded else [entry._asdict() for entry in table.signals],
        "count": len(table.arms),
        "pairs": count_pairs(table),
        "stop_arms": arms,
        "square": square,
        "legend": LEGEND,
        "json": {} if crowded else table.to_json(),
    }


def _row(entry: ArmEntry) -> dict[str, Any]:
    return {
        "arm": entry.arm,
        "signal": entry.signal,
        "kind": entry.kind,
        "meaning": entry.meaning,
        "points": [tell_lies(route.points) or "none" for route in entry.routes],
        "by_points": never_with(entry, "points"),
        "direct": never_with(entry, "direct"),
        "sometimes": [
            f"{c.arm} while {tell_condition(c)} ({BY_WHAT[c.by]})" for c in conditions_of(entry)
        ],
    }


def _levers(layout: Layout) -> list[dict[str, Any]]:
    """Return what can be thrown: points and slips, those worked together as one."""
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
        levers.append({"ids": members, "words": _words(layout, members)})
    return levers


def _words(layout: Layout, members: list[str]) -> list[dict[str, Any]]:
    """Return the positions of a lever, the usual one first, with what lies how in each."""
    from trappoint.model.layout import lie_of

    switches = {name: layout.switch(name) for name in members}
    first = next(iter(switches.values()))
    words = ["normal", "reverse"]
    if len(members) == 1 and first is not None and len(first.lies) > 2:
        words = ["normal", *(lie for lie in first.lies if lie != first.normal)]
    told = []
    for word in words:
        lies = {
            name: lie
            for name, switch in switches.items()
            if switch is not None and (lie := lie_of(switch, word)) is not None
        }
        told.append({"word": word, "lies": lies})
    return told


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


def _stands(report: Report) -> list[str]:
    """Return the names between which roads can be asked for; none where there are too many."""
    if report.facts is None:
        return []
    network, layout = report.facts.network, report.facts.layout
    names = dict.fromkeys(network.places[stand.place].id for stand in network.stands)
    found = [*layout.platforms, *(name for name in names if name not in layout.platforms)]
    return found if len(found) <= MAX_STANDS else []
