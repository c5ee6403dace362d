"""The text of proposals: the author's text is kept, and every arm has a distinct road."""

from __future__ import annotations

import json
import random

from amount import amount
from oracle.plans import large_plan
from proposing.bare import bare_plan
from trappoint import check
from trappoint.model.building import build_layout
from trappoint.proposing.choice import Choice
from trappoint.proposing.need import TooManyRoads
from trappoint.proposing.posts import survey
from trappoint.proposing.proposal import propose
from trappoint.proposing.roads import roads_in
from trappoint.proposing.splitting import WaysOn

TEXT = """{
  "format": "trappoint-layout/1",
  "title": "Dragon Halt", "note": "as laid in spring",
  "tracks": {
    "line": {"up": "edge:w", "down": "p.toe", "length_mm": 1.50e3, "note": "the old line"},

    "road-1": {"up": "p.left", "down": "buffer"},
    "road-2": {"up": "p.right", "down": "buffer"},
    "road-3": {"up": "p.middle", "down": "buffer"}
  },
  "points": {"p": {"kind": "three-way", "normal": "left"}},
  "platforms": {"1": {"tracks": ["road-1"]}, "2": {"tracks": ["road-2", "road-3"]}}
}
"""


LEGS = ("left", "middle", "right")


def test_digits_notes_and_gaps_stay() -> None:
    text = propose(TEXT).drafts[0].text
    assert '"length_mm": 1.50e3' in text
    assert '"note": "as laid in spring"' in text
    assert '"note": "the old line"},\n\n' in text
    assert {k: v for k, v in json.loads(text).items() if k != "signals"} == json.loads(TEXT)


def test_ids_and_aims() -> None:
    """Numbers along the line, sides for the arms, platforms before tracks."""
    signals = json.loads(propose(TEXT).drafts[0].text)["signals"]
    assert signals["1"]["arms"] == [
        {"id": "1L", "to": "1"},
        {"id": "1M", "to": "road-3"},
        {"id": "1R", "to": "road-2"},
    ]
    assert list(signals) == ["1", "2", "3", "4"]


def test_signals_that_the_plan_has_stay() -> None:
    plan = json.loads(TEXT)
    plan["signals"] = {
        "home": {"track": "line", "for": "down", "arms": [{"id": "home"}], "note": "from 1912"}
    }
    draft = propose(json.dumps(plan)).drafts[0]
    (kept,) = [reason for reason in draft.reasons if reason.state == "kept"]
    assert kept.signal == "home"
    home = json.loads(draft.text)["signals"]["home"]
    assert home["note"] == "from 1912"
    assert [arm["to"] for arm in home["arms"]] == ["1", "road-3", "road-2"]
    assert not check(draft.text).findings


def test_proposals_differ_in_more_than_a_name() -> None:
    found = 0
    for seed in range(amount(25, long=1000)):
        plan = bare_plan(seed, (2, 4))
        if "yards" in plan:
            continue
        drafts = propose(json.dumps(plan), count=3).drafts
        places = [{(r.track, r.heading) for r in draft.reasons} for draft in drafts]
        for number, later in enumerate(places):
            assert not any(later >= earlier for earlier in places[:number]), seed
        if not any(draft.report.findings for draft in drafts):
            assert [draft.worth for draft in drafts] == sorted(draft.worth for draft in drafts)
        found += len(drafts) > 1
    assert found > 3


def test_the_same_every_time() -> None:
    for seed in (3, 14):
        text = json.dumps(bare_plan(seed))
        first, second = ([draft.text for draft in propose(text, count=2).drafts] for _ in range(2))
        assert first == second


def test_bounds_never_say_too_much() -> None:
    """The proof that a signal needs many arms is valid for every choice of signals."""
    rng = random.Random(7)
    compared = discs = 0
    for seed in range(amount(80, long=3000)):
        plan = bare_plan(seed)
        for points in plan.get("points", {}).values():
            points.update({"trap": True} if rng.random() < 0.3 else {})
        ground = survey(build_layout(plan))
        for _ in range(4):
            share = rng.choice((0.3, 0.6, 0.9))
            chosen = frozenset(n for n in range(len(ground.posts)) if rng.random() < share)
            try:
                choice = Choice(ground, chosen)
            except TooManyRoads:
                continue
            splits = [*WaysOn(ground).splits()]
            roads = roads_in(choice)
            for post in chosen:
                counted = [s for s in splits if s.post == post and not s.missing & chosen]
                dolls = 1 + sum(split.more for split in counted if not split.disc)
                disc = any(split.disc for split in counted)
                compared += 1
                discs += disc
                assert dolls + disc <= roads.arms[post], (seed, post)
                assert dolls <= roads.arms[post] - (post in roads.discs), (seed, post)
    assert compared > 500
    assert discs > 8


def test_when_time_runs_out_the_bound_is_told() -> None:
    plan = large_plan(random.Random(1), 14, flaws=0)
    del plan["signals"]
    draft = propose(json.dumps(plan), seconds=0).drafts[0]
    assert draft.report.holds
    assert not draft.least
    assert 0 <= draft.bound < draft.worth


def test_every_signal_has_its_reason() -> None:
    """Some hold a train, some let trains come to track to which none could."""
    said = ""
    for seed in range(1000, 1020):
        plan = bare_plan(seed)
        if "yards" not in plan:
            for reason in propose(json.dumps(plan)).drafts[0].reasons:
                assert reason.without, seed
                said += reason.without
    assert "Nothing stops a train" in said
    assert "no train can ever reach" in said


def test_what_spares_arms_says_so() -> None:
    """Three roads to three roads over one line: three times three arms, or three and three."""
    ins = {f"in-{leg}": {"up": "buffer", "down": f"p.{leg}"} for leg in LEGS}
    outs = {f"out-{leg}": {"up": f"q.{leg}", "down": "buffer"} for leg in LEGS}
    plan = {
        "format": "trappoint-layout/1",
        "tracks": {
            **{name: {**track, "running": "down"} for name, track in (ins | outs).items()},
            "line": {"up": "p.toe", "down": "q.toe", "running": "down"},
        },
        "points": {name: {"normal": "middle", "kind": "three-way"} for name in "pq"},
    }
    reasons = propose(json.dumps(plan)).drafts[0].reasons
    (line,) = [reason for reason in reasons if reason.track == "line"]
    assert line.without == "the plan would hold, but it would need 3 more arms."
