"""Single changes of Kelpie Quay, a plan that is small enough to follow by hand."""

from __future__ import annotations

import copy
import json
from typing import Any

import pytest

from compare.plans import Plan, changed, compared, fields, kelpie, told
from robust.blow_ups import fans
from trappoint import check
from trappoint.reporting.compare_json import comparison_to_json


def renamed_text(*pairs: tuple[str, str]) -> Plan:
    text = json.dumps(kelpie())
    for old, new in pairs:
        text = text.replace(f'"{old}"', f'"{new}"').replace(f'"{old}.', f'"{new}.')
    found: Plan = json.loads(text)
    return found


def test_the_same_text() -> None:
    found = compared(kelpie(), kelpie())
    assert found.same == "bytes"
    assert not found.differ


def write_it_otherwise(plan: Plan) -> None:
    """Change notes, defaults, a redundant `to` and the order: the meaning stays the same."""
    plan["note"] = "Drawn again."
    plan["tracks"] = dict(reversed(plan["tracks"].items()))
    plan["tracks"]["main"] |= {"running": "both", "stand": True, "note": "Ballast."}
    plan["points"]["p1"] |= {"kind": "turnout", "trap": False, "measure": "centre-line"}
    plan["signals"]["2"] |= {"at_mm": 1450, "mount": "post"}
    plan["signals"]["2"]["arms"][0] |= {"to": ["quarry-line"], "doll": 1, "kind": "stop"}
    plan["signals"]["3"] |= {"at_mm": 0}
    plan["yards"] = {}


def test_nothing_in_the_railways_terms() -> None:
    found = compared(kelpie(), changed(write_it_otherwise))
    assert (found.same, found.things, found.findings_new) == ("meaning", (), ())
    assert not found.differ


def test_a_renamed_track() -> None:
    found = compared(kelpie(), renamed_text(("loop-west", "loop")))
    assert told(found) == {("tracks", "loop-west", "loop"): ("renamed",)}
    assert not found.worked_otherwise
    assert not found.findings_new


def test_points_renumbered_onto_each_other() -> None:
    """The points p1, p2, p3 become p2, p3, p1."""
    new = renamed_text(("p1", "x"), ("p3", "p1"), ("p2", "p3"), ("x", "p2"))
    found = compared(kelpie(), new)
    assert told(found) == {
        ("points", "p1", "p2"): ("renamed",),
        ("points", "p2", "p3"): ("renamed",),
        ("points", "p3", "p1"): ("renamed",),
    }
    assert not found.worked_otherwise


def test_signals_renumbered_for_a_new_first_one() -> None:
    """All numbers go up by one, and a new signal gets number 1."""
    plan = kelpie()
    numbered = {
        str(int(key) + 1): {
            **signal,
            "arms": [
                {**arm, "id": str(int(arm["id"][0]) + 1) + arm["id"][1:]} for arm in signal["arms"]
            ],
        }
        for key, signal in plan["signals"].items()
    }
    plan["tracks"]["town-line"]["length_mm"] = 900
    new = copy.deepcopy(plan)
    distant = {"track": "town-line", "for": "down", "at_mm": 100}
    new["signals"] = {
        "1": {**distant, "arms": [{"id": "1", "kind": "distant"}]},
        **numbered,
    }
    found = told(compared(plan, new))
    assert found.pop(("signals", None, "1")) == ("added",)
    assert found.pop(("arms", None, "1")) == ("added",)
    assert set(found.values()) == {("renamed",)}
    assert ("signals", "7", "8") in found
    assert ("arms", "1L", "2L") in found


def test_a_signal_moved() -> None:
    def along(plan: Plan) -> None:
        plan["signals"]["2"]["at_mm"] = 1300

    def across(plan: Plan) -> None:
        plan["signals"]["6"]["track"] = "loop-east"

    found = compared(kelpie(), changed(along))
    assert told(found) == {("signals", "2", "2"): ("moved",)}
    assert [arm.new for arm in found.arms] == ["2"]  # its route now has the rest of main
    found = compared(kelpie(), changed(across))
    assert told(found) == {("signals", "6", "6"): ("moved",)}
    assert fields(found, "signals", "6") == ["track"]
    assert found.old.report.holds is True
    assert found.new.report.holds is False
    assert "unheld-exit" in [change.finding.rule for change in found.findings_new]


def test_a_signal_found_by_its_place() -> None:
    """Signal 2 becomes 20, with another side, and its arm gets another id."""

    def rename(plan: Plan) -> None:
        signal = plan["signals"].pop("2")
        plan["signals"]["20"] = {**signal, "side": "right", "arms": [{"id": "20A"}]}

    found = compared(kelpie(), changed(rename))
    assert told(found) == {
        ("signals", "2", "20"): ("renamed", "moved"),
        ("arms", "2", "20A"): ("renamed",),
    }
    assert fields(found, "signals", "20") == ["side"]
    assert not found.worked_otherwise


def test_arms_found_by_their_routes() -> None:
    def rename(plan: Plan) -> None:
        plan["signals"]["1"]["arms"] = [
            {"id": "to-loop", "to": "loop-west", "height_mm": 70},
            {"id": "to-main", "height_mm": 80, "to": "main"},
        ]

    found = compared(kelpie(), changed(rename))
    assert told(found) == {
        ("arms", "1L", "to-loop"): ("renamed", "changed"),
        ("arms", "1R", "to-main"): ("renamed", "changed"),
    }
    assert not found.worked_otherwise


def test_arms_with_another_meaning() -> None:
    def swap(plan: Plan) -> None:
        one, other = plan["signals"]["1"]["arms"]
        one["to"], other["to"] = other["to"], one["to"]

    found = comparison_to_json(compared(kelpie(), changed(swap)))
    assert found["things"] == []
    assert [arm["new"] for arm in found["arms"]] == ["1L", "1R"]
    assert found["arms"][0]["before"]["routes"][0]["over"] == ["loop-west"]
    assert found["arms"][0]["now"]["routes"][0]["over"] == ["main"]
    assert found["routes"] == {"lost": [], "gained": []}  # the signal has the same as before
    # 1L now runs over main, as 7L does: the two conflict.
    pairs = {tuple(each["arms"]): each for each in found["conflicts"]}
    assert pairs["1L", "7L"]["before"] == []
    assert pairs["1L", "7L"]["now"] == [{"by": "direct", "when": None}]
    assert pairs["1L", "7R"]["now"] == []
    assert [finding["rule"] for finding in found["findings"]["new"]] == ["arms-out-of-order"]


def test_a_signal_gone_takes_its_routes_conflicts_and_duties() -> None:
    """Without signal 6 nothing holds a train in the siding."""
    found = comparison_to_json(compared(kelpie(), changed(lambda plan: plan["signals"].pop("6"))))
    assert [(c["kind"], c["old"], c["how"]) for c in found["things"]] == [
        ("signals", "6", ["gone"]),
        ("arms", "6", ["gone"]),
    ]
    assert found["routes"]["gained"] == []
    assert [route["signal"] for route in found["routes"]["lost"]] == ["6"]
    assert {each["duty"] for each in found["duties"] if not each["gained"]} == {
        "home platform B",
        "protects p3",
        "holds siding",
    }
    assert all("6" in each["arms"] and not each["between_both"] for each in found["conflicts"])
    assert (found["old"]["holds"], found["new"]["holds"]) == (True, False)


def test_worked_together_and_conflicts_by_points() -> None:
    """A new group is a change of the group, not of its points."""
    new = changed(lambda plan: plan.update(worked_together=[["p1", "p3"]]))
    found = compared(kelpie(), new)
    assert ("worked_together", None, "p1+p3") in told(found)
    assert ("points", "p1", "p1") not in told(found)


def test_a_track_turned_round() -> None:
    def turn(plan: Plan) -> None:
        track = plan["tracks"]["loop-east"]
        track["up"], track["down"] = track["down"], track["up"]

    found = compared(kelpie(), changed(turn))
    assert told(found) == {("tracks", "loop-east", "loop-east"): ("changed",)}


def test_a_section_named_after_another_track_is_the_same() -> None:
    """A section of two tracks has the name of the first track in the plan."""
    tracks = {
        "west": {"up": "buffer", "down": "joint:board"},
        "lead": {"up": "joint:board", "down": "joint:face"},
        "east": {"up": "joint:face", "down": "buffer"},
    }
    signals = {
        "1": {"track": "lead", "for": "down", "arms": [{"id": "1"}]},
        "2": {"track": "east", "for": "up", "arms": [{"id": "2"}]},
    }
    plan = {"format": "trappoint-layout/1", "tracks": tracks, "signals": signals}
    other = plan | {key: dict(reversed(plan[key].items())) for key in ("tracks", "signals")}
    paths = [[f.path for f in check(json.dumps(each)).findings] for each in (plan, other)]
    assert paths == [[("1", "west", "2", "east")], [("2", "east", "1", "lead")]]
    assert not compared(plan, other).differ


CUT: Plan = {
    "format": "trappoint-layout/1",
    "tracks": {
        "line": {"up": "edge:out", "down": "joint:throat"},
        "road": {"up": "joint:throat", "down": "buffer", "length_mm": 1200},
    },
    "signals": {
        "1": {"track": "line", "for": "down", "arms": [{"id": "1"}]},
        "2": {"track": "road", "for": "up", "arms": [{"id": "2"}]},
        "3": {"track": "road", "for": "down", "at_mm": 600, "arms": [{"id": "3"}]},
    },
}
"""A track with a signal in it: only the section at the buffer is a stand."""


def test_a_stand_on_all_sections_of_a_track_is_a_change() -> None:
    def say_it(plan: Plan) -> None:
        plan["tracks"]["road"]["stand"] = True

    found = compared(CUT, changed(say_it, CUT))
    assert told(found) == {("tracks", "road", "road"): ("changed",)}
    (change,) = found.things
    (field,) = change.fields
    assert (field.name, field.old.entries, field.new.entries) == (
        "stand",
        (("at its end alone",),),
        (("on all of it",),),
    )
    uncut = changed(lambda plan: plan["signals"].pop("3"), CUT)
    assert compared(uncut, changed(say_it, uncut)).same == "meaning"
    assert not compared(uncut, changed(say_it, uncut)).differ


def test_an_edge_that_the_neighbour_holds_is_a_change() -> None:
    def hold_it(plan: Plan) -> None:
        plan["edges"] = {"out": {"held": True}}

    plan = changed(lambda plan: plan["tracks"]["line"].update(stand=True), CUT)
    held = changed(hold_it, plan)
    assert told(compared(plan, held)) == {("edges", "out", "out"): ("changed",)}
    assert fields(compared(plan, held), "edges", "out") == ["held"]
    said = changed(lambda plan: plan.update(edges={"out": {"held": False}}), plan)
    assert not compared(plan, said).differ, "it is false if left out"


def test_plans_beyond_the_limits_are_compared_without_their_routes() -> None:
    """Their conflicts alone would take about 90 seconds."""
    old = json.loads(fans(6))
    new = copy.deepcopy(old) | {"title": "Another title"}
    found = compared(old, new)
    assert found.old.report.holds is True and found.old.report.table is None
    assert not found.worked
    assert told(found) == {("plan", "", ""): ("changed",)}


def test_a_finding_accepted_is_no_longer_one() -> None:
    bad = changed(lambda plan: plan["signals"].pop("6"))
    entry = {"rule": "unheld-exit", "at": "/tracks/siding", "because": "Wagons only."}
    found = compared(bad, changed(lambda plan: plan.update(accept=[entry]), bad))
    assert [(c.finding.rule, c.accepted) for c in found.findings_gone] == [("unheld-exit", True)]
    assert told(found) == {("accept", None, "unheld-exit at /tracks/siding"): ("added",)}


def use_it(plan: Plan) -> None:
    plan["tracks"]["town-line"]["length_mm"] = 2000
    plan["tracks"]["loop-east"] |= {"radius_mm": 900, "curve": "right"}
    plan["points"]["p2"] |= {"leg_mm": 200, "curves": {"left": {"hand": "left", "radius_mm": 600}}}
    plan["trains"] = {"local": {"length_mm": 700}, "mail": {"length_mm": 800}}
    plan["levers"] = {"1": {"arms": ["1L"]}, "2": {"points": ["p1"]}, "3": {"arms": ["1R"]}}
    plan["scenes"] = {"noon": {"points": {"p1": "reverse"}, "trains": {"main": "local"}}}
    plan["signals"]["4"]["duties"] = ["junction p3", "starter platform B"]
    plan["signals"]["4"]["arms"][0] |= {"expects": {"p3": "reverse"}, "never_with": ["6"]}


@pytest.mark.parametrize(
    ("path", "value", "kind", "name", "field"),
    [
        ("title", "Kelpie Quay, as rebuilt", "plan", "", "title"),
        ("tracks/main/radius_mm", 900, "tracks", "main", "radius_mm"),
        ("tracks/loop-east/curve", "left", "tracks", "loop-east", "curve"),
        ("points/p2/curves/left/radius_mm", 700, "points", "p2", "curves"),
        ("tracks/main/running", "down", "tracks", "main", "running"),
        ("tracks/siding/stand", False, "tracks", "siding", "stand"),
        ("tracks/siding/down", "edge:works", "tracks", "siding", "down"),
        ("points/p1/crossing_number", 6, "points", "p1", "crossing_number"),
        ("points/p1/lock", True, "points", "p1", "lock"),
        ("platforms/A/length_mm", 1000, "platforms", "A", "length_mm"),
        ("signals/2/form", "disc", "signals", "2", "form"),
        ("signals/4/duties/1", "junction p2", "signals", "4", "duties"),
        ("signals/1/arms/0/height_mm", 80, "arms", "1L", "height_mm"),
        ("signals/4/arms/0/expects/p3", "normal", "arms", "4L", "expects"),
        ("signals/4/arms/0/never_with/0", "7R", "arms", "4L", "never_with"),
        ("trains/local/engine_mm", 150, "trains", "local", "engine_mm"),
        ("levers/3/arms/0", "5", "levers", "3", "arms"),
        ("scenes/noon/trains/main", "mail", "scenes", "noon", "trains"),
        ("scenes/noon/points/p1", "normal", "scenes", "noon", "points"),
    ],
)
def test_each_field(path: str, value: object, kind: str, name: str, field: str) -> None:
    old = changed(use_it)
    new = copy.deepcopy(old)
    *way, last = path.split("/")
    at: Any = new
    for part in way:
        at = at[int(part) if isinstance(at, list) else part]
    at[int(last) if isinstance(at, list) else last] = value
    found = compared(old, new)
    assert list(told(found)) == [(kind, name, name)]
    assert fields(found, kind, name) == [field]


def test_a_lie_written_in_another_word_is_the_same() -> None:
    old = changed(use_it)
    new = copy.deepcopy(old)
    new["signals"]["4"]["arms"][0]["expects"] = {"p3": "left"}  # p3 is normally right
    new["scenes"]["noon"]["points"] = {"p1": "left", "p2": "normal"}
    assert compared(old, new).same == "meaning"


def test_a_belief_that_points_lie_normal_is_another_one_when_normal_is() -> None:
    old = changed(use_it)
    new = copy.deepcopy(old)
    new["points"]["p3"]["normal"] = "left"
    assert set(told(compared(old, new))) == {("points", "p3", "p3"), ("arms", "4L", "4L")}


def test_unknown_keys_are_compared_too() -> None:
    """A comparison reports new keys of the format too."""
    from trappoint.comparing.differences import things_changed
    from trappoint.comparing.matching import match
    from trappoint.comparing.model import Side
    from trappoint.comparing.names import Names
    from trappoint.comparing.things import things_of
    from trappoint.model.building import build_layout

    def put(plan: Plan) -> None:
        plan["age"] = 20
        plan["tracks"]["main"]["sleepers"] = "oak"
        plan["signals"]["2"]["lamps"] = [1, 2]
        plan["signals"]["3"]["arms"][0]["colour"] = "red"

    report = compared(kelpie(), kelpie()).old.report
    before, now = (things_of(build_layout(plan), plan) for plan in (kelpie(), changed(put)))
    old, new = Side("plan", report, before), Side("plan", report, now)
    names = Names(match(before, now))
    assert {
        (change.kind, change.new and change.new.id, change.fields[0].name)
        for change in things_changed(old, new, names, worked=False)
    } == {
        ("plan", "", "age"),
        ("tracks", "main", "sleepers"),
        ("signals", "2", "lamps"),
        ("arms", "3", "colour"),
    }


def test_a_thing_of_one_plan_that_is_not_understood() -> None:
    """Tracks that meet it are still recognised by their ends."""
    bad, without = kelpie(), kelpie()
    bad["points"]["p1"] = {"name": "North"}
    del without["points"]["p1"]
    without["tracks"]["main"]["length_mm"] = 1500
    for old, new in ((bad, without), (without, bad)):
        found = compared(old, new)
        assert fields(found, "tracks", "main")[-1] == "length_mm"
