"""The plans that steps are tried on: each example, and the places of a plan."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from trappoint.checking.check import check_content
from trappoint.source.files import files_beside

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.model.layout import Layout

EXAMPLES = Path(__file__).parents[2] / "examples"
PLANS = sorted(EXAMPLES.rglob("*.layout.json"))
"""Every plan of the examples, those with slips included."""

IN_ORDER = [path for path in PLANS if "slips" not in path.parts]
"""The examples that hold."""


def layout_of(text: str, path: Path | None = None) -> Layout:
    """Return the layout of a plan that is in order."""
    report = check_content(text, str(path), files=path and files_beside(str(path)))
    assert report.layout is not None
    return report.layout


def places(layout: Layout) -> Iterator[str]:
    """Yield every place of a plan."""
    yield "plan"
    for track in layout.tracks:
        yield from (f"tracks/{track}", f"tracks/{track}/up", f"tracks/{track}/down")
    for kind in ("points", "crossings", "turntables"):
        for key, element in getattr(layout, kind).items():
            yield f"{kind}/{key}"
            yield from (f"{kind}/{key}/{leg}" for leg in element.legs)
    for kind in (
        "platforms",
        "yards",
        "signals",
        "levers",
        "scenes",
        "trains",
        "sessions",
        "boards",
    ):
        yield from (f"{kind}/{key}" for key in getattr(layout, kind))
    yield from (f"arms/{arm.id}" for arm in layout.arms())
