"""The drawing as SVG: one self-contained picture.

A page lights up an arm with two selectors: ``[data-road-of~="1L"]`` selects the arm and every
track, points, crossing and turntable of its road; ``[data-excluded-by~="1L"]`` selects the arms
that may never be off with it. ``data-lies`` of points holds, for each arm, how they must lie.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from trappoint.core.findings import CAUTION_SHORT
from trappoint.drawing.contents import NAME_SIZE, TRACK_SIZE
from trappoint.drawing.elements import BLADE, LIT, OPEN, RAIL, draw_node, opens_late
from trappoint.drawing.geometry import without_start
from trappoint.drawing.roads import find_roads
from trappoint.drawing.svg_elements import (
    BLUE,
    INK,
    PAPER,
    RED,
    SHADE,
    STONE,
    group,
    num,
    path,
    safe,
    tag,
    words,
)
from trappoint.drawing.symbols import draw_head, draw_signal, foot_of
from trappoint.drawing.text_width import shortened, width_of, wrap

if TYPE_CHECKING:
    from trappoint.drawing.contents import Item
    from trappoint.drawing.finding_marks import Marked
    from trappoint.drawing.graph import Node
    from trappoint.drawing.roads import Lit, RoadsDrawn
    from trappoint.drawing.sketch import Sketch
    from trappoint.drawing.slant_names import SlantName
    from trappoint.interlocking.locking_table import LockingTable

FONTS = "'Liberation Sans', Helvetica, Arial, 'DejaVu Sans', sans-serif"
MARGIN, TITLE_SIZE, SMALL = 24.0, 18.0, 8.5


def write_svg(
    drawing: Sketch,
    table: LockingTable | None = None,
    marked: Marked | None = None,
    *,
    prefix: str = "",
    heading: bool = True,
    least: float = 260.0,
    taken: set[str] | None = None,
    lit: Lit | None = None,
) -> str:
    """Return a drawing as one SVG element.

    ``table`` gives every arm its meaning and its road; ``marked`` holds the findings to list below;
    ``prefix`` begins every id, for pages with several drawings; ``least`` is the least width;
    ``taken`` holds the ids of the other sheets, and gains the new ones; ``lit`` is a road to show
    as set.
    """
    roads = find_roads(drawing.layout, table)
    roads.lit = lit
    taken = set() if taken is None else taken
    bounds = drawing.bounds()
    title = shortened(drawing.layout.title, 90) or "Plan without a title"
    width = max(bounds.right - bounds.left, width_of(title, TITLE_SIZE) if heading else 0, least)
    left, right = bounds.left - MARGIN, bounds.left + width + MARGIN
    top = bounds.top - MARGIN - (TITLE_SIZE + 16 if heading else 0)
    foot, bottom = _foot(marked, bounds.left, bounds.bottom + 16, width)
    bottom += MARGIN * 0.6
    inner = [
        tag("title", safe(f"{title}: diagram")),
        tag("desc", safe(_describe(drawing))),
        tag("rect", x=left, y=top, width=right - left, height=bottom - top, fill=PAPER,
            class_="paper"),
    ]  # fmt: skip
    if heading:
        inner.append(
            words(title, bounds.left, top + MARGIN + TITLE_SIZE * 0.7, TITLE_SIZE,
                  font_weight="bold", class_="heading")
        )  # fmt: skip
    inner += [*_layers(drawing, roads, prefix, taken), foot]
    return tag(
        "svg",
        "\n".join(part for part in inner if part) + "\n",
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"{num(left)} {num(top)} {num(right - left)} {num(bottom - top)}",
        width=num(right - left),
        height=num(bottom - top),
        role="img",
        class_="trappoint-diagram",
        font_family=FONTS,
        fill=INK,
    )


def _layers(drawing: Sketch, roads: RoadsDrawn, prefix: str, taken: set[str]) -> list[str]:
    return [
        _layer("yards", _yards(drawing, prefix, taken)),
        _layer("platforms", _platforms(drawing, prefix, taken)),
        _layer("tracks", _tracks(drawing, roads, prefix, taken)),
        _layer("elements", "".join(
            draw_node(drawing, node, roads, prefix) for node in _sorted_nodes(drawing)
        )),
        _layer("signals", _signals(drawing, roads, prefix)),
        _layer("names", _names(drawing)),
    ]  # fmt: skip


def _layer(name: str, inner: str) -> str:
    return tag("g", f"\n{inner}\n", class_=name) if inner else ""


def _describe(drawing: Sketch) -> str:
    layout = drawing.layout
    arms = sum(1 for _ in layout.arms())
    return (
        f"Track diagram, not to scale: up is on the left, down is on the right. "
        f"{len(layout.tracks)} tracks, {len(layout.points)} points, {len(layout.signals)} signals "
        f"with {arms} arms. {CAUTION_SHORT}"
    )


def _sorted_nodes(drawing: Sketch) -> list[Node]:
    # Bridges first, so that their gaps hide nothing else.
    return sorted(drawing.nodes(), key=lambda node: node.kind != "bridge")


def _foot(marked: Marked | None, left: float, top: float, width: float) -> tuple[str, float]:
    """Return the lines below the diagram (findings, caution), and the height of the last one."""
    drawn, y = [], top
    for number, finding in marked.numbered if marked else ():
        first = True
        text = f"{finding.level}: {finding.message}"
        for line in wrap(shortened(text, 2000), TRACK_SIZE, max(width - 30, 200)):
            if first:
                drawn.append(words(f" [{number}]", left, y + 10, TRACK_SIZE, fill=RED))
            drawn.append(words(line, left + 28, y + 10, TRACK_SIZE))
            first = False
            y += 13
        y += 2
    for line in wrap(CAUTION_SHORT, SMALL, max(width, 200)):
        drawn.append(words(line, left, y + 12, SMALL, font_style="italic", class_="caution"))
        y += 12
    return tag("g", "".join(drawn), class_="foot"), y


def _free(taken: set[str], name: str) -> str:
    """Return an id that no other sheet uses: a track with a cut is on two sheets."""
    part, free = 1, name
    while free in taken:
        part += 1
        free = f"{name}.{part}"
    taken.add(free)
    return free


# --- layers


def _yards(drawing: Sketch, prefix: str, taken: set[str]) -> str:
    drawn = []
    for yard in drawing.layout.yards.values():
        inside = {
            ("tracks", yard.tracks), ("points", yard.points), ("crossings", yard.crossings),
            ("turntables", yard.turntables),
        }  # fmt: skip
        of = {kind: set(members) for kind, members in inside}
        lines = [
            path(drawing.lines[piece.index], fill="none")
            for piece in drawing.pieces()
            if piece.track in of["tracks"]
        ]
        for node in drawing.nodes():
            if node.id in of.get(node.kind, ()):
                x, y = drawing.places.x[node.index], drawing.places.y[node.index]
                lines.append(
                    tag("circle", cx=x, cy=y, r=drawing.places.radii.get(node.index, 0) + 1)
                )
        shade = tag(
            "g", "".join(lines), fill=SHADE, stroke=SHADE, stroke_width="22",
            stroke_linecap="round", stroke_linejoin="round",
        )  # fmt: skip
        if not lines:
            continue
        name = yard.name or yard.id
        drawn.append(
            group("yard", shade, title=f"Yard {name}: one engine at a time, by hand signals",
                  id=_free(taken, f"{prefix}yard-{yard.id}"), data_yard=yard.id)
        )  # fmt: skip
    return "\n".join(drawn)


def _platforms(drawing: Sketch, prefix: str, taken: set[str]) -> str:
    drawn = []
    for platform in drawing.layout.platforms.values():
        inner = ""
        for piece, item in drawing.items():
            if item.kind != "platform" or item.id != platform.id:
                continue
            rail = drawing.places.rails[piece]
            top = rail - item.height if item.side == "above" else rail + 5
            height = item.height - 5
            inner += tag(
                "rect", x=item.x, y=top, width=item.width, height=height, fill=STONE, stroke=INK,
                stroke_width="1",
            )  # fmt: skip
            inner += words(
                item.text, item.x + item.width / 2, top + height / 2 + 3.6, NAME_SIZE,
                text_anchor="middle", class_="label",
            )  # fmt: skip
        if inner:
            drawn.append(
                group("platform", inner, title=f"Platform {platform.name or platform.id}",
                      id=_free(taken, f"{prefix}platform-{platform.id}"), data_platform=platform.id)
            )  # fmt: skip
    return "\n".join(drawn)


def _tracks(drawing: Sketch, roads: RoadsDrawn, prefix: str, taken: set[str]) -> str:
    drawn = []
    for track in drawing.layout.tracks.values():
        inner = ""
        for piece in drawing.pieces():
            if piece.track != track.id:
                continue
            line = drawing.lines[piece.index]
            if opens_late(drawing, piece.index, piece.left, roads):
                line = without_start(line, OPEN)
            if opens_late(drawing, piece.index, piece.right, roads):
                line = without_start(line[::-1], OPEN)[::-1]
            inner += path(line, stroke_linejoin="round")
            inner += _arrow(drawing, piece.index)
        if not inner:
            continue
        lit = roads.is_lit(("tracks", track.id))
        name = f"Track {track.id}" + (f", {track.name}" if track.name else "")
        run = "" if track.running == "both" else f", run {track.running} only"
        drawn.append(
            group(
                "track",
                inner,
                title=name + run,
                id=_free(taken, f"{prefix}track-{track.id}"),
                data_track=track.id,
                data_running=track.running,
                data_road_of=" ".join(roads.over.get(("tracks", track.id), ())),
                stroke=BLUE if lit else INK,
                stroke_width=LIT if lit else RAIL,
                fill="none",
            )
        )
    return "\n".join(drawn)


def _arrow(drawing: Sketch, piece: int) -> str:
    """Draw an arrow on a piece with trains in one direction only."""
    own = drawing.graph.pieces[piece]
    track = drawing.layout.tracks[own.track]
    if track.running == "both" or drawing.lanes.slanting[piece]:
        return ""
    line = drawing.lines[piece]
    level = [x for x, y in line if abs(y - drawing.places.rails[piece]) < 0.01]
    if len(level) < 2 or max(level) - min(level) < 2 * BLADE + 10:
        return ""
    y = drawing.places.rails[piece]
    x = _free_spot(drawing, piece, min(level), max(level))
    way = 1 if (track.running == "down") != own.turned else -1
    head = [(x - way * 5, y - 5), (x + way * 5, y), (x - way * 5, y + 5), (x - way * 5, y - 5)]
    return path(head, fill=INK, stroke="none", class_="running")


def _free_spot(drawing: Sketch, piece: int, left: float, right: float) -> float:
    """Return the middle of the longest part of a piece without the foot of a signal."""
    content = drawing.places.contents[piece]
    feet = sorted(
        foot_of(item)
        for item in (*content.above, *content.below)
        if item.kind in ("signal", "head")
    )
    spots = [left, *(foot for foot in feet if left < foot < right), right]
    _, start, stop = max((b - a, a, b) for a, b in pairwise(spots))
    return (start + stop) / 2


def _signals(drawing: Sketch, roads: RoadsDrawn, prefix: str) -> str:
    rails = drawing.places.rails
    standing = {
        (item.kind, item.id): (item, rails[piece])
        for piece, item in drawing.items()
        if item.kind in ("signal", "head")
    }
    drawn = []
    for signal in drawing.layout.signals.values():
        if ("signal", signal.id) in standing:
            item, rail = standing["signal", signal.id]
            drawn.append(draw_signal(signal, item, rail, roads, drawing.marks, prefix))
        for number, head in enumerate(signal.heads):
            if ("head", f"{signal.id}-{number}") in standing:
                item, rail = standing["head", f"{signal.id}-{number}"]
                drawn.append(draw_head(head, item, rail, prefix))
    return "\n".join(drawn)


def _names(drawing: Sketch) -> str:
    drawn = []
    for piece, item in drawing.items():
        if item.kind in ("track", "yard"):
            drawn.append(_name(drawing.places.rails[piece], item))
    for own in drawing.pieces():
        if own.index in drawing.slant_names:
            drawn.append(_slant_name(drawing.slant_names[own.index]))
    return "".join(drawn)


def _slant_name(name: SlantName) -> str:
    line = ""
    if name.leader is not None:
        line = path(name.leader, stroke="#444", stroke_width="0.7", class_="leader")
    return line + words(name.text, name.box.left, name.box.bottom - 2.5, TRACK_SIZE, fill="#444",
                        class_="label track-name")  # fmt: skip


def _name(rail: float, item: Item) -> str:
    x = item.x + item.width / 2
    if item.kind == "yard":
        return words(item.text, x, rail - 8, NAME_SIZE, text_anchor="middle", font_weight="bold",
                     class_="label yard-name")  # fmt: skip
    y = rail - 6 if item.side == "above" else rail + 12
    return words(item.text, x, y, TRACK_SIZE, text_anchor="middle", fill="#444",
                 class_="label track-name")  # fmt: skip
