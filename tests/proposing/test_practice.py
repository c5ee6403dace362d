"""Twenty usual plans: what is proposed holds, can be read, and spares nothing at `least`."""

from __future__ import annotations

import json
from functools import cache
from typing import TYPE_CHECKING, Any

import pytest

from amount import is_long
from oracle.ground import Ground
from oracle.two_trains import holds
from proposing.bare import signalled, track_ends
from proposing.brute import reached
from proposing.figures import Figures, figures
from proposing.usual_plans import PLANS
from trappoint import check
from trappoint.proposing.levels import LEVELS
from trappoint.proposing.proposal import propose

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.proposing.proposal import Draft

MAX_STATES = 400_000
LARGE = () if is_long() else ("round and round", "goods station", "yard", "halt before the end")
"""Plans whose search takes long."""
CASES = [(name, level) for name in PLANS for level in LEVELS]


@cache
def proposed(name: str, level: Any) -> Draft:
    return propose(json.dumps(PLANS[name]), level=level, seconds=60).drafts[0]


def plan_of(name: str, level: str) -> Any:
    return {"signals": {}, **json.loads(proposed(name, level).text)}


@pytest.mark.parametrize(("name", "level"), CASES)
def test_every_signal_can_be_read(name: str, level: str) -> None:
    found = figures(proposed(name, level).text)
    assert found._replace(signals=0, arms=0, no_home=0, no_starter=0) == Figures(*[0] * 8)
    if level != "least":
        assert found.no_home == 0
    if level in ("full", "at-points"):
        assert found.no_starter == 0


@pytest.mark.parametrize(("name", "level"), CASES)
def test_the_check_finds_nothing_wrong(name: str, level: str) -> None:
    report = check(proposed(name, level).text)
    assert report.holds is True
    rules = {finding.rule for finding in report.findings if finding.level != "note"}
    joined = {"platform-without-home", "platform-without-starter", "stands-not-parted"}
    assert rules <= (joined if level == "least" else set())


@pytest.mark.parametrize(("name", "level"), [c for c in CASES if c[0] not in LARGE])
def test_it_holds_by_the_search_through_two_trains(name: str, level: str) -> None:
    assert holds(plan_of(name, level), MAX_STATES)


@pytest.mark.parametrize(("name", "level"), [c for c in CASES if c[0] not in LARGE])
def test_trains_reach_all_track_that_can_be_reached(name: str, level: str) -> None:
    plan = PLANS[name]
    everywhere = signalled(plan, tuple(track_ends(plan)))
    assert reached(Ground(everywhere)) <= reached(Ground(plan_of(name, level)))


def with_one_arm_less(plan: Any) -> Iterator[tuple[str, Any]]:
    """Yield the plan without each of its arms in turn; a signal without an arm goes too."""
    for name, signal in plan["signals"].items():
        for index, arm in enumerate(signal["arms"]):
            arms = [*signal["arms"][:index], *signal["arms"][index + 1 :]]
            others = {key: each for key, each in plan["signals"].items() if key != name}
            less = {**others, name: {**signal, "arms": arms}} if arms else others
            yield arm["id"], {**plan, "signals": less}


def is_missed(name: str, plan: Any, less: Any) -> bool:
    """Whether an arm is missed: trains meet, reach less track, have no arm, or cannot read one."""
    text = json.dumps(less)
    report = check(text)
    if not report.holds:
        return True
    before = {(f.rule, f.pointer) for f in check(json.dumps(plan)).findings}
    if {(f.rule, f.pointer) for f in report.findings} - before:
        return True
    found = figures(text)
    unread = found.too_wide + found.past_station + found.into_siding
    return bool(unread) or not reached(Ground(plan)) <= reached(Ground(less))


@pytest.mark.parametrize("name", [name for name in PLANS if name not in LARGE])
def test_at_least_nothing_can_be_spared(name: str) -> None:
    assert proposed(name, "least").least
    plan = plan_of(name, "least")
    for arm, less in with_one_arm_less(plan):
        assert is_missed(name, plan, less), (name, arm)


def test_every_kind_of_signal_is_proposed() -> None:
    signals = [s for name, level in CASES for s in plan_of(name, level)["signals"].values()]
    assert {signal["mount"] for signal in signals} == {"post", "bracket", "gantry", "ground"}
    assert any(signal.get("form") == "disc" for signal in signals)
    assert any(arm.get("kind") == "distant" for signal in signals for arm in signal["arms"])
    along = [s for s in signals if "at_mm" in s and s["arms"][0].get("kind", "stop") == "stop"]
    assert len(along) >= 4


def test_a_gantry_has_its_arms_from_left_to_right() -> None:
    """For up trains at a loop, the road on the right leg of the toe is on the driver's left."""
    gantries = [
        signal
        for signal in plan_of("loop", "homes")["signals"].values()
        if signal["mount"] == "gantry"
    ]
    plan = PLANS["loop"]
    for signal in gantries:
        tracks = [arm.get("track", signal["track"]) for arm in signal["arms"]]
        legs = [plan["tracks"][track][signal["for"]].split(".")[1] for track in tracks]
        assert legs == ["right", "left"]
    assert len(gantries) == 2


def test_the_more_important_road_has_the_higher_arm() -> None:
    plan = json.loads(json.dumps(PLANS["junction"]))
    for name, track in plan["tracks"].items():
        track["rank"] = 2 if "branch" in name else 1
    text = propose(json.dumps(plan), level="homes").drafts[0].text
    (bracket,) = [s for s in json.loads(text)["signals"].values() if len(s["arms"]) == 2]
    heights = {arm["to"]: arm["height_mm"] for arm in bracket["arms"]}
    # 24 ft and 17 ft at 4 mm to the foot.
    assert sorted(heights.values()) == [68, 96]
    assert heights["down-branch-1"] == 68
    assert not [f for f in check(text).findings if f.rule == "arm-height-against-rank"]


def test_signals_close_together_are_made_one() -> None:
    """The ladder's tracks are 180 mm long. Without a signal at all, a bracket would carry five."""
    plan = json.dumps(PLANS["five roads"])
    apart, close = (propose(plan, level="at-points", close_mm=mm).drafts[0] for mm in (179, 180))
    # Two of the three signals into the ladder go, and the one that divides five roads stays.
    assert len(ladder(apart)) == 6
    assert ladder(close) == {("b-c", "down")}


def ladder(draft: Draft) -> set[tuple[str, str]]:
    signals = json.loads(draft.text)["signals"].values()
    return {(s["track"], s["for"]) for s in signals if s["track"] in ("a-b", "b-c", "c-d")}


def test_each_says_what_it_is_good_for() -> None:
    uses = {level: proposed("loop", level).use for level in LEVELS}
    assert len(set(uses.values())) == len(LEVELS)
    assert all(use.startswith("Good for ") for use in uses.values())
    assert uses["homes"].endswith("up to 4 trains at once; a train can wait outside A.")
