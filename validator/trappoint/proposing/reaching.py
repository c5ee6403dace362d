"""Track that trains could come to, but for want of a signal: a reversing loop, above all.

A route that would come back over the points by which it set out is none. A signal in the loop ends
the one that goes in; another, which the way out needs, begins there.
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
"""Places to which trains cannot come that are looked at in one choice."""

MAX_WAYS = 2_000
"""Ways that are followed from one place, with what their points need."""


def unreached(choice: Choice) -> list[Need]:
    """Return what would let trains come to track to which none can; nothing where all is reached.

    A place is come to by a route that passes it. There is one more only if a post is added that
    ends it earlier, or lets it begin later, so that fewer points must lie for it; or if a signal
    goes at which trains are held, so that they run on freely. Trap points do not let them.
    """
    finest = choice.finest
    halted, passed = _reached(choice)
    places = _places(choice, halted | passed)
    left = sorted(_could_be_reached(choice) - places - finest.net.drags)
    if not left:
        return []
    ends = {choice.states_of(state)[-1] for state in halted}
    found = [narrowed(finest, place, _need(choice, place, ends)) for place in left[:MAX_PLACES]]
    return [need for need in found if need.added or need.gone]


def _need(choice: Choice, place: int, ends: set[int]) -> Need:
    """Return what would let trains come to a place.

    ``ends``: the states in which they can be held, or run freely.
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
        # A signal that no train comes to yet is another such place.
        targets += [before for before in held if before not in ends and before not in targets]
    where = f"no way to {finest.net.places[place].name}"
    return Need(frozenset(missing), choice.free(gone), where)


def _signals_before(choice: Choice, targets: list[int]) -> set[int]:
    """Return the posts that keep trains from running freely to some states."""
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
    """Follow all ways from a state, or to it, between the next signals, as points may lie.

    Returned are the posts missing on them, and the states at whose signals they end.
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
            # With too many ways, what points need is forgotten: then there are more ways.
            more = set_lie(needs, move) if len(seen) < MAX_WAYS else {}
            key = onward, frozenset(more.items()) if more is not None else frozenset()
            if more is not None and key not in seen:
                seen.add(key)
                pending.append((onward, more))
    return missing, held


def _steps(choice: Choice, state: int, *, forward: bool) -> Iterator[tuple[int, int, PostedMove]]:
    """Yield each move from a state, or to it: where it is followed to, and where it begins."""
    if forward:
        for move in choice.finest.moves[state]:
            yield move.to, state, move
    else:
        for before, move in choice.finest.into[state]:
            yield before, before, move


def _could_be_reached(choice: Choice) -> set[int]:
    """Return the places of sections to which trains come with a post on every spot."""
    finest = choice.finest
    if finest.reached is None:
        try:
            everywhere = Choice(choice.ground, finest.everywhere)
            halted, passed = _reached(everywhere)
            finest.reached = _places(everywhere, halted | passed)
        except TooManyRoads:
            finest.reached = set()
    return finest.reached


def _places(choice: Choice, reached: set[int]) -> set[int]:
    """Return the sections of the finest plan that some states have."""
    net = choice.finest.net
    states = {each for state in reached for each in choice.states_of(state)}
    return {net.place_of[s] for s in states if net.place(s).kind == "section"}


def _reached(choice: Choice) -> tuple[set[int], set[int]]:
    """Return the states in which trains may come to rest, and those that they pass on a route.

    Trap points lie normal for a train that no signal sends over them.
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
