"""Can two trains be brought into one place? Settled by a SAT solver, one way or the other.

*Holds* is proved by an invariant: a set of statements "never is one train so and the other so"
that is true at every start, kept by every step, and leaves no meeting. It is looked for with
statements guessed from the ground (those that steps break are dropped until none breaks), then, if
they leave a meeting, by property-directed reachability (Bradley, "SAT-based model checking without
unrolling", VMCAI 2011). However it was found, the invariant is at last checked by itself: with
another solver, against the single steps of the trains written out anew.

*Does not hold* is shown by a run from a start to a meeting, each step of which is looked at again.

To save steps, the search lets a train go on at once over any number of plain steps and one asked
step after them. What is kept by single steps is kept by these, and a train that runs past the other
one so could as well have met it.
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
    """The answer: an invariant, or a run (a pair of states after each single step)."""

    invariant: tuple[Cube, ...]
    run: tuple[Pair, ...] | None
    by: str
    """How it was found: ``guessed`` or ``searched``."""

    @property
    def holds(self) -> bool:
        return self.run is None


def prove(system: System) -> Proof:
    """Settle whether two trains can be brought together; what is returned has been checked."""
    starts = system.starts
    if not any(system.are_starts((one, other)) for one in starts for other in starts):
        return Proof((), None, "guessed")
    with _Search(system) as search:
        proof = search.guess() or search.search()
    if proof.run is None:
        check_invariant(system, proof.invariant)
    return proof


def _meeting(sat: Sat, step: Step) -> int:
    """A variable that is true where both trains are in one place before the step."""
    both = [
        sat.all_of([variable, step.second.features[feature]])
        for feature, variable in step.first.features.items()
        if feature[0] == "at"
    ]
    return sat.either(both)


class _Search:
    """Property-directed reachability over cubes of two trains, in frames of one big step each.

    Frame 0 is the starts; the cubes of frame i are excluded in every frame up to it, `lasting` ones
    in all frames.
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
        """From each state those that plain steps lead to, and the asked steps that may follow."""
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
        """Prove it with guessed cubes, from which those that do not last have been dropped."""
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
        """Those of the cubes that are never before a step, but can be after one."""
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
        """No two keep one place; no train needs points so that another one would run out freely."""
        system = self.system
        for state in system.states:
            yield from self._cubes(("keeps", state.place), ("keeps", state.place))
        for number, state in enumerate(system.states):
            for after in system.asked[number] if state.grant == AT_REST else ():
                if system.states[after].grant == AT_REST:
                    for group, how in system.lies[after].items():
                        yield from self._cubes(("at", state.place), ("lies", lying(group, how)))

    def _of_free_places(self) -> Iterator[Cube]:
        """No two keep places of those that one train freely comes to from a stand."""
        for number in self._in_stands():
            places = {self.system.states[n].place for n in self._freely(number)}
            for one, other in product(places, repeat=2):
                yield from self._cubes(("keeps", one), ("keeps", other))

    def _cubes(self, one: Feature, other: Feature) -> Iterator[Cube]:
        """That both are true is never so, whichever train is which, unless at a start it is."""
        cube = frozenset({one}), frozenset({other})
        if {one, other} <= self.step.first.features.keys() and not at_start(self.system, cube):
            yield from (cube, mirrored(cube))

    def _in_stands(self) -> Iterator[int]:
        for start in self.system.starts:
            yield from (n for n in self.system.plain[start] if self.system.states[n].place)

    def _freely(self, start: int) -> list[int]:
        """The states that a train comes to from one, without a route and without turning."""
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
        """Look for a run or an invariant, frame after frame."""
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
        """The assumptions for a frame: its own cubes are excluded, and those of all later ones."""
        return self.switches[level:]

    def _pair(self) -> Pair:
        first, second, _ = (self.sat.the_true_one(train.states) for train in self.step)
        return first, second

    def _cube(self, pair: Pair) -> Cube:
        return features(self.system, pair[0]), features(self.system, pair[1])

    def _block(self, met: Pair, top: int) -> list[Pair] | None:
        """Exclude a meeting in the top frame; a run to it where that cannot be."""
        numbers = count()
        # What is to be excluded: the frame, a number that gives them an order, the way to meet.
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
        """A pair of the frame before from which one step leads into a cube from outside it.

        Where there is none, `_core` is what the solver needed of the cube.
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
        """A wider cube that can be excluded there as well, and the highest frame where it can."""
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
        """Leave out what the solver did not need, as far as the rest is at no start."""
        first = self._core[0] or frozenset(sorted(cube[0])[:1])
        second = self._core[1] or frozenset(sorted(cube[1])[:1])
        return cube if at_start(self.system, (first, second)) else (first, second)

    def _exclude(self, cube: Cube, level: int) -> None:
        for each in (cube, mirrored(cube)):
            self.frames[level].add(each)
            self.sat.add(-self.switches[level], *(-lit for lit in self.step.before(each)))

    def _push_on(self) -> list[Cube] | None:
        """Move cubes on to later frames; the invariant where a frame is left with none."""
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
"""What is left out first of a cube: what tells the most."""
