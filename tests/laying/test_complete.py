"""A complete set of verbs: each plan of the examples is built from nothing, byte for byte.

What no step keeps: empty lines between things, and the layout of a text that is not tidy.
"""

from __future__ import annotations

import json
import random
from typing import TYPE_CHECKING, Any

import pytest

from amount import amount
from trappoint.checking.check import check_content
from trappoint.laying.order import faults
from trappoint.laying.steps import lay
from trappoint.schema.published import layout_schema
from trappoint.tidying.tidy import tidy_content

from .all_steps import steps_for
from .examples import EXAMPLES, IN_ORDER, PLANS

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

SLIPS_IN_ORDER = [
    path
    for path in PLANS
    if path not in IN_ORDER and check_content(path.read_bytes(), path.name).layout is not None
]


def lines(text: str) -> list[str]:
    return [line for line in text.splitlines() if line.strip()]


@pytest.mark.parametrize("path", IN_ORDER, ids=lambda path: path.name.partition(".")[0])
def test_each_example_is_built_from_nothing(path: Path) -> None:
    text = path.read_text("utf-8")
    plan = json.loads(text)
    laid = lay(None, steps_for(plan))
    assert json.loads(laid.text) == plan
    tidy = tidy_content(text)
    assert isinstance(tidy, str)
    assert lines(laid.text) == lines(tidy)
    assert all(said.endswith(".") for said in laid.said)


def test_slips_that_are_plans_in_order_are_built_too() -> None:
    plans = {path.name: json.loads(path.read_text("utf-8")) for path in SLIPS_IN_ORDER}
    in_order = [name for name, plan in plans.items() if not faults(plan)]
    assert len(in_order) >= 20
    for name in random.Random(1).sample(in_order, amount(3, long=len(in_order))):
        assert json.loads(lay(None, steps_for(plans[name])).text) == plans[name], name


def test_each_key_of_the_format_that_an_example_has_is_built() -> None:
    """The examples use most keys; the tests of single verbs set the others."""
    used: set[str] = set()
    for path in IN_ORDER:
        used |= set(_keys(json.loads(path.read_text("utf-8"))))
    known = {
        key
        for each in (layout_schema(), *layout_schema()["$defs"].values())
        for key in each.get("properties", {})
    }
    assert used >= known - {
        "standard", "gauge_mm", "spacing_mm", "edges", "leg_mm", "toe_mm", "measure", "draw",
        "rank", "angle_degrees", "order", "lane", "doll", "height_mm", "from_centre_mm", "post_mm",
        "held", "arm", "curve", "curves", "hand", "middle",
    }  # fmt: skip


def _keys(value: Any) -> Iterator[str]:
    if isinstance(value, dict):
        yield from value
    for inner in value.values() if isinstance(value, dict) else value:
        if isinstance(inner, dict | list):
            yield from _keys(inner)


def test_keys_that_no_example_has_are_set_by_steps() -> None:
    kelpie = (EXAMPLES / "kelpie-quay.layout.json").read_text("utf-8")
    steps: list[dict[str, Any]] = [
        {"do": "set-scale", "scale": "OO", "standard": "British"},
        {"do": "describe-plan", "gauge_mm": 16.5, "spacing_mm": 50},
        {"do": "describe-edge", "edge": "town", "held": True},
        {"do": "describe-points", "points": "p1", "leg_mm": 90, "toe_mm": 80, "order": 1,
         "measure": "right-angle"},
        {"do": "set-angle", "of": "p2", "angle_degrees": 12},
        {"do": "describe-track", "track": "main", "rank": 1, "lane": 2, "radius_mm": 900,
         "curve": "left"},
        {"do": "set-leg-curve", "points": "p3", "leg": "left", "hand": "left", "radius_mm": 600,
         "leg_mm": 200},
        {"do": "change-arm", "arm": "1L", "doll": 2, "height_mm": 80},
        {"do": "change-signal", "signal": "1", "from_centre_mm": 26, "post_mm": 4},
    ]  # fmt: skip
    plan = json.loads(lay(kelpie, steps).text)
    assert {key: plan[key] for key in ("standard", "gauge_mm", "spacing_mm")} == {
        "standard": "British", "gauge_mm": 16.5, "spacing_mm": 50,
    }  # fmt: skip
    assert plan["edges"] == {"town": {"held": True}}
    assert plan["points"]["p1"] == {
        "normal": "right", "crossing_number": 8, "measure": "right-angle", "leg_mm": 90,
        "toe_mm": 80, "draw": {"order": 1},
    }  # fmt: skip
    assert plan["points"]["p2"] == {"normal": "left", "angle_degrees": 12}
    assert plan["tracks"]["main"]["draw"] == {"lane": 2}
    assert plan["tracks"]["main"]["rank"] == 1
    assert (plan["tracks"]["main"]["radius_mm"], plan["tracks"]["main"]["curve"]) == (900, "left")
    curves = {"left": {"hand": "left", "radius_mm": 600}}
    assert plan["points"]["p3"] == {"normal": "right", "leg_mm": 200, "curves": curves}
    assert plan["signals"]["1"]["arms"][0] == {
        "id": "1L", "to": "loop-west", "doll": 2, "height_mm": 80,
    }  # fmt: skip
    assert (plan["signals"]["1"]["from_centre_mm"], plan["signals"]["1"]["post_mm"]) == (26, 4)
    assert json.loads(lay(None, steps_for(plan)).text) == plan
