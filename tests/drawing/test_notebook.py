"""In a notebook a plan shows itself."""

from __future__ import annotations

from pathlib import Path

import trappoint
from trappoint.drawing import draw

KELPIE = Path(__file__).parents[2] / "examples" / "kelpie-quay.layout.json"


def test_a_plan_shows_its_diagram() -> None:
    layout = trappoint.load(KELPIE)
    assert layout._repr_svg_() == draw(layout).svg()
    assert layout._repr_svg_().startswith(("<svg", "<?xml"))
