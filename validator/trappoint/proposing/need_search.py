"""The needs of a choice of signals: for each way to a collision, the changes that close it.

A *need* is: add one of some posts, or remove one of some others. Two trains meet (in the game of
``schema/README.md``) in every plan that does neither, so every plan that holds meets the need. This
module and ``crossing`` find most ways to a collision, those in which ``verdict.local_test`` fails:

- trains that come on at an edge and run freely run into one another;
- a train runs freely to where another may stand or come on;
- two trains run freely to one place;
- a train runs freely to where another has leave to run.

If they find none, the full verdict decides (``proving``).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.proposing.approaches import comes
from trappoint.proposing.crossing import of_routes
from trappoint.proposing.need import NONE, Need

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from trappoint.proposing.choice import Choice, Reach

MAX_PAIRS = 20_000
"""The greatest number of comparisons of free runs for one choice."""


def lacks(choice: Choice) -> list[Need]:
    """Return the unmet needs of a choice that need no search of the game."""
    found: list[Need] = []
    calm: list[Reach] = []
    for reach in choice.reaches:
        own = [
            *_behind_itself(choice, reach),
            *_into_stands(choice, reach),
            *_to_signals(choice, reach),
        ]
        found += own
        if not own:
            calm.append(reach)
    found += _together(choice, calm)
    found += of_routes(choice, choice.reaches)
    return shortest(found)


def shortest(needs: Iterable[Need]) -> list[Need]:
    """Drop the needs that follow from shorter ones."""
    kept: list[Need] = []
    for need in sorted(set(needs), key=lambda need: (len(need.added) + len(need.gone), need.where)):
        if not any(one.added <= need.added and one.gone <= need.gone for one in kept):
            kept.append(need)
    return kept


def _behind_itself(choice: Choice, reach: Reach) -> Iterator[Need]:
    """Yield needs: the next train comes on at an edge during the free run of the first."""
    if not reach.edge:
        return
    for place, state in reach.nearest.items():
        apart = choice.apart(place, (reach.own,))
        if apart is not None:
            missing = reach.missing[state]
            yield choice.need(missing, apart, f"{reach.name} > {_name(choice, place)}")
            if not apart:
                return


def _into_stands(choice: Choice, reach: Reach) -> Iterator[Need]:
    """Yield needs: a train stands or comes on at a place in the free run of another."""
    finest = choice.finest
    for place, state in reach.nearest.items():
        if place in finest.begins:
            apart = choice.apart(place, (reach.own,))
            if apart is not None:
                missing = reach.missing[state]
                yield choice.need(missing, apart, f"{reach.name} > {_name(choice, place)}")


def _to_signals(choice: Choice, reach: Reach) -> Iterator[Need]:
    """Yield needs: a train waits at a signal in the free run of another."""
    finest = choice.finest
    region = finest.region(reach.own)
    avoid, start = (None, -1) if reach.edge else (region, region)
    for place, nearest in reach.nearest.items():
        apart = choice.apart(place, (reach.own,))
        for state in finest.net.states_of[place] if apart is not None else ():
            for move in finest.moves[state]:
                standing = [number for number in move.posts if choice.standing[number]]
                if not standing:
                    continue
                sent_by = comes(choice, state, avoid, start, anywhere=choice.stand(move.stops))
                if sent_by is not None and apart is not None:
                    where = f"{reach.name} > {choice.ground.posts[standing[0]].name}"
                    stays = any(not choice.ground.posts[number].free for number in standing)
                    kept = NONE if stays else frozenset(standing[:1])
                    yield choice.need(reach.missing[nearest], apart | kept | sent_by, where)


def _together(choice: Choice, reaches: list[Reach]) -> Iterator[Need]:
    """Yield needs: two trains run freely to one place, and the first waits there."""
    at: dict[int, list[Reach]] = {}
    best: dict[tuple[int, int], tuple[int, Need]] = {}
    looks = 0
    for one in reaches:
        for place, state in one.nearest.items():
            if _has_lies(choice, place):
                continue  # They meet beyond it too.
            for other in at.setdefault(place, []):
                looks += 1
                apart = choice.apart(one.own, (other.own,))
                if apart is None or looks > MAX_PAIRS:
                    continue
                missing = one.missing[state] | other.missing[other.nearest[place]]
                key, size = (id(one), id(other)), len(missing) + len(apart)
                if key not in best or size < best[key][0]:
                    where = f"{one.name} > {_name(choice, place)} < {other.name}"
                    best[key] = size, choice.need(missing, apart, where)
            at[place].append(one)
    for _, need in best.values():
        yield need


def _has_lies(choice: Choice, place: int) -> bool:
    return place in choice.finest.together.lever_of


def _name(choice: Choice, place: int) -> str:
    return choice.finest.net.places[place].name
