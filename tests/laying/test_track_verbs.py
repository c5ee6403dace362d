"""What each verb of track makes of a plan."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest

from trappoint.checking.check import check_content
from trappoint.laying.refusing import Refused
from trappoint.laying.steps import lay

from .examples import EXAMPLES, IN_ORDER

if TYPE_CHECKING:
    from pathlib import Path

KELPIE = (EXAMPLES / "kelpie-quay.layout.json").read_text("utf-8")
LINE = {"do": "lay-line", "track": "line", "up": "edge:w", "down": "edge:e", "length_mm": 3000}
TWO = [
    {"do": "lay-line", "track": "north", "up": "edge:nw", "down": "edge:ne"},
    {"do": "lay-line", "track": "south", "up": "edge:sw", "down": "edge:se"},
]


def laid(*steps: dict[str, object], on: str | None = None) -> dict[str, Any]:
    """Return the plan after some steps."""
    plan: dict[str, Any] = json.loads(lay(on, steps).text)
    return plan


def ends(plan: dict[str, Any]) -> dict[str, str]:
    """Return for each track its two ends, in one text."""
    return {key: f"{track['up']} - {track['down']}" for key, track in plan["tracks"].items()}


def test_points_facing_up_trains() -> None:
    step = {"do": "put-in-points", "track": "line", "for": "up", "hand": "right", "ends": "edge"}
    plan = laid(LINE, {**step, "at_mm": 1000, "crossing_number": 8, "name": "Mill branch"})
    assert ends(plan) == {
        "line": "p1.toe - edge:e",
        "line-2": "edge:w - p1.left",
        "mill-branch": "edge:mill-branch - p1.right",
    }
    assert plan["points"] == {"p1": {"normal": "left", "crossing_number": 8}}
    assert [plan["tracks"][key]["length_mm"] for key in ("line", "line-2")] == [2000, 1000]


def test_three_way_points() -> None:
    plan = laid(LINE, {"do": "put-in-three-way-points", "track": "line"})
    assert ends(plan) == {
        "line": "edge:w - p1.toe",
        "siding-2": "p1.right - buffer",
        "siding": "p1.left - buffer",
        "line-2": "p1.middle - edge:e",
    }
    assert plan["points"] == {"p1": {"normal": "middle", "kind": "three-way"}}
    plain = laid({"do": "take-out-points", "points": "p1", "leg": "left"}, on=json.dumps(plan))
    assert plain["points"] == {"p1": {"normal": "left"}}
    assert ends(plain) == {
        "line": "edge:w - p1.toe",
        "siding-2": "p1.right - buffer",
        "line-2": "p1.left - edge:e",
    }


def test_a_third_leg() -> None:
    plan = json.loads(KELPIE)
    plan["scenes"] = {"one": {"points": {"p1": "reverse"}}}
    plan["signals"]["2"]["arms"][0]["expects"] = {"p1": "normal"}
    step = {"do": "add-leg", "points": "p1", "hand": "left", "name": "Bay"}
    made = laid(step, on=json.dumps(plan))
    assert made["points"]["p1"] == {"normal": "right", "kind": "three-way", "crossing_number": 8}
    assert ends(made)["loop-west"] == "p1.middle - p3.toe"
    assert ends(made)["bay"] == "p1.left - buffer"
    assert made["scenes"]["one"]["points"] == {"p1": "middle"}
    assert made["signals"]["2"]["arms"][0]["expects"] == {"p1": "right"}
    with pytest.raises(Refused, match="have three legs"):
        laid(step, on=json.dumps(made))
    out = laid({"do": "take-out-track", "track": "bay"}, on=json.dumps(made))
    assert (out["tracks"], out["points"]) == (plan["tracks"], plan["points"])


def test_a_siding_with_trap_points() -> None:
    plan = laid(LINE, {"do": "lay-siding", "track": "line", "trap": True, "name": "Goods"})
    assert ends(plan) == {
        "line": "edge:w - p1.toe",
        "line-2": "p1.right - edge:e",
        "goods": "p2.toe - buffer",
        "goods-lead": "p1.left - p2.left",
        "goods-drag": "buffer - p2.right",
    }
    assert plan["points"]["p2"] == {"normal": "right", "trap": True}
    assert plan["worked_together"] == [["p1", "p2"]]
    assert plan["tracks"]["goods-drag"]["stand"] is False


def test_a_loop_within_a_line_and_beside_a_whole_track() -> None:
    within = laid(LINE, {"do": "lay-loop", "track": "line", "name": "Up loop", "hand": "right"})
    assert ends(within) == {
        "line": "edge:w - p1.toe",
        "line-2": "p1.left - p2.right",
        "up-loop": "p1.right - p2.left",
        "line-3": "p2.toe - edge:e",
    }
    assert [track.get("length_mm") for track in within["tracks"].values()] == [
        1000,
        1000,
        None,
        1000,
    ]
    beside = laid({"do": "lay-loop", "track": "main"}, on=KELPIE)
    assert ends(beside)["main"] == "p4.right - p5.left"
    assert ends(beside)["loop"] == "p4.left - p5.right"
    assert beside["tracks"]["main"]["length_mm"] == 1450
    assert [beside["signals"][each]["track"] for each in "23"] == ["main", "main"]
    assert beside["platforms"]["A"]["tracks"] == ["main"]


def test_a_crossover_is_worked_together() -> None:
    plan = laid(*TWO, {"do": "lay-crossover", "track": "north", "to": "south"})
    assert ends(plan)["crossover"] == "p1.right - p2.right"
    assert ends(plan)["north"] == "edge:nw - p1.toe"
    assert ends(plan)["south-2"] == "p2.toe - edge:se"
    assert plan["worked_together"] == [["p1", "p2"]]


def test_a_scissors_crosses_on_a_diamond() -> None:
    plan = laid(*TWO, {"do": "lay-scissors", "track": "north", "to": "south"})
    assert plan["crossings"] == {"x1": {}}
    assert len(plan["worked_together"]) == 2
    met = [end for track in plan["tracks"].values() for end in (track["up"], track["down"])]
    assert {f"x1.{leg}" for leg in ("a1", "a2", "b1", "b2")} <= set(met)
    rules = [finding.rule for finding in check_content(json.dumps(plan), "").findings]
    assert "crossover-not-worked-together" not in rules
    assert "up-meets-up" not in rules


def test_no_side_of_a_triangle_is_a_crossover() -> None:
    points = {"do": "put-in-points", "track": "north"}
    plan = laid(TWO[0], points, {"do": "lay-triangle", "points": "p1"})
    rules = {finding.rule for finding in check_content(json.dumps(plan), "").findings}
    assert "reversing-loop" in rules
    assert "crossover-not-worked-together" not in rules


def test_a_crossing_becomes_a_slip_and_a_diamond_again() -> None:
    put = {"do": "put-in-crossing", "track": "north", "other": "south", "kind": "double-slip"}
    plan = laid(*TWO, put)
    assert ends(plan) == {
        "north": "edge:nw - x1.a1",
        "north-2": "x1.a2 - edge:ne",
        "south": "edge:sw - x1.b1",
        "south-2": "x1.b2 - edge:se",
    }
    plan["levers"] = {"4": {"points": ["x1"]}}
    plan["scenes"] = {"s": {"points": {"x1": "slip"}}}
    made = laid({"do": "change-crossing", "crossing": "x1", "kind": "diamond"}, on=json.dumps(plan))
    assert made["crossings"] == {"x1": {}}
    assert made["levers"] == {"4": {}}
    assert made["scenes"] == {"s": {}}
    out = laid({"do": "take-out-crossing", "crossing": "x1"}, on=json.dumps(made))
    assert ends(out) == {"north": "edge:nw - edge:ne", "south": "edge:sw - edge:se"}


def test_a_triangle_and_a_balloon_loop() -> None:
    junction = {"do": "put-in-points", "track": "line", "ends": "edge"}
    plan = laid(LINE, junction, {"do": "lay-triangle", "points": "p1"})
    assert ends(plan)["triangle"] == "p2.left - p3.right"
    assert ends(plan)["branch"] == "p2.toe - edge:branch"
    balloon = laid(LINE, {"do": "lay-balloon-loop", "track": "line", "end": "down"})
    assert ends(balloon) == {"line": "edge:w - p1.toe", "balloon-loop": "p1.left - p1.right"}


def test_a_turntable_with_roads() -> None:
    put = {"do": "put-in-turntable", "track": "line", "end": "down", "roads": 1}
    plan = laid(LINE, put, {"do": "add-road", "turntable": "turntable", "name": "Shed"})
    assert plan["turntables"] == {"turntable": {"roads": ["1", "2", "3"]}}
    assert ends(plan) == {
        "line": "edge:w - turntable.1",
        "turntable-road-2": "turntable.2 - buffer",
        "shed": "turntable.3 - buffer",
    }
    less = laid({"do": "take-out-track", "track": "turntable-road-2"}, on=json.dumps(plan))
    assert less["turntables"] == {"turntable": {"roads": ["1", "3"]}}
    none = laid({"do": "take-out-turntable", "turntable": "turntable"}, on=json.dumps(less))
    assert ends(none) == {"line": "edge:w - buffer", "shed": "buffer - buffer"}


def test_joining_turns_round_where_up_would_meet_up() -> None:
    branch = {"do": "lay-line", "track": "branch", "up": "buffer", "down": "edge:b"}
    join = {"do": "join-ends", "track": "line", "end": "down", "to": "branch", "to_end": "down"}
    plan = laid(LINE, branch, join)
    assert ends(plan) == {"line": "edge:w - joint:j1", "branch": "joint:j1 - buffer"}
    parted = laid({"do": "part-joint", "track": "line", "end": "down"}, on=json.dumps(plan))
    assert ends(parted) == {"line": "edge:w - buffer", "branch": "buffer - buffer"}


def test_what_depends_on_an_edge_goes_with_it() -> None:
    plan = json.loads(KELPIE)
    plan["edges"] = {"town": {"held": True}}
    plan["trains"] = {"local": {}}
    moves = [{"train": "local", "to": "main"}, {"train": "local", "to": "edge:town"}]
    plan["sessions"] = {"evening": {"moves": moves}}
    step = {"do": "make-buffer", "track": "town-line", "end": "up"}
    made = laid(step, on=json.dumps(plan))
    assert "edges" not in made
    assert made["sessions"]["evening"]["moves"] == moves[:1]
    back = laid({"do": "make-edge", "track": "town-line", "end": "up"}, on=json.dumps(made))
    assert back["tracks"]["town-line"]["up"] == "edge:town-line"


def test_turning_round_keeps_signals_where_they_are() -> None:
    plan = json.loads(KELPIE)
    plan["signals"]["2"]["at_mm"] = 1000
    turn = {"do": "turn-round", "track": "main"}
    turned = laid(turn, on=json.dumps(plan))
    assert ends(turned)["main"] == "p2.left - p1.right"
    assert (turned["signals"]["2"]["for"], turned["signals"]["2"]["at_mm"]) == ("up", 450)
    assert turned["signals"]["3"]["for"] == "down"
    assert laid(turn, on=json.dumps(turned)) == plan
    with pytest.raises(Refused, match="has no length"):
        plan["tracks"]["main"].pop("length_mm")
        laid(turn, on=json.dumps(plan))


def test_a_length_moves_the_signal_at_the_end() -> None:
    plan = json.loads(KELPIE)
    plan["signals"]["2"]["at_mm"] = 1450
    made = laid({"do": "set-length", "track": "main", "length_mm": 1600.5}, on=json.dumps(plan))
    assert made["tracks"]["main"]["length_mm"] == made["signals"]["2"]["at_mm"] == 1600.5
    plan["signals"]["2"]["at_mm"] = 1400
    with pytest.raises(Refused, match="is only 900 mm long"):
        laid({"do": "set-length", "track": "main", "length_mm": 900}, on=json.dumps(plan))


def test_hand_and_normal_lie() -> None:
    plan = json.loads(KELPIE)
    plan["scenes"] = {"one": {"points": {"p1": "left"}}, "two": {}}
    plan["signals"]["2"]["arms"][0]["expects"] = {"p1": "normal"}
    other = laid({"do": "set-normal", "points": "p1", "normal": "left"}, on=json.dumps(plan))
    assert other["points"]["p1"]["normal"] == "left"
    assert other["scenes"] == {"one": {}, "two": {"points": {"p1": "right"}}}
    assert other["signals"]["2"]["arms"][0]["expects"] == {"p1": "right"}
    hand = laid({"do": "set-hand", "points": "p1"}, on=json.dumps(plan))
    assert ends(hand)["main"] == "p1.left - p2.left"
    assert hand["points"]["p1"]["normal"] == "left"
    assert hand["scenes"]["one"] == {"points": {"p1": "right"}}


def test_small_things() -> None:
    steps: list[dict[str, object]] = [
        {"do": "run", "track": "main", "running": "down"},
        {"do": "stand", "track": "main", "stand": "no"},
        {"do": "set-angle", "of": "p1", "angle_degrees": 9.5},
        {"do": "set-trap", "points": "p2"},
        {"do": "call-plan", "title": "Selkie Wharf"},
        {"do": "set-scale", "scale": "N", "standard": "NMRA"},
    ]
    plan = laid(*steps, on=KELPIE)
    main = plan["tracks"]["main"]
    assert (main["running"], main["stand"]) == ("down", False)
    assert plan["points"]["p1"] == {"normal": "right", "angle_degrees": 9.5}
    assert plan["points"]["p2"]["trap"] is True
    assert (plan["title"], plan["scale"], plan["standard"]) == ("Selkie Wharf", "N", "NMRA")
    back: list[dict[str, object]] = [
        {"do": "run", "track": "main", "running": "both"},
        {"do": "stand", "track": "main", "stand": "usual"},
        {"do": "set-angle", "of": "p1", "crossing_number": 8},
        {"do": "set-trap", "points": "p2", "trap": False},
        {"do": "call-plan", "title": "Kelpie Quay"},
        {"do": "set-scale", "scale": "OO"},
    ]
    assert lay(json.dumps(plan), back).text == KELPIE


# --- what a cut leaves as it was


PLAIN = [path for path in IN_ORDER if "boards" not in json.loads(path.read_text("utf-8"))]


@pytest.mark.parametrize("path", PLAIN, ids=lambda path: path.stem)
def test_a_joint_changes_neither_the_verdict_nor_any_route(path: Path) -> None:
    text = path.read_text("utf-8")
    before = check_content(text, "")
    assert before.layout is not None
    assert before.facts is not None
    tracks = list(before.layout.tracks)
    for number, track in enumerate(tracks[:: max(1, len(tracks) // 4)]):
        signals = [each.id for each in before.layout.signals.values() if each.track == track]
        places = ["middle", "up", "down", *(f"beyond {signal}" for signal in signals)]
        step = {"do": "put-in-joint", "track": track, "at": places[number % len(places)]}
        after = check_content(lay(text, [step]).text, "")
        assert after.facts is not None
        assert after.holds == before.holds, step
        assert [len(routes) for routes in after.facts.assignment.routes_of] == [
            len(routes) for routes in before.facts.assignment.routes_of
        ], step


@pytest.mark.parametrize("path", PLAIN, ids=lambda path: path.stem)
def test_what_is_laid_can_be_taken_out_again(path: Path) -> None:
    text = path.read_text("utf-8")
    lengths = {key: track.get("length_mm") for key, track in json.loads(text)["tracks"].items()}
    tracks = [key for key, length in lengths.items() if length][:4]
    ways: list[dict[str, object]] = [
        {"do": "lay-siding", "siding": "new"},
        {"do": "lay-siding", "siding": "new", "trap": True},
        {"do": "put-in-points", "leg": "new", "ends": "edge", "for": "up"},
        {"do": "lay-loop", "loop": "new", "at": "within"},
    ]
    for number, track in enumerate(tracks):
        step = {**ways[number % len(ways)], "track": track}
        assert lay(text, [step, {"do": "take-out-track", "track": "new"}]).text == text, step
    assert tracks


def test_taking_out_a_road_takes_its_signals_and_arms() -> None:
    out = lay(KELPIE, [{"do": "take-out-track", "track": "siding"}])
    plan = json.loads(out.text)
    assert "p3" not in plan["points"]
    assert "6" not in plan["signals"]
    assert [arm["id"] for arm in plan["signals"]["4"]["arms"]] == ["4R"]
    assert out.said == (
        "Track siding is taken out. Tracks loop-west and loop-east are one, loop-west. "
        "Arm 4L and signal 6 went with it.",
    )
    assert check_content(out.text, "").holds


# --- curves of legs


CURVED: list[dict[str, object]] = [
    {"do": "set-leg-curve", "points": "p1", "leg": "left", "hand": "left", "radius_mm": 600,
     "leg_mm": 220},
    {"do": "set-leg-curve", "points": "p1", "leg": "right", "hand": "left", "radius_mm": 1500},
]  # fmt: skip


def test_curves_of_legs_follow_the_points() -> None:
    plan = laid(*CURVED, on=KELPIE)
    own, other = {"hand": "left", "radius_mm": 600}, {"hand": "left", "radius_mm": 1500}
    assert plan["points"]["p1"] == {
        "normal": "right", "leg_mm": 220, "curves": {"left": own, "right": other},
    }  # fmt: skip
    # The other hand is the mirror image; twice, it is what it was.
    swapped = laid(*CURVED, {"do": "set-hand", "points": "p1"}, on=KELPIE)["points"]["p1"]
    right = {"hand": "right", "radius_mm": 600}
    assert swapped["curves"] == {"right": right, "left": {"hand": "right", "radius_mm": 1500}}
    again = {"do": "set-hand", "points": "p1"}
    assert laid(*CURVED, again, again, on=KELPIE) == plan
    # A third leg outside the left one: its curve is that of the middle leg then, and goes back.
    third: dict[str, object] = {"do": "add-leg", "points": "p1", "hand": "left", "leg": "new"}
    three = laid(*CURVED, third, on=KELPIE)["points"]["p1"]
    assert three["curves"] == {"middle": own, "right": other}
    gone = {"do": "take-out-track", "track": "new"}
    assert laid(*CURVED, third, gone, on=KELPIE)["points"]["p1"]["curves"] == {
        "left": own, "right": other,
    }  # fmt: skip
    straight = {"do": "set-leg-curve", "points": "p1", "leg": "right"}
    angle = {"do": "set-angle", "of": "p1", "crossing_number": 8}
    assert laid(*CURVED, straight, on=KELPIE)["points"]["p1"]["curves"] == {"left": own}
    assert "curves" not in laid(*CURVED, angle, on=KELPIE)["points"]["p1"]
    no_leg = {"do": "describe-points", "points": "p1", "leg_mm": None}
    assert laid(*CURVED, no_leg, on=KELPIE)["points"]["p1"] == {"normal": "right"}


def test_the_hand_of_a_track_follows_up_and_down() -> None:
    curve: dict[str, object] = {
        "do": "describe-track", "track": "main", "radius_mm": 900, "curve": "left",
    }  # fmt: skip
    assert laid(curve, on=KELPIE)["tracks"]["main"]["curve"] == "left"
    turned = laid(curve, {"do": "turn-round", "track": "main"}, on=KELPIE)["tracks"]["main"]
    assert turned["curve"] == "right"
    gone = {"do": "describe-track", "track": "main", "radius_mm": None}
    assert laid(curve, gone, on=KELPIE) == laid(on=KELPIE)


def test_a_curve_needs_a_radius_and_a_length() -> None:
    for step in (
        {"leg": "left", "hand": "left", "radius_mm": 600},
        {"leg": "left", "hand": "left", "leg_mm": 220},
        {"leg": "middle", "hand": "left", "radius_mm": 600, "leg_mm": 220},
    ):
        with pytest.raises(Refused) as refused:
            laid({"do": "set-leg-curve", "points": "p1", **step}, on=KELPIE)
        assert refused.value.fix
