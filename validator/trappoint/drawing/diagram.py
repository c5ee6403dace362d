"""The track diagram of a plan, drawn from the plan alone.

``draw`` returns a ``Diagram``, which writes itself as SVG. ``export`` converts that to PNG and
PDF; ``chart`` makes the signal chart.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from trappoint.drawing.roads import Lit

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.core.findings import Finding
    from trappoint.drawing.finding_marks import Marked
    from trappoint.drawing.sketch import Sketch
    from trappoint.interlocking.locking_table import LockingTable
    from trappoint.model.layout import Layout

__all__ = ["SHEETS", "Diagram", "Lit", "draw"]

SHEETS: dict[str, float | None] = {"a4": 1420.0, "a3": 2000.0, "long": None}
"""The greatest width of a row on each sheet, in units of the drawing. 10 units are 2 mm on paper
then, so that letters are as high as in a timetable. ``long``: one row of any width."""


SHEET_RATIO = 0.58
"""The greatest height of the rows on one landscape sheet, as a share of their width. A sheet of ISO
216 has 0.707; heading and borders take the difference."""


@dataclass(frozen=True, slots=True)
class Diagram:
    """A drawing with its measures, ready to write as SVG."""

    sketch: Sketch
    table: LockingTable | None
    marked: Marked | None
    lit: Lit | None = None
    """A road to show as set, with its points and arms; None for the normal lies."""

    @property
    def crossings(self) -> int:
        """The number of places at which the drawing crosses tracks that the plan does not."""
        return self.sketch.crossings

    @property
    def unfollowed(self) -> tuple[Finding, ...]:
        """A finding for each hint (``draw`` in the plan) that the drawing ignores."""
        return tuple(self.sketch.unfollowed)

    def svg(self, *, prefix: str = "", heading: bool = True) -> str:
        """Return the drawing as one SVG element.

        ``prefix`` begins every id in it; ``heading`` adds the title above the drawing.
        """
        from trappoint.drawing.svg import write_svg

        return write_svg(
            self.sketch, self.table, self.marked, prefix=prefix, heading=heading, lit=self.lit
        )

    def sheets(self, *, heading: bool = True) -> list[str]:
        """Return one SVG element for each landscape sheet that the drawing needs.

        A drawing in one row needs one sheet. Ids are unique over all sheets.
        """
        from trappoint.drawing.svg import write_svg

        width = max(self.sketch.bounds().right - self.sketch.bounds().left, 260.0)
        parts = self.sketch.sheets(width * SHEET_RATIO)
        taken: set[str] = set()
        return [
            write_svg(
                part,
                self.table,
                self.marked if number == len(parts) else None,
                heading=heading and number == 1,
                least=width,
                taken=taken,
                lit=self.lit,
            )
            for number, part in enumerate(parts, 1)
        ]

    def _repr_svg_(self) -> str:
        return self.svg()


def draw(
    layout: Layout,
    *,
    table: LockingTable | None = None,
    findings: Iterable[Finding] = (),
    widest: float | None = None,
    lit: Lit | None = None,
) -> Diagram:
    """Draw a plan.

    With its locking ``table``, every arm has its meaning as a tooltip, and a page can light up its
    road. ``findings`` are marked at their places and listed below the drawing. ``widest`` limits
    the width of a row, in units of the drawing: a wider plan continues in a row below (default: no
    limit; see ``SHEETS``). ``lit`` is a road to show as set. A plan with errors raises nothing: the
    drawing shows the parts that it understands.
    """
    from trappoint.drawing.finding_marks import mark_findings
    from trappoint.drawing.sketch import sketch

    found = tuple(findings)
    marked = mark_findings(layout, found) if found else None
    marks = marked.marks if marked else None
    return Diagram(sketch(layout, marks, widest=widest), table, marked, lit)
