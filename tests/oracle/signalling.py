"""Signals for random plans: first so that the plan holds, then with flaws."""

from __future__ import annotations

import random
from dataclasses import dataclass
from typing import Any

Plan = dict[str, Any]
ELEMENT_KINDS = ("points", "crossings", "turntables")
OTHER_WAY = {"down": "up", "up": "down"}


@dataclass
class Head:
    """A head to be, its kinds of arms; `at` is None right at the end that its trains run to."""

    track: str
    heading: str
    at: int | None = None
    kinds: tuple[str, ...] = ("stop",)


def signal_plan(
    rng: random.Random, plan: Plan, flaws: int, before_elements: float, shunts: float
) -> None:
    """Put signals into a plan, and so many random changes for the worse or the better.

    Before the changes every stand is held at each end that leads on, and `before_elements` of the
    other track ends that meet an element have a signal too. Of all the signals `shunts` have a
    shunt arm instead of the stop arm, or as well.
    """
    drawn = _Drawn(rng, plan, before_elements, shunts)
    for _ in range(flaws):
        rng.choice(_FLAWS)(drawn)
    _write_signals(rng, plan, drawn.heads)


class _Drawn:
    """The heads drawn so far for a plan."""

    def __init__(
        self, rng: random.Random, plan: Plan, before_elements: float, shunts: float
    ) -> None:
        self.rng = rng
        self.plan = plan
        self.heads: list[Head] = []
        self._shunts = shunts
        self._in_yard = {
            member
            for yard in plan.get("yards", {}).values()
            for kind in ("tracks", *ELEMENT_KINDS)
            for member in yard.get(kind, [])
        }
        for track_id, track in plan["tracks"].items():
            stand = self._is_stand(track_id)
            for heading in ("down", "up"):
                if track[heading] == "buffer" or track[heading].startswith("edge:"):
                    continue
                if track.get("running", "both") == OTHER_WAY[heading]:
                    continue
                likely = 0.25 if track[heading].startswith("joint:") else before_elements
                if stand or rng.random() < likely:
                    self.heads.append(Head(track_id, heading, None, self.any_kinds()))

    def _is_stand(self, track_id: str) -> bool:
        track = self.plan["tracks"][track_id]
        if track_id in self._in_yard:
            return True  # a yard is a stand: held at its border, harmless within
        if "stand" in track:
            return bool(track["stand"])
        ends: str = track["up"] + track["down"]
        platforms = self.plan.get("platforms", {}).values()
        serves = any(track_id in each["tracks"] for each in platforms)
        return serves or "buffer" in ends or "edge:" in ends

    def place(self, head: Head) -> None:
        """Add a head unless one for the same trains stands on the spot already."""
        if self._spot(head) not in [self._spot(each) for each in self.heads]:
            self.heads.append(head)

    def _spot(self, head: Head) -> tuple[str, str, int | None]:
        length = self.plan["tracks"][head.track].get("length_mm")
        right_end = 0 if head.heading == "up" else length
        return head.track, head.heading, None if head.at == right_end else head.at

    def between(self, track_id: str, heading: str) -> Head:
        """A head somewhere along a track, now and then right at its end by its distance."""
        length = self.plan["tracks"][track_id].get("length_mm")
        if length is not None and self.rng.random() < 0.05:
            return Head(track_id, heading, length if heading == "down" else 0, self.any_kinds())
        thirds = (length or 600) // 3
        return Head(track_id, heading, self.rng.choice((thirds, 2 * thirds)), self.any_kinds())

    def any_kinds(self) -> tuple[str, ...]:
        if self.rng.random() >= self._shunts:
            return ("stop",)
        return self.rng.choice((("shunt",), ("shunt",), ("stop", "shunt"), ("shunt", "stop")))

    def any_track(self) -> str:
        tracks: list[str] = list(self.plan["tracks"])
        return self.rng.choice(tracks)

    def any_heading(self, track_id: str) -> str:
        """A heading that the track allows; once in a while one that it does not."""
        running: str = self.plan["tracks"][track_id].get("running", "both")
        if running == "both" or self.rng.random() < 0.05:
            return "down" if self.rng.random() < 0.5 else "up"
        return running


def _take_away(drawn: _Drawn) -> None:
    if drawn.heads:
        drawn.heads.remove(drawn.rng.choice(drawn.heads))


def _take_all_of_a_track(drawn: _Drawn) -> None:
    track_id = drawn.any_track()
    drawn.heads = [head for head in drawn.heads if head.track != track_id]


def _turn_round(drawn: _Drawn) -> None:
    if drawn.heads:
        head = drawn.rng.choice(drawn.heads)
        drawn.heads.remove(head)
        heading = OTHER_WAY[head.heading]
        if drawn.plan["tracks"][head.track].get("running", "both") in ("both", heading):
            drawn.place(Head(head.track, heading, None, head.kinds))


def _move_along(drawn: _Drawn) -> None:
    if drawn.heads:
        head = drawn.rng.choice(drawn.heads)
        drawn.heads.remove(head)
        moved = drawn.between(head.track, head.heading)
        moved.kinds = head.kinds
        drawn.place(moved)


def _add_between(drawn: _Drawn) -> None:
    track_id = drawn.any_track()
    drawn.place(drawn.between(track_id, drawn.any_heading(track_id)))


def _add_back_to_back(drawn: _Drawn) -> None:
    """Two heads on one spot along a track, one for each way: two sections, held at the cut."""
    head = drawn.between(drawn.any_track(), "down")
    length = drawn.plan["tracks"][head.track].get("length_mm")
    if head.at != length and drawn.plan["tracks"][head.track].get("running", "both") == "both":
        drawn.place(head)
        drawn.place(Head(head.track, "up", head.at, drawn.any_kinds()))


def _add_at_end(drawn: _Drawn) -> None:
    track_id = drawn.any_track()
    heading = drawn.any_heading(track_id)
    met = drawn.plan["tracks"][track_id][heading]
    if met != "buffer" and not met.startswith("edge:"):
        drawn.place(Head(track_id, heading, None, drawn.any_kinds()))


def _change_kinds(drawn: _Drawn) -> None:
    if drawn.heads:
        drawn.rng.choice(drawn.heads).kinds = drawn.any_kinds()


_FLAWS = (
    *(_take_away,) * 4,
    _take_all_of_a_track,
    _turn_round,
    *(_move_along,) * 2,
    *(_add_between,) * 2,
    *(_add_back_to_back,) * 2,
    *(_add_at_end,) * 2,
    _change_kinds,
)


def _arm(rng: random.Random, arm_id: str, kind: str) -> dict[str, Any]:
    if kind == "stop" and rng.random() < 0.95:
        return {"id": arm_id}
    return {"id": arm_id, "kind": kind}


def _write_signals(rng: random.Random, plan: Plan, heads: list[Head]) -> None:
    """Write the heads into the plan: mostly one a signal, some as arms of another's post."""
    signals: dict[str, Any] = {}
    arms = 0
    for head in heads:
        of_head = [_arm(rng, f"a{arms + n + 1}", kind) for n, kind in enumerate(head.kinds)]
        arms += len(of_head)
        if signals and rng.random() < 0.1:
            post = signals[rng.choice(list(signals))]
            if "at_mm" not in post or head.at is not None:
                where: dict[str, Any] = {"track": head.track, "for": head.heading}
                if head.at is not None:
                    where["at_mm"] = head.at
                post["arms"] += [arm | where for arm in of_head]
                continue
        signal: dict[str, Any] = {"track": head.track, "for": head.heading}
        if head.at is not None:
            signal["at_mm"] = head.at
        signal["arms"] = of_head
        if rng.random() < 0.1:
            arms += 1
            kind = rng.choice(("distant", "distant", "calling-on"))
            signal["arms"].append({"id": f"a{arms}", "kind": kind})
        signals[f"s{len(signals) + 1}"] = signal
    if rng.random() < 0.2:
        # A distant by itself: it holds nobody, and cuts nothing.
        track_id = rng.choice(list(plan["tracks"]))
        signals[f"s{len(signals) + 1}"] = {
            "track": track_id,
            "for": rng.choice(("down", "up")),
            "at_mm": 100,
            "arms": [{"id": f"a{arms + 1}", "kind": "distant"}],
        }
    plan["signals"] = signals
