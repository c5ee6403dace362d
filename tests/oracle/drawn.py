"""The signals drawn so far for a random plan, and what its tracks need."""

from __future__ import annotations

import random
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from typing import Any

Plan = dict[str, Any]
Kinds = tuple[str, ...]
TrackEnd = tuple[str, str]
ELEMENT_KINDS = ("points", "crossings", "turntables")
OTHER_WAY = {"down": "up", "up": "down"}
BOTH = (("stop", "shunt"), ("shunt", "stop"))


@dataclass
class Head:
    """A head to be, and the kinds of its arms; `at` is None right at the end of the track.

    Where it is `apart`, its shunt arm is a signal of its own: a disc at the foot of the post.
    """

    track: str
    heading: str
    at: int | None = None
    kinds: Kinds = ("stop",)
    apart: bool = False


def leads_nowhere(text: str) -> bool:
    return text == "buffer" or text.startswith("edge:")


class Drawn:
    """The heads drawn so far for a plan, and what the plan needs."""

    def __init__(self, rng: random.Random, plan: Plan, shunts: float) -> None:
        self.rng = rng
        self.plan = plan
        self.heads: list[Head] = []
        self._shunts = shunts
        self.in_yard = {
            member: yard_id
            for yard_id, yard in plan.get("yards", {}).items()
            for kind in ("tracks", *ELEMENT_KINDS)
            for member in yard.get(kind, [])
        }
        self._met = {
            track[end]: (track_id, end)
            for track_id, track in plan["tracks"].items()
            for end in ("up", "down")
            if "." in track[end]
        }

    def track(self, track_id: str) -> dict[str, Any]:
        track: dict[str, Any] = self.plan["tracks"][track_id]
        return track

    def meets(self, track_id: str, legs: Collection[str]) -> bool:
        """Whether an end of the track meets one of these legs."""
        track = self.track(track_id)
        return track["up"] in legs or track["down"] in legs

    def lets(self, track_id: str, heading: str) -> bool:
        return self.track(track_id).get("running", "both") in ("both", heading)

    def may_stand(self, track_id: str) -> bool:
        """Whether a train may stand or come on somewhere along the track."""
        track = self.track(track_id)
        ends = (track["up"], track["down"])
        if any(end.startswith("edge:") for end in ends):
            return True
        if "stand" in track:
            return bool(track["stand"])
        platforms = self.plan.get("platforms", {}).values()
        return "buffer" in ends or any(track_id in each["tracks"] for each in platforms)

    def sections(self, held: Iterable[str]) -> list[list[str]]:
        """The tracks outside yards, those together that meet at joints that are not `held`."""
        at: dict[str, list[TrackEnd]] = {}
        section_of = {each: [each] for each in self.plan["tracks"] if each not in self.in_yard}
        for track_id in section_of:
            for end in ("up", "down"):
                at.setdefault(self.track(track_id)[end], []).append((track_id, end))
        for text, ends in at.items():
            if text.startswith("joint:") and text not in held and len(ends) == 2:
                (one, end), (other, other_end) = ends
                one_lets = self.lets(one, end), self.lets(one, OTHER_WAY[end])
                other_lets = self.lets(other, OTHER_WAY[other_end]), self.lets(other, other_end)
                if one_lets == other_lets and section_of[one] is not section_of[other]:
                    section_of[one] += section_of[other]
                    for each in section_of[other]:
                        section_of[each] = section_of[one]
        return list({id(each): each for each in section_of.values()}.values())

    def exits(self, section: list[str]) -> list[TrackEnd]:
        """The track ends by which trains may run out of a section, a joint within it left out."""
        ends = [(each, end) for each in section for end in ("up", "down")]
        texts = [self.track(each)[end] for each, end in ends]
        return [
            (each, end)
            for (each, end), text in zip(ends, texts, strict=True)
            if self.lets(each, end) and not leads_nowhere(text)
            if not (text.startswith("joint:") and texts.count(text) == 2)
        ]

    def leads_out(self, track_id: str, end: str) -> bool:
        """Whether the end of a track of a yard leads straight out of the yard."""
        text = self.track(track_id)[end]
        yard = self.in_yard[track_id]
        if text.startswith("joint:"):
            others = [each for each in self.plan["tracks"] if each != track_id]
            return any(
                self.in_yard.get(each) != yard
                for each in others
                if text in (self.track(each)["up"], self.track(each)["down"])
            )
        return "." in text and self.in_yard.get(text.partition(".")[0]) != yard

    def comes_on(self, section: list[str]) -> bool:
        """Whether trains come on in a section from elsewhere."""
        return any(
            self.track(each)[end].startswith("edge:") for each in section for end in ("up", "down")
        )

    def is_trapped(self, track_id: str, end: str) -> bool:
        """Whether trap points turn a train that runs out there into a drag."""
        name, _, leg = str(self.track(track_id)[end]).partition(".")
        points = self.plan.get("points", {}).get(name, {})
        if leg != "toe" or not points.get("trap"):
            return False
        track_id, end = self._met[f"{name}.{points['normal']}"]
        drag = self.track(track_id)
        return drag[OTHER_WAY[end]] == "buffer" and drag.get("stand") is False

    def is_before_trap(self, track_id: str, end: str) -> bool:
        """Whether a train that runs out there runs into trap points by a leg.

        A route that ended before them would leave the stand behind them free to be left.
        """
        name, _, leg = str(self.track(track_id)[end]).partition(".")
        trap = self.plan.get("points", {}).get(name, {}).get("trap", False)
        return bool(trap) and leg != "toe"

    def place(self, head: Head) -> None:
        """Add a head unless one for the same trains stands on the spot already."""
        if self._spot(head) not in [self._spot(each) for each in self.heads]:
            self.heads.append(head)

    def _spot(self, head: Head) -> tuple[str, str, int | None]:
        length = self.track(head.track).get("length_mm")
        right_end = 0 if head.heading == "up" else length
        return head.track, head.heading, None if head.at == right_end else head.at

    def at_end(self, track_id: str, heading: str, kinds: Kinds | None = None) -> None:
        """Add a head right at the end of a track; now and then a lone disc."""
        kinds = self.any_kinds() if kinds is None else kinds
        apart = len(kinds) == 2 and self.rng.random() < 0.5
        self.place(Head(track_id, heading, None, kinds, apart))

    def between(self, track_id: str, heading: str) -> Head:
        """A head somewhere along a track, now and then right at its end by its distance."""
        length = self.track(track_id).get("length_mm")
        kinds = self.any_kinds()
        apart = len(kinds) == 2 and self.rng.random() < 0.5
        if length is not None and self.rng.random() < 0.05:
            return Head(track_id, heading, length if heading == "down" else 0, kinds, apart)
        thirds = (length or 600) // 3
        return Head(track_id, heading, self.rng.choice((thirds, 2 * thirds)), kinds, apart)

    def set_back(self, head: Head, by: int) -> None:
        """Move a head from the end of its track a little back along it."""
        length = self.track(head.track).get("length_mm") or 900
        head.at = by if head.heading == "up" else max(by, length - by)
        if head.at == length:
            head.at = None

    def any_kinds(self) -> Kinds:
        if self.rng.random() >= self._shunts:
            return ("stop",)
        return self.rng.choice((("shunt",), ("shunt",), *BOTH))

    def any_track(self) -> str:
        tracks: list[str] = list(self.plan["tracks"])
        return self.rng.choice(tracks)

    def any_heading(self, track_id: str) -> str:
        """A heading that the track allows; once in a while one that it does not."""
        running: str = self.track(track_id).get("running", "both")
        if running == "both" or self.rng.random() < 0.05:
            return "down" if self.rng.random() < 0.5 else "up"
        return running
