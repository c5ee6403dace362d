"""The track diagram of a plan, drawn from the plan alone.

``draw`` returns a ``Diagram``, which writes itself as SVG. ``export`` converts that to PNG and
PDF; ``chart`` makes the signal chart.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from trappoint.drawing.moment import Moment

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.core.findings import Finding
    from trappoint.drawing.finding_marks import Marked
    from trappoint.drawing.sketch import Sketch
    from trappoint.interlocking.locking_table import LockingTable
    from trappoint.model.layout import Layout

__all__ = ["Diagram", "Moment", "draw"]


@dataclass(frozen=True, slots=True)
class Diagram:
    """A drawing with its measures, ready to write as SVG."""

    sketch: Sketch
    table: LockingTable | None
    marked: Marked | None
    moment: Moment | None = None
    """The moment to show: lies, arms, trains, a lit road; None for the normal lies."""

    @property
    def crossings(self) -> int:
        """The number of places at which the drawing crosses tracks that the plan does not."""
        return self.sketch.crossings

    @property
    def unfollowed(self) -> tuple[Finding, ...]:
        """A finding for each hint (``draw`` in the plan) that the drawing ignores."""
        return tuple(self.sketch.unfollowed)

    @property
    def memory(self) -> dict[str, Any]:
        """Where the things of the drawing stand, as data for JSON: ``before`` of the next one."""
        from trappoint.drawing.memory import write_memory

        return write_memory(self.sketch)

    def svg(self, *, prefix: str = "", heading: bool = True) -> str:
        """Return the drawing as one SVG element.

        ``prefix`` begins every id in it; ``heading`` adds the title above the drawing.
        """
        from trappoint.drawing.svg import write_svg

        return write_svg(
            self.sketch, self.table, self.marked, prefix=prefix, heading=heading, moment=self.moment
        )

    def sheets(self, *, framed: bool = True, highest: float | None = None) -> list[str]:
        """Return one SVG element for each sheet that the drawing needs.

        A drawing in one row needs one sheet. Findings without room below the diagram are on
        further sheets. Ids are unique over all sheets. ``highest`` is the greatest height of the
        rows on one sheet, in units of the drawing (default: no limit). Not ``framed``: without
        title, findings, caution and margin, for pages that have them.
        """
        from trappoint.drawing.svg import MARGIN, NARROW, write_svg

        width = max(self.sketch.bounds().right - self.sketch.bounds().left, 260.0)
        parts = self.sketch.sheets(highest)
        feet: list[Marked | None] = [None] * (len(parts) - 1)
        feet += self._feet(parts[-1], width, highest) if framed else [None]
        parts += [replace(self.sketch, shown=([], []))] * (len(feet) - len(parts))
        taken: set[str] = set()
        return [
            write_svg(
                part,
                self.table,
                feet[number - 1],
                heading=framed and number == 1,
                caution=framed,
                border=MARGIN if framed else NARROW,
                least=width if framed else 0.0,
                taken=taken,
                moment=self.moment,
            )
            for number, part in enumerate(parts, 1)
        ]

    def _feet(self, last: Sketch, width: float, highest: float | None) -> list[Marked | None]:
        """Return the findings below the last rows, then those of each further sheet."""
        if self.marked is None or highest is None:
            return [self.marked]
        from trappoint.drawing.foot import spread_findings

        empty = replace(self.sketch, shown=([], []))
        rooms = [
            highest - (bounds.bottom - bounds.top) for bounds in (last.bounds(), empty.bounds())
        ]
        spread = spread_findings(self.marked.numbered, width, *rooms)
        return [replace(self.marked, numbered=numbered) for numbered in spread]

    def _repr_svg_(self) -> str:
        return self.svg()


def draw(
    layout: Layout,
    *,
    table: LockingTable | None = None,
    findings: Iterable[Finding] = (),
    widest: float | None = None,
    moment: Moment | None = None,
    before: object = None,
) -> Diagram:
    """Draw a plan.

    With its locking ``table``, every arm has its meaning as a tooltip, and a page can light up its
    road. ``findings`` are marked at their places and listed below the drawing. ``widest`` limits
    the width of a row, in units of the drawing: a wider plan continues in a row below (default: no
    limit; ``trappoint.drawing.paper`` knows that of each sheet). ``moment`` is a scene or a road
    to show. ``before`` is the ``memory`` of the drawing before: what the plans have in common stays
    in its order; any other value counts for nothing. A plan with errors raises nothing: the drawing
    shows the parts that it understands.
    """
    from trappoint.drawing.finding_marks import mark_findings
    from trappoint.drawing.sketch import sketch

    found = tuple(findings)
    marked = mark_findings(layout, found) if found else None
    marks = marked.marks if marked else None
    return Diagram(sketch(layout, marks, widest=widest, before=before), table, marked, moment)
