"""The longest train for the verdict, against trains placed on random plans, and by hand."""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import trappoint
from amount import amount
from dimensions.back import Back, fully_measured, with_lengths
from oracle.held_edges import spell_out
from oracle.plans import random_plan
from oracle.stations import station_plan
from rules.plans import example_text, patched
from trappoint.checking.check import check_content
from trappoint.facts.facts import Facts

EXAMPLES = Path(__file__).parents[2] / "examples"

Plan = dict[str, Any]
Maker = Callable[[random.Random], Plan]


def longest(plan: Plan) -> tuple[int, str] | None:
    """The answer of the library, whether the plan holds or not."""
    found = Facts(trappoint.load(json.dumps(plan))).longest_train
    return None if found is None else (found.mm, found.place)


def compare(plan: Plan) -> tuple[int, str] | None:
    """Place trains on a plan and compare; return the answer of the library."""
    told, model = longest(plan), Back(plan)
    if told is None:
        assert not model.is_limited()
        return None
    mm, place = told
    fronts = model.fronts()
    assert all(model.clear(front, mm) for front in fronts)
    assert place in {front.section for front in fronts if not model.clear(front, mm + 1)}
    return told


@pytest.mark.parametrize(
    ("maker", "seeds", "measured"),
    [
        (random_plan, amount(110, long=2000), False),
        (station_plan, amount(60, long=1000), False),
        (random_plan, amount(60, long=1000), True),
        (station_plan, amount(40, long=600), True),
    ],
    ids=["random", "stations", "random-with-angles", "stations-with-angles"],
)
def test_clear_at_that_length_and_foul_beyond(maker: Maker, seeds: int, measured: bool) -> None:
    told, places = [], set()
    for seed in range(seeds):
        rng = random.Random(seed)
        plan = with_lengths(rng, maker(rng))
        if measured:
            fully_measured(rng, plan)
        try:
            found = compare(plan)
        except AssertionError as error:
            raise AssertionError(f"seed {seed}") from error
        told.append(found)
        places.add(None if found is None else "." in found[1])
    assert len({found[0] for found in told if found is not None}) > 15
    assert places >= {False, True}


def test_at_held_edges() -> None:
    """Against the same plan with a track and a signal written out beyond each of them."""
    limited = 0
    for seed in range(amount(60, long=1000)):
        rng = random.Random(seed)
        plan = with_lengths(rng, random_plan(rng))
        ends = [t[end] for t in plan["tracks"].values() for end in ("up", "down")]
        names = sorted({end[5:] for end in ends if end.startswith("edge:")})
        plan["edges"] = {name: {"held": rng.random() < 0.7} for name in names}
        told, model = longest(plan), Back(spell_out(plan)[0])
        if told is None:
            assert not model.is_limited(), seed
            continue
        mm, place = told
        fronts = model.fronts()
        assert all(model.clear(front, mm) for front in fronts), seed
        assert place in {f.section for f in fronts if not model.clear(f, mm + 1)}, seed
        track = plan["tracks"][place.partition(".")[0]]
        ends = [track[end].partition("edge:")[2] for end in ("up", "down")]
        limited += any(plan["edges"].get(end, {}).get("held") for end in ends)
    assert limited > 5


def test_the_random_plans_have_what_matters() -> None:
    """Merged sections, yards with exits along a track, rings, edges behind a train."""
    merged = yards = rings = edges = 0
    for seed in range(110):
        rng = random.Random(seed)
        model = Back(with_lengths(rng, random_plan(rng)))
        at_rest = {front.section for front in model.fronts()}
        for name in at_rest:
            section = model.ground.sections[name]
            merged += len({piece.track for piece in section.pieces}) > 1
            rings += not section.ends
        yards += any(head.at is not None for head in model.ground.exits.values())
        edges += any(model.clear(front, 100_000) for front in model.fronts())
    assert merged > 50
    assert rings > 3
    assert yards > 3
    assert edges > 25


# --- by hand


def kelpie(*patches: Plan) -> Plan:
    plan: Any = json.loads(example_text({}))
    for patch in patches:
        plan = patched(plan, patch)
    return dict(plan)


def report(plan: Plan) -> trappoint.Report:
    return check_content(json.dumps(plan), "plan")


def test_the_shortest_place_to_rest_limits_it() -> None:
    assert compare(kelpie(FULL)) == (610, "siding")
    assert longest(kelpie()) == (610, "siding")


FULL: Plan = {
    "tracks": {"town-line": {"length_mm": 2000}, "quarry-line": {"length_mm": 2000}},
}
LONG_SIDING: Plan = {"tracks": {"siding": {"length_mm": 1900}}}


def test_an_edge_behind_a_train_sets_no_limit_and_one_before_it_does() -> None:
    plan = kelpie(FULL, LONG_SIDING, {"tracks": {"town-line": {"length_mm": 700}}})
    # Held at signal 1 it may reach out beyond the edge; standing there on its way out it may not.
    assert compare(plan) == (700, "town-line")
    plan["tracks"]["town-line"]["running"] = "down"
    assert compare(plan) == (900, "loop-west")


def test_at_a_held_edge_the_neighbours_signal_limits_it() -> None:
    # It stands right at the edge: a train held at signal 1 must not reach out past it.
    plan = kelpie(FULL, LONG_SIDING, {"tracks": {"town-line": {"length_mm": 700}}})
    plan["tracks"]["town-line"]["running"] = "down"
    assert longest(plan) == (900, "loop-west")
    plan["edges"] = {"town": {"held": True}}
    assert longest(plan) == (700, "town-line")
    # Without signal 1 no train comes to rest there.
    del plan["signals"]["1"]
    assert longest(plan) == (900, "loop-west")


def test_where_trains_do_not_come_to_rest_nothing_limits_them() -> None:
    # Loop-east has no signal, and is no stand: 320 mm are no limit, until a disc stands there.
    assert compare(kelpie(FULL, LONG_SIDING)) == (900, "loop-west")
    disc = {"track": "loop-east", "for": "up", "arms": [{"id": "8", "kind": "shunt"}]}
    # Trains from the quarry run past the disc by signal 7: only a shunt signal lets one stop there.
    plan = kelpie(FULL, LONG_SIDING, {"signals": {"8": disc}})
    assert compare(plan) == (900, "loop-west")
    plan["signals"]["7"]["arms"].append({"id": "7S", "kind": "shunt", "under": "7R",
                                         "to": "loop-east"})  # fmt: skip
    assert compare(plan) == (320, "loop-east")


def test_a_starter_along_the_track_and_the_stub_behind_it() -> None:
    patch = {"signals": {"2": {"at_mm": 400}}}
    assert compare(kelpie(FULL, patch)) == (400, "main.1")
    # Behind it, 1,050 mm are left. A train of 100 mm fits there: it is a stand as well.
    short = kelpie(FULL, patch, {"signals": {"2": {"at_mm": 1390}}})
    assert compare(short) == (610, "siding")
    assert compare(patched(short, {"trains": {"t": {"length_mm": 50}}})) == (60, "main.2")


def test_over_a_bare_joint_the_section_goes_on() -> None:
    split: Plan = {
        "tracks": {
            "siding": {"down": "joint:s", "length_mm": 300, "stand": True},
            "siding-end": {"up": "buffer", "down": "joint:s", "length_mm": 310},
        }
    }
    assert compare(kelpie(FULL, split)) == (610, "siding")
    held = {"9": {"track": "siding-end", "for": "down", "arms": [{"id": "9"}]}}
    assert compare(kelpie(FULL, split, {"signals": held})) == (300, "siding")


def test_a_joint_that_trains_run_over_one_way_only_parts_sections() -> None:
    split: Plan = {
        "tracks": {
            "main": {"down": "joint:m", "length_mm": 500},
            "more": {"up": "joint:m", "down": "p2.left", "length_mm": 950, "running": "down"},
        },
        "signals": {"2": {"track": "more"}},
        "platforms": {"A": {"tracks": ["main", "more"]}},
    }
    assert compare(kelpie(FULL, split)) == (500, "main")


def test_beyond_the_exit_signal_a_yards_track_has_sections() -> None:
    plan: Plan = {
        "format": "trappoint-layout/1",
        "tracks": {
            "head": {"up": "buffer", "down": "y.toe", "length_mm": 400},
            "coal": {"up": "y.left", "down": "buffer", "length_mm": 90},
            "way-out": {"up": "y.right", "down": "joint:j", "length_mm": 1000},
            "line": {"up": "joint:j", "down": "edge:away", "length_mm": 3000},
        },
        "points": {"y": {"normal": "left"}},
        "yards": {"goods": {"tracks": ["head", "coal", "way-out"], "points": ["y"]}},
        "signals": {
            "out": {"track": "way-out", "for": "down", "at_mm": 300, "arms": [{"id": "out"}]},
            "disc": {
                "track": "way-out",
                "for": "up",
                "at_mm": 450,
                "arms": [{"id": "disc", "kind": "shunt"}],
            },
            "in": {"track": "way-out", "for": "up", "at_mm": 700, "arms": [{"id": "in"}]},
        },
    }
    # From signal in to the edge: 3,300 mm. The yard is no section.
    assert compare(plan) == (3300, "way-out.4")
    # A shunt arm lets a train stop at the disc, between it and signal in.
    plan["signals"]["in"]["arms"].append({"id": "in-shunt", "kind": "shunt", "under": "in"})
    assert compare(plan) == (250, "way-out.3")


def test_round_a_ring_a_train_may_be_as_long_as_the_ring() -> None:
    plan: Plan = {
        "format": "trappoint-layout/1",
        "tracks": {
            "a": {"up": "joint:1", "down": "joint:2", "length_mm": 700, "stand": True},
            "b": {"up": "joint:1", "down": "joint:2", "length_mm": 800},
        },
    }
    assert compare(plan) == (1500, "a")
    # With a signal at one joint it is a line of 1,500 mm that ends where it begins.
    plan["signals"] = {"1": {"track": "a", "for": "down", "arms": [{"id": "1"}]}}
    assert compare(plan) == (1500, "a")


# --- fouling: 1 in 6 at 46 mm is 276 mm along the middle, 276.96 mm along the leg

ALONG = (276**2 + 23**2) ** 0.5
FOULING: Plan = {"spacing_mm": 46, "points": {"p1": {"crossing_number": 6, "leg_mm": 100}}}


def test_the_rear_is_clear_of_the_points_behind() -> None:
    # Loop-west, from p1: 900 mm less 176.96 mm. Trains up are clear of p3's toe at once.
    plan = kelpie(FULL, LONG_SIDING, FOULING)
    assert longest(plan) == (int(900 - (ALONG - 100)), "loop-west")
    assert longest(plan) == (723, "loop-west")


def test_the_front_may_be_foul_of_the_points_ahead() -> None:
    # That is the finding of another rule; here the length is what matters.
    one_way = {"tracks": {"loop-west": {"running": "up"}}}
    plan = kelpie(FULL, LONG_SIDING, FOULING, one_way)
    assert longest(plan) == (900, "loop-west")


def test_a_fouling_place_beyond_a_signal_and_over_a_joint() -> None:
    # The throat of 60 mm ends at a joint with signal 5: 116.96 mm of loop-west are still foul.
    throat: Plan = {
        "tracks": {
            "throat": {"up": "p1.left", "down": "joint:t", "length_mm": 60},
            "loop-west": {"up": "joint:t"},
        }
    }
    assert longest(kelpie(FULL, LONG_SIDING, FOULING, throat)) == (783, "loop-west")
    # The same with signal 5 along the track: at 60 mm.
    along = {"signals": {"5": {"at_mm": 60}}}
    assert longest(kelpie(FULL, LONG_SIDING, FOULING, along)) == (723, "loop-west.2")
    unknown: Plan = {"tracks": {"throat": {"length_mm": None}}}
    assert longest(kelpie(FULL, LONG_SIDING, FOULING, throat, unknown)) == (900, "loop-west")


def test_what_is_sure_counts_where_the_leg_is_not_measured() -> None:
    # With signal 5 right at the points they are taken to be clear there; without, at ALONG.
    angle: Plan = {"spacing_mm": 46, "points": {"p1": {"crossing_number": 6}}}
    assert longest(kelpie(FULL, LONG_SIDING, angle)) == (900, "loop-west")
    one_way = {"tracks": {"loop-west": {"running": "down"}}, "signals": {"5": None}}
    assert longest(kelpie(FULL, LONG_SIDING, angle, one_way)) == (623, "loop-west")
    # Without an angle, the end of the section counts.
    assert longest(kelpie(FULL, LONG_SIDING, one_way)) == (900, "loop-west")


def test_a_post_between_the_tracks_tells_it_too() -> None:
    # Signal 5 stands where the tracks are 46 mm apart: no farther on is a train foul.
    angle: Plan = {"spacing_mm": 46, "points": {"p1": {"crossing_number": 6, "leg_mm": 0.5}}}
    plan = kelpie(FULL, LONG_SIDING, angle)
    assert longest(plan) == (int(900 - (ALONG - 0.5)), "loop-west")
    post = {"signals": {"5": {"at_mm": 150, "side": "left", "spacing_mm": 46}}}
    assert longest(kelpie(FULL, LONG_SIDING, angle, post)) == (750, "loop-west.2")


# --- unknown lengths, and the outputs that print the longest train


def test_without_lengths_it_is_not_known() -> None:
    bare = kelpie(*({"tracks": {t: {"length_mm": None}}} for t in kelpie()["tracks"]))
    assert longest(bare) is None
    assert report(bare).longest_train_mm is None
    assert Facts(trappoint.load(json.dumps(bare))).longest_train is None


def test_sections_of_no_length_are_left_out() -> None:
    assert longest(kelpie({"tracks": {"siding": {"length_mm": None}}})) == (900, "loop-west")


def test_absurd_lengths_are_no_lengths() -> None:
    huge = {"tracks": {t: {"length_mm": 1e308} for t in ("town-line", "main", "quarry-line")}}
    assert longest(kelpie(huge)) == (610, "siding")
    tiny = {"tracks": {"siding": {"length_mm": 0.25}}}
    assert longest(kelpie(tiny)) == (0, "siding")


def test_a_plan_that_does_not_hold_has_no_length() -> None:
    failing = report(kelpie({"signals": {"6": None}}))
    assert (failing.holds, failing.longest_train, failing.longest_train_mm) == (False, None, None)
    holding = report(kelpie())
    assert holding.longest_train == (610, "siding")
    assert holding.longest_train_mm == 610


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.layout.json")), ids=lambda p: p.stem)
def test_no_listed_train_is_longer_unless_a_finding_says_so(path: Path) -> None:
    """The verdict and the rule speak of the same lengths."""
    found = trappoint.check(path)
    told = {f.path[0] for f in found.findings + found.accepted if f.rule == LONGER}
    assert found.layout is not None
    trains = found.layout.trains.values()
    longer = [t.id for t in trains if (t.length_mm or 0) > (found.longest_train_mm or 0)]
    assert told == set(longer)


LONGER = "train-longer-than-room"


def test_the_rule_names_the_least_place_and_counts_the_others() -> None:
    trains = {"trains": {"a": {"length_mm": 610}, "b": {"length_mm": 611}, "c": {"length_mm": 901}}}
    found = {f.pointer: f.message for f in report(kelpie(trains)).findings if f.rule == LONGER}
    assert found == {
        "/trains/b/length_mm": "Train b is 611 mm long, but signals let it stop in siding, which "
        "has room for 610 mm.",
        "/trains/c/length_mm": "Train c is 901 mm long, but signals let it stop in siding, which "
        "has room for 610 mm. 1 more place is too short for it.",
    }


def test_what_other_rules_say_is_not_said_twice() -> None:
    ends: Plan = {"tracks": {"town-line": {"up": "buffer"}, "quarry-line": {"down": "buffer"}}}
    nowhere = kelpie(FULL, ends, {"trains": {"a": {"length_mm": 2001}}})
    assert [f.rule for f in report(nowhere).findings] == ["train-fits-nowhere"]
    scene = {"scenes": {"noon": {"off": ["3"], "trains": {"siding": "b"}}}}
    there = kelpie({"trains": {"b": {"length_mm": 700}}}, scene)
    assert [f.rule for f in report(there).findings] == ["train-too-long-for-its-place"]
    longer = kelpie({"trains": {"b": {"length_mm": 950}}}, scene)
    assert [(f.rule, f.path[:2]) for f in report(longer).findings] == [
        (LONGER, ("b", "loop-west")),
        ("train-too-long-for-its-place", ("noon", "siding")),
    ]


def test_a_scene_on_one_track_of_a_section_counts_all_of_it() -> None:
    split: Plan = {
        "tracks": {
            "siding": {"down": "joint:s", "length_mm": 300, "stand": True},
            "siding-end": {"up": "buffer", "down": "joint:s", "length_mm": 310},
        }
    }
    for length, said in ((610, []), (611, ["train-too-long-for-its-place"])):
        scene = {"scenes": {"noon": {"off": ["3"], "trains": {"siding-end": "b"}}}}
        plan = kelpie(split, {"trains": {"b": {"length_mm": length}}}, scene)
        assert [f.rule for f in report(plan).findings if f.rule.startswith("train-")] == said
