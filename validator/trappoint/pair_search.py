"""The search for a meeting through every reachable pair of positions: exact, for the rare case.

It is asked only where the local test fails and no train can come to the signal in question while
the other stands still.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.script import Script
from trappoint.verdict import TooMany

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.movements import Letter, Movement
    from trappoint.network import Network
    from trappoint.routes import Routes

MOST_PAIRS = 400_000
"""Pairs of positions of one plan that are looked at before the search is given up."""


class Position(NamedTuple):
    """Where a train is: its state, and the route promised to it with how far it has run."""

    state: int
    route: int = -1
    """-1 where nothing is promised ahead."""
    step: int = 0


class Move(NamedTuple):
    """One thing that a train may do."""

    after: Position
    takes: int = -1
    """The route that it takes first."""
    sets_off: bool = False


Pair = tuple[Position, Position]


class PairSearch:
    """All that two trains can do in one plan, one move at a time, whoever moves.

    The pairs are gone through once, whatever is asked: each search goes on where the last ended.
    """

    def __init__(self, network: Network, routes: Routes) -> None:
        self.network = network
        self.routes = routes
        self._promised: dict[Position, frozenset[int]] = {}
        self._moves: dict[Position, tuple[Move, ...]] = {}
        self._came_from: dict[Pair, tuple[Pair, Letter, Move]] = {}
        self._meetings: list[Pair] = []
        """Every meeting found so far, nearest first."""
        self._search = self._go_through()
        self._ended = False

    def meeting_in(self, places: frozenset[int]) -> Movement | None:
        """Return a shortest movement to a meeting in one of these places by a train in free run.

        None where there is none. Raises ``TooMany`` where the plan is too large for that.
        """
        for pair in self._all_meetings():
            if self.network.place_of[pair[0].state] in places:
                return self._movement(pair)
        return None

    def _all_meetings(self) -> Iterator[Pair]:
        """Yield every meeting in which a train runs freely, nearest first."""
        yield from tuple(self._meetings)
        for pair in self._search:
            self._meetings.append(pair)
            yield pair
        if not self._ended:
            raise TooMany

    def _go_through(self) -> Iterator[Pair]:
        """Go through all pairs of positions, breadth first, and yield the meetings.

        Ends before its end, with ``_ended`` false, where there are too many.
        """
        place_of = self.network.place_of
        queue: list[Pair] = []
        for pair in self._starts():
            queue.append(pair)
            if len(queue) > MOST_PAIRS:
                return
        seen = set(queue)
        for pair in queue:
            for letter, move, after in self._steps(pair):
                if after in seen:
                    continue
                seen.add(after)
                self._came_from[after] = pair, letter, move
                if place_of[after[0].state] != place_of[after[1].state]:
                    queue.append(after)
                elif after[0].route < 0 or after[1].route < 0:
                    yield after
            if len(seen) > MOST_PAIRS:
                return
        self._ended = True

    def _starts(self) -> Iterator[Pair]:
        stands = self.network.stands
        for number, one in enumerate(stands):
            for other in stands[number + 1 :]:
                for state in one.states:
                    for other_state in other.states:
                        yield Position(state), Position(other_state)

    def _steps(self, pair: Pair) -> Iterator[tuple[Letter, Move, Pair]]:
        for letter, mine, others in (("A", pair[0], pair[1]), ("B", pair[1], pair[0])):
            for move in self._moves_from(mine):
                if move.takes >= 0:
                    wanted = self.routes.all[move.takes].places
                    if self.network.place_of[others.state] in wanted:
                        continue
                    if not wanted.isdisjoint(self._promised_to(others)):
                        continue
                after = (move.after, others) if letter == "A" else (others, move.after)
                yield letter, move, after  # type: ignore[misc] # the letters are "A" and "B"

    def _promised_to(self, position: Position) -> frozenset[int]:
        if position.route < 0:
            return frozenset()
        if position not in self._promised:
            ahead = self.routes.all[position.route].path[position.step :]
            self._promised[position] = frozenset(self.network.place_of[s] for s in ahead)
        return self._promised[position]

    def _moves_from(self, position: Position) -> tuple[Move, ...]:
        if position not in self._moves:
            self._moves[position] = tuple(self._derive_moves(position))
        return self._moves[position]

    def _derive_moves(self, position: Position) -> Iterator[Move]:
        network = self.network
        stand = network.stand_at.get(network.place_of[position.state])
        if stand is not None:
            for state in network.stands[stand].states:
                yield Move(Position(state), sets_off=True)
        if position.route >= 0:
            yield Move(self._on_route(position.route, position.step + 1))
            return
        for exit_ in network.exits[position.state]:
            if exit_.head < 0:
                yield Move(Position(exit_.to))
            else:
                for route in self.routes.of_head[exit_.head]:
                    if self.routes.all[route].path[0] == exit_.to:
                        yield Move(self._on_route(route, 0), takes=route)

    def _on_route(self, route: int, step: int) -> Position:
        path = self.routes.all[route].path
        # At its last place a route has nothing more to promise.
        return Position(path[step], route, step) if step + 1 < len(path) else Position(path[step])

    def _movement(self, last: Pair) -> Movement | None:
        moves: list[tuple[Letter, Move]] = []
        pair = last
        while pair in self._came_from:
            pair, letter, move = self._came_from[pair]
            moves.append((letter, move))
        place_of = self.network.place_of
        script = Script(self.network, place_of[pair[0].state], place_of[pair[1].state])
        headed = {"A": False, "B": False}
        for letter, move in reversed(moves):
            if move.sets_off:
                script.set_off(letter, move.after.state)
            else:
                if not headed[letter]:
                    # The search gives each train its first heading; in the movement it takes it.
                    script.set_off(letter, pair[0 if letter == "A" else 1].state)
                if move.takes >= 0:
                    script.take(letter, self.routes.all[move.takes])
                script.run(letter, (move.after.state,))
            headed[letter] = True
        return script.movement()
