"""Dimensions of any plan, with any measures: no failure."""

from __future__ import annotations

import json
import random
from functools import cache
from typing import Any

import pytest

from amount import amount
from oracle.plans import random_plan
from trappoint.checking.check import check_content
from trappoint.checking.report import Report
from trappoint.core.terminal import RenderOptions
from trappoint.dimensions.table import derive_dimensions
from trappoint.model.settings import Settings
from trappoint.reporting.dimensions_markdown import render as markdown
from trappoint.reporting.dimensions_text import render as text
from trappoint.rules import clearances, lengths, scale
from trappoint.rules.catalogue import FACT_RULES
from trappoint.rules.rule import Rule

SCALES = (
    "OO",
    "N",
    "H0",
    "HO",
    "TT",
    "O",
    "I",
    "EM",
    "S7",
    "H0e",
    "1:87",
    "4 mm",
    "0 14",
    "Oh",
    "1:999999",
)
LENGTHS = (1e-9, 0.5, 20, 46, 100, 300, 1000, 2500, 1e9, 1e308, 5e-324)

DIMENSION_RULES = [
    rule
    for module in (clearances, lengths, scale)
    for rule in vars(module).values()
    if isinstance(rule, Rule)
]
assert len(DIMENSION_RULES) == 11
assert {rule.id for rule in DIMENSION_RULES} <= {rule.id for rule in FACT_RULES}

ASKED = Settings({rule.id: rule.level for rule in DIMENSION_RULES if rule.optional})


def measured(rng: random.Random) -> dict[str, Any]:
    """A random plan with measures all over it, sensible and not."""
    plan = random_plan(rng)

    def perhaps(thing: dict[str, Any], **keys: tuple[Any, ...]) -> None:
        for key, values in keys.items():
            if key not in thing and rng.random() < 0.6:
                thing[key] = rng.choice(values)

    perhaps(
        plan,
        scale=SCALES,
        gauge_mm=(9, 16.5, 18.2, 32, 1e300),
        spacing_mm=(*LENGTHS, 46),
        standard=("NEM", "NMRA", "British"),
        trains=({"t": {"length_mm": 900, "longest_coach_mm": 265, "engine_mm": 150}},),
    )
    for track in plan["tracks"].values():
        perhaps(track, radius_mm=(*LENGTHS, 450, 500))
        if rng.random() < 0.3 and "length_mm" not in track:
            track["length_mm"] = 1e308  # beyond any post on it
    for element in (*plan.get("points", {}).values(), *plan.get("crossings", {}).values()):
        perhaps(element, leg_mm=LENGTHS)
        kind = rng.choice(("crossing_number", "angle_degrees", ""))
        if kind and not {"crossing_number", "angle_degrees"} & set(element):
            values = (1e-300, 0.5, 6, 9.25, 1e308) if kind[0] == "c" else (1e-300, 7, 89.9)
            element[kind] = rng.choice(values)
    for points in plan.get("points", {}).values():
        perhaps(points, toe_mm=LENGTHS)
    for signal in plan["signals"].values():
        perhaps(signal, from_centre_mm=LENGTHS, post_mm=(2, 1e308), spacing_mm=LENGTHS)
    for number, platform in enumerate(plan.get("platforms", {}).values()):
        perhaps(platform, length_mm=LENGTHS[number:] or LENGTHS)
    return plan


SEEDS = range(amount(100, long=3000))


@cache
def reported(seed: int) -> Report:
    return check_content(json.dumps(measured(random.Random(seed))), "plan", ASKED)


@pytest.mark.parametrize("seed", SEEDS)
def test_nothing_fails_and_the_verdict_is_the_same(seed: int) -> None:
    report = reported(seed)
    assert report.fault is None, report.findings
    assert not [f for f in report.findings if f.rule in ("unknown-key", "not-allowed")]
    ours = {rule.id for rule in DIMENSION_RULES}
    assert all(f.level != "error" for f in report.findings if f.rule in ours)
    if report.facts is None:
        return
    table = derive_dimensions(report.facts)
    json.dumps(table.to_json(), allow_nan=False)
    assert text(table, "a", RenderOptions())
    assert markdown(table, "a", RenderOptions())


def test_the_measures_are_such_that_the_rules_speak() -> None:
    """Test that the random measures give findings, so that the test above is worth something."""
    spoken: set[str] = set()
    for seed in SEEDS:
        spoken |= {finding.rule for finding in reported(seed).findings}
    wanted = {rule.id for rule in DIMENSION_RULES}
    assert wanted - spoken <= {"train-too-long-for-its-place"}  # random plans have no scenes
