"""The search for a meeting through every reachable pair of positions: exact, for the rare case.

It is asked only where the local test fails and no train can come to the signal in question while
the other stands still.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.script import Script

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.movements import Letter, Movement
    from trappoint.network import Network
    from trappoint.routes import Routes

MOST_PAIRS = 400_000
"""Pairs of positions that are looked at before the search is given up."""


class TooMany(Exception):  # noqa: N818 # it is no fault, only an answer that was not found
    """The search was given up: there are more pairs of positions than it may look at."""


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


class PairSearch:
    """All that two trains can do in one plan, one move at a time, whoever moves."""

    def __init__(self, network: Network, routes: Routes) -> None:
        self.network = network
        self.routes = routes
        self._promised: dict[Position, frozenset[int]] = {}
        self._moves: dict[Position, tuple[Move, ...]] = {}

    def meeting_in(self, places: frozenset[int]) -> Movement | None:
        """Return a shortest movement to a meeting in one of these places by a train in free run.

        None where there is none. Raises ``TooMany`` where the plan is too large for that.
        """
        came_from: dict[tuple[Position, Position], tuple[tuple[Position, Position], Letter, Move]]
        came_from = {}
        queue = list(self._starts())
        seen = set(queue)
        for pair in queue:
            for letter, move, after in self._steps(pair):
                if after in seen:
                    continue
                seen.add(after)
                came_from[after] = pair, letter, move
                one, other = (self.network.place_of[position.state] for position in after)
                if one != other:
                    queue.append(after)
                elif one in places and (after[0].route < 0 or after[1].route < 0):
                    return self._movement(after, came_from)
            if len(seen) > MOST_PAIRS:
                raise TooMany
        return None

    def _starts(self) -> Iterator[tuple[Position, Position]]:
        stands = self.network.stands
        for number, one in enumerate(stands):
            for other in stands[number + 1 :]:
                for state in one.states:
                    for other_state in other.states:
                        yield Position(state), Position(other_state)

    def _steps(
        self, pair: tuple[Position, Position]
    ) -> Iterator[tuple[Letter, Move, tuple[Position, Position]]]:
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

    def _movement(
        self,
        last: tuple[Position, Position],
        came_from: dict[tuple[Position, Position], tuple[tuple[Position, Position], Letter, Move]],
    ) -> Movement | None:
        moves: list[tuple[Letter, Move]] = []
        pair = last
        while pair in came_from:
            pair, letter, move = came_from[pair]
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
