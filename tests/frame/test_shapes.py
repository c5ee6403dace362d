"""Frames of small plans with locking that is easy to derive by eye."""

from __future__ import annotations

from typing import Any

import pytest

from frame.plans import Plan, as_layout, junction_1873, with_levers
from frame.working import all_states, behaviour, simulate
from rules.plans import example_text
from trappoint import PlanError, load
from trappoint.checking.frame import frame_table
from trappoint.lever_frame.frame import FrameTable
from trappoint.model.settings import Settings
from trappoint.rules.reach import TOO_MANY_ROUTES


def texts(table: FrameTable) -> list[str]:
    return [entry.text for entry in table.entries]


def loop() -> Plan:
    """A passing loop on a single line: roads 1 and 2, points w and e, all eight arms, a distant.

    Source of the eight routes: a crossing station on a single line, in M. Le Bliguet and A. A.
    Kjær, Modelling Interlocking Systems for Railway Stations (thesis), 2008, section 2.4.2.
    """

    def signal(track: str, heading: str, *arms: Any, **more: Any) -> Plan:
        return {"track": track, "for": heading, "arms": list(arms), **more}

    ahead = {"id": "d", "kind": "distant", "repeats": ["w1", "w2", "1e", "2e"]}
    return {
        "format": "trappoint-layout/1",
        "tracks": {
            "west": {"up": "edge:west", "down": "w.toe", "length_mm": 3000},
            "road-1": {"up": "w.left", "down": "e.right", "stand": True},
            "road-2": {"up": "w.right", "down": "e.left", "stand": True},
            "east": {"up": "e.toe", "down": "edge:east", "length_mm": 3000},
        },
        "points": {"w": {"normal": "left"}, "e": {"normal": "right"}},
        "signals": {
            "w": signal("west", "down", {"id": "w1"}, {"id": "w2"}, mount="bracket"),
            "d": signal("west", "down", ahead, at_mm=1000),
            "e": signal("east", "up", {"id": "e2"}, {"id": "e1"}, mount="bracket"),
            "1e": signal("road-1", "down", {"id": "1e"}),
            "2e": signal("road-2", "down", {"id": "2e"}),
            "1w": signal("road-1", "up", {"id": "1w"}),
            "2w": signal("road-2", "up", {"id": "2w"}),
        },
        "levers": {
            "1": {"arms": ["d"]},
            "2": {"arms": ["w1"]},
            "3": {"arms": ["w2"]},
            "4": {"arms": ["1e"]},
            "5": {"arms": ["2e"]},
            "6": {"points": ["w"]},
            "7": {"points": ["e"]},
            "8": {"arms": ["1w"]},
            "9": {"arms": ["2w"]},
            "10": {"arms": ["e1"]},
            "11": {"arms": ["e2"]},
        },
    }


def test_loop_locks_directly_what_points_do_not_keep_apart() -> None:
    """Six pairs of arms share their track with the points lying alike: the only direct entries."""
    plan = loop()
    table = frame_table(as_layout(plan))
    arms = {n for n, lever in plan["levers"].items() if "arms" in lever}
    name = {n: lever["arms"][0] for n, lever in plan["levers"].items() if "arms" in lever}
    direct = {
        frozenset((name[entry.lever], name[other.lever]))
        for entry in table.entries
        if entry.relation == "locks"
        for other in entry.others
        if other.lever in arms
    }
    published = ("w1 1w", "w2 2w", "e1 1e", "e2 2e", "w1 e1", "w2 e2")
    assert direct == {frozenset(pair.split()) for pair in published}


def test_distant_over_two_roads() -> None:
    """It goes off with home and starter of one road, whichever is set; never across them."""
    frame = simulate(frame_table(as_layout(loop())))
    off = {
        state - {"1", "6", "7"}
        for state in all_states(["1", "2", "3", "4", "5", "6", "7"])
        if "1" in state and frame.legal(state)
    }
    assert off == {frozenset({"2", "4"}), frozenset({"3", "5"})}


def test_distant_under_a_stop_arm_needs_that_arm_too() -> None:
    plan = loop()
    plan["signals"]["w"] = {
        "track": "west",
        "for": "down",
        "arms": [{"id": "w1"}, {"id": "w2"}, {"id": "u", "kind": "distant", "under": "w1"}],
    }
    plan["levers"]["1"] = {"arms": ["u"]}
    del plan["signals"]["d"]
    assert [text for text in texts(frame_table(as_layout(plan))) if text.startswith("1 ")] == [
        "1 released by 2",
        "1 released by 4",
    ]


def test_two_homes_on_one_lever() -> None:
    """The arm that the points select: they are held while it is off, and what it crosses too."""
    plan = junction_1873()
    levers = {n: lever for n, lever in plan["levers"].items() if n != "8"}
    levers["7"] = {"arms": ["7", "8"]}
    table = frame_table(as_layout(with_levers(plan, levers)), interlock_points=False)
    assert texts(table) == [
        "1 released by 4",
        "2 released by 3",
        "3 locks 5",
        "4 released by 5",
        "4 locks 7 when 6 reversed",
        "7 locks 6 both ways",
        "9 released by 7",
    ]


def test_points_on_no_lever_leave_the_arms_to_lock_each_other() -> None:
    plan = junction_1873()
    levers = {n: lever for n, lever in plan["levers"].items() if n != "5"}
    table = frame_table(as_layout(with_levers(plan, levers)))
    assert "3 locks 4" in texts(table)
    assert "4 locks 8" in texts(table)
    assert table.notes == (
        "On no lever: points p5. Their lie is unknown to the frame, so arms that only they would "
        "separate lock each other.",
    )


def test_points_in_a_yard_need_no_lever() -> None:
    plan = junction_1873()
    plan["tracks"]["shed-1"] = {"up": "y.left", "down": "buffer"}
    plan["tracks"]["shed-2"] = {"up": "y.right", "down": "buffer"}
    plan["tracks"]["neck"] = {"up": "buffer", "down": "y.toe"}
    plan["points"]["y"] = {"normal": "left"}
    plan["yards"] = {"shed": {"tracks": ["neck", "shed-1", "shed-2"], "points": ["y"]}}
    assert frame_table(as_layout(plan)).notes == ()


def test_arms_on_no_lever_are_named() -> None:
    plan = junction_1873()
    levers = {n: lever for n, lever in plan["levers"].items() if n not in ("3", "8")}
    table = frame_table(as_layout(with_levers(plan, levers)))
    # The points at least must lie for a road whose arm the frame does not know.
    assert "2 locks 5" in texts(table)
    assert "9 released by 6 or 7" in texts(table)
    assert any(note.startswith("On no lever: arms 3 and 8.") for note in table.notes)
    assert "Lever 2 is not released by 3, which no lever works." in table.notes
    assert "Lever 9 is not released by 8, which no lever works." in table.notes


def test_a_distant_with_nothing_ahead_is_named() -> None:
    plan = junction_1873()
    plan["signals"]["1"]["track"] = "up-a"
    plan["tracks"]["up-a"]["length_mm"] = 3000
    del plan["signals"]["1"]["arms"][0]["repeats"]
    table = frame_table(as_layout(plan))
    assert "1 released by 4" not in texts(table)
    assert table.notes == ("Distant 1 repeats no stop arm, so no lever releases lever 1.",)


def terminus(levers: Plan) -> Plan:
    """Three roads behind three-way points, an arm in and an arm out for each."""
    roads = ("left", "middle", "right")
    return {
        "format": "trappoint-layout/1",
        "tracks": {
            "line": {"up": "edge:line", "down": "p.toe"},
            **{road: {"up": f"p.{road}", "down": "buffer"} for road in roads},
        },
        "points": {"p": {"kind": "three-way", "normal": "middle"}},
        "signals": {
            "in": {
                "track": "line",
                "for": "down",
                "mount": "bracket",
                "arms": [{"id": f"in-{road}"} for road in roads],
            },
            **{road: {"track": road, "for": "up", "arms": [{"id": f"out-{road}"}]}
               for road in roads},
        },
        "levers": levers,
    }  # fmt: skip


def test_three_way_points_have_two_levers() -> None:
    levers: Plan = {"1": {"points": ["p"]}, "2": {"points": ["p"]}}
    for number, road in enumerate(("left", "middle", "right"), 3):
        levers[str(number)] = {"arms": [f"in-{road}"]}
        levers[str(number + 3)] = {"arms": [f"out-{road}"]}
    table = frame_table(as_layout(terminus(levers)))
    assert texts(table) == [
        "1 locks 2",
        "3 released by 1",
        "3 locks 6",
        "4 locks 1",
        "4 locks 2",
        "4 locks 7",
        "5 released by 2",
        "5 locks 8",
        "6 released by 1",
        "7 locks 1",
        "7 locks 2",
        "8 released by 2",
    ]


def test_three_way_points_with_one_lever() -> None:
    levers = {"1": {"points": ["p"]}, "2": {"arms": ["in-right"]}, "3": {"arms": ["in-left"]}}
    table = frame_table(as_layout(terminus(levers)))
    assert texts(table) == ["2 stays normal", "3 released by 1"]
    assert table.notes[0] == (
        "Three-way points p have one lever, 1: it sets them left. No lever sets them right."
    )
    assert "Lever 2 cannot be reversed: the frame can set no road of its arms." in table.notes


def test_crossover() -> None:
    """Both ends on one lever: only the two main movements can be made at once."""
    plan: Plan = {
        "format": "trappoint-layout/1",
        "tracks": {
            "up-a": {"up": "edge:a1", "down": "p.toe"},
            "up-b": {"up": "p.left", "down": "edge:b1"},
            "link": {"up": "p.right", "down": "q.right"},
            "down-a": {"up": "edge:a2", "down": "q.left"},
            "down-b": {"up": "q.toe", "down": "edge:b2"},
        },
        "points": {"p": {"normal": "left"}, "q": {"normal": "left"}},
        "worked_together": [["p", "q"]],
        "signals": {
            "s1": {"track": "up-b", "for": "up", "arms": [{"id": "1"}]},
            "s2": {"track": "down-a", "for": "down", "arms": [{"id": "2"}]},
            "s4": {"track": "up-a", "for": "down", "arms": [{"id": "4", "to": "link"}]},
            "s5": {"track": "down-b", "for": "up", "arms": [{"id": "5", "to": "link"}]},
        },
        "levers": {n: {"arms": [n]} for n in "1245"} | {"3": {"points": ["p"]}},
    }
    table = frame_table(as_layout(plan))
    assert table.levers[2].names == ("p", "q")
    assert texts(table) == [
        "1 locks 3",
        "2 locks 3",
        "4 released by 3",
        "4 locks 5",
        "5 released by 3",
    ]
    states = set(behaviour(simulate(table)))
    arms = {state - {"3"} for state in states if len(state - {"3"}) == 2}
    assert arms == {frozenset({"1", "2"})}


def test_levers_stand_in_the_order_of_their_numbers() -> None:
    plan = junction_1873()
    plan["levers"] = {**dict(reversed(plan["levers"].items())), "10": {}}
    table = frame_table(as_layout(plan))
    assert [lever.number for lever in table.levers] == [str(n) for n in range(1, 11)]
    assert (table.levers[-1].works, table.levers[-1].colour) == ("nothing", "white")


def test_a_plan_without_levers() -> None:
    table = frame_table(as_layout(with_levers(junction_1873(), {})))
    assert (table.levers, table.entries) == ((), ())


def test_a_distant_on_a_lever_with_stop_arms_is_named() -> None:
    plan = junction_1873()
    del plan["levers"]["2"]
    plan["levers"]["3"] = {"arms": ["3", "2"]}
    table = frame_table(as_layout(plan))
    assert table.notes == (
        "Distant 2 is worked by lever 3 together with arms of another kind: what keeps it on is "
        "not derived.",
    )
    assert (table.levers[1].number, table.levers[1].works) == ("3", "arms")


def test_a_distant_with_too_many_ways(monkeypatch: pytest.MonkeyPatch) -> None:
    """Beyond the limit the distant needs all its arms, which exclude each other: too strict, but
    safe."""
    monkeypatch.setattr("trappoint.lever_frame.distants.MAX_CHOICES", 1)
    table = frame_table(as_layout(loop()))
    assert any("in more than 1 ways" in note for note in table.notes)
    assert any(note.startswith("Lever 1 cannot be reversed") for note in table.notes)
    assert not any("1" in state for state in behaviour(simulate(table)))


def test_too_many_routes() -> None:
    with pytest.raises(PlanError, match="too many to analyse"):
        frame_table(load(example_text(TOO_MANY_ROUTES.fails)))


def test_overlap_as_a_setting_of_the_club() -> None:
    """Test that with overlaps the two homes exclude each other, for any roads.

    Common practice, no source: if overlaps run to the limits of the points, the two homes of a loop
    exclude each other.
    """
    own = texts(frame_table(as_layout(loop()), settings=Settings(overlap=True)))
    plain = texts(frame_table(as_layout(loop())))
    assert {"2 locks 11", "3 locks 10"} <= set(own) - set(plain)
