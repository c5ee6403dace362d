"""The signal chart: one self-contained page of HTML, without scripts.

It prints on A4 and A3, always on white. On the screen, choose an arm in the table: the page lights
its road and fades the arms that may never be off with it.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from trappoint.core.findings import CAUTION, CAUTION_FITTING
from trappoint.drawing.bench_rows import DRILL, HEADS, PARTS, ExtraRows, post_rows
from trappoint.drawing.chart_rows import arm_rows, crossover_rows, matrix_rows, scene_rows
from trappoint.drawing.chart_style import STYLE, lighting, switches
from trappoint.drawing.diagram import SHEETS, draw
from trappoint.drawing.legend import legend
from trappoint.drawing.svg_elements import safe
from trappoint.reporting.html_sheet import content_policy
from trappoint.reporting.matrix import legend as conflict_legend
from trappoint.reporting.wording import (
    GRANTED,
    by_what,
    count_pairs,
    verdict_of,
    verdict_of_table,
)

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.checking.report import Report
    from trappoint.drawing.diagram import Diagram
    from trappoint.interlocking.locking_table import LockingTable
    from trappoint.model.layout import Layout
    from trappoint.parts.telling import PlanSection

NOTHING_MORE = ExtraRows()

ARMS, CROSSOVERS = "What each arm gives leave for", "Crossovers and trap points"
CONFLICTS, ERRORS = "Which arms may never be off together", "Errors"
"""Headings of the chart."""

DENSE = 30
"""The number of arms above which the square of conflicts is set in small letters."""


def write_chart(
    report: Report,
    *,
    sheet: str = "a4",
    bench: ExtraRows = NOTHING_MORE,
    drawing: Diagram | None = None,
) -> str:
    """Return the chart of a plan as HTML, in ASCII so that every encoding reads it alike.

    ``bench`` adds rows for drilling and parts; ``drawing`` is the plan's diagram, if it is drawn
    already for this sheet. Raises ValueError if the report has no layout.
    """
    layout, table = report.layout, report.table
    if layout is None:
        raise ValueError("there is no plan to draw")
    title = safe(layout.title or "Plan without a title")
    drawing = drawing or draw(layout, table=table, widest=SHEETS[sheet])
    diagram = "\n".join(drawing.sheets(heading=False))
    parts = [
        f'<header><h1>{title}</h1><p class="scale">{safe(_scale(layout))}</p></header>',
        f'<figure class="diagram" tabindex="0" aria-label="Diagram">{diagram}</figure>',
        f'<p class="verdict">{safe(_verdict(report, table))}</p>',
        _findings(report),
        _arms(layout, table) if table is not None else "",
        _crossovers(layout),
        _matrix(table) if table is not None else "",
        _scenes(layout),
        _granted(table) if table is not None else "",
        _posts(bench),
        _parts(bench.parts),
        _legend(layout),
        f'<p class="caution">{safe(caution_for(bench))}</p>',
    ]
    arms = [entry.arm for entry in table.arms] if table is not None else []
    page = _page(title, arms, "\n".join(part for part in parts if part))
    return page.encode("ascii", "xmlcharrefreplace").decode("ascii")


def caution_for(bench: ExtraRows) -> str:
    """Return the caution of a chart: with drilling or parts it warns about the tools too."""
    return CAUTION_FITTING if bench.posts or bench.parts else CAUTION


def who_sees_to_it(table: LockingTable) -> tuple[str, str]:
    """Return a sentence for the plain arms of the last column, and one for the bold arms."""
    sees = by_what(table)
    return f"Plain arms: {sees['points']}.", f"Bold arms: {sees['direct']}."


def _page(title: str, arms: list[str], body: str) -> str:
    """Return the whole page; ``title`` and ``body`` are HTML."""
    lit = lighting(arms)
    return f"""<!doctype html>
<html lang="en-GB">
<head>
<meta charset="utf-8">
{content_policy([STYLE, lit])}
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{title}: signal chart</title>
<style>{STYLE}</style>
<style media="screen">{lit}</style>
</head>
<body>
<main>
{switches(arms)}
{body}
</main>
</body>
</html>
"""


def _scale(layout: Layout) -> str:
    drawn = "This diagram is not to scale. Up is on the left, down on the right."
    return f"{layout.scale}. {drawn}" if layout.scale else drawn


def _verdict(report: Report, table: LockingTable | None) -> str:
    if table is None:
        return f"This plan {verdict_of(report)}"
    return f"{verdict_of_table(table.holds, table.longest_train)} {count_pairs(table)}"


def _granted(table: LockingTable) -> str:
    items = "".join(f"<li>{safe(sentence)}</li>" for sentence in table.takes_for_granted)
    return _section(GRANTED, f"<ul>{items}</ul>")


def _findings(report: Report) -> str:
    errors = [finding for finding in report.findings if finding.level == "error"]
    if not errors:
        return ""
    lines = "".join(f"<li>{safe(finding.message)}</li>" for finding in errors)
    return f'<section><h2>{ERRORS}</h2><ul class="findings">{lines}</ul></section>'


def _arms(layout: Layout, table: LockingTable) -> str:
    heads, cells = arm_rows(layout, table)
    rows = []
    for (arm, *others), entry in zip(cells, table.arms, strict=True):
        name = safe(entry.arm)
        rows.append(
            (
                f' id="row-{name}" data-row="{name}"',
                [f'<label for="light-{name}">{arm}</label>', *others],
            )
        )
    plain, bold = who_sees_to_it(table)
    note = (
        f'<p>{safe(plain)} <b>{safe(bold)}</b> <span class="unlight">Choose an arm to light its '
        "road on the diagram and to fade the arms that it excludes; "
        '<label for="light">choose none</label>.</span></p>'
    )
    return _section(ARMS, _grid(heads, rows, "arms") + note)


def _crossovers(layout: Layout) -> str:
    if not layout.worked_together:
        return ""
    rows = [("", row) for row in crossover_rows(layout)]
    grid = _grid(["Worked together", "Normal", "Reverse"], rows, "small")
    return _section(CROSSOVERS, grid)


def _matrix(table: LockingTable) -> str:
    arms, square = matrix_rows(table)
    if len(arms) < 2:
        return ""
    rows = []
    for one, *letters in square:
        cells = [f'<span class="{_kind(x)}">{safe(x)}</span>' if x else "" for x in letters]
        rows.append((f' data-row="{one}"', [one, *cells]))
    size = "square" if len(arms) <= DENSE else "square dense"
    heads = [f"<span>{safe(arm)}</span>" for arm in ("Arm", *arms)]
    grid = _grid(heads, rows, size, escaped=True)
    return _section(CONFLICTS, f"{grid}<p>{safe(conflict_legend(table))}</p>")


def _kind(letter: str) -> str:
    return {"=": "self", "P": "by-points", "L": "by-locking"}.get(letter, "sometimes")


def _scenes(layout: Layout) -> str:
    scenes = []
    for name, points, off, trains in scene_rows(layout):
        lines = (("Points", points), ("Arms off", off), ("Trains", trains))
        rows = "".join(f"<dt>{key}</dt><dd>{value}</dd>" for key, value in lines)
        scenes.append(f"<article><h3>{name}</h3><dl>{rows}</dl></article>")
    if not scenes:
        return ""
    note = "<p>All other points lie normal.</p>"
    return _section("Scenes", f'<div class="scene-list">{"".join(scenes)}</div>{note}')


def _posts(bench: ExtraRows) -> str:
    if not bench.posts:
        return ""
    return _section(DRILL, _grid(HEADS, [("", row) for row in post_rows(bench.posts)], "arms"))


def _parts(sections: Iterable[PlanSection]) -> str:
    lists = []
    for heading, entries, numbered in sections:
        kind = "ol" if numbered else "ul"
        items = "".join(f"<li>{safe(entry)}</li>" for entry in entries)
        lists.append(f"<article><h3>{safe(heading)}</h3><{kind}>{items}</{kind}></article>")
    return _section(PARTS, f'<div class="scene-list">{"".join(lists)}</div>') if lists else ""


def _legend(layout: Layout) -> str:
    signs = "".join(f"<li>{sign}<span>{safe(text)}</span></li>" for sign, text in legend(layout))
    return _section(
        "Signs",
        f'<ul class="legend">{signs}</ul><p>Each signal is drawn lying beside the rails, as its '
        "driver sees it. Its post points in the direction of his train and is on his side of the "
        "line; the arms of a bracket follow from his left to his right.</p>",
    )


def _section(heading: str, inner: str) -> str:
    name = re.sub(r"[^a-z]+", "-", heading.lower()).strip("-")
    return f'<section class="{name}"><h2>{safe(heading)}</h2>{inner}</section>'


def _grid(
    heads: Iterable[str],
    rows: Iterable[tuple[str, list[str]]],
    kind: str,
    *,
    escaped: bool = False,
) -> str:
    """Return a table as HTML. Each row has its attributes and its cells, which are HTML too."""
    names = (h if escaped else safe(h).replace("/", "/<wbr>") for h in heads)
    columns = "".join(f'<th scope="col">{name}</th>' for name in names)
    body = []
    for attributes, (first, *others) in rows:
        cells = "".join(f"<td>{cell}</td>" for cell in others)
        body.append(f'<tr{attributes}><th scope="row">{first}</th>{cells}</tr>')
    return (
        f'<div class="wide" tabindex="0"><table class="{kind}">'
        f"<thead><tr>{columns}</tr></thead>\n<tbody>\n"
        + "\n".join(body)
        + "\n</tbody></table></div>"
    )
