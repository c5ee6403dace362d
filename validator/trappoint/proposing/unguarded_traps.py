"""Trap points that do not guard, with the posts that prove it (see ``trappoint.verdict.guards``).

The proof has two parts: a train without a signal ahead reaches them facing, and a route reverses
them while that train may be there.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.proposing.crossing import goes_on
from trappoint.proposing.need import NONE, that_stand

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from trappoint.proposing.choice import Choice, Passing, Reach
    from trappoint.proposing.finest_plan import PostedMove
    from trappoint.proposing.need import Posts


def idle_traps(choice: Choice) -> Mapping[int, Posts]:
    """Return the levers of trap points that do not guard, with an easy proof for each.

    A proof is a set of missing posts, and of standing ones (see ``that_stand``).
    """
    traps = choice.finest.together.traps
    reversing: dict[int, list[Passing]] = {}
    for passing in choice.passings:
        for lever, word in passing.needs.items():
            if traps.get(lever, word) != word:
                reversing.setdefault(lever, []).append(passing)
    found: dict[int, Posts] = {}
    while more := _more(choice, reversing, found):
        found |= more  # Trains that pass these may reach others.
    return found


def _more(
    choice: Choice, reversing: Mapping[int, list[Passing]], known: Mapping[int, Posts]
) -> dict[int, Posts]:
    """Return further trap points that do not guard, given the known ones."""
    found: dict[int, Posts] = {}
    for reach in choice.reaches_past(known):
        for lever, place, missing in _before_traps(choice, reach):
            for passing in reversing.get(lever, ()) if lever not in known else ():
                shown = _let_out(choice, reach, place, lever, passing)
                if shown is not None:
                    shown |= missing
                    if lever not in found or len(shown) < len(found[lever]):
                        found[lever] = shown
    return found


def _before_traps(choice: Choice, reach: Reach) -> Iterator[tuple[int, int, Posts]]:
    """Yield the lever of trap points that a train meets facing, its place, the missing posts."""
    finest = choice.finest
    for state, missing in reach.missing.items():
        for move in finest.moves[state]:
            if not move.onto or choice.stand(move.posts):
                continue
            for way in finest.moves[move.to]:
                if finest.turns_aside(way):
                    place = finest.net.place_of[state]
                    yield way.lever, place, missing.union(move.posts)


def _let_out(
    choice: Choice, reach: Reach, place: int, lever: int, passing: Passing
) -> Posts | None:
    """Return a proof that a train may be in a place while a route reverses the trap points."""
    net = choice.finest.net
    kept = choice.apart(place, passing.places)
    if kept is not None:
        region = choice.finest.region(place)
        stand = {passing.post, *kept, *goes_on(choice, passing, {region})}
        over = _first_over(choice, passing, lever)
        return passing.missing[over] | that_stand(choice.free(stand))
    last = net.place_of[passing.states[-1]]
    beyond = choice.apart(place, (last,))
    if place not in passing.places or beyond is None:
        return None
    # The route ends beyond this place. Can others enter it?
    shown = that_stand(choice.free(beyond)) | _whole(choice, passing)
    entered = NONE if place in choice.finest.edges else choice.apart(place, (reach.own,))
    if entered is not None:
        return shown | that_stand(choice.free(entered))
    by_others = [
        _whole(choice, other) | that_stand(choice.free(apart))
        for other in choice.passings
        if place in other.places and other is not passing
        if all(other.needs.get(each, word) == word for each, word in passing.needs.items())
        if (apart := choice.apart(last, other.places)) is not None
    ]
    return shown | min(by_others, key=len) if by_others else None


def _whole(choice: Choice, passing: Passing) -> Posts:
    """Return the posts that a route depends on, with those at its end."""
    ends = [number for number in passing.ends if choice.standing[number]]
    return passing.missing[-1] | that_stand(choice.free((passing.post, *ends)))


def _first_over(choice: Choice, passing: Passing, lever: int) -> int:
    """Return the index of the first state for which a route needs a lever."""

    def moved(at: int) -> PostedMove:
        before = passing.states[at - 1] if at else passing.waits
        return choice.between(before, passing.states[at])

    return next(at for at in range(len(passing.states)) if moved(at).lever == lever)
