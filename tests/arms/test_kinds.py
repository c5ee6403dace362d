"""Distant, calling-on and shunt arms: their routes, and when they may be off."""

from __future__ import annotations

import json
from typing import Any

import pytest

from trappoint.checking.check import check_content
from trappoint.checking.report import Report
from trappoint.interlocking import distants
from trappoint.interlocking.locking_table import ArmEntry, LockingTable

Plan = dict[str, Any]


def junction() -> Plan:
    """A line with a home, a junction signal with splitting distants, and a starter on each road."""
    return {
        "format": "trappoint-layout/1",
        "tracks": {
            "line": {"up": "edge:west", "down": "joint:1", "length_mm": 3000},
            "approach": {"up": "joint:1", "down": "p.toe", "length_mm": 1500},
            "left": {"up": "p.left", "down": "joint:2", "stand": True},
            "right": {"up": "p.right", "down": "joint:3", "stand": True},
            "left-on": {"up": "joint:2", "down": "edge:north", "running": "down"},
            "right-on": {"up": "joint:3", "down": "edge:south", "running": "down"},
        },
        "points": {"p": {"normal": "right"}},
        "signals": {
            "D": {
                "track": "line",
                "for": "down",
                "at_mm": 400,
                "arms": [{"id": "D", "kind": "distant", "repeats": ["H", "JR", "SR"]}],
            },
            "H": {
                "track": "line",
                "for": "down",
                "arms": [
                    {"id": "H"},
                    {"id": "DL", "kind": "distant", "doll": 2, "repeats": ["JL", "SL"]},
                    {"id": "DR", "kind": "distant", "doll": 3, "repeats": ["JR", "SR"]},
                ],
            },
            "J": {
                "track": "approach",
                "for": "down",
                "arms": [{"id": "JL", "to": "left"}, {"id": "JR", "to": "right"}],
            },
            "SL": {"track": "left", "for": "down", "arms": [{"id": "SL"}]},
            "SR": {"track": "right", "for": "down", "arms": [{"id": "SR"}]},
            "UL": {"track": "left", "for": "up", "arms": [{"id": "UL"}]},
            "UR": {"track": "right", "for": "up", "arms": [{"id": "UR"}]},
            "U": {"track": "approach", "for": "up", "at_mm": 700, "arms": [{"id": "U"}]},
        },
    }


def checked(plan: Plan) -> Report:
    report = check_content(json.dumps(plan), "plan")
    assert report.fault is None
    assert report.layout is not None, report.findings
    return report


def table(plan: Plan) -> LockingTable:
    found = checked(plan).table
    assert found is not None
    return found


def entry(plan: Plan, arm: str) -> ArmEntry:
    return next(entry for entry in table(plan).arms if entry.arm == arm)


def conflicts(plan: Plan, arm: str) -> set[str]:
    return {conflict.arm for conflict in entry(plan, arm).conflicts}


def in_scene(plan: Plan, **scene: Any) -> set[str]:
    """Return the rules with findings about a scene."""
    report = checked({**plan, "scenes": {"now": scene}})
    return {finding.rule for finding in report.findings if finding.pointer.startswith("/scenes")}


def test_the_junction_holds() -> None:
    report = checked(junction())
    assert report.holds is True
    assert [f.message for f in report.findings if f.level == "error"] == []


@pytest.mark.parametrize(
    ("off", "lie", "said"),
    [
        # All stop signals of the road that is set are off (common practice, no source: a distant
        # applies to every stop signal of its box for its line).
        (["H", "JR", "SR", "D"], "normal", set()),
        (["H", "JR", "SR", "DR", "D"], "normal", set()),
        (["H", "JL", "SL", "DL"], "reverse", set()),
        # One of them is on.
        (["H", "JR", "D"], "normal", {"scene-distant-too-soon"}),
        (["JR", "SR", "DR"], "normal", set()),
        (["H", "JR", "DR"], "normal", {"scene-distant-too-soon"}),
        (["H", "SR", "D"], "normal", {"scene-distant-too-soon"}),
        # The points lie for the other road: each of the splitting distants is for one road.
        (["H", "JL", "SL", "DR"], "reverse", {"scene-distant-too-soon"}),
        (["H", "JL", "SL", "D"], "reverse", {"scene-distant-too-soon"}),
    ],
)
def test_when_a_distant_may_be_off(off: list[str], lie: str, said: set[str]) -> None:
    points = {"p": "reverse"} if lie == "reverse" else {}
    assert in_scene(junction(), off=off, points=points) == said


def test_a_distant_under_a_stop_arm_waits_for_it() -> None:
    plan = junction()
    arms = plan["signals"]["H"]["arms"]
    arms[1:] = [{"id": "DR", "kind": "distant", "under": "H", "repeats": ["JR", "SR"]}]
    assert in_scene(plan, off=["JR", "SR", "DR"]) == {"scene-distant-too-soon"}
    assert in_scene(plan, off=["H", "JR", "SR", "DR"]) == set()


@pytest.mark.parametrize(
    ("repeats", "strays"),
    [
        (["H", "JR", "SR"], []),
        (["H"], []),
        (["JR"], [0]),  # H stands before it
        (["H", "SR"], [1]),  # JR stands before it
        (["UL"], [0]),  # it faces the other way
        (["H", "D"], [1]),  # no stop arm
        (["H", "JL", "SL", "JR", "SR"], []),
    ],
)
def test_what_a_distant_may_repeat(repeats: list[str], strays: list[int]) -> None:
    plan = junction()
    plan["signals"]["D"]["arms"][0]["repeats"] = repeats
    found = [f for f in checked(plan).findings if f.rule == "distant-repeats-wrong-arm"]
    base = "/signals/D/arms/0/repeats/"
    assert [finding.pointer for finding in found] == [f"{base}{index}" for index in strays]


def test_a_distant_without_repeats_repeats_the_next_signal() -> None:
    plan = junction()
    del plan["signals"]["D"]["arms"][0]["repeats"]
    assert entry(plan, "D").meaning == "Shows in advance that H is off."


def with_disc() -> Plan:
    """The junction with a disc between its two roads and the edge of the left one."""
    plan = junction()
    plan["tracks"]["left"] |= {"length_mm": 1200, "stand": False}
    plan["signals"]["X"] = {
        "track": "left",
        "for": "down",
        "at_mm": 600,
        "form": "disc",
        "arms": [{"id": "X", "kind": "shunt"}],
    }
    return plan


def test_a_main_route_passes_a_shunt_signal_that_must_be_off() -> None:
    plan = with_disc()
    (route,) = entry(plan, "JL").routes
    assert route.over == ("left",)
    assert route.ends_at == "SL"
    assert route.past == ("X",)
    assert "X" not in conflicts(plan, "JL")
    assert entry(plan, "X").routes[0].ends_at == "SL"
    points = {"p": "reverse"}
    assert in_scene(plan, off=["JL"], points=points) == {"scene-shunt-signal-on"}
    assert in_scene(plan, off=["JL", "X"], points=points) == set()


def test_a_shunt_arm_gives_leave_as_far_as_the_next_signal_of_either_kind() -> None:
    plan = with_disc()
    plan["signals"]["J"]["arms"].append({"id": "JS", "kind": "shunt", "under": "JL"})
    routes = entry(plan, "JS").routes
    assert [route.ends_at for route in routes] == ["X", "SR"]
    # The arm above it and the shunt arm lock each other (common practice, no source).
    assert {"JL", "JR"} <= conflicts(plan, "JS")


def test_a_shunt_signal_conflicts_with_what_comes_against_it() -> None:
    plan = with_disc()
    del plan["tracks"]["left-on"]["running"]
    plan["signals"]["N"] = {"track": "left-on", "for": "up", "arms": [{"id": "N"}]}
    assert "N" in conflicts(plan, "X")


def test_a_calling_on_arm_needs_the_points_but_no_empty_road() -> None:
    plan = junction()
    plan["signals"]["J"]["arms"].append({"id": "C", "kind": "calling-on", "under": "JR"})
    called = entry(plan, "C")
    assert called.routes == entry(plan, "JR").routes
    assert called.meaning.startswith("Calls a train on from approach")
    assert "JR" in conflicts(plan, "C")
    train = {"right": True}
    assert in_scene(plan, off=["JR"], trains=train) == {"scene-road-occupied"}
    assert in_scene(plan, off=["C"], trains=train) == set()
    assert in_scene(plan, off=["C"], points={"p": "reverse"}, trains=train) == {
        "scene-arm-against-points"
    }


def test_only_stop_arms_are_counted_in_pairs() -> None:
    plan = junction()
    stops = 8
    plan["signals"]["J"]["arms"].append({"id": "C", "kind": "calling-on", "under": "JR"})
    assert table(plan).pairs_all == stops * (stops - 1) // 2


def test_distants_too_large_to_analyse_leave_only_the_verdict(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(distants, "MAX_STEPS", 1)
    report = check_content(json.dumps(junction()), "plan")
    assert report.facts is not None and report.holds is True
    assert (report.facts.distants, report.facts.distants_cut) == ([], True)
    assert report.facts.beyond_limits and report.table is None
    (said,) = [finding for finding in report.findings if finding.rule == "too-much-to-follow"]
    assert said.message == "The distants repeat too many arms to analyse."
