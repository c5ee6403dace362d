"""The diagram of a plan, drawn from the plan alone.

``draw`` gives a ``Diagram``, which writes itself as SVG; ``export`` turns that into PNG and PDF,
``chart`` makes the sheet for the wall.
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
"""For each sheet how wide a drawing may be so that its letters, printed as wide as the sheet, are
as high as those of a timetable: 10 units are 2 mm on A4 and on A3. ``long``: never folded."""


SHEET_RATIO = 0.58
"""How high the rows on one lying sheet may be together, as a part of their width: a sheet of ISO
216 has 0.707, less what its heading and its borders take."""


@dataclass(frozen=True, slots=True)
class Diagram:
    """A drawing, ready to be written."""

    sketch: Sketch
    table: LockingTable | None
    marked: Marked | None
    lit: Lit | None = None
    """A road that is shown as it is set."""

    @property
    def crossings(self) -> int:
        """The places at which tracks are drawn over each other that do not cross in the plan."""
        return self.sketch.crossings

    @property
    def unfollowed(self) -> tuple[Finding, ...]:
        """What is to be said of hints (``draw`` in the plan) that could not be followed."""
        return tuple(self.sketch.unfollowed)

    def svg(self, *, prefix: str = "", heading: bool = True) -> str:
        """Return the drawing as one SVG element.

        ``prefix`` stands before every id in it; ``heading`` says whether the title stands above.
        """
        from trappoint.drawing.svg import write_svg

        return write_svg(
            self.sketch, self.table, self.marked, prefix=prefix, heading=heading, lit=self.lit
        )

    def sheets(self, *, heading: bool = True) -> list[str]:
        """Return the drawing as one SVG element for each lying sheet that it takes.

        Only a drawing that was folded takes more than one; ids are unique over all of them.
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

    With its locking ``table``, every arm says what it means, and a page can light up its road.
    ``findings`` are marked where they belong and listed beneath. ``widest`` says how wide a row may
    be before the drawing goes on in another row below (default: no limit; see ``SHEETS``). ``lit``
    is a road that is shown as it is set. Nothing is raised whatever is wrong with the plan: what
    can be drawn, is.
    """
    from trappoint.drawing.finding_marks import mark_findings
    from trappoint.drawing.sketch import sketch

    found = tuple(findings)
    marked = mark_findings(layout, found) if found else None
    marks = marked.marks if marked else None
    return Diagram(sketch(layout, marks, widest=widest), table, marked, lit)
