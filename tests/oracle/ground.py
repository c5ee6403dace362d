"""The moves and routes of trains on a plan, from its plain JSON.

The terms are those of the plan format. A *spot* is a place and the way in which a train entered it:
its heading in a section, the leg in an element, empty in a yard. A *word* is the position of a
group: normal or reverse, for three-way points the leg.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property
from itertools import islice
from typing import NamedTuple

from oracle.directions import opposed_routes
from oracle.elements import ELEMENT_KINDS, Element
from oracle.guards import guarding
from oracle.heads import HOLDING_KINDS, Head, NotJudgedError, Plan
from oracle.sections import HEADINGS, OTHER, Piece, Sections, Spot, TrackEnd, leads_nowhere

__all__ = [
    "HEADINGS",
    "Ground",
    "Move",
    "NotJudgedError",
    "Route",
    "Spot",
    "TooLargeError",
    "WayOut",
]

MAX_ROUTES = 4096
MAX_ROUTE_STEPS = 200_000

Pass = tuple[tuple[str, ...], str]
"""A joint, a cut or an end of a track, and the direction in which a train passes it."""


class TooLargeError(RuntimeError):
    """The plan has more routes or states than the limit of the search."""


class Move(NamedTuple):
    """One move: the next spot, the joint, cut or track end that it passes, and the lie it needs.

    `derails` is true if trap points lead the train into a drag.
    """

    to: Spot
    passes: Pass
    element: str | None = None
    lie: str | None = None
    derails: bool = False


class WayOut(NamedTuple):
    """A way out of a spot, the head that holds trains there (or None), and the moves beyond."""

    head: Head | None
    moves: tuple[Move, ...]

    @property
    def signal(self) -> str | None:
        return None if self.head is None else self.head.signal


class Route(NamedTuple):
    """A route: what a stop or shunt arm gives leave for.

    `words` maps each group to the position that the route needs. `heads` holds the heads that face
    the train on its way, each with the number of spots before it.
    """

    number: int
    signal: str
    kind: str
    head: Head
    start: Spot
    spots: tuple[Spot, ...]
    words: dict[str, str]
    passes: frozenset[Pass]
    heads: tuple[tuple[int, Head], ...]
    derails: bool

    @property
    def places(self) -> frozenset[str]:
        return frozenset(place for place, _ in self.spots)

    @property
    def over(self) -> list[str]:
        """Its places in order."""
        return [place for place, _ in self.spots]

    def lies_apart(self, other: Route) -> bool:
        """Return whether the two routes need a group in different positions."""
        return any(other.words.get(group, word) != word for group, word in self.words.items())


class Ground(Sections):
    """The moves and routes of one train on a plan, without regard to other trains.

    `ways_out` maps each spot to its ways out, `routes_at` each spot to the routes of its heads,
    stop routes first. `stands` maps each stand to the headings in which a train may set off there.
    `come_on` holds the spot of a train that comes on at each edge, `leave` the spots from which a
    train leaves the plan.
    """

    def __init__(self, plan: Plan) -> None:
        super().__init__(plan)
        self.group_of = self.elements.group_of
        self._drags = set(self._all_drags())
        self.ways_out: dict[Spot, tuple[WayOut, ...]] = dict(self._all_ways_out())
        self.come_on: list[tuple[str, Spot]] = []
        self.leave: set[Spot] = set()
        self._read_edges()
        self._route_steps = 0
        self.all_routes: list[Route] = []
        self.routes_at: dict[Spot, list[Route]] = {}
        self._read_routes()

    @cached_property
    def guards(self) -> frozenset[str]:
        """The trap groups that guard."""
        return guarding(self)

    @cached_property
    def opposed(self) -> list[frozenset[int]]:
        """For each route the numbers of the routes opposed to it."""
        return opposed_routes(self.all_routes)

    @property
    def routes(self) -> dict[Spot, list[tuple[str, tuple[Spot, ...]]]]:
        """For each spot the routes there as pairs of signal and spots."""
        return {
            spot: [(route.signal, route.spots) for route in self.routes_at.get(spot, [])]
            for spot in self.ways_out
        }

    # ---- moves -----------------------------------------------------------------------------

    def _onto(self, track_end: TrackEnd) -> Spot | None:
        """Return the spot of a train that enters a track at that end; None if it may not."""
        track_id, end = track_end
        if not self.allows(track_id, OTHER[end]):
            return None
        return self.spot(self.piece_at(track_end), OTHER[end])

    def _past(self, piece: Piece, end: str) -> tuple[Move, ...]:
        """Return the moves over that end of a piece."""
        cut = piece.cut_at(end)
        if cut is None:
            return self._past_track_end((piece.track, end))
        if not self.allows(piece.track, end):
            return ()
        beyond = self.pieces[piece.track][piece.number + (1 if end == "down" else -1)]
        return (Move(self.spot(beyond, end), (("cut", piece.track, str(cut)), end)),)

    def _past_track_end(self, track_end: TrackEnd) -> tuple[Move, ...]:
        text = self.tracks[track_end[0]][track_end[1]]
        if leads_nowhere(text):
            return ()
        if text.startswith("joint:"):
            spot = self._onto(self.across(track_end))
            return () if spot is None else (Move(spot, ((text,), ".".join(track_end))),)
        element, leg = self.elements.met(text)
        if not list(self._through(element, leg)):
            return ()  # it could not leave the element again
        spot = (element.place, "" if element.in_yard else leg)
        return (Move(spot, (("end", *track_end), "off")),)

    def _through(self, element: Element, leg: str) -> Iterator[Move]:
        """Yield the moves out of an element for a train that entered by that leg."""
        for out, lie in element.ways[leg]:
            move = self._out_of(element, out)
            if move is not None:
                yield move if lie is None else move._replace(element=element.name, lie=lie)

    def _out_of(self, element: Element, leg: str) -> Move | None:
        """The move out of an element by a leg, None if the track there forbids it."""
        track_end = self.at_leg[element.name, leg]
        spot = self._onto(track_end)
        if spot is None:
            return None
        derails = element.trap and leg != "toe" and spot[0] in self._drags
        return Move(spot, (("end", *track_end), "onto"), derails=derails)

    def _all_drags(self) -> Iterator[str]:
        """Yield drags: sections behind a leg of trap points that end at a buffer, not stands."""
        for section in self.sections.values():
            if section.name in self.stands or not section.ends:
                continue
            met = [
                self.tracks[piece.track][end]
                for piece, end in section.ends.values()
                if piece.reaches(end)
            ]
            if "buffer" in met and any(self._is_trap_leg(text) for text in met):
                yield section.name

    def _is_trap_leg(self, text: str) -> bool:
        if leads_nowhere(text) or text.startswith("joint:"):
            return False
        element, leg = self.elements.met(text)
        return element.trap and leg != "toe"

    def _all_ways_out(self) -> Iterator[tuple[Spot, tuple[WayOut, ...]]]:
        for section in self.sections.values():
            for heading in section.headings:
                way = WayOut(None, ())
                if section.ends:
                    piece, end = section.ends[heading]
                    way = WayOut(self.head_at(piece, end), self._past(piece, end))
                yield (section.name, heading), (way,)
        for element in self.elements.by_name.values():
            if not element.in_yard:
                for leg in element.ways:
                    moves = tuple(self._through(element, leg))
                    yield (element.name, leg), (WayOut(None, moves),)
        for yard_id in self.plan.get("yards", {}):
            yield self._yard_spot(yard_id), tuple(self._ways_out_of_yard(yard_id))

    def _yard_spot(self, yard_id: str) -> Spot:
        return self.elements.place_name("yards", yard_id), ""

    def _ways_out_of_yard(self, yard_id: str) -> Iterator[WayOut]:
        yard = self.plan["yards"][yard_id]
        for track_id in yard.get("tracks", []):
            for end in HEADINGS:
                if self.leads_out(track_id, end) and self.allows(track_id, end):
                    head = self.exits.get((track_id, end))
                    inside = next(p for p in self.pieces[track_id] if p.yard is not None)
                    moves = self._past(inside, end)
                    if moves:
                        yield WayOut(head, moves)
        for kind in ELEMENT_KINDS:
            for element_id in yard.get(kind, []):
                element = self.elements.by_id[kind, element_id]
                for leg in element.ways:
                    track_id = self.at_leg[element.name, leg][0]
                    move = self._out_of(element, leg)
                    inside_too = self.elements.yard_of.get(("tracks", track_id)) == element.place
                    if move is not None and not inside_too:
                        yield WayOut(None, (move,))

    def _read_edges(self) -> None:
        for track_id, track in self.tracks.items():
            for end in HEADINGS:
                if not track[end].startswith("edge:"):
                    continue
                spot = self._onto((track_id, end))
                if spot is not None:
                    self.come_on.append((track[end].removeprefix("edge:"), spot))
                piece = self.piece_at((track_id, end))
                if self.allows(track_id, end) and self.head_at(piece, end) is None:
                    self.leave.add(self.spot(piece, end))

    # ---- routes ----------------------------------------------------------------------------

    def _read_routes(self) -> None:
        of_signal: dict[str, int] = {}
        for spot, ways in self.ways_out.items():
            found = self.routes_at[spot] = []
            for way in ways:
                if way.head is None:
                    continue
                for kind in HOLDING_KINDS:
                    if kind in way.head.kinds:
                        left = MAX_ROUTES - of_signal.get(way.head.signal, 0)
                        roads = list(islice(self._follow(kind, (), way.moves, {}), left + 1))
                        if len(roads) > left:
                            raise NotJudgedError(f"too many routes of signal {way.head.signal}")
                        of_signal[way.head.signal] = MAX_ROUTES - left + len(roads)
                        found += [self._route(way.head, kind, spot, road) for road in roads]

    def _route(self, head: Head, kind: str, start: Spot, road: tuple[Move, ...]) -> Route:
        words = {}
        heads = []
        for number, move in enumerate(road, 1):
            if move.element is not None and move.lie is not None:
                words[self.group_of[move.element]] = self.elements.word(move.element, move.lie)
            facing = self._facing(move.to)
            if facing is not None and number < len(road):
                heads.append((number, facing))
        route = Route(
            len(self.all_routes),
            head.signal,
            kind,
            head,
            start,
            tuple(move.to for move in road),
            words,
            frozenset(move.passes for move in road),
            tuple(heads),
            road[-1].derails,
        )
        self.all_routes.append(route)
        return route

    def _follow(
        self, kind: str, road: tuple[Move, ...], moves: tuple[Move, ...], words: dict[str, str]
    ) -> Iterator[tuple[Move, ...]]:
        """Yield the routes that begin with `road` and continue with one of `moves`.

        A route enters no spot twice and needs no group in two positions.
        """
        for move in moves:
            self._route_steps += 1
            if self._route_steps > MAX_ROUTE_STEPS:
                raise TooLargeError("too many routes")
            if any(before.to == move.to for before in road):
                continue  # the route has this spot already
            words_on = words
            if move.element is not None and move.lie is not None:
                group = self.group_of[move.element]
                word = self.elements.word(move.element, move.lie)
                if words.get(group, word) != word:
                    continue
                words_on = {**words, group: word}
            if self._ends_route(kind, move.to):
                yield (*road, move)
            else:
                (way,) = self.ways_out[move.to]
                yield from self._follow(kind, (*road, move), way.moves, words_on)

    def _facing(self, spot: Spot) -> Head | None:
        """The head that faces a train in a section."""
        return None if spot[1] == "" else self.ways_out[spot][0].head

    def _ends_route(self, kind: str, spot: Spot) -> bool:
        if spot[1] == "":
            return True  # a yard
        head = self._facing(spot)
        if head is not None and (kind == "shunt" or "stop" in head.kinds):
            return True
        # The end of the track, or a limit. (No element is entered that cannot be left again.)
        return spot[0] in self.sections and not self.ways_out[spot][0].moves

    def routes_by_signal(self) -> dict[str, list[list[str]]]:
        """Signal id -> its routes as lists of places, sorted; every head that holds."""
        found: dict[str, list[list[str]]] = {head.signal: [] for head in self.all_heads}
        for route in self.all_routes:
            found[route.signal].append(route.over)
        return {signal: sorted(routes) for signal, routes in found.items()}
