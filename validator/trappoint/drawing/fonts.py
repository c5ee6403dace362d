"""Fonts for paper: DejaVu Sans, which has Latin, Greek, Cyrillic and more, embedded as far as used.

The files in ``dejavu`` are those of its release 2.37, with their licence. The fonts that every PDF
reader has, and those of reportlab, have Western letters alone.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

from trappoint.drawing.extras import load

FAMILY = "DejaVu Sans"
"""What the fonts are called in a drawing."""

REGULAR, BOLD, ITALIC = "DejaVuSans", "DejaVuSans-Bold", "DejaVuSans-Oblique"
"""The names of the fonts in reportlab, and of their files."""

_FOLDER = Path(__file__).parent / "dejavu"


@cache
def register_fonts() -> None:
    """Make the fonts known to reportlab and svglib. Raises NotInstalled."""
    metrics: Any = load("reportlab.pdfbase.pdfmetrics", "pdf")
    files: Any = load("reportlab.pdfbase.ttfonts", "pdf")
    drawn: Any = load("svglib.fonts", "pdf")
    for name, weight, style in (
        (REGULAR, "normal", "normal"), (BOLD, "bold", "normal"), (ITALIC, "normal", "italic"),
    ):  # fmt: skip
        metrics.registerFont(files.TTFont(name, str(_FOLDER / f"{name}.ttf")))
        drawn.register_font(FAMILY, weight=weight, style=style, rlgFontName=name)
    metrics.registerFontFamily(REGULAR, normal=REGULAR, bold=BOLD, italic=ITALIC, boldItalic=BOLD)
