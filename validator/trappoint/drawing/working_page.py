"""The diagram that works, as one page of HTML that needs nothing else: no server, no network.

Without script, and printed, it is the diagram. Its content policy allows its own script and style
by their hashes and nothing else; the data of the plan are JSON, and the script never reads a text
of the plan as markup.
"""

from __future__ import annotations

import json
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

from trappoint.core.findings import CAUTION
from trappoint.reporting.html_sheet import content_policy

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.drawing.diagram import Diagram

SCRIPTS = ("locking.js", "roads.js", "page.js")

START = """
trappointPage(document.body, JSON.parse(document.getElementById("work-data").textContent));
"""


def working_page(diagram: Diagram, data: Mapping[str, Any], granted: tuple[str, ...] = ()) -> str:
    """Return the page in ASCII.

    ``data`` is what ``reporting.work_data`` returns for the same plan; ``granted`` are the
    assumptions of its verdict, as sentences.
    """
    title = diagram.sketch.layout.title or "Plan without a title"
    style, script = read_part("page.css"), "".join(map(read_part, SCRIPTS)) + START
    page = _PAGE.format(
        policy=content_policy([style], [script]),
        title=escape(title),
        style=style,
        diagram=diagram.svg(heading=False),
        granted="".join(f"<li>{escape(sentence)}</li>\n" for sentence in granted),
        caution=escape(CAUTION),
        data=_as_text(data),
        script=script,
    )
    return page.encode("ascii", "xmlcharrefreplace").decode("ascii")


def read_part(name: str) -> str:
    """Return the text of a part of the page: one of its scripts, or its style. It is ASCII."""
    return (Path(__file__).parent / "page" / name).read_text("ascii")


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
<p class="say" role="status" data-say data-script hidden></p>
<noscript><p>Without its script this page is the diagram alone.</p></noscript>
<main>
<div class="bar" data-script hidden>
<fieldset><legend>Pressing the diagram</legend>
<label><input type="radio" name="mode" value="work" checked> works points and arms</label>
<label><input type="radio" name="mode" value="trains"> sets down trains</label>
<label><input type="radio" name="mode" value="road"> sets a road</label>
</fieldset>
<button type="button" data-put-back>Put all back</button>
<label><input type="checkbox" data-fit> Fit to the width</label>
</div>
<div class="bar" data-trains hidden>
<label for="which-train">Set down</label> <select id="which-train"></select>
<button type="button" data-clear>Take up all trains</button>
</div>
<div class="drawing" data-drawing>
{diagram}
</div>
<section data-frame hidden>
<h2>Levers</h2>
<div class="levers" data-levers></div>
</section>
<section data-set-road hidden>
<h2>The road</h2>
<ol data-steps></ol>
<button type="button" data-run hidden></button>
</section>
<section data-play hidden>
<h2>Scenes and movements</h2>
<div class="bar"><select aria-label="Scene or movement"></select>
<button type="button" data-choose>Show it</button>
<button type="button" data-back hidden>Back</button>
<button type="button" data-next hidden>Next</button>
<span data-count></span></div>
<ol data-lines></ol>
</section>
<details data-script hidden>
<summary>All points and arms as a list</summary>
<h2>Points</h2>
<div class="lists" data-point-list></div>
<h2>Arms</h2>
<div class="lists" data-arm-list></div>
</details>
</main>
<footer>
<ul>
{granted}</ul>
<p class="caution">{caution}</p>
</footer>
<script type="application/json" id="work-data">{data}</script>
<script>{script}</script>
</body>
</html>
"""
