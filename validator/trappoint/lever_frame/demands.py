"""The demands of the locking table on a frame, from which its entries are derived.

A *demand* is a clause that every state of the frame must meet. A *hold* is a pair of levers: while
the first is reversed, the second cannot move.

A road of an arm is *set* if the points that the frame works lie for it. The demands are:

- A lever that works arms may be reversed only while a road of one of them is set and the shunt arms
  that this road passes are off.
- Two levers must not both be reversed while conflicting roads are set.
- A distant may be off only while the stop arms that it repeats on the road that is set are off.
- While a lever is reversed, no points may move that would change the set of its roads (Board of
  Trade requirements, 1892, rule 7c: after lowering a signal, no points connected with, or leading
  to, that line may be moved).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.interlocking.conflicts import routes_conflict, runs_along
from trappoint.lever_frame.clauses import Clause, bits

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from trappoint.facts.facts import Facts
    from trappoint.lever_frame.clauses import Effort
    from trappoint.lever_frame.levers import Frame, FrameRoad

Choice = tuple[int, int]
"""One combination of positions: the levers reversed, the levers normal."""


class Demand(NamedTuple):
    """A clause that every state must meet, with the lever of its entry."""

    clause: Clause
    lever: int
    about: int
    """The lever that is locked or released; -1 if any lever of the clause may be."""
    special: bool = False
    """True if it may be a conditional release, which holds the levers that it names."""


class Hold(NamedTuple):
    """While a lever is reversed, and others are in given positions, one lever cannot move."""

    lever: int
    held: int
    rev: int
    nor: int


def demand_roads(frame: Frame, lever: int, roads: list[FrameRoad]) -> Iterator[Demand]:
    """Yield the demands on points before a lever can be reversed."""
    if roads:
        choices = [(road.rev, road.nor) for road in roads]
        yield from demand_choices(frame, lever, choices, special=True)
        return
    frame.notes.append(
        f"Lever {frame.number(lever)} cannot be reversed: the frame can set no road of its arms."
    )
    yield Demand(Clause(0, 1 << lever), lever, -1)


def demand_choices(
    frame: Frame, lever: int, choices: list[Choice], *, special: bool
) -> Iterator[Demand]:
    """Yield demands that together allow a lever to be reversed only if one of the choices is met.

    First it demands the positions that all choices share. Then it takes one lever that differs as a
    condition, and repeats both steps with the choices left under each of its positions. Conditions
    that prove unnecessary are removed.
    """
    own = 1 << lever
    choices = [(rev & ~own, nor) for rev, nor in choices if not nor & own]
    for found, about in _split(frame.effort, choices, 0, 0):
        frame.effort.spend(len(choices))
        clause = _shortened(found, about, choices)
        yield Demand(Clause(clause.rev, clause.nor | own), lever, about, special)


def _split(
    effort: Effort, choices: list[Choice], rev: int, nor: int
) -> Iterator[tuple[Clause, int]]:
    choices = _absorbed(effort, choices)
    common_rev = common_nor = -1
    for choice in choices:
        common_rev &= choice[0]
        common_nor &= choice[1]
    for about in bits(common_rev):
        yield Clause(nor | 1 << about, rev), about
    for about in bits(common_nor):
        yield Clause(nor, rev | 1 << about), about
    choices = _absorbed(effort, [(r & ~common_rev, n & ~common_nor) for r, n in choices])
    if choices[0] == (0, 0):
        return
    counts: dict[int, int] = {}
    for choice in choices:
        for lever in bits(choice[0] | choice[1]):
            counts[lever] = counts.get(lever, 0) + 1
    one = 1 << min(counts, key=lambda lever: (-counts[lever], lever))
    over = [(r & ~one, n) for r, n in choices if not n & one]
    back = [(r, n & ~one) for r, n in choices if not r & one]
    for left, more_rev, more_nor in ((over, rev | one, nor), (back, rev, nor | one)):
        yield from _split(effort, left, more_rev, more_nor)


def _shortened(clause: Clause, about: int, choices: list[Choice]) -> Clause:
    """Return the clause without the conditions that the choices do not need."""
    for lever in bits(clause.rev | clause.nor):
        shorter = clause.without(lever)
        if lever != about and all(shorter.rev & r or shorter.nor & n for r, n in choices):
            clause = shorter
    return clause


def _absorbed(effort: Effort, choices: Iterable[Choice]) -> list[Choice]:
    """Return the choices, without those that contain another choice."""
    kept: list[Choice] = []
    ordered = sorted(set(choices), key=lambda c: (c[0].bit_count() + c[1].bit_count(), c))
    for rev, nor in ordered:
        effort.spend(1 + len(kept))
        if not any(r & rev == r and n & nor == n for r, n in kept):
            kept.append((rev, nor))
    return kept


def demand_shunts(
    frame: Frame, facts: Facts, lever: int, roads: list[FrameRoad]
) -> Iterator[Demand]:
    """Yield the demand that shunt arms are off before a main arm whose road passes them."""
    alone = len({(road.rev, road.nor) for road in roads}) == 1
    for road in roads:
        main = facts.routes.all[road.route]
        for head in main.past:
            speaking = 0
            for route in facts.routes.of_kind(head, shunting=True):
                if runs_along(main, facts.routes.all[route]):
                    for arm in facts.assignment.arms_for(route):
                        number = frame.lever_of_arm.get(facts.assignment.arms[arm].id)
                        speaking |= 0 if number is None else 1 << number
            if speaking and not speaking >> lever & 1:
                rev, nor = (0, 0) if alone else (road.rev, road.nor)
                clause = Clause(nor | speaking, rev | 1 << lever)
                yield Demand(clause, lever, speaking.bit_length() - 1)


def demand_conflicts(
    frame: Frame, facts: Facts, roads_of: dict[int, list[FrameRoad]]
) -> Iterator[Demand]:
    """Yield the locking between levers that work arms, unless the points see to it."""
    arms = facts.assignment.arms
    lever_of = {number: frame.lever_of_arm.get(arm.id, -1) for number, arm in enumerate(arms)}
    roads: dict[int, list[FrameRoad]] = {number: [] for number in lever_of}
    for own in roads_of.values():
        for road in own:
            roads[road.arm].append(road)
    found: dict[Clause, tuple[int, int]] = {}
    for one, conflicts in enumerate(facts.conflicts):
        for conflict in conflicts:
            other = conflict.other
            if not (roads[one] and roads[other]) or _one_choice(facts, lever_of, one, other):
                continue
            frame.effort.spend(len(roads[one]) * len(roads[other]))
            pair = lever_of[one], lever_of[other]
            if conflict.by == "points":
                choices = _left_by_points(facts, roads[one], roads[other])
            else:
                lies = _needs_of_lies(frame, conflict.when or {})
                choices = [] if lies is None else [lies]
            # While a lever with a single arm is reversed, a road of that arm is set.
            for arm, lever in ((one, pair[0]), (other, pair[1])):
                if any(road.arm != arm for road in roads_of[lever]):
                    frame.effort.spend(len(choices) * len(roads[arm]))
                    choices = both_of(choices, [(road.rev, road.nor) for road in roads[arm]])
            both = 1 << pair[0] | 1 << pair[1]
            for rev, nor in choices:
                if not nor & both:
                    found.setdefault(Clause(nor, rev | both), (min(pair), max(pair)))
    for clause, (first, last) in sorted(found.items(), key=lambda item: item[1]):
        yield Demand(clause, first, last if last != first else -1)


def _one_choice(facts: Facts, lever_of: dict[int, int], one: int, other: int) -> bool:
    """Return whether one lever works two arms of one post, between which the driver chooses."""
    heads = facts.assignment.head_of
    return lever_of[one] == lever_of[other] and heads[one] == heads[other]


def _needs_of_lies(frame: Frame, lies: Mapping[str, str]) -> Choice | None:
    """Return the levers reversed and normal for these lies; None if the frame cannot set them."""
    rev = nor = 0
    for switch, lie in lies.items():
        found = frame.lies.get((switch, lie), (0, 0))
        if found is None:
            return None
        rev |= found[0]
        nor |= found[1]
    return None if rev & nor else (rev, nor)


def _left_by_points(facts: Facts, ones: list[FrameRoad], others: list[FrameRoad]) -> list[Choice]:
    """Return the choices in which two arms conflict over points that the frame does not work."""
    alone = [len({(r.rev, r.nor) for r in roads}) == 1 for roads in (ones, others)]
    found: list[Choice] = []
    for one in ones:
        for other in others:
            if one.rev & other.nor or one.nor & other.rev:
                continue
            routes = facts.routes.all
            if routes_conflict(routes[one.route], routes[other.route]) == "points":
                rev = (0 if alone[0] else one.rev) | (0 if alone[1] else other.rev)
                nor = (0 if alone[0] else one.nor) | (0 if alone[1] else other.nor)
                found.append((rev, nor))
    return found


def both_of(ones: list[Choice], others: list[Choice]) -> list[Choice]:
    """Return each combination of a choice of one list with a choice of the other."""
    found: dict[Choice, None] = {}
    for rev, nor in ones:
        for more_rev, more_nor in others:
            if not (rev | more_rev) & (nor | more_nor):
                found[rev | more_rev, nor | more_nor] = None
    return list(found)


def required_holds(frame: Frame, lever: int, roads: list[FrameRoad]) -> list[Hold]:
    """Return the holds of a reversed lever on points that no demand locks.

    Points that all its roads need in the same position are locked by a demand.
    """
    choices = sorted({(road.rev, road.nor) for road in roads})
    if len(choices) < 2:
        return []
    fixed_rev = fixed_nor = -1
    everything = 0
    for rev, nor in choices:
        fixed_rev &= rev
        fixed_nor &= nor
        everything |= rev | nor
    found = []
    for held in bits(everything & ~fixed_rev & ~fixed_nor):
        one = 1 << held
        rests = [(r & ~one, n & ~one) for r, n in choices if (r | n) & one]
        found += [Hold(lever, held, rev, nor) for rev, nor in _absorbed(frame.effort, rests)]
    return found
