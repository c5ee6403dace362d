"""The right merge of three versions of a plan, worked out value by value without the library.

A plan is a set of values, each at its place: a path of keys, in which arms have their ids and
accepted findings their rule and place. Each entry of a list without an order is a value. The order
of arms is not compared, nor ``worked_together``, whose groups have no names.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

Plan = dict[str, Any]
Place = tuple[str, ...]
Values = dict[Place, object]

UNSURE = object()
"""The value of a base whose own versions differ: neither may be used."""


def values_of(plan: Plan) -> Values:
    """Return all values of a plan, each at its place."""
    return dict(_values({k: v for k, v in plan.items() if k != "worked_together"}, ()))


def _values(value: Any, place: Place) -> Iterator[tuple[Place, object]]:
    if isinstance(value, dict):
        if len(place) > 1:
            yield (*place, "{}"), True
        for key, member in value.items():
            yield from _values(member, (*place, key))
    elif isinstance(value, list):
        if len(place) > 1:
            yield (*place, "[]"), True
        for entry in value:
            if isinstance(entry, dict):
                names = [str(entry[key]) for key in ("id", "rule", "at") if key in entry]
                yield from _values(entry, (*place, "[", *names))
            else:
                yield (*place, "[", repr(entry)), True
    elif isinstance(value, int | float) and not isinstance(value, bool):
        yield place, float(value)
    else:
        yield place, repr(value)


def base_of_bases(base: Plan, one: Plan, other: Plan) -> Values:
    """Return the values of two merged bases; UNSURE for values that differ."""
    was, first, second = map(values_of, (base, one, other))
    found: Values = {}
    for place in {**was, **first, **second}:
        before, left, right = (values.get(place) for values in (was, first, second))
        if right in (left, before):
            found[place] = left
        else:
            found[place] = right if left == before else UNSURE
    for place in _replaced(was, first, second):
        found[place] = UNSURE
    return {place: value for place, value in found.items() if value is not None}


def _replaced(was: Values, first: Values, second: Values) -> Iterator[Place]:
    """Yield the entries of lists in which both versions replaced the same entry differently."""
    lists = {place[:-1] for place in (*was, *first, *second) if place[-2:-1] == ("[",)}
    for each in lists:
        before, left, right = (
            {place for place in values if place[:-1] == each} for values in (was, first, second)
        )
        added = left - before, right - before
        if (before - left) & (before - right) and all(added) and added[0] != added[1]:
            yield from before | left | right


def mistakes(base: Values, ours: Plan, theirs: Plan, kept: tuple[Plan, Plan]) -> Iterator[str]:
    """Yield the mistakes of a merge; ``kept`` are the plan with our version and with theirs.

    The merge must have a value that one version changed, or both versions of it. It must have both
    versions of a value that both changed differently. It must have no other value.
    """
    mine, yours, if_mine, if_yours = map(values_of, (ours, theirs, *kept))
    for place in {**base, **mine, **yours, **if_mine, **if_yours}:
        before, left, right = base.get(place), mine.get(place), yours.get(place)
        chosen = if_mine.get(place), if_yours.get(place)
        if left == right:
            good = chosen == (left, left)
        elif before == left:
            good = chosen in ((right, right), (left, right))
        elif before == right:
            good = chosen in ((left, left), (left, right))
        else:
            good = chosen == (left, right)
        if not good:
            yield f"{place}: {before} became {left} and {right}, and then {chosen}"


def conflicts(base: Values, ours: Plan, theirs: Plan) -> set[Place]:
    """Return the things with a value that both versions changed differently.

    Things that one version removed and the other changed are returned too.
    """
    versions = base, values_of(ours), values_of(theirs)
    found = set()
    for place in {place for values in versions for place in values}:
        before, left, right = (values.get(place) for values in versions)
        if left != right and before not in (left, right):
            found.add(place[:2])
    before, left, right = map(_things, versions)
    for thing in left.keys() ^ right.keys():
        if thing in before and before[thing] != (left.get(thing) or right[thing]):
            found.add(thing)
    return found


def _things(values: Values) -> dict[Place, Values]:
    found: dict[Place, Values] = {}
    for place, value in values.items():
        if len(place) > 2 and place[1] != "[":
            found.setdefault(place[:2], {})[place] = value
    return found
