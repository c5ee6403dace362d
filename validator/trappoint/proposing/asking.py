"""The integer programme of a choice: what is known so far of needs, faults, roads and brackets."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.proposing.need import Need
from trappoint.proposing.roads import DISC, MOST_DOLLS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from trappoint.parts.integer_programme import Programme, Terms
    from trappoint.proposing.optimising import Chooser

MAX_ARMS = 4096
"""The greatest number of arms of a signal: that of its routes."""


def ask_for_posts(chooser: Chooser, programme: Programme, posts: Sequence[int]) -> list[int]:
    """Add a constraint for each need; return one unknown for each faulty signal."""
    for need in chooser.needs:
        _ask(programme, posts, need)
    faulty = {number: programme.unknown(1) for number, _ in chooser.faults}
    for number, need in chooser.faults:
        _ask(programme, posts, need, instead=faulty[number])
    for numbers in chooser.ground.rivals:
        programme.ask({posts[number]: 1 for number in numbers}, most=1)
    for added, gone in chooser.barred:
        terms = {posts[number]: 1 for number in added}
        terms |= {posts[number]: -1 for number in gone}
        programme.ask(terms, most=len(added) - 1)
    return list(faulty.values())


def count_arms(
    chooser: Chooser, programme: Programme, posts: Sequence[int]
) -> tuple[list[int], list[int]]:
    """Add constraints for an arm on each known road, and for the discs.

    Returns each post's number of arms, and that number without discs.
    """
    roads: dict[int, Terms] = {}
    discs: dict[int, int] = {}
    for key, courses in chooser.roads.items():
        road = programme.unknown(1)
        if key.lies == DISC:
            discs[key.post] = road
        else:
            roads.setdefault(key.post, {})[road] = -1
        for course in courses:
            _ask(programme, posts, Need(course.missing, course.standing, ""), instead=road)
    parting, aside = ask_for_splits(chooser, programme, posts)
    arms, dolls = [], []
    for number, stands in enumerate(posts):
        bracket = chooser.hard and chooser.ground.readable(number)
        doll = count = programme.unknown(MOST_DOLLS if bracket else MAX_ARMS)
        dolls.append(doll)
        if number in discs or number in aside:
            count = programme.unknown(MAX_ARMS)
            programme.ask({count: 1, doll: -1}, least=0)
        if number in discs:  # Without an armed road, the disc is its only arm.
            terms = {count: 1, discs[number]: -1, **roads.get(number, {})}
            programme.ask(terms, least=0)
        if number in aside:
            terms = {count: 1, stands: -1, aside[number]: -1, **parting.get(number, {})}
            programme.ask(terms, least=0)
        arms.append(count)
        if not chooser.ground.posts[number].elsewhere:
            programme.ask({doll: 1, stands: -1, **parting.get(number, {})}, least=0)
        if number in roads:
            programme.ask({doll: 1, **roads[number]}, least=0)
    return arms, dolls


def ask_for_splits(
    chooser: Chooser, programme: Programme, posts: Sequence[int]
) -> tuple[dict[int, Terms], dict[int, int]]:
    """Add a constraint for each split.

    Returns the terms that count those of each post, and one unknown for the disc of each post
    that passes sidings.
    """
    parting: dict[int, Terms] = {}
    aside: dict[int, int] = {}
    for split, ways in chooser.splits.items():
        if split.disc:
            counts = aside.get(split.post, -1)
            if counts < 0:
                counts = aside[split.post] = programme.unknown(1)
        else:
            counts = programme.unknown(1)
            parting.setdefault(split.post, {})[counts] = -split.more * ways
        terms = {posts[number]: 1 for number in split.missing}
        programme.ask({**terms, counts: 1, posts[split.post]: -1}, least=0)
    return parting, aside


def ask_for_brackets(chooser: Chooser, programme: Programme, dolls: Sequence[int]) -> list[int]:
    """Return one unknown for each new signal: 1 if it has more arms than a bracket carries."""
    over: list[int] = []
    for number, doll in enumerate(dolls):
        if chooser.ground.readable(number) and not chooser.hard:
            over.append(programme.unknown(1))
            programme.ask({doll: 1, over[-1]: -MAX_ARMS}, most=MOST_DOLLS)
    return over


def _ask(
    programme: Programme, posts: Sequence[int], need: Need, *, instead: int | None = None
) -> None:
    """Add the constraint of a need; the unknown ``instead``, if given, fulfils it too."""
    terms = {posts[number]: 1 for number in need.added}
    for number in need.gone:
        terms[posts[number]] = terms.get(posts[number], 0) - 1
    if instead is not None:
        terms[instead] = 1
    programme.ask(terms, least=1 - len(need.gone))
