"""Labels to print and stick on: one A4 sheet or more of HTML, each label of the size asked for."""

from __future__ import annotations

from html import escape
from math import ceil
from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.findings import CAUTION_FITTING
from trappoint.reporting.fitting_words import label_words
from trappoint.reporting.html_sheet import html_sheet

if TYPE_CHECKING:
    from trappoint.fitting.sheet import FittingSheet
    from trappoint.reporting.fitting_words import Label

A4_MM = (210, 297)
MARGIN_MM = 10
"""The margin of the paper, in mm: most printers reach as far."""

SMALLEST_MM = 1.8
"""The least size of the small letters, in mm; the charts have no smaller ones."""

LARGEST_MM = 3.2
_SHARES = (0.42, 0.34, 0.26)
"""The large letters' parts of the height of a label, the largest that leaves room first."""

_EDGE_MM = 1.2
_LINE = 1.2
_BOLD_WIDTH, _WIDTH = 0.72, 0.56
"""The widest mean of a letter's width, in its size, bold and plain."""


class LabelSize(NamedTuple):
    """The size of a label, in mm."""

    width: float
    height: float

    @property
    def fits_a4(self) -> bool:
        """True if at least one label fits inside the margins of the paper."""
        inside = (A4_MM[0] - 2 * MARGIN_MM, A4_MM[1] - 2 * MARGIN_MM)
        return self.width <= inside[0] and self.height <= inside[1]


DEFAULT_SIZE = LabelSize(45, 20)
LEAST_SIZE = LabelSize(12, 6)


class LabelSheet(NamedTuple):
    """The page, and the labels whose words are too long for their size."""

    page: str
    too_long: tuple[str, ...]
    """The large text of each."""


def render_labels(sheet: FittingSheet, size: LabelSize) -> LabelSheet:
    """Return a label for each signal, each arm of its own and each lever."""
    labels = label_words(sheet)
    sizes = [_letters(label, size) for label in labels]
    too_long = tuple(
        label.large for label, (_, small) in zip(labels, sizes, strict=True) if small is None
    )
    boxes = "\n".join(
        _box(label, large, small or SMALLEST_MM)
        for label, (large, small) in zip(labels, sizes, strict=True)
    )
    heading = f"Labels of {sheet.title}"
    body = f"""<header><h1>{escape(heading)}</h1>
<p>{escape(_told(size))}</p></header>
<div class="labels">
{boxes}
</div>"""
    return LabelSheet(html_sheet(heading, _style(sizes, size), body, CAUTION_FITTING), too_long)


def _told(size: LabelSize) -> str:
    return (
        f"{size.width:g} mm by {size.height:g} mm each. Print at 100 per cent, on A4, and measure "
        "one label before you cut."
    )


def _letters(label: Label, size: LabelSize) -> tuple[float, float | None]:
    """Return the sizes of the large and the small letters in mm; None if the words do not fit."""
    wide, high = size.width - 2 * _EDGE_MM, size.height - 2 * _EDGE_MM
    widest = wide / (_BOLD_WIDTH * max(1, len(label.large)))
    larges = [round(min(share * high, widest), 2) for share in _SHARES]
    for large in larges:
        small = _small_letters(label, wide, high - _LINE * large)
        if small is not None:
            return large, small
    return larges[-1], None


def _small_letters(label: Label, wide: float, high: float) -> float | None:
    """Return the largest size in mm with which the small lines fit into a box; None if none."""
    longest = max((len(word) for line in label.small for word in line.split()), default=0)
    for tenths in range(round(LARGEST_MM * 10), round(SMALLEST_MM * 10) - 1, -1):
        small = tenths / 10
        lines = sum(ceil(len(line) * _WIDTH * small / wide) for line in label.small)
        if lines * _LINE * small <= high and longest * _WIDTH * small <= wide:
            return small
    return None


def _box(label: Label, large: float, small: float) -> str:
    lines = "<br>".join(map(escape, label.small))
    return (
        f'<div class="{_name(large, small)}"><b>{escape(label.large)}</b><span>{lines}</span></div>'
    )


def _name(large: float, small: float) -> str:
    """Return the class of a label with letters of these sizes."""
    return f"l{round(large * 100)} s{round(small * 100)}"


def _style(sizes: list[tuple[float, float | None]], size: LabelSize) -> str:
    larges = sorted({large for large, _ in sizes})
    smalls = sorted({small or SMALLEST_MM for _, small in sizes})
    letters = [f"  .l{round(one * 100)} b {{ font-size: {one:g}mm; }}" for one in larges]
    letters += [f"  .s{round(one * 100)} span {{ font-size: {one:g}mm; }}" for one in smalls]
    return (
        f"""
  @page {{ size: A4; margin: {MARGIN_MM}mm; }}
  body {{ font: 1rem/1.4 Georgia, serif; margin: 2rem auto; max-width: 190mm; }}
  h1 {{ font-size: 1.2rem; margin: 0; }}
  header p, .caution {{ font-size: 0.8rem; margin: 0.2rem 0 0.6rem; }}
  .caution {{ border-left: 0.3rem solid #777; padding-left: 0.7rem; margin-top: 1rem; }}
  .labels {{ font-size: 0; line-height: {_LINE}; }}
  .labels div {{ box-sizing: border-box; display: inline-block; vertical-align: top;
    width: {size.width:g}mm; height: {size.height:g}mm; padding: {_EDGE_MM - 0.2:g}mm;
    border: 0.2mm dashed #777; overflow: hidden; break-inside: avoid; }}
  .labels b, .labels span {{ display: block; }}
  @media print {{ body {{ margin: 0; max-width: none; }} }}
"""
        + "\n".join(letters)
        + "\n"
    )
