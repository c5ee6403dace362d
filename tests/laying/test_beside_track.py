"""Verbs for levers, platforms, yards, working, boards, names and ids."""

from __future__ import annotations

import json
import random
from typing import Any

import pytest

from amount import amount
from trappoint.checking.check import check_content
from trappoint.laying.catalogue import VERBS
from trappoint.laying.levers import pulls
from trappoint.laying.refusing import Refused
from trappoint.laying.steps import lay
from trappoint.model.building import build_layout

from .all_steps import steps_beside_track, steps_for
from .examples import EXAMPLES
from .test_signals import KELPIE, SELKIE, Data, laid, refusal, said

AUTUMN = (EXAMPLES / "nixie-vale" / "autumn.layout.json").read_text("utf-8")
SPRING = (EXAMPLES / "nixie-vale" / "spring.layout.json").read_text("utf-8")
VALE = (EXAMPLES / "hobthrush-vale.layout.json").read_text("utf-8")


def levers(plan: Data) -> list[str]:
    return [
        " ".join(each.get("points", each.get("arms", ["spare"])))
        for each in plan["levers"].values()
    ]


# --- the frame


def test_levers_are_numbered_along_the_diagram() -> None:
    plan = laid(KELPIE, {"do": "number-levers"})
    assert list(plan["levers"]) == [str(number) for number in range(1, 14)]
    down = ["1L", "1R", "2", "4L", "4R"]
    up = ["3", "5", "6", "7L", "7R"]
    assert sorted(levers(plan)[:5]) == sorted(down)
    assert levers(plan)[5:8] == ["p1", "p3", "p2"]
    assert sorted(levers(plan)[8:]) == sorted(up)
    assert levers(plan)[:2] == ["1L", "1R"]
    assert levers(plan)[-2:] == ["7L", "7R"]
    other = laid(KELPIE, {"do": "number-levers", "first": "up"})
    assert sorted(levers(other)[:5]) == sorted(up)
    report = check_content(json.dumps(plan), "plan")
    assert not [finding for finding in report.findings if "lever" in finding.rule]


def test_a_junction_has_the_order_of_the_frame_of_1873() -> None:
    """Up distants, up homes, points, down homes, down distant: levers 1 to 9 of that frame.

    Source: report headed "Exposition at Vienna", 1873, pp. 492-495. Its up trains come from the
    lines that join here, so that they are the down trains of this plan.
    """
    plan = {
        "format": "trappoint-layout/1",
        "tracks": {
            "branch-in": {"up": "edge:branch-in", "down": "d.b1", "running": "down"},
            "branch-link": {"up": "d.b2", "down": "join.left", "running": "down"},
            "main-in": {"up": "edge:main-in", "down": "join.right", "running": "down"},
            "in": {"up": "join.toe", "down": "edge:in", "running": "down"},
            "main-out": {"up": "edge:main-out", "down": "d.a1", "running": "up"},
            "main-link": {"up": "d.a2", "down": "part.left", "running": "up"},
            "branch-out": {"up": "edge:branch-out", "down": "part.right", "running": "up"},
            "out": {"up": "part.toe", "down": "edge:out", "running": "up", "length_mm": 3000},
        },
        "points": {"join": {"normal": "right"}, "part": {"normal": "left"}},
        "crossings": {"d": {}},
    }
    for key in ("branch-in", "main-in"):
        plan["tracks"][key]["length_mm"] = 3000  # type: ignore[index]
    steps: list[Data] = [
        {"do": "put-signal", "track": "branch-in", "for": "down", "kind": "distant", "at_mm": 500},
        {"do": "put-signal", "track": "main-in", "for": "down", "kind": "distant", "at_mm": 500},
        {"do": "put-signal", "track": "main-in", "for": "down"},
        {"do": "put-signal", "track": "branch-in", "for": "down"},
        {"do": "put-signal", "track": "out", "for": "up"},
        {"do": "put-signal", "track": "out", "for": "up", "kind": "distant", "at_mm": 2500},
        {"do": "number-levers"},
    ]
    found = levers(laid(json.dumps(plan), *steps))
    assert found == ["1", "2", "3", "4", "join", "part", "5L", "5R", "6"]


def test_numbering_again_keeps_plates_shared_levers_and_spare_ones() -> None:
    steps = (
        {"do": "put-lever", "number": 7, "arms": ["1L", "1R"], "name": "Home"},
        {"do": "put-lever", "name": "Spare"},
        {"do": "number-levers"},
    )
    plan = laid(KELPIE, *steps)
    assert plan["levers"]["1"] == {"arms": ["1L", "1R"], "name": "Home"}
    assert list(plan["levers"].values())[-1] == {"name": "Spare"}
    again = laid(json.dumps(plan), {"do": "number-levers"})
    assert again["levers"] == plan["levers"]


def test_one_lever_for_what_works_together_two_for_three_ways_none_in_yards() -> None:
    layout = build_layout(json.loads(SELKIE))
    points = [pull.names for pull in pulls(layout, "down") if pull.key == "points"]
    assert ("x1", "x2") in points
    assert ("p5", "t1") in points
    assert not {name for names in points for name in names} & {"g1", "g2", "g3", "s1"}
    ring = build_layout(json.loads((EXAMPLES / "pixie-ring.layout.json").read_text("utf-8")))
    assert [pull.names for pull in pulls(ring, "down")].count(("h1",)) == 2


def test_single_levers() -> None:
    town = (EXAMPLES / "nixie-vale" / "boards" / "nixie-town.layout.json").read_text("utf-8")
    put = {"do": "put-lever", "number": 3}
    assert "There is a lever 3 already." in refusal(town, put)
    plan = laid(town, {**put, "shift": True})
    assert levers(plan) == ["H1", "H2", "spare", "p1", "S1", "S2", "HD"]
    assert list(plan["levers"]) == ["1", "2", "3", "4", "5", "6", "7"]
    back = laid(json.dumps(plan), {"do": "take-out-lever", "lever": "3", "close_up": True})
    assert back == json.loads(town)
    swapped = laid(town, {"do": "move-lever", "lever": 1, "to": 2})
    assert swapped["levers"]["1"] == {"arms": ["H2"]}
    moved = laid(town, {"do": "move-lever", "lever": 1, "to": 20})
    assert moved["levers"]["20"] == {"arms": ["H1"]}
    assert "1" not in moved["levers"]
    changed = laid(town, {"do": "change-lever", "lever": 1, "points": ["p1"], "name": "Points"})
    assert changed["levers"]["1"] == {"points": ["p1"], "name": "Points"}
    both = {"do": "put-lever", "points": ["p1"], "arms": ["H1"]}
    assert "not both" in refusal(town, both)
    assert "from 1 to 999" in refusal(town, {"do": "put-lever", "number": 1000})


# --- platforms, yards, worked together


def test_platforms_get_the_next_letter_or_number() -> None:
    step = {"do": "build-platform", "tracks": ["siding", "loop-west"], "length_mm": 500}
    assert laid(KELPIE, step)["platforms"]["C"] == {
        "tracks": ["siding", "loop-west"], "length_mm": 500,
    }  # fmt: skip
    assert "4" in laid(SELKIE, {"do": "build-platform", "tracks": "up-line"})["platforms"]
    assert laid(
        KELPIE, step, {"do": "change-platform", "platform": "C", "length_mm": None, "name": "Quay"}
    )["platforms"]["C"] == {"tracks": ["siding", "loop-west"], "name": "Quay"}
    assert laid(KELPIE, step, {"do": "take-out-platform", "platform": "C"}) == json.loads(KELPIE)
    wrong = {"do": "build-platform", "tracks": ["p1"]}
    assert 'no track "p1"' in refusal(KELPIE, wrong)


def test_yards() -> None:
    made = {"do": "make-yard", "tracks": "siding", "name": "Quay sidings"}
    more = {"do": "put-in-yard", "yard": "quay-sidings", "points": ["p3"]}
    plan = laid(KELPIE, made, more)
    assert plan["yards"] == {
        "quay-sidings": {"tracks": ["siding"], "points": ["p3"], "name": "Quay sidings"}
    }
    less = {"do": "take-from-yard", "yard": "quay-sidings"}
    assert laid(json.dumps(plan), {**less, "points": "p3"}) == laid(KELPIE, made)
    both = {**less, "points": "p3", "tracks": "siding"}
    assert "Nothing would be left" in refusal(json.dumps(plan), both)
    assert "neither tracks nor points" in refusal(KELPIE, {"do": "make-yard"})
    second = {**made, "name": "Again"}
    assert "already belongs to" in refusal(json.dumps(plan), second)
    gone = {"do": "take-out-yard", "yard": "quay-sidings"}
    assert laid(json.dumps(plan), gone) == json.loads(KELPIE)


def test_points_work_together_and_apart() -> None:
    plan = laid(KELPIE, {"do": "work-together", "points": "p1", "with": "p2"})
    assert plan["worked_together"] == [["p1", "p2"]]
    assert laid(json.dumps(plan), {"do": "work-apart", "points": "p1"}) == json.loads(KELPIE)
    assert "Name two or more" in refusal(KELPIE, {"do": "work-together", "points": "p1"})
    three_way = (EXAMPLES / "pixie-ring.layout.json").read_text("utf-8")
    words = refusal(three_way, {"do": "work-together", "points": ["h1", "h2"]})
    assert "three-way points" in words


# --- working


def test_a_scene_keeps_what_is_not_normal() -> None:
    step = {"do": "set-scene", "name": "Away", "points": {"p1": "left", "p2": "normal"},
            "off": ["1L"], "trains": {"main": True}}  # fmt: skip
    plan = laid(KELPIE, step)
    assert plan["scenes"]["away"] == {
        "points": {"p1": "left"}, "off": ["1L"], "trains": {"main": True}, "name": "Away",
    }  # fmt: skip
    bare = laid(json.dumps(plan), {"do": "change-scene", "scene": "away", "points": {}, "off": []})
    assert bare["scenes"]["away"] == {"trains": {"main": True}, "name": "Away"}
    assert "no train" in refusal(KELPIE, {**step, "trains": {"main": "ghost"}})
    assert "p1 cannot lie 3" in refusal(KELPIE, {**step, "points": {"p1": 3}}).replace(
        "the number ", ""
    )


def test_a_session_is_planned_movement_by_movement() -> None:
    move = {"do": "add-movement", "session": "day"}
    steps: list[Data] = [
        {"do": "add-train", "id": "local", "length_mm": 500, "engine_mm": 150},
        {"do": "plan-session", "id": "day", "trains": {"main": "local"}},
        {**move, "train": "local", "to": "edge:quarry"},
        {**move, "train": "local", "from": "edge:quarry", "to": "B", "via": "loop-east"},
        {**move, "train": "local", "to": "siding", "number": 2},
        {"do": "change-movement", "session": "day", "number": 3, "via": None, "note": "Back."},
        {"do": "take-out-movement", "session": "day", "number": 2},
    ]
    plan = laid(KELPIE, *steps)
    assert plan["sessions"]["day"] == {
        "trains": {"main": "local"},
        "moves": [
            {"train": "local", "to": "edge:quarry"},
            {"train": "local", "from": "edge:quarry", "to": "B", "note": "Back."},
        ],
    }
    words = refusal(json.dumps(plan), {"do": "take-out-movement", "session": "day", "number": 3})
    assert "no movement 3" in words
    assert laid(json.dumps(plan), {"do": "take-out-train", "train": "local"})["sessions"] == {
        "day": {"trains": {"main": True}, "moves": []}
    }


# --- boards


def test_boards_are_added_joined_turned_and_parted() -> None:
    steps: list[Data] = [
        {"do": "add-board", "plan": "boards/east.layout.json"},
        {"do": "join-boards", "a": ":quarry", "b": "east:west"},
    ]
    plan = laid(KELPIE, *steps)
    assert plan["boards"] == {"east": {"plan": "boards/east.layout.json"}}
    assert plan["joins"] == [{"a": ":quarry", "b": "east:west"}]
    text = json.dumps(plan)
    turned = laid(text, {"do": "turn-board", "board": "east"})
    assert turned["boards"]["east"]["reversed"] is True
    assert laid(json.dumps(turned), {"do": "turn-board", "board": "east"}) == plan
    assert laid(text, {"do": "take-out-board", "board": "east"}) == json.loads(KELPIE)
    assert "joins" not in laid(text, {"do": "part-boards", "edge": "east:west"})
    for step, words in (
        ({"a": ":quarry", "b": "east:other"}, "joined already"),
        ({"a": ":sea", "b": "east:other"}, "No track ends at an edge sea."),
        ({"a": "west:x", "b": "east:other"}, "no board west"),
        ({"a": "west", "b": "east:other"}, "BOARD:EDGE"),
    ):
        assert words in refusal(text, {"do": "join-boards", **step})
    outside = {"do": "add-board", "plan": "/etc/x.json"}
    assert "the path of a plan" in refusal(KELPIE, outside)


def test_things_on_boards_can_be_named_and_are_changed_in_their_own_plans() -> None:
    plan = laid(SPRING, {"do": "set-scene", "id": "s", "off": ["town/S2"]})
    assert plan["scenes"]["s"] == {"off": ["town/S2"]}
    words = refusal(SPRING, {"do": "rename", "at": "arms/town/S1", "to": "S9"})
    assert words == (
        '"town/S1" is on board town, which has a plan of its own. '
        "Change it in boards/nixie-town.layout.json."
    )
    assert "no board twon" in refusal(SPRING, {"do": "set-scene", "off": ["twon/S2"]})
    renamed = laid(SPRING, {"do": "rename", "at": "boards/town", "to": "city"})
    assert "town/" not in json.dumps(renamed)
    assert renamed["scenes"]["the-local-leaves"]["off"] == ["city/S1"]
    assert renamed["joins"][0]["a"] == "city:vale"


def test_signals_of_a_plan_with_boards_are_armed_as_far_as_its_own_track_goes() -> None:
    step = {"do": "put-signal", "track": "flap", "for": "down"}
    assert laid(AUTUMN, step)["signals"] == {
        "1": {"track": "flap", "for": "down", "arms": [{"id": "1"}]}
    }


# --- names, ids, notes, order


def test_a_new_id_is_written_everywhere() -> None:
    plan = laid(SELKIE, {"do": "rename", "at": "points/t1", "to": "trap"})
    text = json.dumps(plan)
    assert '"t1' not in text
    assert plan["worked_together"][2] == ["p5", "trap"]
    assert plan["levers"]["11"]["points"] == ["p5", "trap"]
    assert plan["scenes"]["fish-away"]["points"]["trap"] == "reverse"
    assert plan["tracks"]["reception"]["up"] == "trap.toe"
    back = lay(text, [{"do": "rename", "at": "points/trap", "to": "t1"}]).text
    assert json.loads(back) == json.loads(SELKIE)
    edge = laid(KELPIE, {"do": "rename", "at": "edges/town", "to": "city"})
    assert edge["tracks"]["town-line"]["up"] == "edge:city"
    platform = laid(SELKIE, {"do": "rename", "at": "platforms/1", "to": "one"})
    assert platform["signals"]["3"]["duties"][0] == "home platform one"


@pytest.mark.parametrize(
    ("step", "words"),
    [
        ({"at": "points/p1", "to": "p2"}, "p2 is taken by points."),
        ({"at": "tracks/main", "to": "A"}, "A is taken by a platform."),
        ({"at": "tracks/main", "to": "main"}, "main already"),
        ({"at": "tracks/main", "to": "a b"}, "at most 40"),
        ({"at": "plan", "to": "x"}, "Use call-plan."),
        ({"at": "nothing/x", "to": "y"}, "a place of the plan"),
        ({"at": "tracks/nowhere", "to": "y"}, 'no track "nowhere"'),
    ],
)
def test_an_id_that_cannot_be(step: Data, words: str) -> None:
    assert words in refusal(KELPIE, {"do": "rename", **step})


def test_an_accepted_finding_keeps_its_meaning() -> None:
    accept = {"do": "accept", "rule": "siding-without-trap", "at": "siding", "because": "Short."}
    plan = laid(KELPIE, accept)
    assert plan["accept"] == [{"rule": "siding-without-trap", "at": "siding", "because": "Short."}]
    text = json.dumps(plan)
    assert laid(text, {"do": "rename", "at": "tracks/siding", "to": "quay"})["accept"][0] == {
        "rule": "siding-without-trap", "at": "quay", "because": "Short.",
    }  # fmt: skip
    assert "mean another thing" in refusal(
        text, {"do": "rename", "at": "points/p1", "to": "siding"}
    )
    at_place = {"do": "accept", "rule": "unheld-exit", "at": "signals/2"}
    assert laid(KELPIE, at_place)["accept"][0]["at"] == "/signals/2"
    assert "accepted there already" in refusal(text, accept)
    taken_back = {"do": "accept-no-more", "rule": "siding-without-trap", "at": "siding"}
    assert laid(text, taken_back) == json.loads(KELPIE)
    assert "no rule" in refusal(KELPIE, {**accept, "rule": "siding-without-tarp-x"})


def test_names_and_notes() -> None:
    plan = laid(
        KELPIE,
        {"do": "name", "at": "tracks/main", "name": "Main line"},
        {"do": "note", "at": "arms/1L", "note": "Seldom off."},
        {"do": "note", "at": "plan", "note": "A quay.\nBy the sea."},
    )
    assert plan["tracks"]["main"]["name"] == "Main line"
    assert plan["signals"]["1"]["arms"][0]["note"] == "Seldom off."
    assert plan["note"] == "A quay.\nBy the sea."
    assert laid(
        json.dumps(plan),
        {"do": "name", "at": "tracks/main", "name": None},
        {"do": "note", "at": "arms/1L", "note": None},
        {"do": "note", "at": "plan", "note": None},
    ) == json.loads(KELPIE)
    assert said(KELPIE, {"do": "name", "at": "signals/2", "name": "Starter"}) == (
        "Signal 2 is called Starter."
    )
    assert "Use call-plan" in refusal(KELPIE, {"do": "name", "at": "plan", "name": "x"})
    assert laid(KELPIE, {"do": "note", "at": "plan", "note": None}) == json.loads(KELPIE)


def test_a_text_with_half_of_a_character_is_refused() -> None:
    for step in (
        {"do": "note", "at": "plan", "note": "half \ud800"},
        {"do": "name", "at": "tracks/main", "name": "half \ud800"},
        {"do": "add-board", "plan": "half-\ud800.layout.json"},
    ):
        assert "half of a character" in refusal(KELPIE, step)


def test_the_text_lists_things_in_a_new_order() -> None:
    plan = laid(KELPIE, {"do": "put-in-order", "kind": "signals", "ids": ["7", "6"]})
    assert list(plan["signals"]) == ["7", "6", "1", "2", "3", "4", "5"]
    with pytest.raises(Refused, match="no signal"):
        lay(KELPIE, [{"do": "put-in-order", "kind": "signals", "ids": ["x"]}])


def test_an_edge_says_that_the_neighbour_holds_trains() -> None:
    held = {"do": "describe-edge", "edge": "town", "held": True, "name": "Town"}
    plan = laid(KELPIE, held)
    assert plan["edges"] == {"town": {"held": True, "name": "Town"}}
    gone = {**held, "held": None, "name": None}
    assert laid(json.dumps(plan), gone) == json.loads(KELPIE)


def test_sentences_name_what_is_so_now() -> None:
    for text, step, words in (
        (KELPIE, {"do": "build-platform", "tracks": "siding"}, "The plan has platform C now."),
        (
            VALE,
            {"do": "take-out-yard", "yard": "stock"},
            "Yard Carriage sidings (stock) is taken out.",
        ),
        (
            SELKIE,
            {"do": "take-out-train", "train": "fish"},
            "Train The fish train (fish) is taken out.",
        ),
    ):
        assert said(text, step) == words


ODD: list[Any] = [None, True, 3, -1, 1e300, "", "x", "west/x", "town/x", [], ["x"], [[]], {"x": 1}]


def test_no_step_crashes_on_measures_of_the_wrong_form() -> None:
    """Each measure of a step that can be done is exchanged for one that is odd."""
    tried = set()
    chosen = random.Random(1)
    town = (EXAMPLES / "nixie-vale" / "boards" / "nixie-town.layout.json").read_text("utf-8")
    steps = [(None, step) for step in steps_for(json.loads(town))]
    steps += [(SPRING, step) for step in steps_beside_track(json.loads(SPRING))]
    good = [(SPRING, {"do": "set-scene", "id": "s", "off": ["town/S2"]}), *ALONE]
    for text, step in [*good, *steps]:
        if step["do"] in tried:
            continue
        tried.add(step["do"])
        for key in VERBS[step["do"]].measures:
            for value in chosen.sample(ODD, amount(1, long=len(ODD))):
                try:
                    lay(text or town, [{**step, key: value}])
                except Refused as refused:
                    assert refused.message
                    assert refused.fix
    assert len(tried) >= 35


ALONE: list[tuple[str, Data]] = [
    (KELPIE, {"do": "move-signal", "signal": "2", "at_mm": 900}),
    (KELPIE, {"do": "turn-signal", "signal": "2"}),
    (KELPIE, {"do": "change-signal", "signal": "2", "side": "left"}),
    (KELPIE, {"do": "put-signal", "track": "main", "for": "down", "at_mm": 900}),
    (KELPIE, {"do": "add-arm", "signal": "2", "under": "2", "kind": "distant"}),
    (KELPIE, {"do": "change-arm", "arm": "2", "to": "main"}),
    (KELPIE, {"do": "make-yard", "tracks": "siding"}),
    (KELPIE, {"do": "add-board", "plan": "x.layout.json"}),
    (KELPIE, {"do": "rename", "at": "tracks/main", "to": "y"}),
    (KELPIE, {"do": "work-together", "points": "p1", "with": "p2"}),
    (KELPIE, {"do": "work-apart", "points": "p1"}),
    (KELPIE, {"do": "accept", "rule": "unheld-exit", "at": "signals/2"}),
    (KELPIE, {"do": "take-out-joint", "track": "main", "end": "up"}),
    (VALE, {"do": "rename-road", "turntable": "table", "road": "1", "to": "9"}),
    (VALE, {"do": "put-in-yard", "yard": "stock", "points": "jrt"}),
    (VALE, {"do": "take-from-yard", "yard": "stock", "points": "jk1"}),
    (VALE, {"do": "add-movement", "session": "afternoon", "train": "goods", "to": "rear-d2"}),
    (VALE, {"do": "change-movement", "session": "afternoon", "number": 1, "arm": "R2"}),
    (SELKIE, {"do": "put-lever", "number": 1, "points": "p6", "shift": True}),
    (SELKIE, {"do": "change-lever", "lever": 1, "name": "Distant"}),
    (SELKIE, {"do": "move-lever", "lever": 1, "to": 2}),
    (SELKIE, {"do": "take-out-lever", "lever": 1, "close_up": True}),
]
