"""The page on who decides each thing: each key of the schema, its default, the step to set it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from trappoint.commands.parts import MAX_SECONDS
from trappoint.dimensions.clearances import BRITISH_CENTRES_MM, NEM_112, post_need
from trappoint.dimensions.scales import Scale, scales_named
from trappoint.dimensions.turnouts import RP_12, published_lengths
from trappoint.fitting.places import LEFT
from trappoint.laying.catalogue import VERBS
from trappoint.model.settings import CHOICES, DEFAULTS
from trappoint.reporting.labels_html import DEFAULT_SIZE
from trappoint.schema.published import layout_schema

PAGE = (Path(__file__).parents[2] / "schema" / "DECISIONS.md").read_text("utf-8")
ROWS = [
    [cell.strip() for cell in line.strip("|").split("|")]
    for line in PAGE.splitlines()
    if line.startswith("| ") and not line.startswith("| decision")
]
KEY_ROWS = [row for row in ROWS if len(row) == 4]
NO_DECISION = {"$schema", "title", "name", "note"}
"""Keys that only describe."""

KINDS = {"arm": "arms", "move": "moves", "leg_curve": "points.curves", "accepted": "accept"}
HINTS = {"track_hint": ("tracks",), "element_hint": ("points", "crossings", "turntables")}


def kinds_of(definition: str) -> tuple[str, ...]:
    """Return the paths at which the page writes the keys of a definition."""
    if definition in HINTS:
        return tuple(f"{kind}.draw" for kind in HINTS[definition])
    if definition in KINDS:
        return (KINDS[definition],)
    return tuple(
        kind
        for kind, value in layout_schema()["properties"].items()
        if value.get("additionalProperties", value.get("items", {}))
        == {"$ref": f"#/$defs/{definition}"}
    )


def keys() -> Iterator[tuple[str, dict[str, Any], bool]]:
    """Yield each key that is a decision, as the page writes it, with its schema; needed or not."""
    schema = layout_schema()
    maps = {kind for each in schema["$defs"] for kind in kinds_of(each)}
    for key, value in schema["properties"].items():
        if key not in NO_DECISION | maps:
            yield key, value, key in schema["required"]
    for name, each in schema["$defs"].items():
        for key, value in each.get("properties", {}).items():
            if key in NO_DECISION | {"draw", "curves"}:
                continue
            for kind in kinds_of(name):
                yield f"{kind}.{key}", value, key in each.get("required", ())


def written(cell: str) -> list[str]:
    return re.findall(r"`([^`]+)`", cell)


def test_each_key_that_carries_a_decision_has_its_row_once() -> None:
    known = [key for key, _, _ in keys()]
    on_page = [key for row in KEY_ROWS for key in written(row[1])]
    assert len(known) == len(set(known)) > 80
    assert sorted(on_page) == sorted(known)


def test_defaults_and_needed_keys_are_those_of_the_schema() -> None:
    decided = {key: row[2] for row in KEY_ROWS for key in written(row[1])}
    defaults = 0
    for key, value, needed in keys():
        cell = decided[key]
        # A hint, a curve and an accepted finding exist only if you write them.
        within = key.startswith(("accept.", "points.curves.")) or ".draw." in key
        assert needed == cell.startswith("you, always") or within, key
        assert needed or cell.startswith(("default: ", "open")) or within, key
        if "default" in value:
            defaults += 1
            default = value["default"]
            text = str(default).lower() if isinstance(default, bool) else default
            assert written(cell)[0] == text and cell.startswith("default: "), key
    assert defaults >= 12


def test_the_steps_exist_and_set_the_keys() -> None:
    for row in KEY_ROWS:
        for key in written(row[1]):
            for name in written(row[3]):
                measures = VERBS[name].measures
                leaf = key.rpartition(".")[2]
                assert leaf in measures or (name, leaf) in SET_OTHERWISE, (key, name)
    assert sum(not written(row[3]) for row in KEY_ROWS) == 1  # the edition alone has no step


SET_OTHERWISE = {
    ("work-together", "worked_together"), ("accept", "at"), ("add-leg", "kind"),
    ("set-leg-curve", "curves"), ("move-signal", "at_mm"), ("add-arm", "track"),
    ("put-signal", "track"), ("add-movement", "moves"), ("add-arm", "at_mm"),
    ("put-in-turntable", "roads"),
}  # fmt: skip
"""Steps whose measures have other names than the key."""


def cell(key: str) -> str:
    return next(row[2] for row in KEY_ROWS if key in written(row[1]))


def british_oo() -> Scale:
    return next(one for one in scales_named("OO") if one.standard == "British")


def test_values_are_those_of_the_code() -> None:
    oo = british_oo()
    assert f"{oo.gauge_mm:g} for British OO" in cell("gauge_mm")
    passing = cell("spacing_mm")
    assert f"{NEM_112['H0'][0]:g} for H0" in passing
    assert f"{BRITISH_CENTRES_MM / float(oo.ratio):.1f}" in passing
    h0 = next(one for one in scales_named("H0") if one.standard == "NEM")
    far = [post_need(one, None, None) for one in (h0, oo)]
    assert [f"{one.straight_mm:g}" for one in far if one is not None] == ["24", "26.25"]
    assert "24 for H0" in cell("signals.from_centre_mm")
    assert "26.25 for British OO" in cell("signals.from_centre_mm")
    assert "G. Findlay" in LEFT and "pp. 82-84" in LEFT and "left" in LEFT
    assert written(cell("signals.side")) == ["left"]


@pytest.mark.parametrize(("key", "number"), [("points.leg_mm", 0), ("points.toe_mm", 1)])
def test_published_lengths_are_those_offered(key: str, number: int) -> None:
    lengths = [published_lengths(crossing, 9) for crossing in sorted(RP_12)]
    values = [f"{each[number]:g}" for each in lengths if each is not None]
    assert f"{', '.join(values[:-1])} and {values[-1]}" in cell(key)


def test_decisions_outside_the_plan() -> None:
    outside = {row[0]: row[2] for row in ROWS if len(row) == 3}
    assert set(CHOICES) == {"overlap"} and DEFAULTS.overlap is False
    assert list(outside.values()) == [
        "none of them runs", "`false`", f"{DEFAULT_SIZE.width:g}x{DEFAULT_SIZE.height:g}",
        f"{MAX_SECONDS} seconds",
    ]  # fmt: skip
