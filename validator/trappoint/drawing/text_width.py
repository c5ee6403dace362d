"""Widths of texts, for any font that the reader's machine may use.

Each character is as wide as in the wider of Liberation Sans and DejaVu Sans, so that a text fits
its room in both. ``tests/drawing/test_labels.py`` holds them against both.
"""

# ruff: noqa: RUF001 -- letters of other scripts that look like Latin ones are meant here

from __future__ import annotations

from functools import cache
from math import fsum
from unicodedata import combining, normalize

_HUNDREDTHS = {
    28: "'ijlıіј",
    31: "IłΙІ",
    34: " ,./:;\\|¦·ι‘’",
    37: "-f",
    40: "()[]tľŧ",
    43: "!r¡",
    47: "\"Ί",
    51: "*J`¨°´¸Ј",
    54: "szгзѕґ“”„",
    56: "?L_c§¯εζνξсэє–",
    59: "kĸŁΓκςυвь",
    62: "FTaeovxy«»¿ðøŦΤγδθλοτχГТабекоухчяҐ",
    65: "$0123456789bdghnpqu{}¢£¤¥¶ßþđŋΞΣβημρσЗУилрђ€",
    67: "EKPSYÞΕΚΡΥαφϏЅЕРнпћџ",
    70: "ABVXZħΆΑΒΔΖΛΧπАБВХЧЬдц",
    73: "CRψЄКСЭЯъ",
    76: "HNUŊΗΝΠЏИЛНПм",
    79: "&DGOQÐØĐΈΘΟΩДОы",
    84: "#+<=>^w~¬±×÷ΌΦΨωЦЪт",
    88: "MŉΎΜЂЋМФфю",
    93: "ĦΉΏЫжљњ",
    98: "%m¼½¾шщ",
    101: "W©®Ææ—…",
    106: "@œЊ",
    112: "ŒЉЖШЮ",
    121: "Щ",
}  # fmt: skip
_WIDTHS = {char: share / 100 for share, chars in _HUNDREDTHS.items() for char in chars}
_OTHER = 1.0
_WIDE = 1.05
"""Characters of East Asian scripts and pictures."""
_FROM_HERE_WIDE = 0x1100
_BOLDER = 0.13
"""The extra width of each bold character, as a share of the size of the letters."""


def width_of(text: str, size: float, *, bold: bool = False) -> float:
    """Return the room that a text of this size takes, in the units of the drawing."""
    total = fsum(_width(char) for char in text)
    return (total + (_BOLDER * len(text) if bold else 0.0)) * size


def width_with_marks(text: str, size: float) -> float:
    """Return the room of a text with the numbers of findings at its end, which are bold."""
    bare, bracket, numbers = text.partition(" [")
    return width_of(bare, size) + width_of(bracket + numbers, size, bold=True)


@cache
def _width(char: str) -> float:
    """Return the width of a character; a letter with an accent is as wide as without."""
    known = _WIDTHS.get(char)
    if known is not None:
        return known
    if combining(char):
        return 0.0
    parts = [_WIDTHS.get(part) for part in normalize("NFKD", char) if not combining(part)]
    if parts and None not in parts:
        return fsum(part for part in parts if part)
    return _WIDE if ord(char) >= _FROM_HERE_WIDE else _OTHER


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
