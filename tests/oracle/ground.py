"""Where the trains of a plan can go: places, moves, heads and routes, from its plain JSON.

The words are those of the plan format. A *spot* is a place together with the way in which a
train came into it: the heading in a section, the leg in an element, nothing in a yard.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple

from oracle.heads import HOLDING_KINDS, Head, NotJudgedError, Plan, holding_heads

Spot = tuple[str, str]
TrackEnd = tuple[str, str]

HEADINGS = ("down", "up")
ELEMENT_KINDS = ("points", "crossings", "turntables")
QUALIFIED = {
    "points": "points",
    "crossings": "crossing",
    "turntables": "turntable",
    "yards": "yard",
}
MAX_ROUTE_STEPS = 200_000


class TooLargeError(RuntimeError):
    """The plan has more routes or more states than the search was given leave to look at."""


class Element(NamedTuple):
    """Points, a crossing or a turntable: from each leg, the legs it leads to, and with which lie.

    `place` is the place that a train in it has (the yard, where it lies in one).
    """

    name: str
    place: str
    in_yard: bool
    ways: dict[str, list[tuple[str, str | None]]]
    normal: str | None


class Move(NamedTuple):
    """One step on: the spot that the train comes to, and the lie that the way there needs."""

    to: Spot
    element: str | None = None
    lie: str | None = None


class WayOut(NamedTuple):
    """A way out of a spot, the head that holds trains there (or None), and the moves beyond."""

    head: Head | None
    moves: tuple[Move, ...]

    @property
    def signal(self) -> str | None:
        return None if self.head is None else self.head.signal


Route = tuple[Spot, ...]


class Ground:
    """All that a train can do on a plan, apart from what the other train has to say to it.

    `ways_out` maps each spot to its ways out, `routes` each spot to (signal, route) pairs, those
    of stop arms (to the next stop arm) before those of shunt arms (to the next head that holds),
    `stands` each place where a train may set off to the headings it may take there.
    """

    def __init__(self, plan: Plan) -> None:
        self._plan = plan
        self._tracks: dict[str, Any] = plan["tracks"]
        self._heads = holding_heads(plan)
        self._yard_of: dict[tuple[str, str], str] = {}
        for yard_id, yard in plan.get("yards", {}).items():
            for kind in ("tracks", *ELEMENT_KINDS):
                for member in yard.get(kind, []):
                    self._yard_of[kind, member] = self._place_name("yards", yard_id)
        self._elements = {
            (kind, element_id): self._element(kind, element_id, element)
            for kind in ELEMENT_KINDS
            for element_id, element in plan.get(kind, {}).items()
        }
        self._by_name = {element.name: element for element in self._elements.values()}
        self._read_ends()
        self._cut_tracks()
        self._groups = self._read_groups()
        self.ways_out: dict[Spot, tuple[WayOut, ...]] = dict(self._all_ways_out())
        self.stands = self._read_stands()
        self._route_steps = 0
        self.routes: dict[Spot, list[tuple[str, Route]]] = {}
        for spot, ways in self.ways_out.items():
            self.routes[spot] = [
                (way.head.signal, route)
                for way in ways
                if way.head is not None
                for kind in HOLDING_KINDS
                if kind in way.head.kinds
                for route in self._follow(kind, (), way.moves, {})
            ]

    # ---- names, ends, elements -------------------------------------------------------------

    def _place_name(self, kind: str, element_id: str) -> str:
        kinds = ("tracks", *ELEMENT_KINDS, "yards")
        shared = sum(element_id in self._plan.get(each, {}) for each in kinds) > 1
        return f"{QUALIFIED[kind]}:{element_id}" if shared else element_id

    def _element(self, kind: str, element_id: str, element: dict[str, Any]) -> Element:
        name = self._place_name(kind, element_id)
        yard = self._yard_of.get((kind, element_id))
        ways: dict[str, list[tuple[str, str | None]]]
        normal: str | None = None
        if kind == "points":
            normal = element["normal"]
            legs = ["left", "right"]
            if element.get("kind", "turnout") == "three-way":
                legs.append("middle")
            ways = {"toe": [(leg, leg) for leg in legs]}
            for leg in legs:
                ways[leg] = [("toe", leg)]
        elif kind == "crossings":
            of_kind = element.get("kind", "diamond")
            straight = None if of_kind == "diamond" else "straight"
            normal = straight
            ways = {
                "a1": [("a2", straight)],
                "a2": [("a1", straight)],
                "b1": [("b2", straight)],
                "b2": [("b1", straight)],
            }
            slips = {"diamond": [], "single-slip": [("a1", "b2")]}.get(
                of_kind, [("a1", "b2"), ("b1", "a2")]
            )
            for one, other in slips:
                ways[one].append((other, "slip"))
                ways[other].append((one, "slip"))
        else:
            roads = element["roads"]
            ways = {road: [(other, None) for other in roads] for road in roads}
        return Element(name, yard or name, yard is not None, ways, normal)

    def _element_met(self, text: str) -> tuple[Element, str]:
        element_id, _, leg = text.partition(".")
        for kind in ELEMENT_KINDS:
            element = self._elements.get((kind, element_id))
            if element is not None and leg in element.ways:
                return element, leg
        raise NotJudgedError(f"there is no {text}")

    def _read_ends(self) -> None:
        self._at_joint: dict[str, list[TrackEnd]] = {}
        self._at_leg: dict[tuple[str, str], TrackEnd] = {}
        for track_id, track in self._tracks.items():
            for end in ("up", "down"):
                text = track[end]
                if text == "buffer" or text.startswith("edge:"):
                    continue
                if text.startswith("joint:"):
                    self._at_joint.setdefault(text, []).append((track_id, end))
                    continue
                element, leg = self._element_met(text)
                if (element.name, leg) in self._at_leg:
                    raise NotJudgedError(f"two track ends meet {text}")
                self._at_leg[element.name, leg] = (track_id, end)
        for text, ends in self._at_joint.items():
            if len(ends) != 2:
                raise NotJudgedError(f"{len(ends)} track ends meet {text}")
        for element in self._elements.values():
            for leg in element.ways:
                if (element.name, leg) not in self._at_leg:
                    raise NotJudgedError(f"no track end meets {element.name}.{leg}")

    # ---- sections, heads, stands -----------------------------------------------------------

    def _cut_tracks(self) -> None:
        self._sections: dict[str, list[str]] = {}
        self._faced: dict[Spot, Head] = {}
        for track_id in self._tracks:
            if ("tracks", track_id) in self._yard_of:
                continue
            heads = [head for head in self._heads if head.track == track_id]
            cuts = sorted({head.at for head in heads if head.at is not None})
            names = [f"{track_id}.{n + 1}" for n in range(len(cuts) + 1)] if cuts else [track_id]
            self._sections[track_id] = names
            for head in heads:
                if head.at is None:
                    section = names[-1] if head.heading == "down" else names[0]
                else:
                    before = cuts.index(head.at)
                    section = names[before] if head.heading == "down" else names[before + 1]
                self._faced[section, head.heading] = head
        self._line_ends = {
            (names[-1] if heading == "down" else names[0], heading)
            for track_id, names in self._sections.items()
            for heading in HEADINGS  # the end that a train runs to has the heading's own name
            if self._leads_nowhere(self._tracks[track_id][heading])
        }

    def _running_allows(self, track_id: str, heading: str) -> bool:
        return self._tracks[track_id].get("running", "both") in ("both", heading)

    def _is_stand_track(self, track_id: str) -> bool:
        track = self._tracks[track_id]
        if "stand" in track:
            return bool(track["stand"])
        platforms = self._plan.get("platforms", {}).values()
        serves = any(track_id in each["tracks"] for each in platforms)
        return serves or any(self._leads_nowhere(track[end]) for end in ("up", "down"))

    def _read_stands(self) -> dict[str, tuple[str, ...]]:
        stands: dict[str, tuple[str, ...]] = {}
        for track_id, names in self._sections.items():
            if self._is_stand_track(track_id):
                allowed = tuple(h for h in HEADINGS if self._running_allows(track_id, h))
                stands.update(dict.fromkeys(names, allowed))
        for yard_id in self._plan.get("yards", {}):
            stands[self._place_name("yards", yard_id)] = ("",)
        return stands

    @staticmethod
    def _leads_nowhere(text: str) -> bool:
        return text == "buffer" or text.startswith("edge:")

    # ---- moves -----------------------------------------------------------------------------

    def _into_track(self, track_end: TrackEnd) -> Spot | None:
        """The spot of a train that comes onto a track at that end, None where it may not."""
        track_id, end = track_end
        heading = "down" if end == "up" else "up"
        if not self._running_allows(track_id, heading):
            return None
        yard = self._yard_of.get(("tracks", track_id))
        if yard is not None:
            return yard, ""
        names = self._sections[track_id]
        return (names[0] if heading == "down" else names[-1]), heading

    def _past_end(self, track_id: str, end: str) -> tuple[Move, ...]:
        """What a train comes to that runs over the end of a track."""
        text = self._tracks[track_id][end]
        if self._leads_nowhere(text):
            return ()
        if text.startswith("joint:"):
            first, second = self._at_joint[text]
            spot = self._into_track(second if first == (track_id, end) else first)
            return () if spot is None else (Move(spot),)
        element, leg = self._element_met(text)
        return (Move((element.place, "" if element.in_yard else leg)),)

    def _through(self, element: Element, leg: str) -> tuple[Move, ...]:
        """What a train in an element comes to, having come in by that leg."""
        moves = []
        for out, lie in element.ways[leg]:
            spot = self._into_track(self._at_leg[element.name, out])
            if spot is not None:
                moves.append(Move(spot, element.name if lie else None, lie))
        return tuple(moves)

    def _all_ways_out(self) -> Iterator[tuple[Spot, tuple[WayOut, ...]]]:
        for track_id, names in self._sections.items():
            for number, name in enumerate(names):
                for heading in HEADINGS:
                    following = number + (1 if heading == "down" else -1)
                    if 0 <= following < len(names):
                        moves: tuple[Move, ...] = (Move((names[following], heading)),)
                    else:
                        moves = self._past_end(track_id, heading)
                    yield (name, heading), (WayOut(self._faced.get((name, heading)), moves),)
        for element in self._elements.values():
            if not element.in_yard:
                for leg in element.ways:
                    yield (element.name, leg), (WayOut(None, self._through(element, leg)),)
        for yard_id in self._plan.get("yards", {}):
            name = self._place_name("yards", yard_id)
            yield (name, ""), tuple(self._borders(yard_id, name))

    def _borders(self, yard_id: str, name: str) -> Iterator[WayOut]:
        yard = self._plan["yards"][yard_id]
        for track_id in yard.get("tracks", []):
            for heading in HEADINGS:
                moves = self._past_end(track_id, heading)
                outside = tuple(move for move in moves if move.to[0] != name)
                if outside and self._running_allows(track_id, heading):
                    yield WayOut(self._nearest_the_end(track_id, heading), outside)
        for kind in ELEMENT_KINDS:
            for element_id in yard.get(kind, []):
                element = self._elements[kind, element_id]
                for leg in element.ways:
                    track_end = self._at_leg[element.name, leg]
                    spot = self._into_track(track_end)
                    if spot is not None and self._yard_of.get(("tracks", track_end[0])) != name:
                        yield WayOut(None, (Move(spot),))

    def _nearest_the_end(self, track_id: str, heading: str) -> Head | None:
        def from_the_end(head: Head) -> float:
            if head.at is None:
                return float("-inf")
            return -head.at if heading == "down" else head.at

        there = [h for h in self._heads if h.track == track_id and h.heading == heading]
        return min(there, key=from_the_end) if there else None

    # ---- routes ----------------------------------------------------------------------------

    def _read_groups(self) -> dict[str, frozenset[str]]:
        """Each element worked together with others -> all the elements that one lever moves."""
        groups: list[set[str]] = []
        for listed in self._plan.get("worked_together", []):
            merged = set()
            for member in listed:
                kind = "points" if member in self._plan.get("points", {}) else "crossings"
                merged.add(self._elements[kind, member].name)
            for group in [each for each in groups if each & merged]:
                merged |= group
                groups.remove(group)
            groups.append(merged)
        return {name: frozenset(group) for group in groups for name in group}

    def _lies_agree(self, lies: dict[str, str], element: str, lie: str) -> bool:
        if lies.get(element, lie) != lie:
            return False
        is_normal = lie == self._by_name[element].normal
        return all(
            (lies[other] == self._by_name[other].normal) == is_normal
            for other in self._groups.get(element, ())
            if other in lies
        )

    def _follow(
        self, kind: str, path: Route, moves: tuple[Move, ...], lies: dict[str, str]
    ) -> Iterator[Route]:
        """The routes of stop or shunt arms that begin with `path` and go on with one of `moves`."""
        for move in moves:
            self._route_steps += 1
            if self._route_steps > MAX_ROUTE_STEPS:
                raise TooLargeError("too many routes")
            if move.to in path:
                continue
            lies_on = lies
            if move.element is not None and move.lie is not None:
                if not self._lies_agree(lies, move.element, move.lie):
                    continue
                lies_on = {**lies, move.element: move.lie}
            path_on = (*path, move.to)
            if self._ends_route(kind, move.to):
                yield path_on
            else:
                (way,) = self.ways_out[move.to]
                yield from self._follow(kind, path_on, way.moves, lies_on)

    def _ends_route(self, kind: str, spot: Spot) -> bool:
        if spot[1] == "":
            return True  # a yard
        (way,) = self.ways_out[spot]
        if way.head is not None and (kind == "shunt" or "stop" in way.head.kinds):
            return True  # of shunt arms alone, a head that faces the train ends no main route
        return spot in self._line_ends

    def routes_by_signal(self) -> dict[str, list[list[str]]]:
        """Signal id -> its routes as lists of places, sorted; every signal that holds."""
        found: dict[str, list[list[str]]] = {head.signal: [] for head in self._heads}
        for routes in self.routes.values():
            for signal, route in routes:
                found[signal].append([place for place, _ in route])
        return {signal: sorted(routes) for signal, routes in found.items()}
