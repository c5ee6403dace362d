"""Fonts for paper: DejaVu Sans, with Latin, Greek, Cyrillic and more. PDFs embed the used letters.

The files in ``dejavu`` are those of release 2.37, with their licence. The built-in fonts of PDF
readers and of reportlab have Western letters only.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple
from unicodedata import bidirectional, category, normalize

from trappoint.core.terminal import plural
from trappoint.drawing.extras import load

if TYPE_CHECKING:
    from collections.abc import Iterable

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


MOST_SIGNS = 12
"""The most signs that a sentence lists."""


class Unprinted(NamedTuple):
    """What a PDF cannot show as it is in the plan."""

    signs: tuple[str, ...] = ()
    """The characters that the fonts do not have, in the order of the texts."""
    leftward: bool = False
    """Whether there are letters of a script that runs from right to left."""

    def sentences(self, *, shown: bool) -> list[str]:
        """Return a sentence for each fault; ``shown`` adds the signs themselves to their codes."""
        told = []
        if self.signs:
            codes = [f"{sign} (U+{ord(sign):04X})" if shown else f"U+{ord(sign):04X}"
                     for sign in self.signs[:MOST_SIGNS]]  # fmt: skip
            more = len(self.signs) - len(codes)
            rest = f" and {more} more" if more else ""
            count = plural(len(self.signs), "sign")
            told.append(f"the PDF lacks {count}: {', '.join(codes)}{rest}; SVG and HTML have them.")
        if self.leftward:
            told.append(
                "the PDF has right-to-left letters in the wrong order, and does not join them; "
                "SVG and HTML show them as they are read."
            )
        return told


NOTHING_UNPRINTED = Unprinted()


def unprinted(texts: Iterable[str]) -> Unprinted:
    """Return what the fonts of a PDF cannot show of these texts. Raises NotInstalled."""
    register_fonts()
    metrics: Any = load("reportlab.pdfbase.pdfmetrics", "pdf")
    known = [metrics.getFont(name).face.charToGlyph for name in (REGULAR, BOLD)]
    signs = dict.fromkeys(sign for text in texts for sign in printed(text) if not _plain(sign))
    lacking = [sign for sign in signs if any(ord(sign) not in glyphs for glyphs in known)]
    leftward = any(bidirectional(sign) in ("R", "AL") for sign in signs)
    return Unprinted(tuple(lacking), leftward)


def printed(text: str) -> str:
    """Return a text as PDFs have it: a letter and its mark are one sign, if there is one."""
    return normalize("NFC", text)


def _plain(sign: str) -> bool:
    """Return whether a character needs no glyph of its own, or surely has one."""
    return " " <= sign <= "~" or sign.isspace() or category(sign) in ("Cc", "Cf", "Zs")
