"""The examples without their signals: what is proposed for them holds by the two-train search."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from amount import is_long
from oracle.held_edges import spell_out
from oracle.two_trains import holds
from trappoint.proposing.proposal import propose

FOLDER = Path(__file__).parents[2] / "examples"
OF_SIGNALS = ("signals", "levers", "scenes", "accept", "sessions")
LARGE = {"hobthrush-vale": ("homes",) if is_long() else ()}
"""Large examples, for some levels only and with `--long` only."""
MAX_STATES = 3_000_000


def plans() -> dict[str, Any]:
    found = {}
    for path in sorted(FOLDER.rglob("*.layout.json")):
        if "slips" not in path.parts:
            plan = json.loads(path.read_text("utf-8"))
            if "boards" not in plan:
                found[path.name.removesuffix(".layout.json")] = plan
    return found


PLANS = plans()
ASKED = [(name, level) for name in PLANS for level in LARGE.get(name, ("least", "homes", "full"))]


@pytest.mark.parametrize(("name", "level"), ASKED)
def test_what_is_proposed_holds(name: str, level: Any) -> None:
    bare = {key: value for key, value in PLANS[name].items() if key not in OF_SIGNALS}
    draft = propose(json.dumps(bare), level=level, seconds=60).drafts[0]
    assert draft.least or name in LARGE
    assert draft.report.holds
    after = json.loads(draft.text)
    assert holds(spell_out(after)[0], MAX_STATES)
    assert {key: value for key, value in after.items() if key != "signals"} == bare


@pytest.mark.parametrize("name", PLANS)
def test_nothing_is_to_be_repaired(name: str) -> None:
    draft = propose(json.dumps(PLANS[name]), repair=True).drafts[0]
    assert draft.worth == 0
    assert json.loads(draft.text) == PLANS[name]
