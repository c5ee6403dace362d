"""Short forms for plans of arrangements, and for their tables and reports.

The tests state their expectations in these forms by hand; this module knows no answers.
"""

from __future__ import annotations

import copy
import json
from collections.abc import Iterable
from itertools import combinations
from typing import Any, NamedTuple

from oracle.two_trains import meeting, replay
from outside.published import Pair, Plan, checked, pairs, table_of
from trappoint import LockingTable, Report

OTHER = {"left": "right", "right": "left"}


def a_plan(
    tracks: dict[str, str],
    signals: dict[str, str],
    *,
    points: str = "",
    together: str = "",
    diamonds: str = "",
    platforms: str = "",
    **more: Any,
) -> Plan:
    """A plan from short forms.

    A track is `UP DOWN` and then any of `stand`, `pass` (no stand), `down` or `up` (its running)
    and its length. A signal is `TRACK FOR`, its distance if any and `shunt` for a disc; then,
    after semicolons, its arms from left to right, each `ID`, `shunt` for a shunt arm, and
    `> TRACK` where it says which road it is for. Without any it has one arm of its own name.
    Points: `p right, t left trap` with the normal lie of each. Together: `p t, q u`. Platforms:
    `A main, B loop loop-2`.
    """
    drawn: Plan = {
        "format": "trappoint-layout/1",
        "title": "An arrangement of the trade",
        "tracks": {name: _track(text) for name, text in tracks.items()},
        "signals": {name: _signal(name, text) for name, text in signals.items()},
        **more,
    }
    if points:
        drawn["points"] = dict(_points(text) for text in points.split(","))
    if together:
        drawn["worked_together"] = [group.split() for group in together.split(",")]
    if diamonds:
        drawn["crossings"] = {name: {"kind": "diamond"} for name in diamonds.split()}
    if platforms:
        served = [text.split() for text in platforms.split(",")]
        drawn["platforms"] = {name: {"tracks": beside} for name, *beside in served}
    return drawn


def _track(text: str) -> Plan:
    up, down, *words = text.split()
    track: Plan = {"up": up, "down": down}
    for word in words:
        if word in ("stand", "pass"):
            track["stand"] = word == "stand"
        elif word in ("down", "up"):
            track["running"] = word
        else:
            track["length_mm"] = int(word)
    return track


def _points(text: str) -> tuple[str, Plan]:
    name, normal, *trap = text.split()
    return name, {"normal": normal, **({"trap": True} if trap else {})}


def _signal(name: str, text: str) -> Plan:
    first, *arms = (part.split() for part in text.split(";"))
    track, heading, *words = first
    signal: Plan = {"track": track, "for": heading}
    for word in words:
        if word.isdigit():
            signal["at_mm"] = int(word)
    if "shunt" in words:
        signal |= {"form": "disc", "mount": "ground"}
    if len(arms) > 1 and "shunt" not in arms[-1]:
        signal["mount"] = "bracket"
    signal["arms"] = [_arm(arm, words) for arm in arms or [[name]]]
    if len(arms) > 1 and "shunt" in arms[-1]:
        signal["arms"][-1]["under"] = signal["arms"][-2]["id"]
    return signal


def _arm(words: list[str], of_signal: list[str]) -> Plan:
    arm: Plan = {"id": words[0]}
    if "shunt" in (*words, *of_signal):
        arm["kind"] = "shunt"
    if ">" in words:
        arm["to"] = words[-1]
    return arm


# --- the same plan with something changed


def without(plan: Plan, *signals: str) -> Plan:
    kept = {name: signal for name, signal in plan["signals"].items() if name not in signals}
    assert len(kept) == len(plan["signals"]) - len(signals)
    return {**plan, "signals": kept}


def turned(plan: Plan, trap: str) -> Plan:
    """The plan with its trap points the wrong way round: they lead out of the siding when normal.

    They are then on a lever of their own, for worked as before they would never lead out together
    with the points that they guard.
    """
    changed = copy.deepcopy(plan)
    changed["points"][trap]["normal"] = OTHER[plan["points"][trap]["normal"]]
    groups = [[name for name in group if name != trap] for group in plan["worked_together"]]
    changed["worked_together"] = [group for group in groups if len(group) > 1]
    if not changed["worked_together"]:
        del changed["worked_together"]
    return changed


def with_track(plan: Plan, name: str, text: str) -> Plan:
    return {**plan, "tracks": {**plan["tracks"], name: _track(text)}}


def with_signal(plan: Plan, name: str, text: str) -> Plan:
    return {**plan, "signals": {**plan["signals"], name: _signal(name, text)}}


# --- what a report says


def clean(plan: Plan) -> Report:
    """Check a plan that must hold and have no errors; the independent search must agree."""
    report = checked(plan)
    assert meeting(plan) is None
    assert [f.message for f in report.findings if f.level == "error"] == []
    assert report.holds is True
    return report


def unheld(plan: Plan) -> set[str]:
    """Check a plan that does not hold: the exits that are not held, `TRACK HEADING` or `YARD`.

    The movement that is shown must be one that the independent search allows.
    """
    report = checked(plan)
    assert meeting(plan) is not None
    assert report.holds is False, json.dumps(plan)
    found = [f for f in report.findings if f.rule == "unheld-exit" and f.level == "error"]
    for finding in found:
        assert finding.movement is not None
        replay(plan, finding.movement.to_json())
    return {" ".join(finding.pointer.split("/")[2:4]) for finding in found}


def by_hand_signal(plan: Plan) -> list[str]:
    """Return the sentences of the verdict on trains that leave by hand signal."""
    facts = clean(plan).facts
    assert facts is not None
    return [text for text in facts.takes_for_granted if "hand signal only" in text]


# --- what a table says


class Road(NamedTuple):
    """A route: the tracks that it runs over, where it ends, and the lies that it needs."""

    over: tuple[str, ...]
    ends_at: str
    points: dict[str, str]


def road(text: str) -> Road:
    """Read `exit main to 4: t right, p left`."""
    way, _, lies = text.partition(":")
    over, _, end = way.rpartition(" to ")
    points = dict(lie.split() for lie in lies.split(",")) if lies else {}
    return Road(tuple(over.split()), end.strip(), points)


def roads(table: LockingTable) -> dict[str, list[Road]]:
    return {
        entry.arm: [Road(r.over, r.ends_at, dict(r.points)) for r in entry.routes]
        for entry in table.arms
    }


Locks = dict[Pair, set[str]]
"""For two arms what sees to it that they are not off together: `points`, `direct`, or with a
condition `points when 5 left`."""


def locks(table: LockingTable) -> Locks:
    """Read the locks of a table; the rows of both arms must say the same."""
    rows: dict[tuple[str, str], set[str]] = {}
    for entry in table.arms:
        for conflict in entry.conflicts:
            rows.setdefault((entry.arm, conflict.arm), set()).add(_lock(conflict.by, conflict.when))
    for (one, other), said in rows.items():
        assert rows.get((other, one)) == said, (one, other)
    return {frozenset(pair): said for pair, said in rows.items()}


def _lock(by: str, when: Any) -> str:
    if when is None:
        return by
    return f"{by} when {' '.join(word for lie in sorted(when.items()) for word in lie)}"


def meant(**said: str) -> Locks:
    """Write down locks by hand: `meant(points="A-B, A-C", direct="B-C")`."""
    found: Locks = {}
    for by, text in said.items():
        for pair in pairs(text):
            assert pair not in found, "written down twice"
            found[pair] = {by}
    return found


def counted(found: Iterable[set[str]]) -> dict[str, int]:
    """How many pairs there are of each kind of lock."""
    count: dict[str, int] = {}
    for said in found:
        for word in said:
            count[word] = count.get(word, 0) + 1
    return count


def compatible(plan: Plan, found: Locks) -> set[frozenset[str]]:
    """The pairs of arms that nothing keeps from being off together."""
    arms = [arm["id"] for signal in plan["signals"].values() for arm in signal["arms"]]
    return {frozenset(pair) for pair in combinations(arms, 2)} - found.keys()


def pairs_of(plan: Plan) -> tuple[int, int]:
    """The pairs of stop arms, and how many of them always conflict."""
    table = table_of(plan)
    return table.pairs_all, table.pairs_conflicting
