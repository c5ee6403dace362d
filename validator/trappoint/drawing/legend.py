"""The legend of the diagram: each sign that the plan uses, with its meaning."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.drawing.contents import is_own
from trappoint.drawing.elements import RAIL
from trappoint.drawing.svg_elements import INK, PAPER, SHADE, STONE, path, tag
from trappoint.drawing.symbols import arm_shape

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.model.layout import Layout

WIDE, HIGH = 54.0, 26.0

HOW_SIGNALS_ARE_DRAWN = (
    "Each signal is drawn lying beside the rails, as its driver sees it. Its post points in the "
    "direction of his train and is on his side of the line; the arms of a bracket follow from his "
    "left to his right."
)
"""The sentences below the legend."""


def legend(layout: Layout) -> list[tuple[str, str]]:
    """Return each sign as a small SVG, with its meaning."""
    return list(_signs(layout))


def _signs(layout: Layout) -> Iterator[tuple[str, str]]:
    yield from _signal_signs(layout)
    yield from _element_signs(layout)
    yield from _track_signs(layout)
    yield from _place_signs(layout)


def _signal_signs(layout: Layout) -> Iterator[tuple[str, str]]:
    shown = {(signal.form, arm.kind) for signal in layout.signals.values() for arm in signal.arms}
    for form, kind, meaning in _ARMS:
        forms = ("upper-quadrant", "lower-quadrant") if form == "arm" else (form,)
        if any((own, kind) in shown for own in forms):
            yield _sign(_post(form, kind)), meaning
    if any(not is_own(h, signal) for signal in layout.signals.values() for h in signal.heads):
        foot = path([(14, 20), (14, 9), (26, 9)], stroke=INK, stroke_dasharray="3 2", fill="none")
        base = tag("rect", x=11, y=17, width=6, height=6, fill=PAPER, stroke=INK)
        yield (
            _sign(_rail([(4, 20), (50, 20)]) + foot + base),
            "stop here for the named arms; their post is beside another track",
        )


def _element_signs(layout: Layout) -> Iterator[tuple[str, str]]:
    if layout.points:
        yield (
            _sign(
                _rail([(4, 18), (50, 18)]) + _rail([(24, 13.3), (32, 4)]),
            ),
            "points in their normal lie; a gap marks the other leg",
        )
    slips = [c for c in layout.crossings.values() if c.kind != "diamond"]
    if layout.crossings:
        yield _sign(_rail([(4, 13), (50, 13)]) + _rail([(16, 24), (38, 2)])), "crossing"
    if slips:
        link = path([(18, 13), (27, 11.5), (35, 5)], stroke=INK, stroke_width="1.6", fill="none")
        yield (
            _sign(_rail([(4, 13), (50, 13)]) + _rail([(16, 24), (38, 2)]) + link),
            "slip: the short line joins two roads of the crossing",
        )


def _track_signs(layout: Layout) -> Iterator[tuple[str, str]]:
    ends = [end for track in layout.tracks.values() for end in (track.up, track.down)]
    if any(end.kind == "buffer" for end in ends):
        stop = path([(44, 7), (44, 19)], stroke=INK, stroke_width="3.2")
        yield _sign(_rail([(4, 13), (44, 13)]) + stop), "buffer"
    if any(end.kind == "edge" for end in ends):
        dashes = _rail([(36, 13), (39, 13)]) + _rail([(42, 13), (44, 13)])
        yield _sign(_rail([(4, 13), (33, 13)]) + dashes), "the line leaves the plan"
    yield from _joints([end.name for end in ends if end.kind == "joint"])
    if any(track.running != "both" for track in layout.tracks.values()):
        arrow = path([(22, 8), (32, 13), (22, 18), (22, 8)], fill=INK)
        yield _sign(_rail([(4, 13), (50, 13)]) + arrow), "trains run this way only"


def _place_signs(layout: Layout) -> Iterator[tuple[str, str]]:
    if layout.platforms:
        stone = tag("rect", x=6, y=3, width=42, height=12, fill=STONE, stroke=INK)
        yield _sign(stone + _rail([(4, 20), (50, 20)])), "platform"
    if layout.yards:
        shade = tag("rect", x=4, y=3, width=46, height=20, rx=10, fill=SHADE)
        yield (
            _sign(shade + _rail([(8, 13), (46, 13)])),
            "yard: one engine at a time, by hand signals",
        )
    if layout.turntables:
        table = tag("circle", cx=27, cy=13, r=9, fill=PAPER, stroke=INK, stroke_width="1.8")
        yield _sign(_rail([(4, 13), (50, 13)]) + table), "turntable, traverser or sector plate"


def _joints(names: list[str]) -> Iterator[tuple[str, str]]:
    rail = _rail([(4, 13), (50, 13)])
    # The id of a joint between boards names both: BOARD:EDGE+BOARD:EDGE.
    if any(":" not in name for name in names):
        tick = path([(27, 8), (27, 18)], stroke=INK, stroke_width="1.4")
        yield _sign(rail + tick), "joint of two tracks, or of two boards"
    if any(":" in name for name in names):
        line = path([(27, 5), (27, 23)], stroke=INK, stroke_width="1.4", stroke_dasharray="4 2.5")
        yield _sign(rail + line), "two boards meet"


_ARMS = (
    ("arm", "stop", "stop arm: a square end, a white stripe"),
    ("arm", "distant", "distant arm: a fishtail, a chevron"),
    ("arm", "calling-on", "calling-on arm: short and white"),
    ("arm", "shunt", "shunt arm or disc: round, with a bar"),
    ("disc", "stop", "disc: round, with a bar; trains stop at it"),
    ("disc", "shunt", "shunting disc: round, with a bar"),
    ("disc", "distant", "distant shown by a disc: its bar is yellow"),
    ("disc", "calling-on", "calling-on shown by a disc"),
    ("colour-light", "stop", "stop signal with lights: a white spot"),
    ("colour-light", "distant", "distant signal with lights: a chevron"),
    ("colour-light", "calling-on", "calling-on light: small and white"),
    ("colour-light", "shunt", "shunting light: small and white"),
)


def _post(form: str, kind: str) -> str:
    post = path([(14, 23), (14, 17), (34, 17)], stroke=INK, stroke_width="1.4", fill="none")
    foot = path([(11, 23), (17, 23)], stroke=INK, stroke_width="4")
    own = "upper-quadrant" if form == "arm" else form
    return _rail([(4, 23), (50, 23)]) + foot + post + arm_shape(own, kind, 34.0, 17.0, 1)


def _rail(line: list[tuple[float, float]]) -> str:
    return path(line, stroke=INK, stroke_width=RAIL, fill="none")


def _sign(inner: str) -> str:
    return tag(
        "svg", inner, viewBox=f"0 0 {WIDE:g} {HIGH:g}", width=WIDE, height=HIGH,
        class_="sign", aria_hidden="true",
    )  # fmt: skip
