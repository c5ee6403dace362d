"""The style sheet of the signal chart, for screen and paper, and its switches for arms."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from trappoint.drawing.paper import MARGIN
from trappoint.drawing.scene_pictures import NARROWEST, UNIT
from trappoint.drawing.scene_pictures import STYLE as SCENE_STYLE
from trappoint.drawing.svg_elements import num, safe

if TYPE_CHECKING:
    from trappoint.drawing.chart_rows import Block
    from trappoint.drawing.paper import DiagramPages, Sheet
    from trappoint.drawing.scene_pictures import ScenePicture

STYLE = (
    """
:root { color-scheme: light dark; --paper: #fff; --ink: #111; --faint: #666; --rule: #bbb;
  --shade: #e4e4e4; --stone: #f3efe6; --lit: #0a5fb4; --wash: #eef4fb; }
@media (prefers-color-scheme: dark) { :root { --paper: #16181b; --ink: #ece9e2; --faint: #a9a69e;
  --rule: #4a4d52; --shade: #33373c; --stone: #3a3832; --lit: #7ab8ff; --wash: #1f2a36; } }
@media print { :root { color-scheme: light; --paper: #fff; --ink: #000; --faint: #444;
  --rule: #999; --shade: #e4e4e4; --stone: #f3efe6; --lit: #000; --wash: #fff; } }
* { box-sizing: border-box; }
body { background: var(--paper); color: var(--ink); margin: 0;
  font: 1rem/1.45 "Gill Sans", "Gill Sans MT", Candara, "Liberation Sans", "DejaVu Sans",
  sans-serif; }
main { max-width: 96rem; margin: 0 auto; padding: 1.2rem clamp(0.8rem, 3vw, 2.5rem); }
nav { padding: 0.7rem clamp(0.8rem, 3vw, 2.5rem) 0; }
header { border-bottom: 3px double var(--ink); margin-bottom: 0.8rem; display: flex;
  flex-wrap: wrap; align-items: baseline; gap: 0.2rem 1.5rem; }
h1 { font-size: 2rem; letter-spacing: 0.02em; margin: 0 0 0.2rem; }
h2 { font-size: 1.15rem; border-bottom: 1px solid var(--rule); margin: 1.4rem 0 0.5rem; }
h3 { font-size: 1rem; margin: 0 0 0.2rem; }
p { margin: 0.4rem 0; }
.scale { color: var(--faint); margin: 0; }
.diagram { margin: 0; overflow-x: auto; }
.diagram svg { width: 100%; min-width: 46rem; height: auto; display: block; }
.verdict { font-weight: bold; }
.wide { overflow-x: auto; }
table { border-collapse: collapse; }
.arms { width: 100%; }
th, td { border: 1px solid var(--rule); padding: 0.18rem 0.45rem; text-align: left;
  vertical-align: top; }
thead th { background: var(--shade); }
label { cursor: pointer; text-decoration: underline; text-decoration-color: var(--faint);
  text-underline-offset: 0.2em; }
input[name="light"] { position: fixed; top: 0; opacity: 0; pointer-events: none; }
.square { table-layout: fixed; font-size: var(--type); line-height: 1.15; width: max-content;
  margin-top: 0.6rem; }
.square th, .square td { text-align: center; padding: 0; width: var(--cell); overflow: hidden;
  vertical-align: middle; white-space: nowrap; }
.square tr > :first-child { width: var(--head); text-align: left; padding-left: 0.4em; }
.square thead th { vertical-align: bottom; }
.square thead th:not(:first-child) span { writing-mode: vertical-rl; transform: rotate(180deg);
  padding: 0.3em 0; }
.square tr > :nth-child(5n+1) { border-right-color: var(--ink); }
.square tr:nth-child(5n) > * { border-bottom-color: var(--ink); }
.square .self { color: var(--faint); }
.square .by-locking { font-weight: bold; text-decoration: underline; }
.scene-list { display: grid; grid-template-columns: repeat(auto-fill, minmax(18rem, 1fr));
  gap: 0.6rem; }
.scene-list article { border: 1px solid var(--rule); padding: 0.5rem 0.7rem; break-inside: avoid; }
.legend { list-style: none; margin: 0; padding: 0; display: grid;
  grid-template-columns: repeat(auto-fill, minmax(17rem, 1fr)); gap: 0.25rem 1rem; }
.legend li { display: flex; gap: 0.6rem; align-items: center; break-inside: avoid; }
.sign { flex: none; }
.above td { font-weight: bold; }
.parts { display: none; } figcaption { color: var(--faint); }
.caution { border: 2px solid var(--ink); padding: 0.4rem 0.8rem; margin-top: 1.4rem;
  break-inside: avoid; }
[stroke="#111"] { stroke: var(--ink); }
[fill="#111"] { fill: var(--ink); }
svg [fill="#444"] { fill: var(--faint); }
svg [stroke="#444"] { stroke: var(--faint); }
svg .paper { fill: var(--paper); }
svg [fill="#e4e4e4"] { fill: var(--shade); }
svg [stroke="#e4e4e4"] { stroke: var(--shade); }
svg [fill="#f3efe6"] { fill: var(--stone); }
svg [stroke="#fff"][stroke-width="11"] { stroke: var(--paper); }
svg circle[fill="#fff"][stroke-width="1.8"], svg .cut circle, svg .head rect { fill: var(--paper); }
@media print {
  body { font-size: 9.5pt; line-height: 1.3; } main { max-width: none; padding: 0; }
  header { margin-bottom: 2mm; } h1 { font-size: 20pt; line-height: 1.1; }
  h2 { font-size: 12pt; margin: 4mm 0 1.5mm; break-after: avoid; } h3 { break-after: avoid; }
  .diagram, .wide { overflow: visible; } .picture { break-inside: avoid; margin: 0 auto 3mm; }
  .diagram svg { width: 100%; min-width: 0; overflow: visible; }
  .diagram .parts svg { overflow: hidden; }
  .whole { display: none; } .parts { display: block; break-inside: auto; }
  .parts svg { break-inside: avoid; } figcaption { break-before: avoid; break-after: page; }
  th, td { padding: 0.3mm 1mm; } .arms { font-size: 8.5pt; line-height: 1.2; }
  .arms th:first-child { width: 15%; } .arms td:last-child { width: 32%; }
  .arms td:nth-last-child(2) { width: 16%; }
  tr { break-inside: avoid; } thead { display: table-header-group; }
  tbody tr:first-child, tbody tr:nth-last-child(2) { break-after: avoid; }
  .crossovers-and-trap-points { break-inside: avoid; }
  section > p { break-before: avoid; break-inside: avoid; }
  h2 + p { break-after: avoid; } .verdict { break-before: avoid; }
  .wide { break-inside: auto; } .wide + .wide { break-before: page; } .keep { break-inside: avoid; }
  .closing { break-inside: avoid; display: grid; grid-template-columns: 2fr 3fr; gap: 8mm; }
  .closing h2 { margin-top: 0; } .closing .caution { margin-top: 3mm; } .closing ul { margin: 0; }
  .legend { grid-template-columns: repeat(auto-fill, minmax(52mm, 1fr)); }
  label { text-decoration: none; }
  nav, input, .unlight { display: none; }
}
"""
    + SCENE_STYLE
)
"""Style rules. Those for the diagram select by the inks of ``trappoint.drawing.svg_elements``."""

_PLAIN = re.compile(r"(edge:)?[A-Za-z0-9][A-Za-z0-9_/.-]*")
"""An id, or the id of the neighbour's arm at a held edge."""


def on_paper(sheet: Sheet, pages: DiagramPages) -> str:
    """Return style rules for one size of paper: its pages, and the width of each picture."""
    rules = [f"@page {{ {_page_size(sheet)} }}", f".scene-pictures {{ --unit: {UNIT:g}mm; }}"]
    if pages.sheet != sheet:
        rules += [
            f"@page diagram {{ {_page_size(pages.sheet)} }}",
            "header, .diagram, .scenes { page: diagram; }",
        ]
    for number, picture in enumerate(pages.pictures, 1):
        wide = max(crop.wide for crop in picture.crops) * picture.unit
        rules.append(f".p{number} {{ width: {wide:.2f}mm; }}")
    return "\n".join(rules)


def _page_size(sheet: Sheet) -> str:
    return f"size: {sheet.wide:g}mm {sheet.high:g}mm; margin: {MARGIN:g}mm;"


def measures(blocks: list[Block], pictures: list[ScenePicture]) -> str:
    """Return style rules for the measures of the square of conflicts and of the scenes."""
    rules = [
        f".block-{number} {{ --type: {block.type:g}mm; --cell: {block.cell:.2f}mm; "
        f"--head: {block.head:.2f}mm; }}"
        for number, block in enumerate(blocks)
    ]
    for number, picture in enumerate(pictures):
        rules.append(f".scene-{number} {{ --wide: {num(max(picture.width, NARROWEST))}; }}")
        rules.append(f".scene-{number} div {{ --wide: {num(picture.width)}; }}")
    return "\n".join(rules)


def lighting(arms: list[str]) -> str:
    """Return style rules that light the road of the chosen arm, without a script.

    Each arm has a hidden radio button (``switches``); its label is the arm's id in the table.
    """
    rules = []
    for arm in arms:
        if not _PLAIN.fullmatch(arm):
            continue
        at = f'[id="light-{arm}"]:checked ~'
        legs = ", ".join(
            f'{at} figure [data-lies~="{arm}:{lie}"] [data-leg="{lie}"]'
            for lie in ("left", "middle", "right")
        )
        rules.append(
            f'{at} figure .track[data-road-of~="{arm}"] path, {legs}, '
            f'{at} figure .points[data-road-of~="{arm}"] [data-leg="toe"], '
            f'{at} figure .crossing[data-road-of~="{arm}"] path '
            "{ stroke: var(--lit); stroke-width: 6; }\n"
            f'{at} figure [data-arm="{arm}"] path {{ stroke: var(--lit); stroke-width: 2.5; }}\n'
            f'{at} figure .arm[data-excluded-by~="{arm}"] {{ opacity: 0.25; }}\n'
            f'{at} section [data-row="{arm}"] {{ background: var(--wash); }}\n'
            f'[id="light-{arm}"]:focus-visible ~ section [data-row="{arm}"] '
            "{ outline: 2px solid var(--lit); }"
        )
    return "\n".join(rules)


def switches(arms: list[str]) -> str:
    """Return a group of radio buttons: one for each arm, and one for no arm."""
    buttons = ['<input type="radio" name="light" id="light" checked aria-label="Light no road">']
    buttons += [
        f'<input type="radio" name="light" id="light-{safe(arm)}" '
        f'aria-label="Light the road of arm {safe(arm)}">'
        for arm in arms
    ]
    return "".join(buttons)
