"""Sidings: where trains only shunt, so that a disc gives leave instead of an arm.

Sources: Board of Trade requirements 1892, rule 3: a low short arm or, better, a disc for sidings.
What a siding is on a model is common practice, no source: a track that ends at a buffer and has no
platform, a yard without platform or edge, and the track that leads to nothing else. *Hidden roads*
are none: there a whole line ends, as on a fiddle yard, and trains run in by full arms.
"""

from __future__ import annotations

from collections import deque
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from trappoint.interlocking.routes import Routes
    from trappoint.laying.arming import ArmRoad
    from trappoint.model.layout import Layout, Track
    from trappoint.topology.network import Network

MIN_LINE_MM = 600
"""The least length of track that counts as a line, in mm: a shorter one leads into sidings."""


def siding_tracks(layout: Layout, net: Network) -> frozenset[str]:
    """Return the tracks of all sidings. ``net`` is the network of the plan without its signals."""
    return _Sidings(layout, net).tracks()


class _Sidings:
    def __init__(self, layout: Layout, net: Network) -> None:
        self.layout = layout
        self.net = net
        self.before: list[list[int]] = [[] for _ in net.place_of]
        for state, exits in enumerate(net.exits):
            for exit_ in exits:
                self.before[exit_.to].append(state)
        self.served = {t for platform in layout.platforms.values() for t in platform.tracks}

    def tracks(self) -> frozenset[str]:
        """Return the tracks of dead ends that are no hidden roads, and of what leads to them.

        In a plan without platforms and edges nothing tells sidings from other roads.
        """
        net = self.net
        if not any(self._is_station(place) for place in net.pieces):
            return frozenset()
        dead = {place for place in range(len(net.places)) if self._is_dead_end(place)}
        leads: set[int] = set()
        for place in net.pieces:
            if place in dead or self._has_platform(place):
                continue
            for state in net.states_of[place]:
                ends = self._ends_beyond(state, dead)
                if not ends or not ends <= dead:
                    continue
                if self._is_line(place) or self._is_station(place):
                    dead -= ends
                else:
                    leads.add(place)
        found = dead | {place for place in leads if self._leads(place, dead)}
        return frozenset(track for place in found for track in net.tracks_of(place))

    def _leads(self, place: int, dead: set[int]) -> bool:
        """Return whether a place leads one way only to sidings, and back only from them.

        Trains that set back into a siding over a main line do not make that line a lead.
        """
        one, other = self.net.states_of[place]
        for state, back in ((one, other), (other, one)):
            found = self._ends_beyond(state, dead)
            if found and found <= dead and self._begins_before(back, dead) <= dead:
                return True
        return False

    def _begins_before(self, start: int, dead: set[int]) -> set[int]:
        """Return the dead ends, stations and other tracks from which trains come to a state."""
        net = self.net
        found: set[int] = set()
        queue = deque(self.before[start])
        seen = set(queue)
        while queue:
            state = queue.popleft()
            place = net.place_of[state]
            begins = not self.before[state]
            if place in dead or begins or self._is_station(place) or self._is_line(place):
                found.add(place)
                continue
            for earlier in self.before[state]:
                if earlier not in seen:
                    seen.add(earlier)
                    queue.append(earlier)
        return found

    def _at(self, place: int) -> list[Track]:
        return [self.layout.tracks[track] for track in self.net.tracks_of(place)]

    def _is_dead_end(self, place: int) -> bool:
        kind = self.net.places[place].kind
        if kind not in ("section", "yards") or self._is_station(place):
            return False
        return kind == "yards" or any(
            "buffer" in (track.up.kind, track.down.kind) for track in self._at(place)
        )

    def _is_station(self, place: int) -> bool:
        """Return whether a place has a platform or an edge."""
        edges = ("edge" in (track.up.kind, track.down.kind) for track in self._at(place))
        return self._has_platform(place) or any(edges)

    def _has_platform(self, place: int) -> bool:
        return not self.served.isdisjoint(self.net.tracks_of(place))

    def _is_line(self, place: int) -> bool:
        """Return whether a length of track is a line, and no lead to sidings."""
        if any(track.stand for track in self._at(place)):
            return False
        return any((track.length_mm or 0) >= MIN_LINE_MM for track in self._at(place))

    def _ends_beyond(self, start: int, dead: set[int]) -> set[int]:
        """Return the dead ends, stations and lines that trains come to first from a state."""
        net = self.net
        found: set[int] = set()
        queue = deque(exit_.to for exit_ in net.exits[start])
        seen = set(queue)
        while queue:
            state = queue.popleft()
            place = net.place_of[state]
            if place in dead or net.places[place].kind == "yards":
                found.add(place)
                continue
            ends = not net.exits[state]
            if net.places[place].kind == "section" and (
                ends or self._is_station(place) or self._is_line(place)
            ):
                found.add(place)
                continue
            for exit_ in net.exits[state]:
                if exit_.to not in seen:
                    seen.add(exit_.to)
                    queue.append(exit_.to)
        return found


def split_roads(
    routes: Routes, roads: list[ArmRoad], net: Network, sidings: frozenset[str]
) -> tuple[list[ArmRoad], list[ArmRoad]]:
    """Return the roads that need an arm each, and those into sidings, which share a disc.

    If one road leads both into a siding and elsewhere, over a turntable, all have arms.
    """
    shunted = []
    for road in roads:
        ends = [ends_in_siding(net, routes.all[each].path[-1], sidings) for each in road.routes]
        if any(ends) and not all(ends):
            return roads, []
        if all(ends):
            shunted.append(road)
    return [road for road in roads if road not in shunted], shunted


def ends_in_siding(net: Network, state: int, sidings: frozenset[str]) -> bool:
    """Return whether a train in this state, at the end of its route, is in a siding."""
    place = net.place(state)
    if place.kind == "yards":
        return not sidings.isdisjoint(net.layout.yards[place.id].tracks)
    return place.kind == "section" and not sidings.isdisjoint(net.tracks_of(net.place_of[state]))


def held_in_siding(net: Network, head: int, sidings: frozenset[str]) -> bool:
    """Return whether the trains at a head stand in a siding."""
    held = net.held_at[head]
    return held >= 0 and ends_in_siding(net, held, sidings)
