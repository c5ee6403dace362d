"""Track that no train reaches for want of a signal: above all, a reversing loop.

A route cannot return over the points at which it began, because they would have to lie both ways. A
signal in the loop ends the route into the loop and begins the route out of it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.proposing.choice import Choice
from trappoint.proposing.narrowing import narrowed
from trappoint.proposing.need import Need, TooManyRoads
from trappoint.proposing.splitting import set_lie
from trappoint.verdict.free_runs import NOTHING, FreeMoves

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from trappoint.proposing.finest_plan import PostedMove

MAX_PLACES = 6
"""The greatest number of unreached places to examine for one choice."""

MAX_WAYS = 2_000
"""The greatest number of ways from one place, counting each set of lies."""


def unreached(choice: Choice) -> list[Need]:
    """Return the needs that let trains reach all track; empty if they reach it already.

    A train reaches a place by a route over it, or freely. A new route needs a post that ends it
    earlier or begins it later, so that it needs fewer points. A new free run needs the removal of a
    signal. Trap points let no free run pass.
    """
    finest = choice.finest
    halted, passed = reached_states(choice)
    places = _places(choice, halted | passed)
    left = sorted(_could_be_reached(choice) - places - finest.net.drags)
    if not left:
        return []
    ends = {choice.states_of(state)[-1] for state in halted}
    found = [narrowed(finest, place, _need(choice, place, ends)) for place in left[:MAX_PLACES]]
    return [need for need in found if need.added or need.gone]


def _need(choice: Choice, place: int, ends: set[int]) -> Need:
    """Return the need that lets trains reach a place.

    ``ends`` holds the states in which trains can be held or run freely.
    """
    missing: set[int] = set()
    finest = choice.finest
    targets = list(finest.net.states_of[place])
    for state in targets:
        missing |= _walk(choice, state, forward=True)[0]
    gone = _signals_before(choice, targets)
    for state in targets:
        met, held = _walk(choice, state, forward=False)
        missing |= met
        # A signal that no train reaches yet is another target.
        targets += [before for before in held if before not in ends and before not in targets]
    where = f"no way to {finest.net.places[place].name}"
    return Need(frozenset(missing), choice.free(gone), where)


def _signals_before(choice: Choice, targets: list[int]) -> set[int]:
    """Return the posts that hold trains on their way to some states."""
    finest = choice.finest
    found: set[int] = set()
    queue = list(targets)
    seen = set(queue)
    for state in queue:
        for before, move in finest.into[state]:
            if not finest.lets(move, NOTHING):
                continue
            standing = [number for number in move.posts if choice.standing[number]]
            found.update(standing)
            if not standing and before not in seen:
                seen.add(before)
                queue.append(before)
    return found


def _walk(choice: Choice, start: int, *, forward: bool) -> tuple[set[int], dict[int, None]]:
    """Follow all ways from a state, or to it, up to the next signals.

    Returns the posts that are missing on these ways, and the states at whose signals they end.
    """
    missing: set[int] = set()
    held: dict[int, None] = {}
    pending: list[tuple[int, Mapping[int, str]]] = [(start, {})]
    seen: set[tuple[int, frozenset[tuple[int, str]]]] = {(start, frozenset())}
    while pending:
        state, needs = pending.pop()
        for onward, before, move in _steps(choice, state, forward=forward):
            missing.update(number for number in move.posts if not choice.standing[number])
            if choice.stand(move.stops):
                held[before] = None
                continue
            # Beyond MAX_WAYS the lies are ignored; that only adds ways.
            more = set_lie(needs, move) if len(seen) < MAX_WAYS else {}
            key = onward, frozenset(more.items()) if more is not None else frozenset()
            if more is not None and key not in seen:
                seen.add(key)
                pending.append((onward, more))
    return missing, held


def _steps(choice: Choice, state: int, *, forward: bool) -> Iterator[tuple[int, int, PostedMove]]:
    """Yield each move from a state, or to it: the next state, the state before, the move."""
    if forward:
        for move in choice.finest.moves[state]:
            yield move.to, state, move
    else:
        for before, move in choice.finest.into[state]:
            yield before, before, move


def _could_be_reached(choice: Choice) -> set[int]:
    """Return the places of sections that trains reach with a post on every spot."""
    finest = choice.finest
    if finest.reached is None:
        try:
            everywhere = Choice(choice.ground, finest.everywhere)
            halted, passed = reached_states(everywhere)
            finest.reached = _places(everywhere, halted | passed)
        except TooManyRoads:
            finest.reached = set()
    return finest.reached


def _places(choice: Choice, reached: set[int]) -> set[int]:
    """Return the sections of the finest plan in some states."""
    net = choice.finest.net
    states = {each for state in reached for each in choice.states_of(state)}
    return {net.place_of[s] for s in states if net.place(s).kind == "section"}


def reached_states(choice: Choice) -> tuple[set[int], set[int]]:
    """Return the states in which trains may stop, and those that they pass on a route.

    Trap points lie normal for a train without a route.
    """
    net, routes, together = choice.net, choice.routes, choice.facts.together
    moves = FreeMoves(net, together, together.traps)
    halted = {state for stand in net.stands for state in stand.states}
    halted.update(entry.state for entry in net.entries)
    passed: set[int] = set()
    waiting = list(halted)
    while waiting:
        state = waiting.pop()
        onward = list(moves.onward(state, NOTHING))
        for head in {exit_.head for exit_ in net.exits[state] if exit_.head >= 0}:
            for number in routes.of_head[head]:
                passed.update(routes.all[number].path)
                onward.append(routes.all[number].path[-1])
        for to in onward:
            if to not in halted:
                halted.add(to)
                waiting.append(to)
    return halted, passed
