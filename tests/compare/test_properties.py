"""Properties of all comparisons: of a plan with itself, of new ids, reversed, of single edits."""

from __future__ import annotations

import copy
import json
import random
import re
from collections.abc import Callable
from functools import cache
from itertools import pairwise
from typing import Any

import pytest

from amount import amount
from compare.plans import Plan, What, compared, kelpie, permuted, told
from oracle.plans import large_plan, random_plan
from properties.changes import KINDS, Renaming, reordered
from properties.dressed import dressed_plan
from properties.test_unchanged import drawn
from trappoint import check
from trappoint.comparing.model import Comparison
from trappoint.reporting.compare_json import comparison_to_json

SEEDS = range(amount(5, long=200))


@cache
def plans() -> dict[str, Plan]:
    found = {f"random {seed}": random_plan(random.Random(seed)) for seed in SEEDS}
    found |= {f"dressed {seed}": dressed_plan(seed) for seed in SEEDS}
    found["large"] = large_plan(random.Random(1), points=20)
    return {**drawn(), **found}


def quiet_but_for_renames(found: Comparison) -> bool:
    """Return whether new ids are the only changes."""
    return (
        all(change.how == ("renamed",) for change in found.things)
        and not found.worked_otherwise
        and not found.findings_new
        and not found.findings_gone
        and found.old.report.holds is found.new.report.holds
    )


OTHERS = ("yards", "trains", "scenes", "sessions")
"""The other kinds with ids."""

BY_ORDER = ("arm-id-doubled", "leg-met-twice")
"""Plans with two things that cannot both be right; the finding points at the second one."""


def test_a_plan_and_itself_in_another_order() -> None:
    for name, plan in plans().items():
        assert compared(plan, plan).same == "bytes"
        other = json.dumps(plan)
        assert compared(plan, other).same == "meaning", name
        if name in BY_ORDER:
            continue
        found = compared(plan, reordered(random.Random(name), plan))
        assert not found.differ, name


def test_other_ids_are_renames_and_nothing_else() -> None:
    rng = random.Random(2)
    for name, plan in plans().items():
        renaming = Renaming(rng, plan)
        found = compared(plan, renaming.apply())
        assert quiet_but_for_renames(found), (name, comparison_to_json(found))
        count = sum(len(plan.get(kind, {})) for kind in (*KINDS, *OTHERS))
        count += sum(len(signal["arms"]) for signal in plan.get("signals", {}).values())
        named = [c for c in found.things if c.kind not in ("joints", "edges")]
        assert len(named) == count, name


def test_shuffled_ids_are_renames_and_nothing_else() -> None:
    """Every id stays in use, for another thing."""
    rng = random.Random(3)
    for name, plan in drawn().items():
        if check(json.dumps(plan)).holds is None:
            continue  # in a broken plan the mistakes depend on the ids
        new, now = permuted(rng, plan)
        found = compared(plan, new)
        assert quiet_but_for_renames(found), (name, comparison_to_json(found))
        for change in found.things:
            if (change.kind, change.old and change.old.id) in now and change.old and change.new:
                assert now[change.kind, change.old.id] == change.new.id, name


def tally(found: Comparison, *, back: bool) -> dict[str, Any]:
    """Return a comparison without the ids that differ between the two directions."""
    turn = {"added": "gone", "gone": "added"} if back else {}
    rows = sorted(
        repr(
            (
                c.kind,
                [each and each.id for each in ((c.new, c.old) if back else (c.old, c.new))],
                [turn.get(how, how) for how in c.how],
                sorted(field.name for field in c.fields),
            )
        )
        for c in found.things
    )
    lost, gained = len(found.routes_lost), len(found.routes_gained)
    gone, new = ([f.finding for f in each] for each in (found.findings_gone, found.findings_new))
    duties = sorted((d.gained is not back) for d in found.duties)
    pairs = sorted(
        repr((len(c.now), len(c.before)) if back else (len(c.before), len(c.now)))
        for c in found.conflicts
    )
    arms = sorted((c.new, c.old) if back else (c.old, c.new) for c in found.arms)
    return {
        "things": rows,
        "arms": arms,
        "routes": (gained, lost) if back else (lost, gained),
        "conflicts": pairs,
        "duties": duties,
        "findings": (new, gone) if back else (gone, new),
    }


# --- single edits


def longer(rng: random.Random, plan: Plan) -> set[What]:
    name = rng.choice(sorted(plan["tracks"]))
    before = plan["tracks"][name].get("length_mm", 3000)
    plan["tracks"][name]["length_mm"] = before + 35
    return {
        ("tracks", name, name),
        *(  # a signal that was at the end of its track by its distance is now before the end
            ("signals", key, key)
            for key, signal in plan["signals"].items()
            if signal["track"] == name and signal.get("at_mm") == before
        ),
    }


def one_way(rng: random.Random, plan: Plan) -> set[What]:
    name = rng.choice(sorted(plan["tracks"]))
    before = plan["tracks"][name].get("running", "both")
    plan["tracks"][name]["running"] = "down" if before == "both" else "both"
    return {("tracks", name, name)}


def normally_otherwise(rng: random.Random, plan: Plan) -> set[What]:
    if not plan.get("points"):
        return longer(rng, plan)
    name = rng.choice(sorted(plan["points"]))
    points = plan["points"][name]
    points["normal"] = "left" if points["normal"] == "right" else "right"
    return {("points", name, name)}


def signal_gone(rng: random.Random, plan: Plan) -> set[What]:
    name = rng.choice(sorted(plan["signals"]))
    arms = [arm["id"] for arm in plan["signals"].pop(name)["arms"]]
    return {("signals", name, None), *(("arms", arm, None) for arm in arms)}


def signal_come(rng: random.Random, plan: Plan) -> set[What]:
    track = rng.choice(sorted(plan["tracks"]))
    heading = rng.choice(("up", "down"))
    plan["signals"]["new"] = {"track": track, "for": heading, "arms": [{"id": "new-arm"}]}
    return {("signals", None, "new"), ("arms", None, "new-arm")}


def signal_moved(rng: random.Random, plan: Plan) -> set[What]:
    name = rng.choice(sorted(plan["signals"]))
    signal = plan["signals"][name]
    signal.pop("at_mm", None)
    signal["track"] = rng.choice(
        [track for track in sorted(plan["tracks"]) if track != signal["track"]]
    )
    return {("signals", name, name)}


def track_cut(rng: random.Random, plan: Plan) -> set[What]:
    name = rng.choice(sorted(plan["tracks"]))
    track = plan["tracks"][name]
    plan["tracks"]["rest"] = {"up": "joint:cut", "down": track["down"], "stand": False}
    track["down"] = "joint:cut"
    return {("tracks", name, name), ("tracks", None, "rest")}


def track_renamed(rng: random.Random, plan: Plan) -> set[What]:
    name = rng.choice(sorted(plan["tracks"]))
    text = json.dumps(plan).replace(f'"{name}"', '"anew"')
    plan.clear()
    plan.update(json.loads(text))
    return {("tracks", name, "anew")}


def leg_exchanged(rng: random.Random, plan: Plan) -> set[What]:
    """Exchange two ends of two tracks: both tracks change."""
    one, other = rng.sample(sorted(plan["tracks"]), 2)
    mine, theirs = plan["tracks"][one], plan["tracks"][other]
    mine["down"], theirs["down"] = theirs["down"], mine["down"]
    if mine["down"] == theirs["down"]:
        return set()
    ends = [track["down"].partition(":") for track in (theirs, mine)]
    if ends[0][0] == ends[1][0] == "edge":  # the same as renaming both edges
        (_, _, first), (_, _, second) = ends
        return {("edges", first, second), ("edges", second, first)}
    return {("tracks", one, one), ("tracks", other, other)}


EDITS: tuple[Callable[[random.Random, Plan], set[What]], ...] = (
    longer,
    one_way,
    normally_otherwise,
    signal_gone,
    signal_come,
    signal_moved,
    track_cut,
    track_renamed,
    leg_exchanged,
)


def edited(
    edit: Callable[[random.Random, Plan], set[What]], seed: int
) -> tuple[Plan, Plan, set[What]]:
    rng = random.Random(seed)
    old = kelpie() if seed == 0 else random_plan(rng, elements=(2, 6))
    old.setdefault("signals", {})
    while len(old["tracks"]) < 2 or not old["signals"]:
        old = random_plan(rng, elements=(2, 6))
        old.setdefault("signals", {})
    new = copy.deepcopy(old)
    return old, new, edit(rng, new)


@pytest.mark.parametrize("edit", EDITS, ids=lambda edit: edit.__name__)
def test_a_single_edit_changes_that_thing_alone(
    edit: Callable[[random.Random, Plan], set[What]],
) -> None:
    for seed in SEEDS:
        old, new, expected = edited(edit, seed)
        found = compared(old, new)
        assert set(told(found)) == expected, seed


@pytest.mark.parametrize("edit", EDITS, ids=lambda edit: edit.__name__)
def test_reversed_it_has_the_same_changes(
    edit: Callable[[random.Random, Plan], set[What]],
) -> None:
    for seed in SEEDS:
        old, new, _ = edited(edit, seed)
        assert tally(compared(old, new), back=False) == tally(compared(new, old), back=True), seed


def test_very_different_plans_reversed() -> None:
    every = [plan for plan in plans().values() if len(plan["tracks"]) < 30]
    for one, other in pairwise(every):
        assert tally(compared(one, other), back=False) == tally(compared(other, one), back=True)


@pytest.mark.parametrize("edit", EDITS, ids=lambda edit: edit.__name__)
def test_changes_of_working_agree_with_the_locking_tables(
    edit: Callable[[random.Random, Plan], set[What]],
) -> None:
    """Arms, conflicts and duties agree with the locking tables of both plans."""
    if edit is track_renamed:
        return  # the tables differ only in words
    compared_any = False
    for seed in SEEDS:
        old, new, _ = edited(edit, seed)
        found = compared(old, new)
        before, now = (check(json.dumps(plan)).table for plan in (old, new))
        if before is None or now is None:
            assert not found.worked
            continue
        compared_any = True
        tables = before.to_json(), now.to_json()
        meant = [{arm["arm"]: meaning(arm) for arm in table["arms"]} for table in tables]
        differing = {
            arm for arm in meant[0].keys() & meant[1].keys() if meant[0][arm] != meant[1][arm]
        }
        assert {change.new for change in found.arms} == differing, seed
        conflicts = [pairs_of(table) for table in tables]
        came = conflicts[1].keys() - conflicts[0].keys()
        went = conflicts[0].keys() - conflicts[1].keys()
        pairs = {frozenset(ref.id for ref in c.arms): c for c in found.conflicts}
        assert {pair for pair, c in pairs.items() if not c.before} == came, seed
        assert {pair for pair, c in pairs.items() if not c.now} == went, seed
        for pair in conflicts[0].keys() & conflicts[1].keys():
            if conflicts[0][pair] != conflicts[1][pair]:
                assert pair in pairs, seed
        duties = [
            {(s["signal"], duty) for s in table["signals"] for duty in s["duties"]}
            for table in tables
        ]
        assert {(d.signal.id, f"{d.duty} {d.at.id}", d.gained) for d in found.duties} == {
            (*d, True) for d in duties[1] - duties[0]
        } | {(*d, False) for d in duties[0] - duties[1]}
    assert compared_any


def meaning(arm: dict[str, Any]) -> object:
    """Return the meaning of an arm, in any order of its routes; of distants, their entries."""
    if arm["kind"] == "distant":
        return frozenset(re.findall(r"[\w-]+", arm["meaning"])) - {"and", "above", "it"}
    return frozenset(json.dumps(route) for route in arm["routes"])


def pairs_of(table: dict[str, Any]) -> dict[frozenset[str], set[tuple[str, bool]]]:
    found: dict[frozenset[str], set[tuple[str, bool]]] = {}
    for arm in table["arms"]:
        for conflict in arm["conflicts"]:
            pair = frozenset((arm["arm"], conflict["arm"]))
            found.setdefault(pair, set()).add((conflict["by"], "when" in conflict))
    return found
