"""Fonts for paper: DejaVu Sans, which has Latin, Greek, Cyrillic and more, embedded as far as used.

``matplotlib`` carries it in its wheel (the extra ``pdf``); nothing but its files is used. Where it
is not installed, the fonts that every PDF reader has are taken, which have Western letters alone.
"""

from __future__ import annotations

from functools import cache
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from typing import Any

FAMILY = "DejaVu Sans"
"""What the fonts are called in a document, where they are there."""

_FILES = (
    ("normal", "normal", "DejaVuSans"),
    ("bold", "normal", "DejaVuSans-Bold"),
    ("normal", "italic", "DejaVuSans-Oblique"),
    ("bold", "italic", "DejaVuSans-BoldOblique"),
)
"""Weight, style, and the name of the file."""


@cache
def has_fonts() -> bool:
    """Make the fonts known to reportlab and svglib. False where they are not installed."""
    found = find_spec("matplotlib")
    if found is None or found.origin is None:
        return False
    folder = Path(found.origin).parent / "mpl-data" / "fonts" / "ttf"
    if not all((folder / f"{name}.ttf").is_file() for _, _, name in _FILES):
        return False
    metrics: Any = import_module("reportlab.pdfbase.pdfmetrics")
    files: Any = import_module("reportlab.pdfbase.ttfonts")
    drawn: Any = import_module("svglib.fonts")
    for weight, style, name in _FILES:
        metrics.registerFont(files.TTFont(name, str(folder / f"{name}.ttf")))
        drawn.register_font(FAMILY, weight=weight, style=style, rlgFontName=name)
    metrics.registerFontFamily(_FILES[0][2], *(name for _, _, name in _FILES))
    return True


def font_of(*, bold: bool = False) -> str | None:
    """Return the name of a font as reportlab knows it; None where its own are to be taken."""
    return _FILES[bold][2] if has_fonts() else None
