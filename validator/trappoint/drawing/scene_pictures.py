"""The scenes on the wall chart: small diagrams with their arms and trains.

A small plan is shown whole, of a large one the part that the scene concerns. Letters on paper are
as high as the smallest ones of the diagram.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING, Any, NamedTuple

from trappoint.drawing.moment import moment_of_scene
from trappoint.drawing.paper import LEAST
from trappoint.drawing.scene_parts import parts_of
from trappoint.drawing.svg import MARGIN, write_svg
from trappoint.drawing.svg_elements import safe
from trappoint.drawing.trains import place_trains
from trappoint.model.names import Names, with_id

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.drawing.moment import Moment
    from trappoint.drawing.scene_parts import Part
    from trappoint.drawing.sketch import Sketch
    from trappoint.interlocking.locking_table import LockingTable

UNIT = LEAST
"""The length of a unit of the drawing on paper, in mm: letters are 10 units high at least."""

BORDER = MARGIN
"""The empty border of a picture, in units."""

NARROWEST = 300.0
"""The least width of a picture with its words, in units."""

NOTE = "Dark blocks are trains. Arms that slope are off; a light that is off is a ring."


class ScenePicture(NamedTuple):
    """A scene on the chart."""

    title: str
    svg: str
    """Empty for a scene without points, arms and trains."""
    width: float
    """The width of the picture, in units of the drawing."""
    height: float
    words: str
    """The lies of points, and names that the picture does not show, in sentences."""


def scene_pictures(sketch: Sketch, table: LockingTable | None, room: float) -> list[ScenePicture]:
    """Return a picture for each scene, in order; one for each row of the drawing that it concerns.

    ``room`` is the width of the paper between its margins, in mm.
    """
    names = Names(sketch.layout)
    found = []
    for number, scene in enumerate(sketch.layout.scenes.values(), 1):
        moment = moment_of_scene(sketch.layout, scene)
        title, words = names.called("scenes", scene.id), _words(sketch, moment)
        parts = _parts(sketch, moment, table, room)
        for part, shown in enumerate(parts, 1):
            svg = write_svg(
                replace(sketch, shown=shown), moment=moment, prefix=f"scene-{number}-{part}-",
                heading=False, caution=False, border=BORDER, least=0.0,
            )  # fmt: skip
            of_all = f", part {part} of {len(parts)}" if len(parts) > 1 else ""
            own = words if part == len(parts) else ""
            found.append(ScenePicture(f"{title}{of_all}", svg, *_size(svg), own))
        if not parts:
            found.append(ScenePicture(title, "", 0.0, 0.0, words))
    return found


def _parts(
    sketch: Sketch, moment: Moment, table: LockingTable | None, room: float
) -> list[Part | None]:
    """Return what to show, None for the whole plan: if two such pictures fit side by side."""
    bounds = sketch.bounds()
    width = bounds.right - bounds.left + 2 * BORDER
    if not sketch.rows and width * UNIT * 2 < room:
        return [None]
    return [*parts_of(sketch, moment, table)]


def _size(svg: str) -> tuple[float, float]:
    """Return the width and the height that an SVG states."""
    wide, high = (re.search(rf'<svg [^>]*\b{side}="([0-9.]+)"', svg) for side in _SIDES)
    return float(wide[1]) if wide else 0.0, float(high[1]) if high else 0.0


_SIDES = ("width", "height")


def _words(sketch: Sketch, moment: Moment) -> str:
    """Return the lies of points in words, and the names that trains in the picture do not have."""
    words = moment.lies_in_words(sketch.layout)
    trains = []
    for block in place_trains(sketch, moment.trains):
        if not block.text:
            trains.append(block.train.words)
        elif block.text != block.train.name:
            trains.append(with_id(block.train.name, block.train.train))
    return f"{words} Trains: {'; '.join(trains)}." if trains else words


def as_html(pictures: list[ScenePicture]) -> str:
    """Return the pictures as HTML, beside each other as far as the page is wide.

    The style of each has ``--wide`` for its class, ``scene-0`` and so on.
    """
    articles = "".join(
        f'<article class="scene-{number}"><h3>{safe(each.title)}</h3>'
        f"{_shown(each)}<p>{safe(each.words)}</p></article>"
        for number, each in enumerate(pictures)
    )
    return f'<p>{safe(NOTE)}</p><div class="scene-pictures">{articles}</div>'


def _shown(each: ScenePicture) -> str:
    return f"<div>{each.svg}</div>" if each.svg else ""


STYLE = """
.scene-pictures { display: flex; flex-wrap: wrap; gap: 0.6rem; align-items: flex-start;
  --unit: 1.15px; }
.scene-pictures article { border: 1px solid var(--rule); padding: 0.4rem 0.5rem;
  break-inside: avoid; width: calc(var(--wide) * var(--unit) + 1rem + 2px); max-width: 100%; }
.scene-pictures article div { overflow-x: auto; }
.scene-pictures svg { width: calc(var(--wide) * var(--unit)); height: auto; display: block; }
svg .train [fill="#fff"] { fill: var(--paper); }
svg .train [stroke="#fff"] { stroke: var(--paper); }
@media print {
  .scene-pictures { gap: 2mm; font-size: 8.5pt; }
  .scene-pictures article { padding: 1mm 0; border-width: 1px 0;
    width: calc(var(--wide) * var(--unit)); max-width: none; }
  .scene-pictures h3 { font-size: 9.5pt; }
  .scenes > p { break-after: avoid; }
  .scene-pictures article div { overflow: hidden; }
}
"""
"""Style rules for the chart: ``UNIT`` for each unit on paper."""


# --- PDF


def as_flowables(
    pictures: list[ScenePicture], kit: Any, styles: Any, room: tuple[float, float]
) -> Iterator[Any]:
    """Yield rows of pictures for a document; ``kit`` is ``reportlab.platypus``.

    ``room`` is the width and the height of the page between its margins, in points.
    """
    note = kit.Paragraph(safe(NOTE), styles["BodyText"])
    note.keepWithNext = 1
    yield note
    row: list[ScenePicture] = []
    for picture in pictures:
        if row and sum(map(_room_of, [*row, picture])) > room[0]:
            yield _row(row, kit, styles, room)
            row = []
        row.append(picture)
    if row:
        yield _row(row, kit, styles, room)


POINT = 72 / 25.4
PAD = 4.0
"""A millimetre in points, and the room around a picture in points."""


def _room_of(picture: ScenePicture) -> float:
    """Return the width of a picture on paper, in points."""
    return max(picture.width, NARROWEST) * UNIT * POINT + 2 * PAD


def _row(row: list[ScenePicture], kit: Any, styles: Any, room: tuple[float, float]) -> Any:
    body = styles["BodyText"]
    widths = [min(_room_of(picture), room[0]) for picture in row]
    cells = []
    for picture, width in zip(row, widths, strict=True):
        cell = [kit.Paragraph(f"<b>{safe(picture.title)}</b>", body)]
        if picture.svg:
            cell.append(_drawn(picture, (width - 2 * PAD, room[1] - 120)))
        cells.append([*cell, kit.Paragraph(safe(picture.words), body)])
    style = [
        ("BOX", (0, 0), (-1, -1), 0.4, "#999999"),
        ("INNERGRID", (0, 0), (-1, -1), 0.4, "#999999"),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        *((f"{side}PADDING", (0, 0), (-1, -1), PAD) for side in ("LEFT", "RIGHT")),
    ]
    return kit.Table([cells], colWidths=widths, style=style, hAlign="LEFT", spaceAfter=4)


def _drawn(picture: ScenePicture, room: tuple[float, float]) -> Any:
    """Return a picture as an object of reportlab; smaller only if it is larger than the room."""
    from trappoint.drawing.export import read_drawing

    drawn = read_drawing(picture.svg)
    width = min(
        picture.width * UNIT * POINT, room[0], room[1] * picture.width / max(picture.height, 1.0)
    )
    scale = width / drawn.width
    drawn.scale(scale, scale)
    drawn.width, drawn.height = width, drawn.height * scale
    return drawn
