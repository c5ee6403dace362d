"""A plan in sentences: read back, they give the ends, legs, arms and platforms of the plan."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from large.railway import railway
from trappoint import check
from trappoint.model.building import build_layout
from trappoint.reporting.outline import outline

if TYPE_CHECKING:
    from collections.abc import Iterator

EXAMPLES = Path(__file__).parents[2] / "examples"
PLANS = sorted(EXAMPLES.glob("*.layout.json"))
LARGE = ["railway(40)"]

WORDS = {"points": "points", "crossings": "crossing", "turntables": "turntable"}
LEG = {"points": "the {} leg", "crossings": "leg {}", "turntables": "road {}"}


def plan_of(path: Path | str) -> dict[str, Any]:
    text = path.read_text("utf-8") if isinstance(path, Path) else json.dumps(railway(_size(path)))
    plan: dict[str, Any] = json.loads(text)
    return plan


def _size(name: str) -> int:
    return int(re.sub(r"\D", "", name))


def called(plan: dict[str, Any], kind: str, key: str, word: str) -> str:
    """Return what a thing is called: by its name and its id, else by a noun and its id."""
    name = plan.get(kind, {}).get(key, {}).get("name", "")
    return f"{name} ({key})" if name and name.casefold() != key.casefold() else f"{word} {key}"


def met(plan: dict[str, Any], end: str) -> str:
    """Return what the outline must call the end of a track."""
    if end == "buffer":
        return "a buffer"
    if end.startswith("joint:"):
        return end.replace(":", " ")
    if end.startswith("edge:"):
        return called(plan, "edges", end.removeprefix("edge:"), "edge")
    owner, _, leg = end.rpartition(".")
    kind = next(kind for kind in WORDS if owner in plan.get(kind, {}))
    part = "the toe" if leg == "toe" else LEG[kind].format(leg)
    return f"{part} of {called(plan, kind, owner, WORDS[kind])}"


def short(plan: dict[str, Any], kind: str, key: str) -> str:
    return called(plan, kind, key, "").strip()


class Told:
    """The sentences on a plan, each taken out when it is looked at."""

    def __init__(self, plan: dict[str, Any]) -> None:
        self.plan = plan
        self.report = check(json.dumps(plan).encode())
        assert self.report.layout is not None
        self.layout = self.report.layout
        self.left = outline(self.layout, self.report.table)
        tracks = plan["tracks"]
        self.at = {tracks[key][side]: key for key in tracks for side in ("up", "down")}

    def one(self, start: str) -> str:
        """Return the only text that begins so."""
        (text,) = (each for each in self.left if each.casefold().startswith(start.casefold()))
        self.left.remove(text)
        return text

    def each(self, kind: str, word: str, verb: str) -> Iterator[tuple[str, Any, str]]:
        """Yield each thing of a kind with its id and its text."""
        for key, thing in self.plan.get(kind, {}).items():
            yield key, thing, self.one(f"{called(self.plan, kind, key, word)}{verb}")

    def on(self, end: str) -> str:
        """Return the track that meets a leg."""
        return short(self.plan, "tracks", self.at[end])


def look_at_tracks(told: Told) -> None:
    for key, track, text in told.each("tracks", "track", " leads from "):
        up, down = met(told.plan, track["up"]), met(told.plan, track["down"])
        assert f" leads from {up} to {down}." in text
        assert ("Trains may stand there." in text) == told.layout.tracks[key].stand
        running = track.get("running", "both")
        assert ("Trains run" in text) == (running != "both")
        assert running == "both" or f"Trains run {running} only." in text


def look_at_elements(told: Told) -> None:
    for key, points, text in told.each("points", "points", " lead from "):
        three = points.get("kind") == "three-way"
        legs = ("left", "middle", "right") if three else ("left", "right")
        ways = [f"{told.on(f'{key}.{leg}')} ({leg})" for leg in legs]
        goal = f"{', '.join(ways[:-1])} or {ways[-1]}"
        assert f" lead from {told.on(f'{key}.toe')} to {goal}." in text
        assert f"They normally lie {points['normal']}." in text
        assert ("trap points" in text) == points.get("trap", False)
    for key, crossing, text in told.each("crossings", "crossing", ", a "):
        for road in "ab":
            assert f"from {told.on(f'{key}.{road}1')} to {told.on(f'{key}.{road}2')}" in text
        slips = {"double-slip": 2, "single-slip": 1}.get(crossing.get("kind", "diamond"), 0)
        assert text.count("Its slip") == slips
    for key, turntable, text in told.each("turntables", "turntable", ", a "):
        for road in turntable["roads"]:
            assert f"{told.on(f'{key}.{road}')} ({road})" in text


def look_at_the_rest(told: Told) -> None:
    for kind, word, verb in (("platforms", "platform", "is beside"), ("yards", "yard", "has")):
        for _, thing, text in told.each(kind, word, f" {verb} "):
            for track in thing["tracks"]:
                assert short(told.plan, "tracks", track) in text
    for key, signal, text in told.each("signals", "signal", " stands "):
        track = short(told.plan, "tracks", signal["track"])
        at = "from the up" if "at_mm" in signal else f"at the {signal['for']}"
        assert f"{at} end of {track}, for trains running {signal['for']}." in text
        assert told.report.table is not None
        for entry in told.report.table.arms:
            assert entry.signal != key or entry.meaning[1:] in text


@pytest.mark.parametrize("path", [*PLANS, *LARGE], ids=str)
def test_everything_is_told_once_and_right(path: Path | str) -> None:
    told = Told(plan_of(path))
    look_at_tracks(told)
    look_at_elements(told)
    look_at_the_rest(told)
    assert told.left == []


def test_kelpie_quay() -> None:
    report = check(EXAMPLES / "kelpie-quay.layout.json")
    assert report.layout is not None
    texts = outline(report.layout, report.table)
    assert texts[:3] == [
        "Track town-line leads from edge town to the toe of points p1. Trains may stand there.",
        "Signal 1 stands at the down end of town-line, for trains running down. Arm 1L, a stop "
        "arm, gives leave to run from town-line to loop-west (platform B), as far as signal 4. "
        "Arm 1R, a stop arm, gives leave to run from town-line to main (platform A), as far as "
        "signal 2.",
        "Points p1 lead from town-line to loop-west (left) or main (right). They normally lie "
        "right.",
    ]
    assert texts[-1].startswith("Signal 6 stands at the up end of siding")


def test_things_follow_each_other_along_the_line() -> None:
    """Each track but the first meets one whose end another track before it has."""
    plan = plan_of(EXAMPLES / "selkie-harbour.layout.json")
    order = [text.partition(" leads from ")[0] for text in outline(build_layout(plan))]
    by_name = {called(plan, "tracks", key, "Track"): track for key, track in plan["tracks"].items()}
    seen: set[str] = set()
    begun = 0
    for name in (name for name in order if name in by_name):
        ends = {by_name[name][side].partition(".")[0] for side in ("up", "down")} - {"buffer"}
        begun += not ends & seen
        seen |= ends
    assert begun == 1


def test_a_plan_with_errors_is_told_as_far_as_it_goes() -> None:
    plan = plan_of(EXAMPLES / "kelpie-quay.layout.json")
    plan["tracks"]["main"]["down"] = "p9.left"
    plan["signals"]["2"]["track"] = "nowhere"
    plan["platforms"]["A"]["tracks"] = ["nowhere"]
    texts = outline(build_layout(plan))
    assert "Track main leads from the right leg of points p1 to p9.left." in " ".join(texts)
    assert any("Points p2 lead from quarry-line to no track (left)" in text for text in texts)
    assert "Arm 1L is a stop arm." in " ".join(texts)
    assert not any(text.startswith("Signal 2 ") for text in texts)
