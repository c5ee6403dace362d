"""Test that writing out and shortening a plan keep its meaning and the author's digits and order.

Two plans mean the same if their check and their table agree; neither knows about tidying.
"""

from __future__ import annotations

import json
import random
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from amount import amount
from oracle.plans import large_plan
from oracle.two_trains import holds
from properties.dressed import dressed_plan
from robust.near_plans import mutate
from tidy.documents import read
from trappoint import Finding, Report, check
from trappoint.source.reading import Unreadable
from trappoint.tidying.length import Length, write_at_length
from trappoint.tidying.tidy import tidy_content

ROOT = Path(__file__).parents[2]
PLANS = sorted(ROOT.glob("examples/**/*.layout.json"))

Plan = dict[str, Any]


def at_length(text: str, length: Length) -> str:
    done = write_at_length(text, length)
    assert isinstance(done, str), done
    return done


def explicit(text: str) -> str:
    return at_length(text, "explicit")


def short(text: str) -> str:
    return at_length(text, "short")


ADVICE_BY_MEASURE = {"signal-without-route"}
"""Rules whose fix depends on how the plan gives a place.

A fix may turn a signal at the end of its track round (`for`), but not one with `at_mm`.
"""


def told(text: str) -> object:
    """Return verdict, findings, table and layout of a plan, without lines and columns."""
    report = check(text)
    assert report.fault is None, report.findings
    found = Counter(
        (f.rule, f.level, f.pointer, f.message, f.why, advice(f), f.path, f.at_key)
        for f in (*report.findings, *report.accepted)
    )
    table = report.table
    return report.holds, found, table and table.to_json(), built(report)


def advice(finding: Finding) -> str:
    return "" if finding.rule in ADVICE_BY_MEASURE else finding.fix


def built(report: Report) -> object:
    """Return the layout without the values that ``told`` compares in the table.

    The place of a signal at the end of its track is "end", given as a measure or not. The reason
    why a track is a stand is left out, and the stands themselves are compared.
    """
    layout = report.layout
    assert layout is not None
    whole = layout._asdict()
    whole["tracks"] = {key: track._replace(stand_by="") for key, track in layout.tracks.items()}
    if report.facts is not None:
        network = report.facts.network
        whole["stands"] = [(network.places[each.place], each.states) for each in network.stands]
    ends = {key: track.length_mm for key, track in layout.tracks.items()}

    def spot(track: str, heading: str, at_mm: float | None) -> object:
        end = 0 if heading == "up" else ends.get(track)
        return "end" if at_mm is None or at_mm == end else at_mm

    whole["signals"] = {
        key: (
            signal._replace(at_mm=None, arms=(), heads=()),
            [
                (
                    arm._replace(to=(), repeats=(), at_mm=None),
                    spot(arm.track, arm.heading, arm.at_mm),
                )
                for arm in signal.arms
            ],
            [[arm.id for arm in head.arms] for head in signal.heads],
        )
        for key, signal in layout.signals.items()
    }
    return whole


def hold_to_one_meaning(text: str) -> tuple[str, str]:
    """Assert that a plan means the same at either length; return it written out and shortened."""
    long, brief = explicit(text), short(text)
    said = told(text)
    assert told(long) == said
    assert told(brief) == said
    assert explicit(long) == long
    assert short(brief) == brief
    assert short(explicit(brief)) == brief
    again = explicit(brief)
    assert explicit(short(again)) == again
    return long, brief


@pytest.mark.parametrize("path", PLANS, ids=lambda path: path.name.partition(".")[0])
def test_examples_mean_the_same(path: Path) -> None:
    text = path.read_text("utf-8")
    if not isinstance(write_at_length(text, "short"), Unreadable):
        hold_to_one_meaning(text)
    else:
        assert check(text).layout is None


def test_most_examples_can_be_written_out() -> None:
    done = [path for path in PLANS if isinstance(write_at_length(path.read_bytes(), "short"), str)]
    assert len(done) > len(PLANS) - 8


@pytest.mark.parametrize("seed", range(amount(15, long=60)))
def test_random_plans_mean_the_same(seed: int) -> None:
    plan = dressed_plan(seed)
    rng = random.Random(seed)
    _say_more(rng, plan)
    long, brief = hold_to_one_meaning(json.dumps(plan))
    assert len(brief) < len(long)
    if seed < 40 and check(long).holds is not None:
        assert holds(json.loads(long)) == holds(json.loads(brief)) == holds(plan)


@pytest.mark.parametrize("seed", range(amount(1, long=3)))
def test_large_plans_mean_the_same(seed: int) -> None:
    hold_to_one_meaning(json.dumps(large_plan(random.Random(seed), 20)))


def _say_more(rng: random.Random, plan: Plan) -> None:
    """Add random default values to a plan, and some that differ from the default."""

    def say(thing: Plan, key: str, *words: object) -> None:
        if rng.random() < 0.3:
            thing.setdefault(key, rng.choice(words))

    for track in plan["tracks"].values():
        say(track, "running", "both", "both", "down")
        say(track, "stand", True, False)
    for points in plan.get("points", {}).values():
        say(points, "crossing_number", 8)
        if "crossing_number" in points:
            say(points, "measure", "centre-line", "right-angle")
        say(points, "trap", False, False, True)
    for signal in plan["signals"].values():
        length = plan["tracks"].get(signal["track"], {}).get("length_mm")
        if length:
            say(signal, "at_mm", 0, length, float(length), length / 2)
        say(signal, "mount", "post", "bracket", "ground")
        for arm in signal["arms"]:
            say(arm, "kind", "stop")
            say(arm, "for", signal["for"], signal["for"], "up")
            say(arm, "doll", 1, 1, 2, 3)


# --- by hand


KELPIE = (ROOT / "examples" / "kelpie-quay.layout.json").read_text("utf-8")


PIXIE = (ROOT / "examples" / "pixie-ring.layout.json").read_text("utf-8")


def test_what_follows_is_written_out() -> None:
    """The expected values are worked out by hand from the page of the format."""
    plan = json.loads(explicit(KELPIE))
    assert plan["tracks"]["town-line"] == {
        "up": "edge:town", "down": "p1.toe", "running": "both",
    }  # fmt: skip
    assert plan["tracks"]["main"]["stand"] is True, "it serves a platform"
    assert plan["tracks"]["siding"]["stand"] is True, "it ends at a buffer"
    assert "stand" not in plan["tracks"]["loop-east"], "a whole may put a platform beside it"
    ring = json.loads(explicit(PIXIE))["tracks"]
    assert False in [track["stand"] for track in ring.values()], "nothing leads out of a ring"
    assert plan["points"]["p1"] == {
        "normal": "right", "kind": "turnout", "crossing_number": 8, "measure": "centre-line",
        "trap": False, "lock": False,
    }  # fmt: skip
    assert "measure" not in plan["points"]["p2"], "of no number"
    assert plan["signals"]["3"] == {
        "track": "main", "for": "up", "at_mm": 0, "mount": "post", "form": "upper-quadrant",
        "arms": [
            {"id": "3", "kind": "stop", "to": "town-line", "doll": 1, "track": "main", "for": "up",
             "at_mm": 0},
        ],
    }  # fmt: skip
    four = plan["signals"]["4"]
    assert (four["mount"], four["at_mm"]) == ("bracket", 900)
    assert [arm["doll"] for arm in four["arms"]] == [1, 2]
    assert "at_mm" not in plan["signals"]["1"], "town-line has no known length"


def test_what_follows_is_left_out() -> None:
    """Arms keep ``to`` if they are several and their roads leave the plan."""
    plan = json.loads(short(explicit(KELPIE)))
    before = json.loads(KELPIE)
    for signal in before["signals"].values():
        signal.pop("mount", None)
    del before["tracks"]["loop-west"]["stand"]
    for name in ("1", "6", "7"):
        for arm in before["signals"][name]["arms"]:
            del arm["to"]
    assert plan == before


def test_a_distant_repeats_what_comes_next() -> None:
    text = KELPIE.replace(
        '"signals": {',
        '"signals": {"1D": {"track": "town-line", "for": "down", "at_mm": 90, '
        '"arms": [{"id": "1D", "kind": "distant"}]},',
    )
    (arm,) = json.loads(explicit(text))["signals"]["1D"]["arms"]
    assert arm["repeats"] == ["1L", "1R"]
    assert "repeats" not in json.loads(short(explicit(text)))["signals"]["1D"]["arms"][0]


def test_what_a_whole_may_change_is_left_as_it_is() -> None:
    """After its edge is joined, a track is a stand only with ``stand``."""
    told_so = KELPIE.replace('"edge:quarry"}', '"edge:quarry", "stand": true}')
    for length in (explicit, short):
        assert json.loads(length(told_so))["tracks"]["quarry-line"]["stand"] is True
        assert "stand" not in json.loads(length(KELPIE))["tracks"]["quarry-line"]
    arms = json.loads(short(KELPIE))["signals"]["4"]["arms"]
    assert [arm["to"] for arm in arms] == ["siding", "quarry-line"]


TERMINUS: Plan = {
    "format": "trappoint-layout/1",
    "tracks": {
        "line": {"up": "edge:out", "down": "joint:throat", "length_mm": 900},
        "road": {"up": "joint:throat", "down": "buffer", "length_mm": 1200},
    },
    "signals": {
        "1": {"track": "line", "for": "down", "arms": [{"id": "1"}]},
        "2": {"track": "road", "for": "up", "arms": [{"id": "2"}]},
        "3": {"track": "road", "for": "down", "at_mm": 600, "arms": [{"id": "3"}]},
    },
}
"""A plan with a road in two pieces; without ``stand``, only the piece at the buffer is one."""


def with_stand(plan: Plan, *tracks: str) -> Plan:
    said = {key: track | {"stand": True} for key, track in plan["tracks"].items() if key in tracks}
    return plan | {"tracks": plan["tracks"] | said}


def stands(plan: Plan) -> list[str]:
    facts = check(json.dumps(plan)).facts
    assert facts is not None
    return [facts.network.places[stand.place].name for stand in facts.network.stands]


def as_written(plan: Plan, track: str, length: Length) -> object:
    """Return ``stand`` of a track in the plan at this length; None if the key is absent."""
    return json.loads(at_length(json.dumps(plan), length))["tracks"][track].get("stand")


def test_a_stand_that_a_signal_cuts_says_more_than_its_end() -> None:
    """``stand`` makes both pieces stands; the buffer makes only one piece a stand."""
    told_so = with_stand(TERMINUS, "road")
    assert (stands(TERMINUS), stands(told_so)) == (
        ["line", "road.2"],
        ["line", "road.1", "road.2"],
    )
    for length in ("explicit", "short"):
        assert as_written(TERMINUS, "road", length) is None
        assert as_written(told_so, "road", length) is True
    uncut = TERMINUS | {"signals": {key: TERMINUS["signals"][key] for key in ("1", "2")}}
    assert as_written(uncut, "road", "explicit") is True
    assert as_written(with_stand(uncut, "road"), "road", "short") is None
    at_its_end = json.loads(json.dumps(TERMINUS))
    at_its_end["signals"]["3"]["at_mm"] = 1200
    assert as_written(at_its_end, "road", "explicit") is True
    by_a_platform = TERMINUS | {"platforms": {"A": {"tracks": ["road"]}}}
    assert stands(by_a_platform) == stands(told_so)
    assert as_written(by_a_platform, "road", "explicit") is True
    assert as_written(with_stand(by_a_platform, "road"), "road", "short") is None


def test_two_tracks_of_one_section_are_not_both_called_a_stand() -> None:
    """If both tracks have ``stand``, no signal keeps their trains apart, which is a finding."""
    plan = json.loads(json.dumps(TERMINUS))
    plan["tracks"]["road"]["down"] = "joint:board"
    plan["tracks"]["end"] = {"up": "joint:board", "down": "buffer", "length_mm": 400}
    plan["signals"].pop("3")
    plan["platforms"] = {"A": {"tracks": ["road", "end"]}}
    assert [f.rule for f in check(json.dumps(plan)).findings] == []
    both = with_stand(plan, "road", "end")
    assert "stands-not-parted" in [f.rule for f in check(json.dumps(both)).findings]
    for length in ("explicit", "short"):
        for track in ("road", "end"):
            assert as_written(plan, track, length) is None
            assert as_written(both, track, length) is True
    held = plan | {"signals": plan["signals"] | {
        "4": {"track": "end", "for": "up", "arms": [{"id": "4"}]},
    }}  # fmt: skip
    for track in ("road", "end"):
        assert as_written(held, track, "explicit") is True


MEETS = sorted((ROOT / "examples" / "nixie-vale").glob("*.layout.json"))


@pytest.mark.parametrize("length", ["explicit", "short"])
@pytest.mark.parametrize("path", MEETS, ids=lambda path: path.name.partition(".")[0])
def test_wholes_of_boards_mean_the_same(path: Path, length: Length, tmp_path: Path) -> None:
    """The test rewrites every board and the whole, and then checks the assembled plan."""
    for each in path.parent.rglob("*.layout.json"):
        here = tmp_path / each.relative_to(path.parent)
        here.parent.mkdir(exist_ok=True)
        here.write_text(at_length(each.read_text("utf-8"), length), "utf-8")
    before, after = check(path), check(tmp_path / path.name)
    assert (before.holds, after.holds) == (True, True)
    assert [(f.rule, f.pointer, f.message) for f in before.findings] == [
        (f.rule, f.pointer, f.message) for f in after.findings
    ]
    assert before.table is not None
    assert after.table is not None
    assert before.table.to_json() == after.table.to_json()


def test_digits_notes_and_order_stay() -> None:
    text = KELPIE.replace('"length_mm": 1450', '"length_mm": 1450.00, "note": "Relaid."')
    for length in (explicit, short):
        done = length(text)
        assert '"length_mm": 1450.00' in done
        assert '"note": "Relaid."' in done
        plan = read(done)
        assert list(plan["tracks"]) == list(read(text)["tracks"])
        assert tidy_content(done) == done
    assert '"at_mm": 1450.00' in explicit(text), "as the length is written"


def test_defaults_of_the_schema_are_those_of_the_library() -> None:
    """Each default is written out and left out; both plans give the same layout."""
    bare = (
        '{"format": "trappoint-layout/1", "tracks": {"a": {"up": "joint:j", "down": "joint:j"}}, '
    )
    bare += '"turntables": {"t": {"roads": ["1"]}}, "crossings": {"x": {}}, '
    bare += '"points": {"p": {"normal": "left"}}, '
    bare += '"signals": {"1": {"track": "a", "for": "up", "arms": [{"id": "1"}]}}}'
    layouts = [check(text).layout for text in (bare, explicit(bare))]
    assert layouts[0] == layouts[1]
    assert json.loads(explicit(bare))["turntables"]["t"]["kind"] == "turntable"


def test_what_is_no_plan_is_refused() -> None:
    for text in ("{", '{"format": "trappoint-layout/1"}', KELPIE.replace('"arms"', '"arm"', 1)):
        done = write_at_length(text, "explicit", "a.layout.json")
        assert isinstance(done, Unreadable)
        assert done.findings[0].line >= 1


# --- mutants


@pytest.mark.parametrize("seed", range(amount(12, long=50)))
def test_mutants_mean_the_same(seed: int) -> None:
    """Change plans at random; tidying must refuse a changed plan that is no longer valid."""
    rng = random.Random(seed)
    plan = dressed_plan(seed % 30)
    for _ in range(rng.randint(1, 3)):
        mutate(plan, rng, lambda: rng.choice((0, "", "p1", [], {}, True, 1e3)))
    text = json.dumps(plan)
    if isinstance(write_at_length(text, "short"), str):
        hold_to_one_meaning(text)
    else:
        assert check(text).layout is None
