"""What a choice of signals lacks: for each way to a collision, what would close it.

Each *need* says that one of some posts must be added, or one of others taken away. It is told only
where two trains meet in the game of ``schema/README.md``, and they meet so in every plan in which
none of that is done: the need asks for no more than every plan that holds has. Most ways to a
collision are found here and in ``crossing``, where ``verdict.local_test`` fails:

- trains that come on at an edge and run freely run into one another;
- a train runs freely to where another may stand or come on;
- two trains run freely to one place;
- a train runs freely to where another has leave to run.

Where nothing of this kind is found, the verdict has the last word (``proving``).
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
"""Pairs of free runs that are compared for one choice."""


def lacks(choice: Choice) -> list[Need]:
    """Return what a choice lacks, as far as it is found without a search."""
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
    """From an edge the next train comes on, while the first is anywhere in its free run."""
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
    """A train stands, or comes on, where another freely runs to."""
    finest = choice.finest
    for place, state in reach.nearest.items():
        if place in finest.begins:
            apart = choice.apart(place, (reach.own,))
            if apart is not None:
                missing = reach.missing[state]
                yield choice.need(missing, apart, f"{reach.name} > {_name(choice, place)}")


def _to_signals(choice: Choice, reach: Reach) -> Iterator[Need]:
    """A train waits at a signal to which another freely runs."""
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
    """Two trains from different places freely run to one place: the first one waits there."""
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
