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
from trappoint.proposing.asking import ask_for_brackets, ask_for_posts, count_arms
from trappoint.proposing.choice import Choice
from trappoint.proposing.exits import always
from trappoint.proposing.finest_plan import finest_of
from trappoint.proposing.need import Need, TooManyRoads
from trappoint.proposing.need_search import lacks
from trappoint.proposing.objectives import Objective
from trappoint.proposing.proving import prove
from trappoint.proposing.reaching import unreached
from trappoint.proposing.roads import MOST_DOLLS, faults_in, roads_in
from trappoint.proposing.splitting import Split, WaysOn

if TYPE_CHECKING:
    from collections.abc import Callable

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
    faulty: int = 0
    """The number of signals at fault, those with more arms than a bracket carries included."""


class Solved(NamedTuple):
    """The solution of the integer programme."""

    posts: frozenset[int]
    arms: list[int]
    """The number of arms of each post, at least the known number of its roads."""
    dolls: list[int]
    """The number of these without discs."""
    least: list[int]
    bound: int
    """A lower limit for the worth of every choice."""
    settled: bool
    """True if it is also the best by the last wishes, which decide between equals."""
    stopped: bool
    """True if the time limit ended the search."""


MAX_CLIMBS = 12
"""The greatest number of choices to look at after each solution."""


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
    hard: bool = True
    """True while no new signal may have more arms than a bracket carries."""
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
                if self.hard:
                    self.hard = False
                    continue
                if self.barred:
                    return None
                raise NoChoice(self._why_none())
            if self.sure:
                bound = self._raise_floor(solved)
            if progress is not None:
                progress(self.rounds, bound)
            choice = self._look(solved.posts)
            roads = None if choice is None else self._lacks_nothing(choice, solved)
            if roads is not None and solved.settled:
                return self._take(solved.posts, roads.arms, bound, roads.over(self.ground))
            fits = roads is not None
            if not fits and not least:
                self._climb(solved.posts, until)
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
        if best is None or best.faulty or solved.least[0]:
            return False
        return best.worth <= solved.least[1]

    def _take(
        self, posts: frozenset[int], arms: Counter[int], bound: int, faulty: int
    ) -> CompleteChoice:
        worth = self.wishes.worth(posts, arms)
        self.barred.append((posts & self.wishes.new, self.wishes.old - posts))
        return CompleteChoice(posts, arms, worth <= bound, worth, bound, faulty)

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

    def _lacks_nothing(self, choice: Choice, solved: Solved) -> NeededRoads | None:
        """Return the roads of a choice that meets all needs; else note its unmet needs."""
        lacking = self.lacking(choice)
        self.needs.update(dict.fromkeys(lacking))
        if lacking:
            return None
        faults = [fault for fault in faults_in(choice) if fault not in self.faults]
        self.faults.update(dict.fromkeys(faults))
        if faults:
            return None
        roads = roads_in(choice)
        self._note(choice, roads)
        short = {
            post
            for post, count in roads.arms.items()
            if count > solved.arms[post] or count - (post in roads.discs) > solved.dolls[post]
        }
        if not short:
            return roads
        self._count(choice, roads, short)
        return None

    def _climb(self, posts: frozenset[int], until: float) -> None:
        """Add posts for unmet needs until none is left: that finds many needs for one solution."""
        for _ in range(MAX_CLIMBS):
            added = self._covering(posts)
            if not added or time.monotonic() > until:
                return
            posts |= added
            choice = self._look(posts)
            if choice is None:
                return
            lacking = self.lacking(choice)
            self.needs.update(dict.fromkeys(lacking))
            if not lacking:
                roads = roads_in(choice)
                self.faults.update(dict.fromkeys(faults_in(choice)))
                self._note(choice, roads)
                wide = {post for post, count in roads.arms.items() if count > MOST_DOLLS}
                courses = [each for key in roads.courses if key.post in wide
                           for each in roads.courses[key]]  # fmt: skip
                divided = self._look(posts.union(*(course.missing for course in courses)))
                if wide and divided is not None and not self.lacking(divided):
                    self._note(divided, roads_in(divided))
                self._count(choice, roads, set(roads.arms))
                return

    def _covering(self, posts: frozenset[int]) -> frozenset[int]:
        """Return posts that meet all known needs, the most useful first."""
        open_ = [need.added for need in self.needs if need.added and not _met(need, posts)]
        found: set[int] = set()
        while open_:
            uses = Counter(number for added in open_ for number in added)
            best = max(uses, key=lambda number: (uses[number], -number))
            found.add(best)
            open_ = [added for added in open_ if best not in added]
        return frozenset(found)

    def lacking(self, choice: Choice) -> list[Need]:
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

    def _count(self, choice: Choice, roads: NeededRoads, short: set[int]) -> None:
        """Note the roads of posts with too few arms."""
        self.splits |= Counter(self.ways_on.splits(choice.chosen, MAX_PARTINGS))
        for key, courses in roads.courses.items():
            if key.post in short:
                self.roads.setdefault(key, {}).update(dict.fromkeys(courses))

    def _note(self, choice: Choice, roads: NeededRoads) -> None:
        """Keep a choice that meets all needs if it is the best so far."""
        worth = self.wishes.worth(choice.chosen, roads.arms)
        faulty = len({post for post, _ in faults_in(choice)}) + roads.over(self.ground)
        best = self.incumbent
        if best is None or (faulty, worth) < (best.faulty, best.worth):
            self.incumbent = CompleteChoice(choice.chosen, roads.arms, False, worth, 0, faulty)

    def _solve(self, least: list[int], until: float) -> Solved | None:
        """Solve the programme; return None if it has no solution.

        ``least`` holds the known least values of the first wishes; empty if unknown. Only then the
        last wishes count, which decide between equals: most choices have unmet needs and need not
        be the best of their kind.
        """
        programme = Programme()
        posts = [programme.unknown(1, 0 if post.free else 1) for post in self.ground.posts]
        faulty = ask_for_posts(self, programme, posts)
        arms, dolls = count_arms(self, programme, posts)
        faulty += ask_for_brackets(self, programme, dolls)
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
            [solution.values[doll] for doll in dolls],
            least or list(solution.least),
            bound,
            settled=bool(least) and solution.stopped is None,
            stopped=solution.stopped is not None,
        )

    def _within_time(self, bound: int) -> CompleteChoice:
        """Return the best choice found within the time limit, without posts that it can spare."""
        posts = self.ground.everywhere()
        if self.incumbent is None:
            if self.lacking(Choice(self.ground, posts)):
                raise NoChoice(self._why_none())
        else:
            posts = self.incumbent.posts
        self._thin_out(posts)
        best = self.incumbent
        if best is None:
            raise NoChoice(self._why_none())
        return self._take(best.posts, best.arms, bound, best.faulty)

    def _thin_out(self, posts: frozenset[int]) -> None:
        """Remove posts one after another, as long as the choice meets all needs."""
        choice = Choice(self.ground, posts)
        self._note(choice, roads_in(choice))
        known = list(self.needs)
        for number in sorted(posts & self._free(), reverse=True):
            if any(number in need.added and not _met(need, posts - {number}) for need in known):
                continue
            try:
                fewer = Choice(self.ground, posts - {number})
            except TooManyRoads:
                continue
            before = self.incumbent
            if not self.lacking(fewer):
                self._note(fewer, roads_in(fewer))
                if self.incumbent is not before:
                    posts = fewer.chosen

    def _why_none(self) -> str:
        free = self._free()
        hopeless = [need for need in self.needs if not need.added & free and not need.gone & free]
        shown = hopeless or list(self.needs)
        return "; ".join(need.where for need in shown[:3])


def _met(need: Need, posts: frozenset[int]) -> bool:
    return not need.added.isdisjoint(posts) or not need.gone <= posts
