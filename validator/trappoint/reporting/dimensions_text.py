"""What fits where, for people: grids that are as wide as what stands in them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import CAUTION
from trappoint.core.terminal import width_of
from trappoint.reporting.dimensions_words import parts_of, tell_scale

if TYPE_CHECKING:
    from trappoint.core.terminal import RenderOptions
    from trappoint.dimensions.table import Dimensions
    from trappoint.reporting.dimensions_words import PagePart


def render(table: Dimensions, title: str, look: RenderOptions) -> str:
    """Return the table as text. Grids go beyond the width of the look where they must."""
    heading = look.wrap(f"What fits in {title}")
    lines = [*heading, "=" * max(map(width_of, heading)), ""]
    lines += look.wrap(tell_scale(table))
    for part in parts_of(table):
        lines += ["", part.heading, "-" * len(part.heading), *look.wrap(part.remark), ""]
        lines += _grid(part, look)
    lines += ["", *look.wrap(CAUTION)]
    return "\n".join(lines) + "\n"


def _grid(part: PagePart, look: RenderOptions) -> list[str]:
    rows = [[look.clean(cell) for cell in row] for row in (part.columns, *part.rows)]
    widths = [max(map(width_of, column)) for column in zip(*rows, strict=True)]
    lines = []
    for row in rows:
        cells = (
            cell + " " * (wide - width_of(cell)) for cell, wide in zip(row, widths, strict=True)
        )
        lines.append(("  " + "  ".join(cells)).rstrip())
    return lines
