"""Which routes exclude each other, on small plans worked out by hand."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from oracle.cases import LINE, a_plan, movement, runs
from oracle.two_trains import ReplayError, conflicts_of, holds, replay

KELPIE_QUAY = Path(__file__).parents[2] / "examples" / "kelpie-quay.layout.json"


def between(plan: Any) -> dict[tuple[str, str], str | None]:
    """Conflicts by the two routes, each as `SIGNAL: PLACES`, with `s` for a route of shunt arms."""

    def words(route: Any) -> str:
        shunt = "s" if route.kind == "shunt" else ""
        return f"{route.signal}{shunt}: {' '.join(route.over)}"

    return {(words(one), words(other)): how for one, other, how in conflicts_of(plan)}


def test_of_the_45_pairs_of_kelpie_quay_20_conflict() -> None:
    plan = json.loads(KELPIE_QUAY.read_text(encoding="utf-8"))
    found = conflicts_of(plan)
    assert len(found) == 45
    assert sum(how is not None for *_, how in found) == 20


def test_signals_back_to_back_at_a_joint_are_opposed() -> None:
    plan = a_plan(LINE, {"W": "west down", "E": "east up"})
    assert between(plan) == {("W: east", "E: west"): "direct"}


def test_signals_back_to_back_on_one_post_are_opposed() -> None:
    plan = a_plan({"k": "edge:w edge:e 900"}, {"D": "k down 300", "U": "k up 300"})
    assert between(plan) == {("D: k.2", "U: k.1"): "direct"}
    assert holds(plan)


def test_a_route_that_begins_where_another_ends_does_not_conflict_with_it() -> None:
    tracks = {"a": "edge:a joint:1", "b": "joint:1 joint:2", "c": "joint:2 edge:c"}
    plan = a_plan(tracks, {"A": "a down", "B": "b down"})
    assert between(plan) == {("A: b", "B: c"): None}


def test_routes_that_share_a_place_conflict_directly_or_by_points() -> None:
    tracks = {"t": "edge:t p.toe", "l": "p.left edge:l", "r": "p.right edge:r"}
    signals = {"T": "t down", "L": "l up", "R": "r up"}
    plan = a_plan(tracks, signals, points={"p": {"normal": "left"}})
    assert between(plan) == {
        ("T: p l", "T: p r"): "points",
        ("T: p l", "L: p t"): "direct",
        ("T: p l", "R: p t"): "points",
        ("T: p r", "L: p t"): "points",
        ("T: p r", "R: p t"): "direct",
        ("L: p t", "R: p t"): "points",
    }


def crossover() -> Any:
    """Two lines with a crossover, its ends worked together, and routes down both lines."""
    return a_plan(
        {
            "aw": "edge:aw p.toe",
            "ae": "p.left edge:ae",
            "bw": "edge:bw q.left",
            "be": "q.toe edge:be",
            "x": "p.right q.right",
        },
        {"A": "aw down", "B": "bw down"},
        points={"p": {"normal": "left"}, "q": {"normal": "left"}},
        worked_together=[["p", "q"]],
    )


def test_routes_without_a_place_in_common_conflict_where_a_lever_moves_points_of_both() -> None:
    plan = crossover()
    assert between(plan) == {
        ("A: p ae", "A: p x q be"): "points",
        ("A: p ae", "B: q be"): None,
        ("A: p x q be", "B: q be"): "points",
    }
    # A siding with points of its own on the lever, apart from all the rest.
    plan["tracks"] |= {
        "sw": {"up": "edge:sw", "down": "s.toe"},
        "sl": {"up": "s.left", "down": "buffer"},
        "sr": {"up": "s.right", "down": "buffer"},
    }
    plan["points"]["s"] = {"normal": "left"}
    plan["signals"]["S"] = {"track": "sw", "for": "down", "arms": [{"id": "S"}]}
    apart = {key: how for key, how in between(plan).items() if key[1] == "S: s sr"}
    assert apart == {
        ("A: p ae", "S: s sr"): None,
        ("A: p x q be", "S: s sr"): None,
        ("B: q be", "S: s sr"): None,
        ("S: s sl", "S: s sr"): "points",
    }
    plan["worked_together"].append(["q", "s"])
    apart = {key: how for key, how in between(plan).items() if key[1] == "S: s sr"}
    assert apart == {
        ("A: p ae", "S: s sr"): "points",
        ("A: p x q be", "S: s sr"): None,
        ("B: q be", "S: s sr"): "points",
        ("S: s sl", "S: s sr"): "points",
    }


def test_a_stop_route_does_not_conflict_with_that_of_a_shunt_signal_that_it_passes() -> None:
    tracks = {
        "a": "edge:a joint:1",
        "b": "joint:1 p.toe",
        "c": "p.left edge:c",
        "d": "p.right edge:d",
    }
    signals = {"A": "a down", "B": "b down shunt"}
    plan = a_plan(tracks, signals, points={"p": {"normal": "left"}})
    assert between(plan) == {
        ("A: b p c", "A: b p d"): "points",
        ("A: b p c", "Bs: p c"): None,
        ("A: b p c", "Bs: p d"): "points",
        ("A: b p d", "Bs: p c"): "points",
        ("A: b p d", "Bs: p d"): None,
        ("Bs: p c", "Bs: p d"): "points",
    }
    # A shunt route of the same head as the stop route is another matter.
    plan["signals"]["A"]["arms"].append({"id": "As", "kind": "shunt"})
    assert between(plan)["A: b p c", "As: b"] == "direct"
    # So is the shunt route of a signal that the stop route does not pass.
    plan["signals"]["C"] = {"track": "c", "for": "up", "arms": [{"id": "C", "kind": "shunt"}]}
    assert between(plan)["A: b p c", "Cs: p b a"] == "direct"


def test_a_direction_counts_until_the_train_has_reached_the_last_place() -> None:
    # The first train has left m for the points, so m is free, and a second one follows it there
    # by a shunt route. It turns back: over the joint that the first one's route passes.
    plan = a_plan(
        {
            "w": "edge:w joint:j",
            "m": "joint:j p.toe stand",
            "e": "p.left edge:e",
            "s": "p.right buffer pass",
        },
        {"W": "w down both", "D": "m down shunt", "U": "m up", "E": "e up"},
        points={"p": {"normal": "left"}},
    )
    assert between(plan)["W: m p e", "U: w"] == "direct"
    on = ["A come-on w w", "A take W m p e", *runs("A", "m", "p")]
    follow = ["B come-on w w", "B take W m", "B run m", "B set-off up"]
    with pytest.raises(ReplayError, match="step 9, train B: the route conflicts with the route"):
        replay(plan, movement(None, None, *on, *follow, "B take U w"))
    with pytest.raises(ReplayError, match="have not met"):
        replay(plan, movement(None, None, *on, *follow, "A run e", "B take U w"))
