"""The symbols of signals, in the manner of signal-box diagrams.

A signal is drawn lying beside the rails, as its driver sees it when he looks ahead. The post points
in the direction of the train, the dolls follow from his left to his right, and the arms point to
his left. A stop arm has a square end, a distant arm a fishtail; a calling-on or shunt arm is short;
a disc is round, with a bar.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.drawing.contents import (
    ARM,
    BEYOND,
    CLEAR,
    DOLL,
    FOOT,
    ID_SIZE,
    ROW,
    TRACK_SIZE,
    lies_low,
    row_text,
    rows_of,
)
from trappoint.drawing.svg_elements import INK, PAPER, RED, YELLOW, group, num, path, tag, words

if TYPE_CHECKING:
    from trappoint.drawing.contents import Item, Marks
    from trappoint.drawing.geometry import Point
    from trappoint.drawing.roads import RoadsDrawn
    from trappoint.model.layout import Arm, Head, Signal

KINDS = {
    "stop": "stop arm",
    "distant": "distant arm",
    "calling-on": "calling-on arm",
    "shunt": "shunt arm",
}


def foot_of(item: Item) -> float:
    """Return where along the rails a signal stands."""
    return item.x + FOOT if item.to_right else item.x + item.width - FOOT


def draw_signal(
    signal: Signal, item: Item, rail: float, roads: RoadsDrawn, marks: Marks, prefix: str
) -> str:
    """Draw a signal beside a rail."""
    rows = rows_of(signal)
    way = 1 if item.to_right else -1
    foot = foot_of(item)
    side = -1 if item.side == "above" else 1
    # The driver's left is above where he runs to the right.
    at = [rail + side * (CLEAR + ROW * row) for row in range(len(rows))]
    if (side == -1) == item.to_right:
        at.reverse()
        lift = 0.0
    else:
        lift = ARM - 2.0  # arms point towards the rails and need room there
    at = [y + side * lift for y in at]
    farthest = max(at, key=lambda y: abs(y - rail))
    drawn = [path([(foot, rail), (foot, farthest)], class_="post", stroke_width="1.4")]
    reach = 8.0 if lies_low(signal) else DOLL
    for y, row in zip(at, rows, strict=True):
        end = foot + way * (reach + 8.0 * (len(row) - 1))
        drawn.append(path([(foot, y), (end, y)], class_="doll", stroke_width="1.4"))
        for number, arm in enumerate(row):
            x = end - way * 8.0 * number
            drawn.append(_arm(signal, arm, x, y, way, roads, prefix))
        anchor = "start" if way == 1 else "end"
        drawn.append(
            words(
                row_text(row, signal, marks), end + way * BEYOND, y - way * 3.0 + 3.5, ID_SIZE,
                text_anchor=anchor, fill=INK, stroke="none", font_weight="bold", class_="label",
            )
        )  # fmt: skip
    base = path([(foot - 3, rail), (foot + 3, rail)], stroke_width="5", class_="foot")
    called = f" ({signal.name})" if signal.name else ""
    name = f"Signal {signal.id}{called}, for trains running {signal.heading} on {signal.track}"
    return group(
        "signal", base + "".join(drawn), title=name, id=f"{prefix}signal-{signal.id}",
        data_signal=signal.id, data_track=signal.track, data_for=signal.heading,
        stroke=INK, fill="none",
    )  # fmt: skip


def draw_head(head: Head, item: Item, rail: float, prefix: str) -> str:
    """Draw where trains stop for arms whose post stands beside another track: a hollow foot."""
    way = 1 if item.to_right else -1
    foot, side = foot_of(item), -1 if item.side == "above" else 1
    level = rail + side * (CLEAR + 5)
    line = path(
        [(foot, rail), (foot, level), (foot + way * 8, level)], class_="post",
        stroke_width="1.2", stroke_dasharray="3 2",
    )  # fmt: skip
    base = tag(
        "rect", x=foot - 3, y=rail - 3, width=6.0, height=6.0, fill=PAPER, stroke_width="1.2"
    )
    text = words(
        item.text, foot + way * 11, level + 3.2, TRACK_SIZE, fill=INK, stroke="none",
        text_anchor="start" if way == 1 else "end", class_="label",
    )  # fmt: skip
    arms = ", ".join(arm.id for arm in head.arms)
    title = (
        f"Here trains running {head.heading} on {head.track} obey {arms}, on the post of signal "
        f"{head.signal}"
    )
    return group(
        "head", line + base + text, title=title, id=f"{prefix}head-{item.id}",
        data_signal=head.signal, data_track=head.track, data_for=head.heading,
        stroke=INK, fill="none",
    )  # fmt: skip


def _arm(
    signal: Signal, arm: Arm, x: float, y: float, way: int, roads: RoadsDrawn, prefix: str
) -> str:
    off = roads.is_off(arm.id)
    shape = arm_shape(signal.form, arm.kind, x, y, way, off=off)
    kind = KINDS[arm.kind] if signal.form not in ("disc", "colour-light") else signal.form
    title = f"Arm {arm.id} ({kind}). {roads.meaning.get(arm.id, '')}".strip()
    excluded_by = sorted(a for a, others in roads.excludes.items() if arm.id in others)
    if off:
        title = f"Off: {title}"
        turns = signal.form != "colour-light"
        turn = f"rotate({45 * way} {num(x)} {num(y)})" if turns else None
        shape = tag("g", shape, class_="off", transform=turn)
    return group(
        "arm", shape, title=title, id=f"{prefix}arm-{arm.id}", data_arm=arm.id,
        data_signal=signal.id, data_kind=arm.kind, data_turn=f"{45 * way} {num(x)} {num(y)}",
        data_road=" ".join(roads.tracks.get(arm.id, ())),
        data_points=" ".join(roads.points.get(arm.id, ())),
        data_excludes=" ".join(roads.excludes.get(arm.id, ())),
        data_sometimes_excludes=" ".join(roads.sometimes.get(arm.id, ())) or None,
        data_excluded_by=" ".join(excluded_by), data_road_of=arm.id,
    )  # fmt: skip


def arm_shape(form: str, kind: str, x: float, y: float, way: int, *, off: bool = False) -> str:
    """Draw one arm, disc or light at the end of a doll that lies along the rails.

    ``off`` makes a light a hollow ring; the caller turns an arm or a disc.
    """
    if form == "colour-light":
        return _light_off(x, y, way) if off else _light(kind, x, y, way)
    if form == "disc" or kind == "shunt":
        return _disc(kind, x, y, way)
    up = -way  # the driver's left, on the page
    length = ARM if kind in ("stop", "distant") else ARM * 0.6
    thick = 5.0
    near, far = x - way * thick, x
    tip = y + up * length
    if kind == "distant":
        notch = y + up * (length - 4.5)
        points = [(near, y), (near, tip), ((near + far) / 2, notch), (far, tip), (far, y)]
        fill = YELLOW
    else:
        points = [(near, y), (near, tip), (far, tip), (far, y)]
        fill = RED if kind == "stop" else PAPER
    drawn = _closed(points, fill)
    if kind in ("stop", "distant"):
        stripe = y + up * 3.2
        drawn += path(
            [(near, stripe), (far, stripe)] if kind == "stop" else
            [(near, stripe + up * 2), ((near + far) / 2, stripe - up), (far, stripe + up * 2)],
            stroke=PAPER if kind == "stop" else INK, stroke_width="1.3",
        )  # fmt: skip
    return drawn


def _closed(points: list[Point], fill: str) -> str:
    return path([*points, points[0]], fill=fill, stroke=INK, stroke_width="1")


def _disc(kind: str, x: float, y: float, way: int) -> str:
    centre = y - way * 4.0
    circle = tag(
        "circle", cx=x - way * 2.0, cy=centre, r=4.6, fill=PAPER, stroke=INK, stroke_width="1"
    )
    fill = YELLOW if kind == "distant" else RED
    # The bar of a disc lies level; the driver's level is across the rails.
    bar = tag(
        "rect", x=x - way * 2.0 - 1.3, y=centre - 4.6, width=2.6, height=9.2, fill=fill,
        stroke=INK, stroke_width="0.6",
    )  # fmt: skip
    return circle + bar


def _light_off(x: float, y: float, way: int) -> str:
    return tag(
        "circle", cx=x - way, cy=y - way * 3.0, r=4.0, fill=PAPER, stroke=INK, stroke_width="2.4"
    )


def _light(kind: str, x: float, y: float, way: int) -> str:
    radius = 4.8 if kind in ("stop", "distant") else 3.2
    centre = y - way * 3.0
    fill = {"stop": RED, "distant": YELLOW}.get(kind, PAPER)
    cx = x - way * 1.0
    circle = tag("circle", cx=cx, cy=centre, r=radius, fill=fill, stroke=INK, stroke_width="1")
    if kind == "stop":
        return circle + tag("circle", cx=cx, cy=centre, r=1.6, fill=PAPER, stroke="none")
    if kind == "distant":
        corner = [(cx - 2.6, centre - 2.4), (cx, centre + 2.0), (cx + 2.6, centre - 2.4)]
        return circle + path(corner, stroke=INK, stroke_width="1.2", fill="none")
    return circle
