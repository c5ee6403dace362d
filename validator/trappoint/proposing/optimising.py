"""The least choice of signals with which a plan holds, proved by integer programming.

The programme has one unknown for each post, and a constraint for each need found so far. Each round
solves it, then tests the best choice: by routes and free runs first, by the full verdict last. The
unmet needs of that choice become new constraints for the next round. Every plan that holds fulfils
all constraints, so the first choice without an unmet need is a least one. (This is constraint
generation, as in cutting planes.) Arms are counted in the same way: a road that needs an arm is
another unknown, added when a choice first has that road.
"""

from __future__ import annotations

import time
from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

from trappoint.parts.integer_programme import Programme, TooLateError
from trappoint.proposing.choice import Choice
from trappoint.proposing.exits import always
from trappoint.proposing.finest_plan import finest_of
from trappoint.proposing.need import Need, TooManyRoads
from trappoint.proposing.need_search import lacks
from trappoint.proposing.objectives import Objective
from trappoint.proposing.proving import prove
from trappoint.proposing.reaching import unreached
from trappoint.proposing.roads import faults_in, roads_in
from trappoint.proposing.splitting import Split, WaysOn

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from trappoint.parts.integer_programme import Terms
    from trappoint.proposing.posts import PostGround
    from trappoint.proposing.roads import Course, NeededRoads, RoadKey

MAX_PARTINGS = 5_000
"""The greatest number of states of the search for the facing points of one post."""


class NoChoice(Exception):  # noqa: N818 # it is no fault: there is none
    """No choice of posts meets all needs. The message names the places."""


class CompleteChoice(NamedTuple):
    """A choice that meets all needs."""

    posts: frozenset[int]
    arms: Counter[int]
    """The number of arms of each post: one for each road, at least one."""
    least: bool
    """True if the choice is proved the least."""
    worth: int
    bound: int
    """A lower limit for the worth of every choice."""


class Solved(NamedTuple):
    """The solution of the integer programme."""

    posts: frozenset[int]
    arms: list[int]
    """The number of arms of each post, at least the known number of its roads."""
    least: list[int]
    bound: int
    """A lower limit for the worth of every choice."""
    settled: bool
    """True if it is also the best by the last wishes, which decide between equals."""
    stopped: bool
    """True if the time limit ended the search."""


MAX_ARMS = 4096
"""The greatest number of arms of a signal: that of its routes."""


@dataclass(slots=True)
class Chooser:
    """Finds the least choices of posts of one plan, one after another."""

    ground: PostGround
    wishes: Objective
    seconds: float = 60.0
    needs: dict[Need, None] = field(default_factory=dict)
    faults: dict[tuple[int, Need], None] = field(default_factory=dict)
    roads: dict[RoadKey, dict[Course, None]] = field(default_factory=dict)
    barred: list[tuple[frozenset[int], frozenset[int]]] = field(default_factory=list)
    """Posts added and removed by each earlier result; a new result must not contain one."""
    rounds: int = 0
    splits: Counter[Split] = field(default_factory=Counter)
    """From each split to the number of ways on which it was found."""
    incumbent: CompleteChoice | None = None
    """The best choice so far that meets all needs."""
    sure: bool = True
    """False after a need that some plan that holds might not meet."""
    floor: tuple[int, int] = (0, 0)
    """The least number of faulty signals, and the least worth of a choice with that number."""
    ways_on: WaysOn = field(init=False)

    def __post_init__(self) -> None:
        """Find the needs and splits that are known without a choice."""
        if not self.ground.odd:
            self.needs.update(dict.fromkeys(always(finest_of(self.ground, frozenset()))))
        self.ways_on = WaysOn(self.ground)
        self.splits = Counter(self.ways_on.splits())

    def best(self, progress: Callable[[int, int], None] | None = None) -> CompleteChoice | None:
        """Return the least choice that contains no earlier result; None if there is none.

        ``progress`` receives the round and the lower limit of the worth. Raises NoChoice if no
        choice meets all needs, NotInstalled if the solver is missing.
        """
        until = time.monotonic() + self.seconds
        self.incumbent = None
        least: list[int] = []
        bound = 0
        while True:
            self.rounds += 1
            try:
                solved = self._solve(least, until)
            except TooLateError:
                return self._within_time(bound)
            if solved is None and least:
                return self._within_time(bound)  # The last need is not certain.
            if solved is None:
                if self.barred:
                    return None
                raise NoChoice(self._why_none())
            if self.sure:
                bound = self._raise_floor(solved)
            if progress is not None:
                progress(self.rounds, bound)
            choice = self._look(solved.posts)
            arms = None if choice is None else self._lacks_nothing(choice, solved.arms)
            if arms is not None and solved.settled:
                return self._take(solved.posts, arms, bound)
            fits = arms is not None
            if time.monotonic() > until:
                return self._within_time(bound)
            if not least and (fits or self._reached(solved)):
                least = solved.least

    def _raise_floor(self, solved: Solved) -> int:
        """Raise the lower limit of the worth, for the least number of faulty signals."""
        faulty, worth = self.floor
        level = solved.least[0] if solved.settled or not solved.stopped else faulty
        self.floor = (level, solved.bound) if level > faulty else (faulty, max(worth, solved.bound))
        return self.floor[1]

    def _reached(self, solved: Solved) -> bool:
        """Return whether the best choice so far is proved the least."""
        best = self.incumbent
        return best is not None and solved.least[0] == 0 and best.worth <= solved.least[1]

    def _take(self, posts: frozenset[int], arms: Counter[int], bound: int) -> CompleteChoice:
        worth = self.wishes.worth(posts, arms)
        self.barred.append((posts & self.wishes.new, self.wishes.old - posts))
        return CompleteChoice(posts, arms, worth <= bound, worth, bound)

    def _free(self) -> frozenset[int]:
        return self.wishes.new | self.wishes.old

    def _look(self, posts: frozenset[int]) -> Choice | None:
        try:
            return Choice(self.ground, posts)
        except TooManyRoads as many:
            self._too_many(posts, str(many))
            return None

    def _too_many(self, posts: frozenset[int], signal: str) -> None:
        # With fewer missing ahead of it, this signal has fewer roads.
        number = self.ground.number[signal]
        free = {n for n, p in enumerate(self.ground.posts) if p.free and n not in posts}
        gone = frozenset((number,)) if self.ground.posts[number].free else frozenset()
        self.needs[Need(frozenset(free), gone, self.ground.posts[number].track)] = None

    def _lacks_nothing(self, choice: Choice, arms: list[int]) -> Counter[int] | None:
        """Return the arms of a choice that meets all needs; else note its unmet needs."""
        lacking = self._lacking(choice)
        self.needs.update(dict.fromkeys(lacking))
        if lacking:
            return None
        faults = [fault for fault in faults_in(choice) if fault not in self.faults]
        self.faults.update(dict.fromkeys(faults))
        if faults:
            return None
        roads = roads_in(choice)
        self._note(choice, roads.arms)
        if all(count <= arms[post] for post, count in roads.arms.items()):
            return roads.arms
        self._count(choice, roads, arms)
        return None

    def _lacking(self, choice: Choice) -> list[Need]:
        """Return the unmet needs of a choice: by quick searches first, by the verdict last."""
        try:
            lacking = lacks(choice)
        except TooManyRoads as many:
            self._too_many(choice.chosen, str(many))
            return list(self.needs)[-1:]
        if not lacking:
            lacking = unreached(choice)
            if self.wishes.practice is not None:
                lacking += self.wishes.practice(choice)
        if lacking:
            return lacking
        proof = prove(choice)
        self.sure = self.sure and proof.sure
        return proof.needs

    def _count(self, choice: Choice, roads: NeededRoads, arms: list[int]) -> None:
        """Note the roads of posts with too few arms."""
        self.splits |= Counter(self.ways_on.splits(choice.chosen, MAX_PARTINGS))
        for key, courses in roads.courses.items():
            if roads.arms[key.post] > arms[key.post]:
                self.roads.setdefault(key, {}).update(dict.fromkeys(courses))

    def _note(self, choice: Choice, arms: Counter[int]) -> None:
        worth = self.wishes.worth(choice.chosen, arms)
        if self.incumbent is None or worth < self.incumbent.worth:
            self.incumbent = CompleteChoice(choice.chosen, arms, False, worth, 0)

    def _solve(self, least: list[int], until: float) -> Solved | None:
        """Solve the programme; return None if it has no solution.

        ``least`` holds the known least values of the first wishes; empty if unknown. Only then the
        last wishes count, which decide between equals: most choices have unmet needs and need not
        be the best of their kind.
        """
        programme = Programme()
        posts = [programme.unknown(1, 0 if post.free else 1) for post in self.ground.posts]
        faulty = self._ask_for_posts(programme, posts)
        arms = self._count_arms(programme, posts)
        worth, last = self.wishes.terms(programme, posts, arms)
        first = [dict.fromkeys(faulty, 1), worth]
        if least:
            for terms, value in zip(first, least, strict=True):
                programme.ask(terms, most=value)
        solution = programme.solve(last if least else first, until)
        if solution is None:
            return None
        bound = (least or solution.least)[1]
        if solution.stopped is not None and not least:
            sure = solution.stopped.at_best if solution.stopped.wish == 1 else None
            bound = 0 if sure is None else sure
        return Solved(
            frozenset(n for n, unknown in enumerate(posts) if solution.values[unknown]),
            [solution.values[arm] for arm in arms],
            least or list(solution.least),
            bound,
            settled=bool(least) and solution.stopped is None,
            stopped=solution.stopped is not None,
        )

    def _ask_for_posts(self, programme: Programme, posts: Sequence[int]) -> list[int]:
        """Add a constraint for each need; return one unknown for each faulty signal."""
        for need in self.needs:
            _ask(programme, posts, need)
        faulty = {number: programme.unknown(1) for number, _ in self.faults}
        for number, need in self.faults:
            _ask(programme, posts, need, instead=faulty[number])
        for numbers in self.ground.rivals:
            programme.ask({posts[number]: 1 for number in numbers}, most=1)
        for added, gone in self.barred:
            terms = {posts[number]: 1 for number in added}
            terms |= {posts[number]: -1 for number in gone}
            programme.ask(terms, most=len(added) - 1)
        return list(faulty.values())

    def _count_arms(self, programme: Programme, posts: Sequence[int]) -> list[int]:
        """Add constraints for an arm on each known road; return each post's number of arms."""
        roads: dict[int, Terms] = {}
        for key, courses in self.roads.items():
            road = programme.unknown(1)
            roads.setdefault(key.post, {})[road] = -1
            for course in courses:
                _ask(programme, posts, Need(course.missing, course.standing, ""), instead=road)
        parting: dict[int, Terms] = {}
        for split, ways in self.splits.items():
            counts = programme.unknown(1)
            parting.setdefault(split.post, {})[counts] = -split.more * ways
            terms = {posts[number]: 1 for number in split.missing}
            programme.ask({**terms, counts: 1, posts[split.post]: -1}, least=0)
        arms = []
        for number, stands in enumerate(posts):
            count = programme.unknown(MAX_ARMS)
            arms.append(count)
            if not self.ground.posts[number].elsewhere:
                programme.ask({count: 1, stands: -1, **parting.get(number, {})}, least=0)
            if number in roads:
                programme.ask({count: 1, **roads[number]}, least=0)
        return arms

    def _within_time(self, bound: int) -> CompleteChoice:
        """Return the best choice found within the time limit."""
        posts = self.ground.everywhere()
        if self.incumbent is None:
            if self._lacking(Choice(self.ground, posts)):
                raise NoChoice(self._why_none())
            self._thin_out(posts)
        best = self.incumbent
        if best is None:
            raise NoChoice(self._why_none())
        return self._take(best.posts, best.arms, bound)

    def _thin_out(self, posts: frozenset[int]) -> None:
        """Remove posts one after another, as long as the choice meets all needs."""
        choice = Choice(self.ground, posts)
        self._note(choice, roads_in(choice).arms)
        for number in sorted(posts & self._free(), reverse=True):
            try:
                fewer = Choice(self.ground, posts - {number})
            except TooManyRoads:
                continue
            before = self.incumbent
            if not self._lacking(fewer):
                self._note(fewer, roads_in(fewer).arms)
                if self.incumbent is not before:
                    posts = fewer.chosen

    def _why_none(self) -> str:
        free = self._free()
        hopeless = [need for need in self.needs if not need.added & free and not need.gone & free]
        shown = hopeless or list(self.needs)
        return "; ".join(need.where for need in shown[:3])


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
