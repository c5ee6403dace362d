"""Widths of texts, for any font that the reader's machine may use.

The widths are those of DejaVu Sans, the widest of the fonts that the drawing names, so that a text
fits its room in each of them.
"""

from __future__ import annotations

from math import fsum

_HUNDREDTHS = {
    28: "'ijl", 30: "IJ", 34: " ,.:;/\\|", 36: "f-", 40: "()[]!t", 42: "r", 46: '"', 50: "*_`",
    53: "sz?", 55: "c", 58: "LFk", 60: "vxyP", 62: "TYaoe", 64: "ESbdghnpqu$0123456789{}",
    69: "KAVBRXZ", 74: "CUHN", 79: "DG&OQ", 84: "w#+<=>^~M", 100: "%mW@",
}  # fmt: skip
_WIDTHS = {char: share / 100 for share, chars in _HUNDREDTHS.items() for char in chars}
_OTHER = 0.72
_WIDE = 1.05
"""Characters of East Asian scripts and pictures."""
_FROM_HERE_WIDE = 0x1100


def width_of(text: str, size: float, *, bold: bool = False) -> float:
    """Return the room that a text of this size takes, in the units of the drawing."""
    total = fsum(
        _WIDTHS.get(char, _WIDE if ord(char) >= _FROM_HERE_WIDE else _OTHER) for char in text
    )
    return total * size * (1.1 if bold else 1.0)


def shortened(text: str, most: int = 48) -> str:
    """Return a name in one line, cut to ``most`` characters with an ellipsis."""
    clean = " ".join("".join(c if c.isprintable() else " " for c in text).split())
    return clean if len(clean) <= most else clean[: most - 1].rstrip() + "…"


def wrap(text: str, size: float, most: float) -> list[str]:
    """Break a text into lines no wider than ``most``, where its words are short enough."""
    lines: list[str] = []
    line = ""
    for word in text.split():
        longer = f"{line} {word}" if line else word
        if line and width_of(longer, size) > most:
            lines.append(line)
            line = word
        else:
            line = longer
    return [*lines, line] if line else lines
