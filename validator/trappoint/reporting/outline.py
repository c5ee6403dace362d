"""A plan in sentences: what leads where, for people who do not see its diagram.

The sentences follow the lines of the plan from their up ends: each track from end to end with its
platforms and signals, and each element with its legs and its normal lie.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.quoting import listed, millimetres
from trappoint.lever_frame.levers import worked_with
from trappoint.model.layout import SLIP_LINKS, Points, Turntable
from trappoint.model.names import Names
from trappoint.rules.route_phrases import at_start

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.interlocking.locking_table import LockingTable
    from trappoint.laying.offering import Spot
    from trappoint.model.layout import (
        Arm,
        Crossing,
        ElementKind,
        End,
        Layout,
        Platform,
        Signal,
        Track,
        Yard,
    )

    Element = Points | Crossing | Turntable


def outline(layout: Layout, table: LockingTable | None = None) -> list[str]:
    """Return a text of some sentences for each track, element and signal, along the plan.

    With its locking ``table``, each signal has the meaning of its arms. A plan with errors raises
    nothing.
    """
    return list(_Outline(layout, table).texts())


def call_spot(spot: Spot, names: Names) -> str:
    """Return what to call a place of a plan at the start of a line: ``Up end of track main``."""
    if spot.kind == "plan":
        return spot.layout.title or "Plan without a title"
    thing = names.thing(spot.kind, spot.key)
    if not spot.part:
        return at_start(thing)
    if spot.kind == "tracks":
        return f"{at_start(spot.part)} end of {thing}"
    element: Element = getattr(spot.layout, spot.kind)[spot.key]
    return f"{at_start(_leg(element, spot.part).removeprefix('the '))} of {thing}"


class _Outline:
    """Follows the tracks of a plan, and tells each thing once."""

    def __init__(self, layout: Layout, table: LockingTable | None) -> None:
        self.layout, self.names = layout, Names(layout)
        self.meaning = {entry.arm: entry.meaning for entry in table.arms} if table else {}
        self.together = worked_with(layout) if layout.worked_together else {}
        self.tracks_at: dict[str, list[str]] = {}
        """The tracks that meet each leg or joint, by its text."""
        for track in layout.tracks.values():
            for end in (track.up, track.down):
                if end.kind in ("leg", "joint"):
                    self.tracks_at.setdefault(end.text, []).append(track.id)
        self.signals_on: dict[str, list[Signal]] = {}
        for signal in layout.signals.values():
            self.signals_on.setdefault(signal.track, []).append(signal)
        self.beside: dict[str, list[str]] = {}
        """The texts on platforms and yards, each at the first of its tracks."""
        for platform in layout.platforms.values():
            self.beside.setdefault(platform.tracks[0], []).append(self._platform(platform))
        for yard in layout.yards.values():
            self.beside.setdefault(yard.tracks[0], []).append(self._yard(yard))

    def texts(self) -> Iterator[str]:
        """Yield a text for each thing, as a train would come to it."""
        told: set[str] = set()
        elements: set[tuple[str, str]] = set()
        tracks = self.layout.tracks
        begin = [track.id for track in tracks.values() if track.up.kind in ("edge", "buffer")]
        for first in dict.fromkeys([*begin, *tracks]):
            ahead = [first]
            while ahead:
                track = tracks[ahead.pop()]
                if track.id in told:
                    continue
                told.add(track.id)
                yield from self._about_track(track)
                for end in (track.down, track.up):
                    found = self.layout.element(end)
                    if found is not None and (found[0], found[1].id) not in elements:
                        elements.add((found[0], found[1].id))
                        yield self._element(*found)
                    ahead += reversed(list(self._beyond(end)))

    def _beyond(self, end: End) -> Iterator[str]:
        """Yield the tracks that meet at the joint or the element of a track's end."""
        found = self.layout.element(end)
        if found is None:
            yield from self.tracks_at.get(end.text, ())
            return
        for leg in found[1].legs:
            yield from self.tracks_at.get(f"{end.name}.{leg}", ())

    def _about_track(self, track: Track) -> Iterator[str]:
        yield self._track(track)
        yield from self.beside.get(track.id, ())
        for signal in self.signals_on.get(track.id, ()):
            yield self._signal(signal)

    def _track(self, track: Track) -> str:
        name = self._head("tracks", track.id)
        text = f"{name} leads from {self._end(track.up)} to {self._end(track.down)}."
        if track.length_mm is not None:
            text += f" It is {millimetres(track.length_mm)} long."
        if track.running != "both":
            text += f" Trains run {track.running} only."
        return text + (" Trains may stand there." if track.stand else "")

    def _end(self, end: End) -> str:
        """Return what the end of a track meets, in words."""
        if end.kind == "buffer":
            return "a buffer"
        if end.kind == "joint":
            return f"joint {end.name}"
        if end.kind == "edge":
            return self.names.thing("edges", end.name)
        found = self.layout.element(end)
        if found is None:
            return end.text
        kind, element = found
        return f"{_leg(element, end.leg)} of {self.names.thing(kind, element.id)}"

    def _element(self, kind: ElementKind, element: Element) -> str:
        name = self._head(kind, element.id)
        if isinstance(element, Points):
            ways = [f"{self._at(element, leg)} ({leg})" for leg in element.lies]
            toe = self._at(element, "toe")
            text = f"{name} lead from {toe} to {listed(ways)}. They normally lie {element.normal}."
            text += " They are trap points." if element.trap else ""
            return text + self._worked(element.id, "They move")
        if isinstance(element, Turntable):
            roads = [f"{self._at(element, road)} ({road})" for road in element.roads]
            return f"{name}, a {_words(element.kind)}, has these roads: {listed(roads, 'and')}."
        ways = [f"from {self._at(element, f'{r}1')} to {self._at(element, f'{r}2')}" for r in "ab"]
        text = f"{name}, a {_words(element.kind)}, leads {' and '.join(ways)}."
        for one, other in SLIP_LINKS[element.kind]:
            text += f" Its slip leads from {self._at(element, one)} to {self._at(element, other)}."
        text += f" It normally lies {element.normal}." if element.normal else ""
        return text + self._worked(element.id, "It moves")

    def _at(self, element: Element, leg: str) -> str:
        return self._tracks(self.tracks_at.get(f"{element.id}.{leg}", [])) or "no track"

    def _worked(self, switch: str, they_move: str) -> str:
        others = [other for other in self.together.get(switch, ()) if other != switch]
        return f" {they_move} together with {listed(others, 'and')}." if others else ""

    def _platform(self, platform: Platform) -> str:
        text = f"{self._head('platforms', platform.id)} is beside {self._tracks(platform.tracks)}."
        if platform.length_mm is None:
            return text
        return f"{text} It is {millimetres(platform.length_mm)} long."

    def _yard(self, yard: Yard) -> str:
        name = self._head("yards", yard.id)
        return f"{name} has {self._tracks(yard.tracks)}. One engine at a time works there."

    def _tracks(self, tracks: list[str] | tuple[str, ...]) -> str:
        return listed([self.names.called("tracks", name) for name in tracks], "and")

    def _head(self, kind: str, key: str) -> str:
        """Return what to call a thing at the start of a sentence."""
        return at_start(self.names.thing(kind, key))

    def _signal(self, signal: Signal) -> str:
        at = f"at the {signal.heading} end of"
        if signal.at_mm is not None:
            at = f"{millimetres(signal.at_mm)} from the up end of"
        track = self.names.called("tracks", signal.track)
        name = self._head("signals", signal.id)
        text = f"{name} stands {at} {track}, for trains running {signal.heading}."
        return " ".join([text, *(self._arm(arm) for arm in signal.arms)])

    def _arm(self, arm: Arm) -> str:
        meaning = self.meaning.get(arm.id)
        name = self._head("arms", arm.id) if arm.name else f"Arm {arm.id}"
        if meaning is None:
            return f"{name} is a {arm.kind} arm."
        return f"{name}, a {arm.kind} arm, {meaning[:1].lower()}{meaning[1:]}"


def _leg(element: Element, leg: str) -> str:
    if isinstance(element, Points):
        return "the toe" if leg == "toe" else f"the {leg} leg"
    return f"road {leg}" if isinstance(element, Turntable) else f"leg {leg}"


def _words(kind: str) -> str:
    """Return a kind of element in words, such as ``double slip``."""
    return kind.replace("-", " ")
