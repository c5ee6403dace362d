"""Numbers of findings on the drawing, each beside the thing that the finding is about."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.core.findings import Finding
    from trappoint.drawing.contents import Marks
    from trappoint.model.layout import Layout


@dataclass(frozen=True, slots=True)
class Marked:
    """Findings with their numbers."""

    numbered: tuple[tuple[int, Finding], ...]
    marks: Marks
    """The text beside each thing, as in `` [1, 3]``."""


def mark_findings(layout: Layout, findings: Iterable[Finding]) -> Marked:
    """Number the findings, and mark the thing that each is about."""
    numbered = tuple(enumerate(findings, 1))
    numbers: dict[tuple[str, str], list[int]] = {}
    for number, finding in numbered:
        for thing in _things(layout, finding)[:1]:
            numbers.setdefault(thing, []).append(number)
    marks = {thing: f" [{', '.join(map(str, found))}]" for thing, found in sorted(numbers.items())}
    return Marked(numbered, marks)


def _things(layout: Layout, finding: Finding) -> list[tuple[str, str]]:
    """Return the things that a finding is about: that of its pointer, then those of its path."""
    found = []
    parts = [p.replace("~1", "/").replace("~0", "~") for p in finding.place.split("/")[1:]]
    kinds = ("signals", "tracks", "points", "crossings", "turntables", "platforms", "yards")
    if len(parts) > 1 and parts[0] in kinds and parts[1] in getattr(layout, parts[0]):
        found.append((parts[0], parts[1]))
    arms = {arm.id: arm.signal for arm in layout.arms()}
    for name in finding.path:
        bare = name.rpartition(".")[0] if name.rpartition(".")[2].isdigit() else name
        if name in arms:
            found.append(("signals", arms[name]))
        found += [(kind, bare) for kind in kinds if bare in getattr(layout, kind)]
    return found
