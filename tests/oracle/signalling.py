"""Signals for random plans: first so that the plan holds, then with flaws."""

from __future__ import annotations

import random
from collections.abc import Collection
from typing import Any

from oracle.drawn import Drawn, Head, Kinds, Plan, leads_nowhere
from oracle.flaws import FLAWS

__all__ = ["finish", "hold_yards", "signal_plan"]


def signal_plan(
    rng: random.Random,
    plan: Plan,
    flaws: int,
    before_elements: float,
    shunts: float,
    unheld: Collection[str] = (),
) -> None:
    """Put signals into a plan, then make a number of random changes for the worse or the better.

    Before the changes every stand and every edge is held at each end that leads on (by a signal,
    or by trap points that lead into a drag), and `before_elements` of the other track ends that
    meet an element have a signal too. The share `shunts` of the signals has a shunt arm instead of
    the stop arm, or as well. The legs `unheld` get no signal before them; each other end of their
    tracks gets one.
    """
    drawn = Drawn(rng, plan, shunts)
    joints = {each for track in plan["tracks"].values() for each in (track["up"], track["down"])}
    share_held = rng.choice((0.0, 0.3, 0.7))
    held = {
        each for each in sorted(joints) if each.startswith("joint:") and rng.random() < share_held
    }
    for section in drawn.sections(held):
        must = any(drawn.may_stand(each) or drawn.meets(each, unheld) for each in section)
        trap_holds = not drawn.comes_on(section) and rng.random() < 0.85
        for track_id, end in drawn.exits(section):
            if trap_holds and drawn.is_trapped(track_id, end):
                continue
            if drawn.track(track_id)[end] in unheld:
                continue
            at_joint = drawn.track(track_id)[end].startswith("joint:")
            likely = 0.25 if at_joint else before_elements
            likely = 0.0 if drawn.is_before_trap(track_id, end) else likely
            if must or rng.random() < likely:
                drawn.at_end(track_id, end)
    hold_yards(drawn)
    _set_some_back(drawn)
    finish(drawn, flaws)


def hold_yards(drawn: Drawn, kinds: Kinds | None = None) -> None:
    """A signal at each way out of a yard, many set back along the track; some without effect."""
    rng = drawn.rng
    set_back = rng.random() < 0.75
    for track_id in list(drawn.in_yard):
        if track_id not in drawn.plan["tracks"]:
            continue
        for heading in ("down", "up"):
            text = drawn.track(track_id)[heading]
            if not drawn.lets(track_id, heading) or leads_nowhere(text):
                continue
            if not drawn.leads_out(track_id, heading):
                if rng.random() < 0.15:
                    drawn.at_end(track_id, heading)
            elif not drawn.is_trapped(track_id, heading) or rng.random() < 0.15:
                drawn.at_end(track_id, heading, kinds)
                if set_back and ("." in text or rng.random() < 0.3):
                    drawn.set_back(drawn.heads[-1], rng.choice((50, 80)))


def _set_some_back(drawn: Drawn) -> None:
    """In some plans heads stand a little before the ends that they guard, with a stub behind."""
    if drawn.rng.random() < 0.6:
        return
    for head in drawn.heads:
        at_element = head.at is None and "." in drawn.track(head.track)[head.heading]
        if at_element and head.track not in drawn.in_yard and drawn.rng.random() < 0.3:
            drawn.set_back(head, drawn.rng.choice((50, 80, 150)))


def finish(drawn: Drawn, flaws: int) -> None:
    """Make a number of changes to the drawn heads, and write the signals into the plan."""
    for _ in range(flaws):
        drawn.rng.choice(FLAWS)(drawn)
    for track_id in drawn.in_yard:
        if track_id in drawn.plan["tracks"]:
            _leave_a_part_of(drawn, track_id)
    _write_signals(drawn.rng, drawn.plan, drawn.heads)


def _leave_a_part_of(drawn: Drawn, track_id: str) -> None:
    """Move the signals for both ways out of a yard's track to its ends where they leave nothing."""
    down = [h for h in drawn.heads if h.track == track_id and h.heading == "down"]
    up = [h for h in drawn.heads if h.track == track_id and h.heading == "up"]
    if down and up and all(head.at is not None for head in down):
        last = max(down, key=lambda head: head.at or 0)
        first = min(up, key=lambda head: head.at or 0)
        if (first.at or 0) >= (last.at or 0):
            last.at = None
            if first.at is not None and first.at >= 50:
                first.at = None


# ---- writing -----------------------------------------------------------------------------------


def _arm(rng: random.Random, arm_id: str, kind: str) -> dict[str, Any]:
    if kind == "stop" and rng.random() < 0.95:
        return {"id": arm_id}
    return {"id": arm_id, "kind": kind}


class _Written:
    """The signals of a plan as they are written, arm by arm."""

    def __init__(self, rng: random.Random, plan: Plan) -> None:
        self.rng = rng
        self.plan = plan
        self.signals: dict[str, Any] = {}
        self.arms = 0

    def arm_id(self) -> str:
        self.arms += 1
        return f"a{self.arms}"

    def write(self, head: Head, kinds: Kinds, at: int | None) -> None:
        """One signal with arms of these kinds, or as many arms on another's post."""
        rng = self.rng
        arms = [_arm(rng, self.arm_id(), kind) for kind in kinds]
        where: dict[str, Any] = {"track": head.track, "for": head.heading}
        if at is not None:
            where["at_mm"] = at
        if self.signals and rng.random() < 0.1:
            post = self.signals[rng.choice(list(self.signals))]
            if ("at_mm" not in post or at is not None) and not self._shares_spot(post, head):
                post["arms"] += [arm | where for arm in arms]
                return
        signal: dict[str, Any] = dict(where)
        if kinds == ("shunt",) and rng.random() < 0.5:
            signal |= {"mount": "ground", "form": "disc"}
        elif len(kinds) == 2 and rng.random() < 0.5:
            signal["mount"] = "bracket"
        signal["arms"] = arms
        if rng.random() < 0.1:
            kind = rng.choice(("distant", "distant", "calling-on"))
            signal["arms"].append({"id": self.arm_id(), "kind": kind})
        self.signals[f"s{len(self.signals) + 1}"] = signal

    @staticmethod
    def _shares_spot(post: dict[str, Any], head: Head) -> bool:
        """Whether a post has arms for the same trains of the same track already."""
        there = [(post["track"], post["for"])]
        there += [(arm["track"], arm["for"]) for arm in post["arms"] if "track" in arm]
        return (head.track, head.heading) in there


def _write_signals(rng: random.Random, plan: Plan, heads: list[Head]) -> None:
    """Write the heads into the plan: mostly one a signal, some as arms of another's post."""
    written = _Written(rng, plan)
    for head in heads:
        if not head.apart:
            written.write(head, head.kinds, head.at)
            continue
        for kind in head.kinds:
            at = head.at
            length = plan["tracks"][head.track].get("length_mm")
            if at is None and rng.random() < 0.3:
                at = length if head.heading == "down" else 0  # the same spot, said otherwise
            written.write(head, (kind,), at)
    if rng.random() < 0.2:
        # A lone distant holds no train and cuts no track.
        track_id = rng.choice(list(plan["tracks"]))
        written.signals[f"s{len(written.signals) + 1}"] = {
            "track": track_id,
            "for": rng.choice(("down", "up")),
            "at_mm": 100,
            "arms": [{"id": written.arm_id(), "kind": "distant"}],
        }
    plan["signals"] = written.signals
