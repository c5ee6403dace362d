"""Fonts for paper: DejaVu Sans, with Latin, Greek, Cyrillic and more. PDFs embed the used letters.

The files in ``dejavu`` are those of release 2.37, with their licence. The built-in fonts of PDF
readers and of reportlab have Western letters only.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

from trappoint.drawing.extras import load

FAMILY = "DejaVu Sans"
"""The name of the font family in a drawing."""

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
