"""The diagram that works, as one page of HTML that needs nothing else: no server, no network.

Without script, and printed, it is the diagram. Its content policy allows its own script and style
by their hashes and nothing else; the data of the plan are JSON, and the script never reads a text
of the plan as markup. Other pages take the diagram from ``component``, and its scripts and style
from ``FOLDER``.
"""

from __future__ import annotations

import json
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

from trappoint.core.findings import CAUTION
from trappoint.reporting.html_sheet import content_policy
from trappoint.reporting.outline import outline

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from trappoint.drawing.diagram import Diagram

FOLDER = Path(__file__).parent / "page"
"""The folder of the scripts and styles."""

SCRIPTS = ("locking.js", "roads.js", "targets.js", "page.js", "start.js")
"""The scripts of the diagram, in the order in which a page loads them."""

STYLE = "page.css"
"""The style of the diagram; ``sheet.css`` is that of the page around it, which has nothing else."""


def working_page(diagram: Diagram, data: Mapping[str, Any], granted: tuple[str, ...] = ()) -> str:
    """Return the page in ASCII.

    ``data`` is what ``reporting.work_data`` returns for the same plan; ``granted`` are the
    assumptions of its verdict, as sentences.
    """
    layout = diagram.sketch.layout
    title = layout.title or "Plan without a title"
    style, script = read_part(STYLE) + read_part("sheet.css"), "".join(map(read_part, SCRIPTS))
    page = _PAGE.format(
        policy=content_policy([style], [script]),
        title=escape(title),
        style=style,
        component=component(diagram.svg(heading=False), data),
        outline=_items(outline(layout, diagram.table)),
        granted=_items(granted),
        caution=escape(CAUTION),
        script=script,
    )
    return page.encode("ascii", "xmlcharrefreplace").decode("ascii")


def _items(texts: Iterable[str]) -> str:
    return "".join(f"<li>{escape(text)}</li>\n" for text in texts)


def widest_row() -> float | None:
    """Return the greatest width of a row on a page: that of a standing A4 sheet, in units."""
    from trappoint.drawing.paper import sheet_of

    return sheet_of("a4", standing=True).widest


def component(svg: str, data: Mapping[str, Any], *, level: int = 2) -> str:
    """Return the diagram that works as HTML: the drawing, its controls and its data.

    ``svg`` is the drawing, ``data`` what ``reporting.work_data`` returns for the same plan;
    ``level`` is the level of its headings. Without script only the drawing shows.
    """
    return _COMPONENT.format(svg=svg, data=_as_text(data), level=level)


def read_part(name: str) -> str:
    """Return the text of a part of the page: one of its scripts, or a style. It is ASCII."""
    return (FOLDER / name).read_text("ascii")


def _as_text(data: Mapping[str, Any]) -> str:
    """Return JSON that can stand in a script element: in ASCII, without the sign that ends it."""
    return json.dumps(data, separators=(",", ":")).replace("<", "\\u003c")


_PAGE = """<!doctype html>
<html lang="en-GB">
<head>
<meta charset="utf-8">
{policy}
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{title}</title>
<style>{style}</style>
</head>
<body>
<header><h1>{title}</h1></header>
<noscript><p>Without its script this page is the diagram alone.</p></noscript>
<main>
{component}
</main>
<footer>
<details>
<summary>What leads where, in words</summary>
<ul>
{outline}</ul>
</details>
<ul>
{granted}</ul>
<p class="caution">{caution}</p>
</footer>
<script>{script}</script>
</body>
</html>
"""

_COMPONENT = """<div class="working" data-working>
<p class="say" role="status" data-say data-script hidden></p>
<div class="bar" data-script hidden>
<fieldset><legend>Pressing the diagram</legend>
<label><input type="radio" name="mode" value="work" checked> works points and arms</label>
<label><input type="radio" name="mode" value="trains"> sets down trains</label>
<label><input type="radio" name="mode" value="road"> sets a road</label>
<label><input type="radio" name="mode" value="arm"> shows the road of an arm</label>
</fieldset>
<button type="button" data-put-back>Put all back</button>
<label><input type="checkbox" autocomplete="off" data-fit> Fit to the width</label>
</div>
<div class="bar" data-trains hidden>
<label>Set down <select autocomplete="off" data-which-train></select></label>
<button type="button" data-clear>Take up all trains</button>
</div>
<div class="bar" data-arms hidden>
<label>Road of arm <select autocomplete="off" data-which-arm></select></label>
</div>
<div class="drawing" data-drawing>
{svg}
</div>
<div class="arm-road" data-arm-road hidden></div>
<section data-frame hidden>
<h{level}>Levers</h{level}>
<div class="levers" data-levers></div>
</section>
<section data-set-road hidden>
<h{level}>The road</h{level}>
<ol data-steps></ol>
<button type="button" data-run hidden></button>
</section>
<section data-play hidden>
<h{level}>Scenes and movements</h{level}>
<div class="bar"><select aria-label="Scene or movement" autocomplete="off"></select>
<button type="button" data-choose>Show it</button>
<button type="button" data-back hidden>Back</button>
<button type="button" data-next hidden>Next</button>
<span data-count></span></div>
<ol data-lines></ol>
</section>
<details data-list data-script hidden>
<summary>All points and arms as a list</summary>
<h{level}>Points</h{level}>
<div class="lists" data-point-list></div>
<h{level}>Arms</h{level}>
<div class="lists" data-arm-list></div>
</details>
<details data-as-scene data-script hidden>
<summary>Points, arms and trains as a scene</summary>
<p>Copy this into the plan, under its scenes, and give it a name.</p>
<textarea readonly rows="12" spellcheck="false" aria-label="The scene as JSON"></textarea>
</details>
<script type="application/json" data-work-data>{data}</script>
</div>"""
