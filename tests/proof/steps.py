"""The states of two trains and their steps as formulas, and the check of an invariant."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from proof.sat import CHECKING, Sat
from proof.system import COMES_ON, System

Feature = tuple[str, str]
"""A feature of one train: ("is", state), ("has", grant), ("lies", lever group and lie),
("at", place), ("keeps", place)."""

Cube = tuple[frozenset[Feature], frozenset[Feature]]
"""Features of the first train and of the second. An invariant is a set of impossible cubes."""


def features(system: System, number: int) -> frozenset[Feature]:
    """Return all features of a train in a state."""
    state = system.states[number]
    found = {("is", str(number))}
    if state.place:
        found |= {("at", state.place), ("keeps", state.place)}
    found |= {("lies", lying(group, how)) for group, how in system.lies[number].items()}
    if state.grant >= 0:
        found.add(("has", str(state.grant)))
        found |= {("keeps", place) for place in system.promised[number]}
    return frozenset(found)


def lying(group: str, how: str) -> str:
    return f"{group} {how}"


def in_order(cube: Cube) -> list[list[Feature]]:
    """Return the sort key of a cube, the same in every run."""
    return [sorted(side) for side in cube]


def mirrored(cube: Cube) -> Cube:
    return cube[1], cube[0]


class Train:
    """The variables of one train at one time: one for each state, and one for each feature."""

    def __init__(self, sat: Sat, system: System) -> None:
        self.states = sat.variables(len(system.states))
        sat.exactly_one(self.states)
        having: dict[Feature, list[int]] = {}
        for number, variable in enumerate(self.states):
            for feature in sorted(features(system, number)):
                if feature[0] != "is":
                    having.setdefault(feature, []).append(variable)
        self.features = {feature: sat.either(states) for feature, states in having.items()}
        for number, variable in enumerate(self.states):
            self.features["is", str(number)] = variable


class Step(NamedTuple):
    """A pair of trains, and the first of them after a step. The second does not move.

    The two trains are alike: a cube excluded for a pair is excluded for the exchanged pair too, and
    a step of the second train is a step of the first train of the exchanged pair.
    """

    first: Train
    second: Train
    then: Train

    def before(self, cube: Cube) -> list[int]:
        """The literals of a cube before the step."""
        return literals_of(self.first, cube[0]) + literals_of(self.second, cube[1])

    def after(self, cube: Cube) -> list[int]:
        """The literals of a cube after the step."""
        return literals_of(self.then, cube[0]) + literals_of(self.second, cube[1])


def literals_of(train: Train, side: Iterable[Feature]) -> list[int]:
    return [train.features[feature] for feature in sorted(side)]


def write_step(sat: Sat, system: System, onward: Sequence[Iterable[int]]) -> Step:
    """Add clauses: the first train goes from its state to one of the states in ``onward``.

    It enters a state after an asked step only if the other train allows it.
    """
    step = Step(Train(sat, system), Train(sat, system), Train(sat, system))
    asked = {number for following in system.asked for number in following}
    for number, following in enumerate(onward):
        # The train may also stay; otherwise a state without a way on would be impossible. (After
        # an asked step a train can always go on, so a second condition does no harm.)
        ends = [step.then.states[n] for n in {number, *following}]
        sat.add(-step.first.states[number], *ends)
    writing = _Asking(sat, system, step.second)
    for number in sorted(asked):
        writing.add(step.then.states[number], number)
    return step


class _Asking:
    """Add clauses that keep the other train from being in the way of an asked step."""

    def __init__(self, sat: Sat, system: System, other: Train) -> None:
        self.sat = sat
        self.system = system
        self.other = other
        self._lies: dict[str, set[str]] = {}
        for lies in system.lies:
            for group, how in lies.items():
                self._lies.setdefault(group, set()).add(how)

    def add(self, asked: int, number: int) -> None:
        """Add clauses: if ``asked`` is true, the other train lets a train enter a state."""
        state = self.system.states[number]
        for group, how in self.system.lies[number].items():
            self._never(asked, *(("lies", lying(group, h)) for h in self._lies[group] - {how}))
        if state.grant == COMES_ON:
            self._never(asked, ("keeps", state.place))
        elif state.grant >= 0:
            self._add_clear_road(asked, state.grant)

    def _add_clear_road(self, asked: int, grant: int) -> None:
        let = [("has", str(number)) for number in sorted(self.system.let[grant])]
        but = [self.other.features[has] for has in let if has in self.other.features]
        self._never(asked, *(("has", str(number)) for number in self.system.against[grant]))
        for place in sorted(self.system.grants[grant].route.places):
            self._never(asked, ("at", place))
            kept = self.other.features.get(("keeps", place))
            if kept is not None:
                self.sat.add(-asked, -kept, *but)

    def _never(self, asked: int, *those: Feature) -> None:
        for feature in sorted(those):
            if feature in self.other.features:
                self.sat.add(-asked, -self.other.features[feature])


def check_invariant(system: System, invariant: Sequence[Cube]) -> None:
    """Raise AssertionError if the cubes are no invariant: at a start, after a step, at a meeting.

    The formulas use the single steps of the trains and another solver than the search.
    """
    for cube in invariant:
        assert mirrored(cube) in invariant
        assert not at_start(system, cube), cube
    onward = [[*plain, *asked] for plain, asked in zip(system.plain, system.asked, strict=True)]
    with Sat(CHECKING) as sat:
        step = write_step(sat, system, onward)
        for cube in invariant:
            sat.add(*(-literal for literal in step.before(cube)))
        assert sat.is_possible(), "the trains cannot go on at all"
        for cube in invariant:
            assert not sat.is_possible(step.after(cube)), cube
    with Sat(CHECKING) as sat:
        first, second = Train(sat, system), Train(sat, system)
        for one, other in invariant:
            sat.add(*(-it for it in (*literals_of(first, one), *literals_of(second, other))))
        assert sat.is_possible(), "the trains cannot be anywhere"
        for place in {state.place for state in system.states} - {""}:
            at = [("at", place)]
            assert not sat.is_possible(literals_of(first, at) + literals_of(second, at)), place


def at_start(system: System, cube: Cube) -> bool:
    """Return whether a start has a cube: each train is outside or in a stand of its own."""
    one, other = ([s for s in system.starts if side <= features(system, s)] for side in cube)
    return any(system.are_starts((first, second)) for first in one for second in other)
