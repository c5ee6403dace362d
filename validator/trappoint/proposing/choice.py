"""One choice of posts, its plan, and the runs of trains on that plan.

Runs are recorded as states of the finest plan (``finest_plan``), with the posts that stand and the
posts that are missing on the way. Under every choice with the same of these, the trains run alike.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from heapq import heapify, heappop, heappush
from typing import TYPE_CHECKING, NamedTuple

from trappoint.facts.facts import Facts
from trappoint.proposing.finest_plan import finest_of
from trappoint.proposing.need import NONE, Need, Posts, TooManyRoads

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping, Sequence

    from trappoint.interlocking.routes import Route, Routes
    from trappoint.model.layout import Head
    from trappoint.proposing.finest_plan import PostedMove, TrainSource
    from trappoint.proposing.posts import PostGround
    from trappoint.topology.network import Network


@dataclass(slots=True)
class Reach:
    """The states that a train reaches freely, from a stand in one heading or from an edge."""

    name: str
    start: int
    own: int
    """The place in which it begins."""
    edge: bool
    missing: dict[int, Posts]
    """From each state to the missing posts on the way with the fewest, nearest first. If trap
    points do not guard because of some posts, those are included (see ``that_stand``)."""
    nearest: dict[int, int]
    """From each place to its state with the fewest missing posts."""


class Passing(NamedTuple):
    """A route, as states of the finest plan."""

    number: int
    post: int
    """The post of its arm."""
    waits: int
    """The state of a train held at its signal."""
    states: tuple[int, ...]
    places: frozenset[int]
    needs: Mapping[int, str]
    missing: tuple[Posts, ...]
    """The posts that are missing on the way, for each of its states."""
    ends: tuple[int, ...]
    """The posts that face a train at its end; one of them is enough. Empty if no post ends it."""


class Walk(NamedTuple):
    """A free run from one state to another."""

    first: int
    state: int
    missing: Posts
    lies: frozenset[tuple[int, str]]
    """The levers that it needs, each with its position."""

    def onward(self, move: PostedMove, more: Posts = NONE) -> Walk:
        """Return the walk with one more move; ``more`` holds further posts that allow it."""
        lies = self.lies | {(move.lever, move.word)} if move.lever >= 0 else self.lies
        return Walk(self.first, move.to, self.missing.union(move.posts, more), lies)


class Choice:
    """One choice of posts, and the plan that it makes."""

    def __init__(self, ground: PostGround, chosen: Iterable[int]) -> None:
        self.ground = ground
        self.chosen = frozenset(chosen)
        self.facts = Facts(ground.layout(self.chosen))
        self.net: Network = self.facts.network
        self.routes: Routes = self.facts.routes
        if self.routes.overflowed_heads:
            raise TooManyRoads(self.net.heads[next(iter(self.routes.overflowed_heads))].signal)
        self.finest = finest_of(ground, self.chosen)
        self.standing = [
            number in self.chosen or not post.free for number, post in enumerate(ground.posts)
        ]
        self._expanded: dict[int, list[int]] = {}
        self.coming: dict[tuple[int, int | None, int], Posts | None] = {}
        """See ``approaches``."""

    # --- what stands

    def free(self, numbers: Iterable[int]) -> Posts:
        """Return the posts among these that may go."""
        return frozenset(n for n in numbers if self.ground.posts[n].free)

    def need(self, missing: Posts, standing: Iterable[int], where: str) -> Need:
        """Return the need for one change: add a missing post, or remove a standing one."""
        more = (-1 - number for number in missing if number < 0)
        added = frozenset(number for number in missing if number >= 0)
        return Need(added, self.free((*standing, *more)), where)

    def stand(self, numbers: Iterable[int]) -> bool:
        """Return whether one of these posts is part of this plan."""
        return any(self.standing[number] for number in numbers)

    def post_of(self, head: Head, *, shunting: bool) -> int:
        """Return the post whose arm gives leave at a head."""
        arms = head.arms_of("shunt" if shunting else "stop")
        return self.ground.number[arms[0].signal]

    def posts_of(self, head: Head, *, stops: bool) -> tuple[int, ...]:
        """Return the posts that make a head; with ``stops`` those with stop arms."""
        arms = head.arms_of("stop") if stops else (*head.arms_of("stop"), *head.arms_of("shunt"))
        return tuple(dict.fromkeys(self.ground.number[arm.signal] for arm in arms))

    def states_of(self, state: int) -> list[int]:
        """Return the states of the finest plan that make up a state of this plan."""
        if state not in self._expanded:
            self._expanded[state] = self.finest.states_of(self.net, state)
        return self._expanded[state]

    # --- sections

    @cached_property
    def section(self) -> dict[int, tuple[int, int]]:
        """Return the section of each place of a chain in this plan."""
        found: dict[int, tuple[int, int]] = {}
        for number, chain in enumerate(self.finest.chains):
            count = 0
            for place, border in zip(chain.places, chain.borders, strict=True):
                found[place] = number, count
                count += self.stand(border)
            if chain.ring and not self.stand(chain.borders[-1]):
                for place, (_, at) in [(p, found[p]) for p in chain.places]:
                    found[place] = number, 0 if at == count else at
        return found

    def apart(self, place: int, others: Collection[int]) -> Posts | None:
        """Return posts that separate the section of a place from some other places.

        Returns None if the section contains one of them.
        """
        number, at = self.finest.chain_of.get(place, (-1, 0))
        if place in others:
            return None
        if number < 0:
            return NONE
        chain = self.finest.chains[number]
        near = [here for here, each in enumerate(chain.places) if each in others]
        if not near:
            return NONE
        if any(self.section[chain.places[here]] == self.section[place] for here in near):
            return None
        count = len(chain.places)
        before, after = (
            [(at - step - 1) % count for step in range(count)],
            [(at + step) % count for step in range(count)],
        )
        sides = [after] if chain.ring or max(near) > at else []
        sides += [before] if chain.ring or min(near) < at else []
        return NONE.union(*(self._border(chain.borders, side) for side in sides))

    def _border(self, borders: Sequence[tuple[int, ...]], side: Iterable[int]) -> Posts:
        """Return a post on the first border that has one."""
        for at in side:
            standing = [number for number in borders[at] if self.standing[number]]
            if standing:
                stays = any(not self.ground.posts[number].free for number in standing)
                return NONE if stays else frozenset(standing[:1])
        return NONE

    # --- free runs

    def reaches_past(self, idle: Mapping[int, Posts]) -> list[Reach]:
        """Return the free runs of all trains if all trap points but ``idle`` guard."""
        return [self._reach(source, idle) for source in self.finest.sources]

    @cached_property
    def idle_traps(self) -> Mapping[int, Posts]:
        """Return the levers of trap points that do not guard, each with the posts that prove it."""
        from trappoint.proposing.unguarded_traps import idle_traps

        return idle_traps(self) if self.finest.together.traps else {}

    @cached_property
    def reaches(self) -> list[Reach]:
        """Return the free run of every train that no signal holds."""
        found = self.reaches_past(self.idle_traps)
        return [reach for reach in found if len(reach.missing) > 1]

    def _reach(self, source: TrainSource, idle: Mapping[int, Posts]) -> Reach:
        net = self.finest.net
        own = net.place_of[source.state]
        missing = self._run(source.state, idle)
        nearest: dict[int, int] = {}
        for state, posts in missing.items():
            place = net.place_of[state]
            if place not in nearest or len(posts) < len(missing[nearest[place]]):
                nearest[place] = state
        heading = f" {net.way[source.state]}" if net.way[source.state] else ""
        name = f"{net.places[own].name}{heading}"
        return Reach(name, source.state, own, source.edge, missing, nearest)

    def _run(self, start: int, idle: Mapping[int, Posts]) -> dict[int, Posts]:
        """Return the states of a free run, each with the missing posts on its best way."""
        heap = [(0, 0, start, NONE)]
        count = 0
        done: dict[int, Posts] = {}
        while heap:
            _, _, state, missing = heappop(heap)
            if state in done:
                continue
            done[state] = missing
            for move in self.finest.open_moves(state, {}, idle):
                if move.to not in done and not self.stand(move.posts):
                    count += 1
                    more = missing.union(move.posts, self._by_idling(move, idle))
                    heappush(heap, (len(more), count, move.to, more))
        return done

    def _by_idling(self, move: PostedMove, idle: Mapping[int, Posts]) -> Posts:
        return idle[move.lever] if idle and self.finest.turns_aside(move) else NONE

    def walk(
        self, starts: Mapping[int, Posts], held: Mapping[int, str], goal: Collection[int]
    ) -> Walk | None:
        """Return the free run to one of some places with the fewest missing posts; None if none.

        ``starts`` maps each first state to the posts missing before it. ``held`` maps the levers
        that the other train holds to their positions.
        """
        finest, idle = self.finest, self.idle_traps
        heap = [
            (len(posts), count, Walk(state, state, posts, frozenset()))
            for count, (state, posts) in enumerate(starts.items())
        ]
        heapify(heap)
        done: set[int] = set()
        count = len(heap)
        while heap:
            _, _, walk = heappop(heap)
            if walk.state in done:
                continue
            done.add(walk.state)
            if finest.net.place_of[walk.state] in goal:
                return walk
            for move in finest.open_moves(walk.state, held, idle):
                if move.to not in done and not self.stand(move.posts):
                    count += 1
                    onward = walk.onward(move, self._by_idling(move, idle))
                    heappush(heap, (len(onward.missing), count, onward))
        return None

    # --- routes

    @cached_property
    def passings(self) -> list[Passing]:
        """Return every route, as states of the finest plan."""
        return [self._passing(number) for number in range(len(self.routes.all))]

    def _passing(self, number: int) -> Passing:
        finest, route = self.finest, self.routes.all[number]
        head = self.net.heads[route.head]
        waits = self.states_of(self.net.held_at[route.head])[-1]
        states = tuple(s for state in route.path for s in self.states_of(state))
        needs: dict[int, str] = {}
        missing: list[Posts] = []
        before = waits
        for state in states:
            move = self.between(before, state)
            if move.lever >= 0:
                needs[move.lever] = move.word
            missing.append(missing[-1].union(self._absent(move, route)) if missing else NONE)
            before = state
        return Passing(
            number,
            self.post_of(head, shunting=route.shunting),
            waits,
            states,
            frozenset(finest.net.place_of[state] for state in states),
            needs,
            tuple(missing),
            self._ends(route),
        )

    def between(self, state: int, to: int) -> PostedMove:
        """Return the move from one state to another."""
        return next(move for move in self.finest.moves[state] if move.to == to)

    def _absent(self, move: PostedMove, route: Route) -> Iterable[int]:
        """Return the posts that would end a route at this move."""
        return move.posts if route.shunting else move.stops

    def _ends(self, route: Route) -> tuple[int, ...]:
        facing = self.net.facing[route.path[-1]]
        if facing < 0:
            return ()
        return self.posts_of(self.net.heads[facing], stops=not route.shunting)
