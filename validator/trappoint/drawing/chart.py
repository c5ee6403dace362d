"""The signal chart: one self-contained page of HTML, without scripts.

It prints on A4 and A3, lying or standing, always on white. On the screen, choose an arm in the
table: the page lights its road and fades the arms that may never be off with it.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from trappoint.core.findings import CAUTION, CAUTION_DRILLING, CAUTION_FITTING
from trappoint.drawing.bench_rows import DRILL, HEADS, PARTS, ExtraRows, post_rows
from trappoint.drawing.chart_rows import (
    arm_rows,
    blocks_of,
    crossover_rows,
    matrix_rows,
    square_heads,
)
from trappoint.drawing.chart_style import STYLE, lighting, measures, on_paper, switches
from trappoint.drawing.legend import HOW_SIGNALS_ARE_DRAWN, legend
from trappoint.drawing.paper import OVERLAP, Picture, Sheet, diagram_pages, sheet_of
from trappoint.drawing.scene_pictures import as_html, scene_pictures
from trappoint.drawing.svg_elements import num, safe, tag
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
    from collections.abc import Iterable, Mapping

    from trappoint.checking.report import Report
    from trappoint.drawing.chart_rows import Block
    from trappoint.drawing.diagram import Diagram
    from trappoint.interlocking.locking_table import LockingTable
    from trappoint.model.layout import Layout
    from trappoint.parts.telling import PlanSection

NOTHING_MORE = ExtraRows()

ARMS, CROSSOVERS = "What each arm gives leave for", "Crossovers and trap points"
CONFLICTS, ERRORS = "Which arms may never be off together", "Errors"
"""Headings of the chart."""

COLUMNS = 0.97
"""The share of a square's width that its columns take; the lines between them take the rest."""


def write_chart(
    report: Report,
    *,
    sheet: str = "a4",
    standing: bool = False,
    bench: ExtraRows = NOTHING_MORE,
    drawing: Diagram | None = None,
) -> str:
    """Return the chart of a plan as HTML, in ASCII so that every encoding reads it alike.

    ``sheet`` is a4, a3 or long, ``standing`` has its short side below. ``bench`` adds rows for
    drilling and parts; ``drawing`` is the plan's diagram, if it is drawn already for this sheet.
    Raises ValueError if the report has no layout.
    """
    layout, table = report.layout, report.table
    if layout is None:
        raise ValueError("there is no plan to draw")
    title = safe(layout.title or "Plan without a title")
    paper = sheet_of(sheet, standing=standing)
    pages = diagram_pages(layout, table, paper, drawing)
    paper = paper if paper.rows else pages.sheet
    diagram = "\n".join(_picture(picture, n) for n, picture in enumerate(pages.pictures, 1))
    pictures = scene_pictures(pages.sketch, table, pages.sheet.room[0])
    blocks = []
    if table is not None:
        blocks = blocks_of(square_heads(layout, matrix_rows(table)[0]), paper.room[0] * COLUMNS)
    parts = [
        f'<header><h1>{title}</h1><p class="scale">{safe(scale_of(layout))}</p></header>',
        f'<figure class="diagram" tabindex="0" aria-label="Diagram">{diagram}</figure>',
        f'<p class="verdict">{safe(_verdict(report, table))}</p>',
        _findings(report),
        _arms(layout, table) if table is not None else "",
        _crossovers(layout),
        _matrix(layout, table, blocks, paper) if table is not None else "",
        _section("Scenes", as_html(pictures)) if pictures else "",
        _posts(layout, bench),
        _parts(bench.parts),
        '<div class="closing"><div>',
        _granted(table) if table is not None else "",
        f'<p class="caution">{safe(caution_for(bench))}</p></div>',
        _legend(layout),
        "</div>",
    ]
    arms = [entry.arm for entry in table.arms] if table is not None else []
    styles = {
        "all": f"{STYLE}{measures(blocks, pictures)}",
        "print": on_paper(paper, pages),
        "screen": lighting(arms),
    }
    page = _page(title, arms, styles, "\n".join(part for part in parts if part))
    return page.encode("ascii", "xmlcharrefreplace").decode("ascii")


def caution_for(bench: ExtraRows) -> str:
    """Return the caution of a chart: with drilling or parts it warns about the tools too."""
    return CAUTION_FITTING if bench.posts or bench.parts else CAUTION


def who_sees_to_it(table: LockingTable) -> tuple[str, str]:
    """Return a sentence for the plain arms of the last column, and one for the bold arms."""
    sees = by_what(table)
    return f"Plain arms: {sees['points']}.", f"Bold arms: {sees['direct']}."


def _page(title: str, arms: list[str], styles: Mapping[str, str], body: str) -> str:
    """Return the whole page; ``title`` and ``body`` are HTML, ``styles`` are by their medium."""
    sheets = "\n".join(f'<style media="{on}">{style}</style>' for on, style in styles.items())
    return f"""<!doctype html>
<html lang="en-GB">
<head>
<meta charset="utf-8">
{content_policy(styles.values())}
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{title}: signal chart</title>
{sheets}
</head>
<body>
<main>
{switches(arms)}
{body}
</main>
</body>
</html>
"""


def _picture(picture: Picture, number: int) -> str:
    """Return a picture of the diagram for the screen, and its parts for paper if it has several."""
    whole = picture.svg
    if len(picture.crops) == 1:
        return f'<div class="picture p{number}">{whole}</div>'
    name = f"picture-{number}"
    whole = whole.replace("<svg ", f'<svg id="{name}" ', 1)
    parts = "".join(
        tag("svg", f'<use href="#{name}"/>', viewBox=" ".join(map(num, crop)), aria_hidden="true")
        + f"<figcaption>{safe(part_words(n, picture))}</figcaption>"
        for n, crop in enumerate(picture.crops, 1)
    )
    paper = f'<div class="picture parts p{number}">{parts}</div>'
    return f'<div class="picture whole">{whole}</div>\n{paper}'


def part_words(number: int, picture: Picture) -> str:
    """Return the line below a part of a picture that is too large for one page."""
    count = len(picture.crops)
    return (
        f"Part {number} of {count} of this drawing. Neighbouring parts overlap by {OVERLAP:g} mm."
    )


def scale_of(layout: Layout) -> str:
    """Return the line beside the title: the scale of the layout, and which end is up."""
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


def _matrix(layout: Layout, table: LockingTable, blocks: list[Block], paper: Sheet) -> str:
    arms, square = matrix_rows(table)
    if len(arms) < 2:
        return ""
    names = square_heads(layout, arms)
    grids = []
    for number, block in enumerate(blocks):
        rows = []
        for arm, name, letters in zip(arms, names, square, strict=True):
            cells = [
                f'<span class="{_kind(x)}">{safe(x)}</span>' if x else ""
                for x in letters[block.start : block.stop]
            ]
            rows.append((f' data-row="{safe(arm)}"', [safe(name), *cells]))
        heads = [f"<span>{safe(arm)}</span>" for arm in ("Arm", *arms[block.start : block.stop])]
        high = (len(arms) + 4) * block.type * 1.4
        kind = "square keep" if high < paper.room[1] * 0.75 else "square"
        grids.append(_grid(heads, rows, f"{kind} block-{number}", escaped=True))
    return _section(CONFLICTS, f"<p>{safe(conflict_legend(table))}</p>{''.join(grids)}")


def _kind(letter: str) -> str:
    return {"=": "self", "P": "by-points", "L": "by-locking"}.get(letter, "sometimes")


def _posts(layout: Layout, bench: ExtraRows) -> str:
    if not bench.posts:
        return ""
    rows = [("", row) for row in post_rows(bench.posts, layout)]
    return _section(DRILL, _grid(HEADS, rows, "arms", above=CAUTION_DRILLING))


def _parts(sections: Iterable[PlanSection]) -> str:
    lists = []
    for heading, entries, numbered, *_ in sections:
        kind = "ol" if numbered else "ul"
        items = "".join(f"<li>{safe(entry)}</li>" for entry in entries)
        lists.append(f"<article><h3>{safe(heading)}</h3><{kind}>{items}</{kind}></article>")
    if not lists:
        return ""
    caution = f'<p class="caution">{safe(CAUTION_DRILLING)}</p>'
    return _section(PARTS, f'{caution}<div class="scene-list">{"".join(lists)}</div>')


def _legend(layout: Layout) -> str:
    signs = "".join(f"<li>{sign}<span>{safe(text)}</span></li>" for sign, text in legend(layout))
    return _section(
        "Signs",
        f'<ul class="legend">{signs}</ul><p>{HOW_SIGNALS_ARE_DRAWN}</p>',
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
    above: str = "",
) -> str:
    """Return a table as HTML. Each row has its attributes and its cells, which are HTML too.

    ``above`` is a text that each page has above the table.
    """
    names = (h if escaped else safe(h).replace("/", "/<wbr>") for h in heads)
    columns = "".join(f'<th scope="col">{name}</th>' for name in names)
    body = []
    if above:
        above = f'<tr class="above"><td colspan="{columns.count("<th ")}">{safe(above)}</td></tr>'
    for attributes, (first, *others) in rows:
        cells = "".join(f"<td>{cell}</td>" for cell in others)
        body.append(f'<tr{attributes}><th scope="row">{first}</th>{cells}</tr>')
    return (
        f'<div class="wide" tabindex="0"><table class="{kind}">'
        f"<thead>{above}<tr>{columns}</tr></thead>\n"
        "<tbody>\n" + "\n".join(body) + "\n</tbody></table></div>"
    )
