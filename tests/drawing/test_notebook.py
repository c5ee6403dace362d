"""A notebook shows a diagram as a picture."""

from __future__ import annotations

from pathlib import Path

import trappoint
from trappoint.drawing.diagram import draw

KELPIE = Path(__file__).parents[2] / "examples" / "kelpie-quay.layout.json"


def test_a_diagram_shows_itself() -> None:
    layout = trappoint.load(KELPIE)
    assert draw(layout)._repr_svg_() == draw(layout).svg()
    assert draw(layout)._repr_svg_().startswith(("<svg", "<?xml"))
