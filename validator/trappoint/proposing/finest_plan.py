"""The finest plan: a post on every spot, so that sections are as small as any choice can make them.

Runs on the plan of every choice are recorded as states of this one plan, so that the runs of
different choices can be compared. A *chain* is a section of the barest plan, without any post that
may go; it consists of one or more sections of the finest plan.
"""

from __future__ import annotations

from collections import deque
from typing import TYPE_CHECKING, NamedTuple

from trappoint.interlocking.routes import group_switches
from trappoint.model.layout import HEADINGS
from trappoint.topology.network_building import build_network

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping

    from trappoint.model.layout import Heading
    from trappoint.proposing.posts import PostGround
    from trappoint.topology.network import Exit, Network
    from trappoint.topology.sections import Piece

MAX_LOOKS = 2_000
"""The greatest number of states of one search for the way of a train to a signal."""


class PostedMove(NamedTuple):
    """One move, and the posts that may face its train; at most one of them stands."""

    to: int
    lever: int
    """The lever whose points it passes; -1 where it needs no lie."""
    word: str
    posts: tuple[int, ...]
    stops: tuple[int, ...]
    """Those of the posts that have a stop arm there."""
    onto: bool
    """True if it leads onto an element."""
    guarded: bool
    """True if trap points may turn the train aside: it meets them facing."""


class Chain(NamedTuple):
    """Sections in the order of their trains, and the posts on each border between two of them."""

    places: tuple[int, ...]
    borders: tuple[tuple[int, ...], ...]
    """One for each place: the posts between it and the next one."""
    ring: bool
    """True if the last place borders on the first."""


class TrainSource(NamedTuple):
    """Where a train begins, in one heading: in a stand, or at an edge."""

    state: int
    edge: bool
    """True if trains come on: any number of them."""


class Finest:
    """The plan with a post on every spot, and what of it each choice leaves together."""

    def __init__(self, ground: PostGround, odd: frozenset[int] = frozenset()) -> None:
        """``odd``: those of the odd posts of the ground that stand."""
        self.ground = ground
        aside = {n for numbers in ground.rivals for n in numbers if odd & {*numbers}} - odd
        aside |= ground.odd - odd
        everywhere = frozenset(range(len(ground.posts))) - aside
        self.everywhere = everywhere & (ground.everywhere() | odd)
        """A choice with one post on every spot."""
        self.reached: set[int] | None = None
        """See ``reaching``."""
        layout = ground.layout(everywhere)
        self.net: Network = build_network(layout)
        self.together = group_switches(layout, self.net)
        self.number = {self._key(state): state for state in range(len(self.net.place_of))}
        """From the kind, the id and the way of an element's or yard's state to its number."""
        self.moves = [tuple(self._move(exit_) for exit_ in exits) for exits in self.net.exits]
        self.into: list[list[tuple[int, PostedMove]]] = [[] for _ in self.moves]
        """For each state the moves that lead to it, each with the state before."""
        for state, moves in enumerate(self.moves):
            for move in moves:
                self.into[move.to].append((state, move))
        self.barest: Network = build_network(ground.layout(odd))
        self.chains = [self._chain(place) for place in self.barest.pieces]
        self.chain_of = {
            place: (number, at)
            for number, chain in enumerate(self.chains)
            for at, place in enumerate(chain.places)
        }
        self.stands = {stand.place for stand in self.net.stands if self._is_sure(stand.place)}
        """The places that are stands under every choice of posts."""
        self.sources = list(self._sources())
        self.source_states = {source.state for source in self.sources}
        self.edges = {self.net.place_of[entry.state] for entry in self.net.entries}
        """The places at which trains come on."""
        self.begins = {self.net.place_of[state] for state in self.source_states}
        """The places in which trains begin, under every choice of posts."""
        self.before: list[list[tuple[int, int, str]]] = [[] for _ in self.moves]
        for state in range(len(self.moves)):
            for move in self.open_moves(state, {}):
                self.before[move.to].append((state, move.lever, move.word))
        self._comes: dict[tuple[int, int | None, int], bool] = {}

    def _key(self, state: int) -> tuple[str, str, str]:
        place = self.net.place(state)
        return place.kind, place.id if place.kind != "section" else place.name, self.net.way[state]

    # --- moves

    def _move(self, exit_: Exit) -> PostedMove:
        posts: tuple[int, ...] = ()
        stops: tuple[int, ...] = ()
        if exit_.head >= 0:
            spot = self.ground.spot_of(self.net.heads[exit_.head])
            posts = self.ground.spots[spot]
            stops = tuple(n for n in posts if self._stops(n, exit_.head))
        lever, word = -1, ""
        if exit_.element >= 0:
            lever = self.together.lever_of[exit_.element]
            word = self.together.word(exit_.element, exit_.lie)
        onto = self.net.is_element[self.net.place_of[exit_.to]]
        guarded = exit_.facing and lever in self.together.traps
        return PostedMove(exit_.to, lever, word, posts, stops, onto, guarded)

    def _stops(self, number: int, head: int) -> bool:
        spot = self.ground.spot_of(self.net.heads[head])
        return any(
            each.stops and self.ground.spot_of(each) == spot
            for each in self.ground.posts[number].heads
        )

    def lets(self, move: PostedMove, held: Mapping[int, str], idle: Collection[int] = ()) -> bool:
        """Return whether points can lie for a move of a train with nothing promised to it.

        ``held``: what the other train holds. Trap points that it meets facing lie normal: that they
        may whether they guard or not. ``idle``: the levers of those that are known not to guard.
        """
        if self.turns_aside(move) and move.lever not in idle:
            return False
        return held.get(move.lever, move.word) == move.word

    def turns_aside(self, move: PostedMove) -> bool:
        """Return whether trap points in their normal lie would turn a train aside from a move."""
        return move.guarded and move.word != self.together.traps.get(move.lever, move.word)

    def open_moves(
        self, state: int, held: Mapping[int, str], idle: Collection[int] = ()
    ) -> Iterator[PostedMove]:
        """Yield the moves of a train without a route, for every choice of posts.

        Moves onto a drag are left out.
        """
        for move in self.moves[state]:
            if not self.lets(move, held, idle):
                continue
            if self.net.place_of[move.to] in self.net.drags:
                continue
            if not move.onto or any(self.lets(way, held, idle) for way in self.moves[move.to]):
                yield move

    # --- chains

    def states_of(self, coarse: Network, state: int) -> list[int]:
        """Return the states that make up a state of a choice's plan, in order."""
        heading = coarse.heading(state)
        if heading is None:
            return [
                self.number[coarse.place(state).kind, coarse.place(state).id, coarse.way[state]]
            ]
        pieces = coarse.pieces[coarse.place_of[state]]
        found: list[int] = []
        for piece in pieces if heading == "down" else reversed(pieces):
            own = piece.heading(heading)
            found += self._within(coarse.cuts[piece.track], piece, own)
        return list(dict.fromkeys(found))  # Here too pieces may be one section.

    def _within(self, cuts: list[float], piece: Piece, heading: Heading) -> list[int]:
        fine = self.net.cuts[piece.track]
        first = fine.index(cuts[piece.part - 1]) + 1 if piece.part else 0
        last = fine.index(cuts[piece.part]) if piece.part < len(cuts) else len(fine)
        parts = self.net.sections[piece.track][first : last + 1]
        return [part[heading] for part in (parts if heading == "down" else parts[::-1])]

    def _chain(self, coarse: int) -> Chain:
        down, up = self.barest.states_of[coarse]
        forth = self.states_of(self.barest, down)
        back = self.states_of(self.barest, up)[::-1]
        places = tuple(self.net.place_of[state] for state in forth)
        ring = any(self._goes_round(state) for state in (down, up))
        borders = tuple(
            self._facing(one) + self._facing(other)
            for one, other in zip(forth, back[1:] + back[:1], strict=True)
        )
        return Chain(places, borders, ring)

    def _goes_round(self, state: int) -> bool:
        """Return whether the barest section of a state leads into itself over a bare joint."""
        net = self.barest
        piece, heading = net.last_piece(state)
        ends = net.exits[state] or net.terminal[state] or net.limit[state]
        return net.layout.tracks[piece.track].allows(heading) and not ends

    def _facing(self, state: int) -> tuple[int, ...]:
        head = self.net.facing[state]
        return () if head < 0 else self.ground.spots[self.ground.spot_of(self.net.heads[head])]

    def region(self, place: int) -> int:
        """Return a number that is alike for all places which can be one section."""
        number, _ = self.chain_of.get(place, (-1, 0))
        return number if number >= 0 else len(self.chains) + place

    def places_in(self, regions: Collection[int]) -> set[int]:
        """Return all places of some regions."""
        count = len(self.chains)
        found: set[int] = set()
        for region in regions:
            found.update(self.chains[region].places if region < count else (region - count,))
        return found

    # --- where trains begin

    def _is_sure(self, place: int) -> bool:
        """Return whether a stand is one in every choice: a stub may lie right behind a cut."""
        net = self.net
        cut = [piece for piece in net.pieces.get(place, ()) if net.cuts[piece.track]]
        if not cut:
            return True
        return len(net.pieces[place]) == 1 and not any(
            self._may_be_a_stub(cut[0], heading) for heading in HEADINGS
        )

    def _may_be_a_stub(self, piece: Piece, heading: Heading) -> bool:
        net, sections = self.net, self.net.sections[piece.track]
        before = piece.part + (-1 if heading == "down" else 1)
        if not 0 <= before < len(sections):
            return False
        earlier, state = sections[before][heading], sections[piece.part][heading]
        past = net.facing[earlier] >= 0 or net.place(earlier).kind == "yards"
        held = any(not self.ground.posts[number].free for number in self._facing(state))
        return past and not held and not net.terminal[state]

    def _sources(self) -> Iterator[TrainSource]:
        edges = {entry.state for entry in self.net.entries}
        for stand in self.net.stands:
            if stand.place in self.stands:
                for state in stand.states:
                    yield TrainSource(state, state in edges)
        standing = {state for stand in self.net.stands for state in stand.states
                    if stand.place in self.stands}  # fmt: skip
        for state in dict.fromkeys(entry.state for entry in self.net.entries):
            if state not in standing:
                yield TrainSource(state, True)

    def comes(self, state: int, avoid: int | None, start: int) -> bool:
        """Return whether a train can reach a signal at a state, under every choice of posts.

        It begins neither in the region ``avoid`` nor in the region ``start``, and never comes into
        the region ``avoid``: the other train is there.
        """
        key = state, avoid, start
        if key not in self._comes:
            self._comes[key] = self._find(state, avoid, start)
        return self._comes[key]

    def _find(self, state: int, avoid: int | None, start: int) -> bool:
        place_of = self.net.place_of
        if self.region(place_of[state]) == avoid:
            return False
        onward: dict[int, tuple[int, int, str] | None] = {state: None}
        queue = deque([state])
        while queue and len(onward) < MAX_LOOKS:
            at = queue.popleft()
            begins = at in self.source_states and self.region(place_of[at]) != start
            if begins and self._agree(onward, at):
                return True
            for earlier, lever, word in self.before[at]:
                if earlier not in onward and self.region(place_of[earlier]) != avoid:
                    onward[earlier] = at, lever, word
                    queue.append(earlier)
        return False

    def _agree(self, onward: Mapping[int, tuple[int, int, str] | None], state: int) -> bool:
        """Return whether all points on the way can lie for it at the same time."""
        needs: dict[int, str] = {}
        while (step := onward[state]) is not None:
            state, lever, word = step
            if lever >= 0 and needs.setdefault(lever, word) != word:
                return False
        return True


def finest_of(ground: PostGround, chosen: frozenset[int]) -> Finest:
    """Return the plan with a post on every spot, for choices with the same odd posts."""
    odd = ground.odd & chosen
    if odd not in ground.finest:
        ground.finest[odd] = Finest(ground, odd)
    return ground.finest[odd]
