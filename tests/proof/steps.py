"""The states of two trains and their steps as formulas, and the check of an invariant."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from proof.sat import CHECKING, Sat
from proof.system import AT_REST, System

Feature = tuple[str, str]
"""What can be true of one train: ("is", state), ("has", grant), ("at", place), ("keeps", place)."""

Cube = tuple[frozenset[Feature], frozenset[Feature]]
"""What is true of the one train and of the other. An invariant says of cubes: never so."""


def features(system: System, number: int) -> frozenset[Feature]:
    """All that is true of a train in a state."""
    state = system.states[number]
    found = {("is", str(number)), ("at", state.place), ("keeps", state.place)}
    if state.grant != AT_REST:
        found.add(("has", str(state.grant)))
        found |= {("keeps", place) for place in system.promised[number]}
    return frozenset(found)


def mirrored(cube: Cube) -> Cube:
    return cube[1], cube[0]


class Train:
    """The variables of one train at one time: one for each state, and for what is true in it."""

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
    """A pair of trains, and the first of them after a step. The second one stays as it is.

    The two trains are alike: what is excluded for a pair is excluded for it changed over as well,
    and a step of the second train is a step of the first one of the pair changed over.
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
    """Write down that the first train goes from its state to one of those that lie `onward`.

    Into a state in which it has been given a route it comes only where the road is clear.
    """
    step = Step(Train(sat, system), Train(sat, system), Train(sat, system))
    given = {number for takes in system.takes for number in takes}
    for number, following in enumerate(onward):
        # It may as well stay: where it can not go on, it would else not be seen to be there. (With
        # a route just given it can always go on, so that the clear road asked for below is no bar.)
        ends = [step.then.states[n] for n in {number, *following}]
        sat.add(-step.first.states[number], *ends)
    for number in given:
        add_clear_road(sat, system, step.then.states[number], number, step.second)
    return step


def add_clear_road(sat: Sat, system: System, given: int, number: int, other: Train) -> None:
    """Where `given` is true, the other train leaves the road clear for what a state was given."""
    asked = system.states[number].grant
    let = [other.features[f] for g in system.let[asked] if (f := ("has", str(g))) in other.features]
    for place in system.grants[asked].route.places:
        occupied = other.features.get(("at", place))
        if occupied is not None:
            sat.add(-given, -occupied)
        kept = other.features.get(("keeps", place))
        if kept is not None and not system.strict:
            sat.add(-given, -kept, *let)
    if system.strict:
        at_rest = [other.states[n] for n, s in enumerate(system.states) if s.grant == AT_REST]
        sat.add(-given, *at_rest, *let)


def check_invariant(system: System, invariant: Sequence[Cube]) -> None:
    """Raise AssertionError unless the cubes never are: at no start, after no step, at no meeting.

    Written with the single steps of the trains, and asked of another solver than the search's.
    """
    for cube in invariant:
        assert mirrored(cube) in invariant
        assert not at_start(system, cube), cube
    onward = [[*plain, *takes] for plain, takes in zip(system.plain, system.takes, strict=True)]
    with Sat(CHECKING) as sat:
        step = write_step(sat, system, onward)
        for cube in invariant:
            sat.add(*(-literal for literal in step.before(cube)))
        assert sat.is_possible(), "the trains can not go on at all"
        for cube in invariant:
            assert not sat.is_possible(step.after(cube)), cube
    with Sat(CHECKING) as sat:
        first, second = Train(sat, system), Train(sat, system)
        for one, other in invariant:
            sat.add(*(-it for it in (*literals_of(first, one), *literals_of(second, other))))
        assert sat.is_possible(), "the trains can not be anywhere"
        for place in {state.place for state in system.states}:
            at = [("at", place)]
            assert not sat.is_possible(literals_of(first, at) + literals_of(second, at)), place


def at_start(system: System, cube: Cube) -> bool:
    """Whether two trains can be so at a start, each in a stand of its own."""
    one, other = ({s for s in system.starts if side <= features(system, s)} for side in cube)
    return bool(one and other and len(one | other) > 1)
