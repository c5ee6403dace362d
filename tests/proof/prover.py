"""A proof, with a SAT solver, that two trains can meet or that they cannot.

An invariant proves that a plan *holds*: a set of statements "the first train is never so while the
second is so" that is true at every start, that every step keeps, and that excludes every meeting.
The prover first guesses statements from the ground, and drops those that steps break until none
breaks. If the rest allows a meeting, it uses property-directed reachability (Bradley, "SAT-based
model checking without unrolling", VMCAI 2011). In the end, another solver checks the invariant
against the single steps of the trains, which are written out a second time.

A run from a start to a meeting proves that a plan *does not hold*; each step is checked again.

To save steps, the search lets a train make any number of plain steps and then one asked step at
once. An invariant of single steps is one of these big steps too, and a train that runs past the
other in a big step could as well meet it.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator
from itertools import count, product
from typing import NamedTuple

from proof.sat import Sat
from proof.steps import (
    Cube,
    Feature,
    Step,
    at_start,
    check_invariant,
    features,
    in_order,
    lying,
    mirrored,
    write_step,
)
from proof.system import AT_REST, Pair, System


class Proof(NamedTuple):
    """A proof: an invariant, or a run (a pair of states after each single step)."""

    invariant: tuple[Cube, ...]
    run: tuple[Pair, ...] | None
    by: str
    """The method: ``guessed`` or ``searched``."""

    @property
    def holds(self) -> bool:
        return self.run is None


def prove(system: System) -> Proof:
    """Return a checked proof that two trains can meet, or that they cannot."""
    starts = system.starts
    if not any(system.are_starts((one, other)) for one in starts for other in starts):
        return Proof((), None, "guessed")
    with _Search(system) as search:
        proof = search.guess() or search.search()
    if proof.run is None:
        check_invariant(system, proof.invariant)
    return proof


def _meeting(sat: Sat, step: Step) -> int:
    """Return a variable that is true if both trains are in one place before the step."""
    both = [
        sat.all_of([variable, step.second.features[feature]])
        for feature, variable in step.first.features.items()
        if feature[0] == "at"
    ]
    return sat.either(both)


class _Search:
    """Property-directed reachability over cubes of two trains, in frames of one big step each.

    Frame 0 is the starts. The cubes of frame i are excluded in every frame up to i, and ``lasting``
    cubes in all frames.
    """

    def __init__(self, system: System) -> None:
        self.system = system
        self.sat = Sat()
        self.step = write_step(self.sat, system, self._far())
        self.meeting = _meeting(self.sat, self.step)
        self.lasting: list[Cube] = []
        self.frames: list[set[Cube]] = []
        self.switches: list[int] = []

    def __enter__(self) -> _Search:
        return self

    def __exit__(self, *_: object) -> None:
        self.sat.__exit__()

    def _far(self) -> list[list[int]]:
        """Return for each state the states after plain steps and at most one asked step."""
        system = self.system
        found = []
        for start in range(len(system.states)):
            reached = {start: None}
            waiting = [start]
            for state in waiting:
                for after in system.plain[state]:
                    if after not in reached:
                        reached[after] = None
                        waiting.append(after)
            asked = {after for state in reached for after in system.asked[state]}
            found.append(sorted((reached.keys() | asked) - {start}))
        return found

    # ---- guessing

    def guess(self) -> Proof | None:
        """Return a proof with guessed cubes, without those that do not last; None if it fails."""
        for also in (self._of_one_place(), self._of_free_places()):
            proof = self._guess(set(also) - set(self.lasting))
            if proof is not None:
                return proof
        return None

    def _guess(self, also: set[Cube]) -> Proof | None:
        left = sorted(also, key=in_order)
        dropped = also
        while dropped:
            dropped = self._broken(left)
            left = [cube for cube in left if cube not in dropped]
        for cube in left:
            self.sat.add(*(-literal for literal in self.step.before(cube)))
        self.lasting += left
        if self.sat.is_possible([self.meeting]):
            return None
        return Proof(tuple(self.lasting), None, "guessed")

    def _broken(self, cubes: list[Cube]) -> set[Cube]:
        """Return the cubes that a step can reach from where none of the cubes is true."""
        never = self.sat.variable()
        for cube in cubes:
            self.sat.add(-never, *(-literal for literal in self.step.before(cube)))
        found: set[Cube] = set()
        for cube in cubes:
            if cube not in found and self.sat.is_possible([never, *self.step.after(cube)]):
                seen = [c for c in cubes if all(map(self.sat.is_true, self.step.after(c)))]
                found |= {*seen, *map(mirrored, seen)}
        self.sat.add(-never)
        return found

    def _of_one_place(self) -> Iterator[Cube]:
        """Yield cubes: two trains keep one place, or one needs points that let the other out."""
        system = self.system
        for state in system.states:
            yield from self._cubes(("keeps", state.place), ("keeps", state.place))
        for number, state in enumerate(system.states):
            for after in system.asked[number] if state.grant == AT_REST else ():
                if system.states[after].grant == AT_REST:
                    for group, how in system.lies[after].items():
                        yield from self._cubes(("at", state.place), ("lies", lying(group, how)))

    def _of_free_places(self) -> Iterator[Cube]:
        """Yield cubes: two trains keep places that one train reaches freely from a stand."""
        for number in self._in_stands():
            places = {self.system.states[n].place for n in self._freely(number)}
            for one, other in product(places, repeat=2):
                yield from self._cubes(("keeps", one), ("keeps", other))

    def _cubes(self, one: Feature, other: Feature) -> Iterator[Cube]:
        """Yield the cube of two features, in both orders of the trains, unless a start has it."""
        cube = frozenset({one}), frozenset({other})
        if {one, other} <= self.step.first.features.keys() and not at_start(self.system, cube):
            yield from (cube, mirrored(cube))

    def _in_stands(self) -> Iterator[int]:
        for start in self.system.starts:
            yield from (n for n in self.system.plain[start] if self.system.states[n].place)

    def _freely(self, start: int) -> list[int]:
        """Return the states that a train reaches without a route and without turning."""
        system = self.system
        found = [start]
        for number in found:
            for after in (*system.plain[number], *system.asked[number]):
                to, stays = system.states[after], system.states[number].place
                if to.grant == AT_REST and to.place not in ("", stays) and after not in found:
                    found.append(after)
        return found

    # ---- searching

    def search(self) -> Proof:
        """Return a run or an invariant, found frame after frame."""
        self._new_frame()
        for train in self.step[:2]:
            self.sat.add(-self.switches[0], *(train.states[s] for s in self.system.starts))
        for start in self.system.starts:
            if not self.system.meet((start, start)):
                continue
            both = (train.states[start] for train in self.step[:2])
            self.sat.add(-self.switches[0], *(-variable for variable in both))
        while True:
            self._new_frame()
            top = len(self.frames) - 1
            while self.sat.is_possible([self.meeting, *self._in_frame(top)]):
                met = self._pair()
                run = self._block(met, top)
                if run is not None:
                    steps = self.system.run_through(run)
                    return Proof((), tuple(steps), "searched")
            fixed = self._push_on()
            if fixed is not None:
                return Proof((*self.lasting, *fixed), None, "searched")

    def _new_frame(self) -> None:
        self.frames.append(set())
        self.switches.append(self.sat.variable())

    def _in_frame(self, level: int) -> list[int]:
        """Return the assumptions for a frame: its cubes and those of later frames are excluded."""
        return self.switches[level:]

    def _pair(self) -> Pair:
        first, second, _ = (self.sat.the_true_one(train.states) for train in self.step)
        return first, second

    def _cube(self, pair: Pair) -> Cube:
        return features(self.system, pair[0]), features(self.system, pair[1])

    def _block(self, met: Pair, top: int) -> list[Pair] | None:
        """Exclude a meeting in the top frame; return a run to it if that is impossible."""
        numbers = count()
        # The cubes to exclude: frame, a number that orders them, and the way to the meeting.
        waiting: list[tuple[int, int, tuple[Pair, ...]]] = [(top, next(numbers), (met,))]
        while waiting:
            level, _, way = heapq.heappop(waiting)
            if self._is_excluded(way[0], level):
                continue
            before = self._before(self._cube(way[0]), level)
            if before is None:
                cube, above = self._widened(self._cube(way[0]), level)
                self._exclude(cube, above)
                if above < top:
                    heapq.heappush(waiting, (above + 1, next(numbers), way))
            elif self.system.are_starts(before):
                return [before, *way]
            else:
                heapq.heappush(waiting, (level - 1, next(numbers), (before, *way)))
                heapq.heappush(waiting, (level, next(numbers), way))
        return None

    def _is_excluded(self, pair: Pair, level: int) -> bool:
        at = [train.states[n] for train, n in zip(self.step, pair, strict=False)]
        return not self.sat.is_possible([*at, *self._in_frame(level)])

    def _before(self, cube: Cube, level: int) -> Pair | None:
        """Return a pair of the frame before, outside a cube, from which one step leads into it.

        If there is none, ``_core`` is the part of the cube that the solver needed.
        """
        outside = self.sat.variable()
        for each in (cube, mirrored(cube)):
            self.sat.add(-outside, *(-literal for literal in self.step.before(each)))
        assumed = [outside, *self._in_frame(level - 1)]
        before = None
        self._core: Cube = frozenset(), frozenset()
        for changed_over, each in enumerate((cube, mirrored(cube))):
            if self.sat.is_possible([*self.step.after(each), *assumed]):
                pair = self._pair()
                before = pair[::-1] if changed_over else pair
                break
            core = self.sat.core()
            needed = (
                frozenset(f for f in each[0] if self.step.then.features[f] in core),
                frozenset(f for f in each[1] if self.step.second.features[f] in core),
            )
            needed = mirrored(needed) if changed_over else needed
            self._core = self._core[0] | needed[0], self._core[1] | needed[1]
        self.sat.add(-outside)
        return before

    def _widened(self, cube: Cube, level: int) -> tuple[Cube, int]:
        """Return a wider cube that can also be excluded, and the highest frame for it."""
        cube = self._cut_to_core(cube)
        all_of_it = [(side, feature) for side in (0, 1) for feature in sorted(cube[side])]
        for side, feature in sorted(all_of_it, key=lambda each: _ORDER[each[1][0]]):
            if feature not in cube[side] or len(cube[side]) < 2:
                continue
            less = cube[side] - {feature}
            narrower = (less, cube[1]) if side == 0 else (cube[0], less)
            if not at_start(self.system, narrower) and self._before(narrower, level) is None:
                cube = self._cut_to_core(narrower)
        while level < len(self.frames) - 1 and self._before(cube, level + 1) is None:
            level += 1
        return cube, level

    def _cut_to_core(self, cube: Cube) -> Cube:
        """Return a cube without the parts that the solver did not need, if no start has it."""
        first = self._core[0] or frozenset(sorted(cube[0])[:1])
        second = self._core[1] or frozenset(sorted(cube[1])[:1])
        return cube if at_start(self.system, (first, second)) else (first, second)

    def _exclude(self, cube: Cube, level: int) -> None:
        for each in (cube, mirrored(cube)):
            self.frames[level].add(each)
            self.sat.add(-self.switches[level], *(-lit for lit in self.step.before(each)))

    def _push_on(self) -> list[Cube] | None:
        """Move cubes on to later frames; return the invariant if a frame has none left."""
        for level in range(1, len(self.frames) - 1):
            for cube in sorted(self.frames[level], key=in_order):
                if cube in self.frames[level] and self._before(cube, level + 1) is None:
                    self.frames[level] -= {cube, mirrored(cube)}
                    self._exclude(cube, level + 1)
            if not self.frames[level]:
                later = set[Cube]().union(*self.frames[level + 1 :])
                return sorted(later, key=in_order)
        return None


_ORDER = {"is": 0, "has": 1, "lies": 2, "at": 3, "keeps": 4}
"""The order in which features are left out of a cube: the most special first."""
