"""A search through the game of two trains: exact, for the few plans that need it.

It runs only if the local test fails and no simpler movement is found. ``schema/README.md`` has the
rules of the game. Two simplifications make the game smaller and change no answer:

- At most one train has an open promise. If a train takes a route while the other has an open
  promise, it runs at once to the end of the route, or to a stand on the way. Two open promises
  allow nothing that some order of such runs does not allow, because a promise only ever forbids
  moves of the other train.
- A promise is open only if its route has a place where some train may run freely. Otherwise its
  train also runs at once.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.errors import TooMany
from trappoint.verdict.free_runs import NOTHING
from trappoint.verdict.movement_recorder import OUTSIDE, Script

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from trappoint.interlocking.routes import Route, Routes
    from trappoint.verdict.free_runs import FreeMoves
    from trappoint.verdict.movements import Letter, Movement

MAX_PAIRS = 1_500_000
"""The most pairs of positions searched in one plan."""


class Position(NamedTuple):
    """The state of a train, and the route promised to it."""

    state: int = -1
    """-1 outside the plan."""
    way: int = -1
    """In an element, the number of the exit that it will take; otherwise -1."""
    route: int = -1
    """The route promised to it, -1 for none."""
    step: int = -1
    """The index of its state on the route, -1 before the first."""


class PairMove(NamedTuple):
    """A move of one train, and its conditions."""

    after: int
    """The number of the position after it."""
    do: str
    lever: int = -1
    """The lever that must be free to lie as ``word``, -1 for none."""
    word: str = ""
    free: frozenset[int] = frozenset()
    """The places that the other train may not have."""
    route: int = -1
    """The route that the train takes, -1 for none."""
    run: tuple[int, ...] = ()
    """The states that the train runs through."""
    then: int = -1
    """The state in which the train then sets off again, -1 if it does not."""


Pair = tuple[int, int]


class PairSearch:
    """A search through all pairs of positions of two trains in one plan, move by move.

    It visits each pair once: every call continues where the last ended.
    """

    def __init__(self, moves: FreeMoves, routes: Routes, open_routes: set[int]) -> None:
        self.network = network = moves.network
        self.routes = routes
        self.together = moves.together
        self.guards = moves.guards
        self.open_routes = open_routes
        self.positions: list[Position] = []
        self.place: list[int] = []
        self.has: list[frozenset[int]] = []
        """For each position, the places that the other train may not have."""
        self.held: list[Mapping[int, str]] = []
        """For each position, the lies of levers that it holds."""
        self._turned: dict[int, int] = {}
        """For each state of a section, the state with the other heading."""
        for place in network.pieces:
            one, other = network.states_of[place]
            self._turned |= {one: other, other: one}
        self._ends: dict[int, tuple[frozenset[int], frozenset[int]]] = {}
        self._numbers: dict[Position, int] = {}
        self._moves: list[tuple[PairMove, ...] | None] = []
        self._came_from: dict[Pair, tuple[Pair, bool, PairMove]] = {}
        self._meetings: list[Pair] = []
        """All meetings found so far, nearest first."""
        self._search = self._go_through()
        self._ended = False

    def meeting_in(self, places: frozenset[int]) -> Movement | None:
        """Return a shortest movement to a meeting in one of these places, None if there is none.

        Raises ``TooMany`` if the plan is too large for the search.
        """
        for pair in self._all_meetings():
            if self.place[pair[0]] in places:
                return self._movement(pair)
        return None

    def _all_meetings(self) -> Iterator[Pair]:
        yield from tuple(self._meetings)
        for pair in self._search:
            self._meetings.append(pair)
            yield pair
        if not self._ended:
            raise TooMany

    def _go_through(self) -> Iterator[Pair]:
        """Search all pairs of positions, breadth first, and yield the meetings.

        After ``MAX_PAIRS`` pairs it stops, and ``_ended`` stays false.
        """
        queue: list[Pair] = []
        for pair in self._starts():
            queue.append(pair)
            if len(queue) > MAX_PAIRS:
                return
        seen = set(queue)
        for pair in queue:
            for first, move, after in self._steps(pair):
                if after in seen:
                    continue
                seen.add(after)
                self._came_from[after] = pair, first, move
                if self.place[after[0]] != self.place[after[1]] or self.place[after[0]] < 0:
                    queue.append(after)
                else:
                    yield after
            if len(seen) > MAX_PAIRS:
                return
        self._ended = True

    def _starts(self) -> Iterator[Pair]:
        at_first = [(OUTSIDE, self._number(Position()))]
        for stand in self.network.stands:
            at_first += [(stand.place, self._number(Position(state))) for state in stand.states]
        for number, (place, one) in enumerate(at_first):
            for other_place, other in at_first[number:]:
                if place != other_place or place == OUTSIDE:
                    yield one, other

    def _steps(self, pair: Pair) -> Iterator[tuple[bool, PairMove, Pair]]:
        """Yield each move of either train: whether the first moves, the move, the pair after it."""
        for first, mine, others in ((True, pair[0], pair[1]), (False, pair[1], pair[0])):
            busy = self.positions[others].route >= 0
            for move in self._moves_from(mine):
                if busy and self.positions[move.after].route >= 0 > self.positions[mine].route:
                    continue  # The other train has the open promise.
                if self._may(move, others):
                    yield first, move, (move.after, others) if first else (others, move.after)

    def _may(self, move: PairMove, others: int) -> bool:
        if not move.free.isdisjoint(self.has[others]):
            return False
        if move.lever >= 0 and self.held[others].get(move.lever, move.word) != move.word:
            return False
        if move.do != "take":
            return True
        held, route = self.held[others], self.routes.all[move.route]
        if any(route.needs.get(lever, word) != word for lever, word in held.items()):
            return False
        promised = self.positions[others].route
        return promised < 0 or not self._opposed(move.route, promised)

    def _opposed(self, one: int, other: int) -> bool:
        """Return whether two routes pass one end of a section in opposite directions.

        The directions of a route count until its end, even where the train has run off it.
        """
        (left, entered), (other_left, other_entered) = self._passed(one), self._passed(other)
        return not (left.isdisjoint(other_entered) and entered.isdisjoint(other_left))

    def _passed(self, number: int) -> tuple[frozenset[int], frozenset[int]]:
        """Return the ends by which a route leaves sections, and those by which it enters them.

        An end is given as the state of a train that runs to it.
        """
        if number not in self._ends:
            network, route = self.network, self.routes.all[number]
            states = (network.held_at[route.head], *route.path)
            left = frozenset(s for s in states[:-1] if s in self._turned)
            entered = frozenset(self._turned[s] for s in states[1:] if s in self._turned)
            self._ends[number] = left, entered
        return self._ends[number]

    # --- positions

    def _number(self, position: Position) -> int:
        number = self._numbers.get(position)
        if number is None:
            number = self._numbers[position] = len(self.positions)
            self.positions.append(position)
            self._moves.append(None)
            place = OUTSIDE if position.state < 0 else self.network.place_of[position.state]
            self.place.append(place)
            held: Mapping[int, str] = NOTHING
            has = {place} if place >= 0 else set()
            if position.route >= 0:
                route = self.routes.all[position.route]
                has.update(self.network.place_of[s] for s in route.path[position.step + 1 :])
                held = route.needs
            elif position.way >= 0:
                exit_ = self.network.exits[position.state][position.way]
                if exit_.element >= 0:
                    lever = self.together.lever_of[exit_.element]
                    held = {lever: self.together.word(exit_.element, exit_.lie)}
            self.has.append(frozenset(has))
            self.held.append(held)
        return number

    def _moves_from(self, number: int) -> tuple[PairMove, ...]:
        moves = self._moves[number]
        if moves is None:
            moves = self._moves[number] = tuple(self._derive_moves(self.positions[number]))
        return moves

    def _derive_moves(self, position: Position) -> Iterator[PairMove]:
        network = self.network
        if position.state < 0:
            for number, entry in enumerate(network.entries):
                place = frozenset((network.place_of[entry.state],))
                after = self._number(Position(entry.state))
                yield PairMove(after, "come-on", free=place, route=number)
            return
        stand = network.stand_at.get(network.place_of[position.state])
        if stand is not None:
            for state in network.stands[stand].states:
                yield PairMove(self._number(Position(state)), "turn", then=state)
        if position.route >= 0:
            yield from self._run_on(position)
            return
        if network.leaves[position.state]:
            yield PairMove(self._number(Position()), "leave")
        if position.way >= 0:
            yield from self._go_on(network.exits[position.state][position.way].to)
            return
        for exit_ in network.exits[position.state]:
            if exit_.head < 0:
                yield from self._go_on(exit_.to)
            else:
                for number in self.routes.of_head[exit_.head]:
                    if self.routes.all[number].path[0] == exit_.to:
                        yield from self._take(position.state, number)

    def _go_on(self, to: int) -> Iterator[PairMove]:
        """Yield the free moves into a state; into an element, one for each way through it."""
        network = self.network
        if network.place_of[to] in network.drags:
            return
        if not network.is_element[network.place_of[to]]:
            yield PairMove(self._number(Position(to)), "run", run=(to,))
            return
        for way, exit_ in enumerate(network.exits[to]):
            after = self._number(Position(to, way))
            if exit_.element < 0:
                yield PairMove(after, "run", run=(to,))
            else:
                lever = self.together.lever_of[exit_.element]
                word = self.together.word(exit_.element, exit_.lie)
                if not exit_.facing or self.guards.get(lever, word) == word:
                    yield PairMove(after, "run", lever, word, run=(to,))

    def _run_on(self, position: Position) -> Iterator[PairMove]:
        path, step = self.routes.all[position.route].path, position.step + 1
        if self.network.place_of[path[step]] in self.network.drags:
            return
        yield PairMove(self._on_route(position.route, step), "run", run=(path[step],))

    def _on_route(self, route: int, step: int) -> int:
        path = self.routes.all[route].path
        # At its last place, the promise of a route ends.
        at = path[step]
        return self._number(Position(at, -1, route, step) if step + 1 < len(path) else Position(at))

    def _take(self, state: int, number: int) -> Iterator[PairMove]:
        """Yield the ways to take a route: with an open promise, and as a run at once."""
        route = self.routes.all[number]
        if number in self.open_routes:
            after = self._number(Position(state, -1, number, -1))
            yield PairMove(after, "take", free=route.places, route=number)
        for run, then in self._rests(route):
            after = self._number(Position(run[-1] if then < 0 else then))
            yield PairMove(after, "take", free=route.places, route=number, run=run, then=then)

    def _rests(self, route: Route) -> Iterator[tuple[tuple[int, ...], int]]:
        """Yield the ways to come to rest on a route: the states run through, then a new state."""
        network = self.network
        for step, state in enumerate(route.path[:-1], 1):
            stand = network.stand_at.get(network.place_of[state])
            if stand is not None:
                for then in network.stands[stand].states:
                    yield route.path[:step], then
        if network.place_of[route.path[-1]] not in network.drags:
            yield route.path, -1

    # --- what is shown

    def _movement(self, last: Pair) -> Movement | None:
        moves: list[tuple[bool, PairMove]] = []
        pair = last
        while pair in self._came_from:
            pair, first, move = self._came_from[pair]
            moves.append((first, move))
        script = Script(self.network, self.place[pair[0]], self.place[pair[1]])
        at = {"A": self.positions[pair[0]].state, "B": self.positions[pair[1]].state}
        for first, move in reversed(moves):
            self._play(script, "A" if first else "B", move, at)
        return script.movement()

    def _play(
        self, script: Script, letter: Letter, move: PairMove, unheaded: dict[str, int]
    ) -> None:
        """Record a move; before the first move of a train, record its heading."""
        begins = unheaded.pop(letter, -1)
        if move.do == "come-on":
            script.come_on(letter, move.route)
            return
        if begins >= 0 and (move.do != "turn"):
            script.set_off(letter, begins)
        if move.do == "leave":
            script.leave(letter)
        if move.do == "take":
            script.take(letter, self.routes.all[move.route])
        script.run(letter, move.run)
        if move.then >= 0:
            script.set_off(letter, move.then)
