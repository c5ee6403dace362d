"""The drawing as SVG: one self-contained picture.

A page lights up an arm with two selectors: ``[data-road-of~="1L"]`` selects the arm and every
track, points, crossing and turntable of its road; ``[data-excluded-by~="1L"]`` selects the arms
that may never be off with it. ``data-lies`` of points holds, for each arm, how they must lie.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import CAUTION_SHORT
from trappoint.core.terminal import plural
from trappoint.drawing.arrows import points_of_arrow
from trappoint.drawing.contents import NAME_SIZE, TRACK_SIZE
from trappoint.drawing.elements import LIT, OPEN, RAIL, draw_leader, draw_node, opens_late
from trappoint.drawing.foot import draw_foot
from trappoint.drawing.geometry import Box, along, without_start
from trappoint.drawing.leaders import anchor
from trappoint.drawing.platforms import EDGE
from trappoint.drawing.roads import find_roads
from trappoint.drawing.svg_elements import (
    BLUE,
    INK,
    PAPER,
    SHADE,
    STONE,
    group,
    num,
    path,
    safe,
    tag,
    words,
)
from trappoint.drawing.symbols import draw_head, draw_signal
from trappoint.drawing.text_width import shortened, width_of
from trappoint.drawing.trains import draw_trains, place_trains

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.drawing.contents import Item
    from trappoint.drawing.finding_marks import Marked
    from trappoint.drawing.graph import DrawnPiece, Node
    from trappoint.drawing.loose_names import LooseName
    from trappoint.drawing.moment import Moment
    from trappoint.drawing.roads import RoadsDrawn
    from trappoint.drawing.sketch import Sketch
    from trappoint.interlocking.locking_table import LockingTable

FONTS = "'Liberation Sans', Helvetica, Arial, 'DejaVu Sans', sans-serif"
MARGIN, TITLE_SIZE, TITLE, BEFORE_FOOT = 18.0, 18.0, 34.0, 16.0
"""The border; the size of the title's letters, and its room; the room above the foot."""

END = 8.0
"""The radius of the spot at the end of a track, and its distance from that end."""

NARROW = 2.0
"""The border of a drawing without a frame."""


def write_svg(
    drawing: Sketch,
    table: LockingTable | None = None,
    marked: Marked | None = None,
    *,
    prefix: str = "",
    heading: bool = True,
    caution: bool = True,
    border: float = MARGIN,
    least: float = 260.0,
    taken: set[str] | None = None,
    moment: Moment | None = None,
) -> str:
    """Return a drawing as one SVG element.

    ``table`` gives every arm its meaning and its road; ``marked`` holds the findings to list below;
    ``prefix`` begins every id, for pages with several drawings; ``caution`` adds the caution, for
    drawings without one beside them; ``border`` is the empty border; ``least`` is the least width;
    ``taken`` holds the ids of the other sheets, and gains the new ones; ``moment`` is a scene
    or a road to show.
    """
    roads = find_roads(drawing.layout, table)
    roads.moment = moment
    bounds, title = drawing.bounds(), _title(drawing, moment)
    width = max(bounds.right - bounds.left, width_of(title, TITLE_SIZE) if heading else 0, least)
    left, top = bounds.left - border, bounds.top - border - (TITLE if heading else 0)
    foot, bottom = "", bounds.bottom + border * 0.4
    if caution:
        foot, bottom = draw_foot(marked, bounds.left, bounds.bottom + BEFORE_FOOT, width)
    paper = Box(left, top, bounds.left + width + border, bottom + border * 0.6)
    inner = [
        tag("title", safe(title if moment is not None else f"{title}: diagram")),
        tag("desc", safe(_describe(drawing, moment))),
        tag("rect", x=paper.left, y=paper.top, width=paper.right - paper.left,
            height=paper.bottom - paper.top, fill=PAPER, class_="paper"),
        words(title, bounds.left, top + border + TITLE_SIZE * 0.7, TITLE_SIZE,
              font_weight="bold", class_="heading") if heading else "",
        *_layers(drawing, roads, prefix, set() if taken is None else taken),
        foot,
    ]  # fmt: skip
    return _picture(paper, "\n".join(part for part in inner if part) + "\n")


def _picture(paper: Box, inner: str) -> str:
    wide, high = num(paper.right - paper.left), num(paper.bottom - paper.top)
    return tag(
        "svg",
        inner,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"{num(paper.left)} {num(paper.top)} {wide} {high}",
        width=wide,
        height=high,
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
        _layer("trains", _trains(drawing, roads)),
    ]  # fmt: skip


def _layer(name: str, inner: str) -> str:
    return tag("g", f"\n{inner}\n", class_=name) if inner else ""


def _trains(drawing: Sketch, roads: RoadsDrawn) -> str:
    if roads.moment is None:
        return ""
    return draw_trains(drawing, place_trains(drawing, roads.moment.trains))


def _title(drawing: Sketch, moment: Moment | None) -> str:
    title = shortened(drawing.layout.title, 90) or "Plan without a title"
    return title if moment is None else f"{title}: {shortened(moment.title, 90)}"


def _describe(drawing: Sketch, moment: Moment | None) -> str:
    layout = drawing.layout
    shown = f"{moment.words(layout)} " if moment is not None else ""
    arms = sum(1 for _ in layout.arms())
    return (
        f"Track diagram, not to scale: up is on the left, down is on the right. "
        f"{plural(len(layout.tracks), 'track')}, {len(layout.points)} points, "
        f"{plural(len(layout.signals), 'signal')} with {plural(arms, 'arm')}. "
        f"{shown}{CAUTION_SHORT}"
    )


def _sorted_nodes(drawing: Sketch) -> list[Node]:
    # Bridges first, so that their gaps hide nothing else.
    return sorted(drawing.nodes(), key=lambda node: node.kind != "bridge")


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


def _ends(drawing: Sketch, piece: DrawnPiece) -> str:
    """Draw a spot at each end of a track that nobody sees: a page lets people press it."""
    line, spots = drawing.lines[piece.index], ""
    ends = ("down", "up") if piece.turned else ("up", "down")
    for node, way, end in zip((piece.left, piece.right), (line, line[::-1]), ends, strict=True):
        if drawing.graph.nodes[node].kind not in ("cut", "bend", "bridge"):
            x, y = along(way, END)
            spots += tag(
                "circle", cx=round(x, 2), cy=round(y, 2), r=END, fill="none", stroke="none",
                pointer_events="all", data_track=piece.track, data_end=end,
            )  # fmt: skip
    return spots


def _platforms(drawing: Sketch, prefix: str, taken: set[str]) -> str:
    drawn = []
    for platform in drawing.layout.platforms.values():
        own = [
            (drawing.places.rails[piece], item)
            for piece, item in drawing.items()
            if item.kind == "platform" and item.id == platform.id
        ]
        inner = "".join(
            _platform(item, top, bottom) for item, top, bottom in _platform_heights(own)
        )
        if inner:
            drawn.append(
                group("platform", inner, title=f"Platform {platform.name or platform.id}",
                      id=_free(taken, f"{prefix}platform-{platform.id}"), data_platform=platform.id)
            )  # fmt: skip
    return "\n".join(drawn)


def _platform_heights(own: list[tuple[float, Item]]) -> Iterator[tuple[Item, float, float]]:
    """Yield each rectangle of a platform with its top and bottom: one for two that are shared.

    ``own`` holds the items of the platform, each with the height of its rails.
    """
    done: set[int] = set()
    for rail, item in sorted(own, key=lambda pair: pair[0]):
        if id(item) in done:
            continue
        others = [
            (below, other)
            for below, other in own
            if item.shared and other.shared and item.side == "below" and other.side == "above"
            and below > rail and abs(item.x - other.x) < 0.1
        ]  # fmt: skip
        if others:
            below, other = min(others, key=lambda pair: pair[0])
            done.add(id(other))
            yield item, rail + EDGE, below - EDGE
        elif item.side == "above":
            yield item, rail - item.height, rail - EDGE
        else:
            yield item, rail + EDGE, rail + item.height


def _platform(item: Item, top: float, bottom: float) -> str:
    """Draw one rectangle of a platform with its name."""
    return tag(
        "rect", x=item.x, y=top, width=item.width, height=bottom - top, fill=STONE, stroke=INK,
        stroke_width="1",
    ) + words(
        item.text, item.x + item.width / 2, (top + bottom) / 2 + 3.6, NAME_SIZE,
        text_anchor="middle", class_="label",
    )  # fmt: skip


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
            inner += path(line, stroke_linejoin="round") + _ends(drawing, piece)
            arrow = points_of_arrow(drawing, piece.index)
            if arrow:
                inner += path(arrow, fill=INK, stroke="none", class_="running")
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
    shown = {piece.index for piece in drawing.pieces()}
    drawn += [_loose_name(name) for name in drawing.loose_names if name.piece in shown]
    return "".join(drawn)


def _loose_name(name: LooseName) -> str:
    line, x, at = "", name.box.left, "start"
    if name.leader is not None:
        line = draw_leader(name.leader)
        x, at = anchor(name.box, name.leader)
    if name.is_yard:
        return line + words(name.text, x, name.box.bottom - 2.5, NAME_SIZE, text_anchor=at,
                            font_weight="bold", class_="label yard-name")  # fmt: skip
    return line + words(name.text, x, name.box.bottom - 2.5, TRACK_SIZE, text_anchor=at,
                        fill="#444", class_="label track-name")  # fmt: skip


def _name(rail: float, item: Item) -> str:
    x = item.x + item.width / 2
    if item.kind == "yard":
        return words(item.text, x, rail - 8, NAME_SIZE, text_anchor="middle", font_weight="bold",
                     class_="label yard-name")  # fmt: skip
    y = rail - 8 if item.side == "above" else rail + 13
    return words(item.text, x, y, TRACK_SIZE, text_anchor="middle", fill="#444",
                 class_="label track-name")  # fmt: skip
