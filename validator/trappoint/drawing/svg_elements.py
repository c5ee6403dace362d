"""Writing SVG: numbers, texts and elements, everything escaped."""

from __future__ import annotations

import re
from functools import cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.drawing.geometry import Point

_ESCAPES = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#39;"})
_FORBIDDEN = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""The characters that XML 1.0 (section 2.2) does not allow."""

INK, PAPER, SHADE, STONE, RED, YELLOW, BLUE = (
    "#111", "#fff", "#e4e4e4", "#f3efe6", "#c22a1f", "#f2c230", "#1a56b0"
)  # fmt: skip
"""The colours of ink and paper, yards, platforms, stop arms, distant arms and a lit road. Shape or
thickness always carries the same meaning as a colour."""


def safe(text: str) -> str:
    """Return a text as it may stand in XML: escaped, without characters that XML forbids."""
    return _FORBIDDEN.sub("\ufffd", text).translate(_ESCAPES)


def num(value: float) -> str:
    """Write a number, to a tenth."""
    text = f"{value:.1f}"
    text = text.removesuffix(".0")
    return "0" if text == "-0" else text


def tag(name: str, inner: str = "", **attributes: object) -> str:
    """Write an element. ``_`` in names of attributes stands for ``-``; None leaves one out."""
    written = "".join(
        f' {_attribute(key)}="{_value(value)}"'
        for key, value in attributes.items()
        if value is not None
    )
    return f"<{name}{written}>{inner}</{name}>" if inner else f"<{name}{written}/>"


@cache
def _attribute(key: str) -> str:
    return key.strip("_").replace("_", "-")


def _value(value: object) -> str:
    return num(value) if isinstance(value, float) else safe(str(value))


def path(line: Iterable[Point], **attributes: object) -> str:
    """Write a line through points."""
    steps = " L".join(f"{num(x)} {num(y)}" for x, y in line)
    return tag("path", "", d=f"M{steps}", **attributes)


def words(text: str, x: float, y: float, size: float, **attributes: object) -> str:
    """Return a text element; the numbers of findings in brackets at its end are bold."""
    bare, bracket, rest = text.partition(" [")
    inner = safe(bare)
    if bracket:
        marks = tag("tspan", safe(f"[{rest}"), font_weight="bold", fill=RED, class_="mark")
        inner += f" {marks}"
    return tag("text", inner, x=x, y=y, font_size=size, **attributes)


def group(kind: str, inner: str, *, title: str, **attributes: object) -> str:
    """Return a group with a title, for tooltips and screen readers."""
    return tag("g", f"{tag('title', safe(title))}{inner}", class_=kind, **attributes)
