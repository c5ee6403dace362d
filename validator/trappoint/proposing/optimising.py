"""The least choice of signals with which a plan holds, exactly.

An integer programme has one unknown for each post, and a row for each need found so far. Its best
choice is looked at by the library's own routes and free runs, and at last by its verdict; what that
choice lacks becomes new rows; and so on until it lacks nothing. Rows only ever say what is true of
every plan that holds, so the first choice that lacks nothing is the least one there is. Arms are
counted likewise: a road that needs an arm is an unknown of its own, found when a choice first has
it.
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
"""States that are gone through for one post, to find where its roads part."""


class NoChoice(Exception):  # noqa: N818 # it is no fault: there is none
    """No choice of posts meets all needs. Says where."""


class CompleteChoice(NamedTuple):
    """A choice that lacks nothing."""

    posts: frozenset[int]
    arms: Counter[int]
    """Of each post: one for each road, and one at least."""
    least: bool
    """True if it is proved that none is worth less."""
    worth: int
    bound: int
    """No choice is worth less than this."""


class Solved(NamedTuple):
    """What the programme came to."""

    posts: frozenset[int]
    arms: list[int]
    """Of each post, as many as are known to be needed, or more."""
    least: list[int]
    bound: int
    """What no choice is worth less than."""
    settled: bool
    """True if it is the best of those that are equal by the first wishes."""
    stopped: bool
    """True if the time was up before it was sure."""


MAX_ARMS = 4096
"""As many routes as a signal may have."""


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
    """What was added and taken away in choices found already: all of one is no alternative."""
    rounds: int = 0
    splits: Counter[Split] = field(default_factory=Counter)
    """With how often each was found: on so many ways."""
    incumbent: CompleteChoice | None = None
    """The best choice so far that lacks nothing."""
    sure: bool = True
    """False once something was asked for that a plan might hold without."""
    floor: tuple[int, int] = (0, 0)
    """So many signals are faulty at least, and with no more no choice is worth less than this."""
    ways_on: WaysOn = field(init=False)

    def __post_init__(self) -> None:
        """Find what is known before any choice is made."""
        if not self.ground.odd:
            self.needs.update(dict.fromkeys(always(finest_of(self.ground, frozenset()))))
        self.ways_on = WaysOn(self.ground)
        self.splits = Counter(self.ways_on.splits())

    def best(self, progress: Callable[[int, int], None] | None = None) -> CompleteChoice | None:
        """Return the least choice that has not all that one found before has; None without one.

        ``progress`` is told the round, and what no choice is worth less than.

        Raises NoChoice where there is none at all; NotInstalled.
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
                return self._within_time(bound)  # What was asked for last is not sure.
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
        """Note what no choice is worth less than that has so few faulty signals."""
        faulty, worth = self.floor
        level = solved.least[0] if solved.settled or not solved.stopped else faulty
        self.floor = (level, solved.bound) if level > faulty else (faulty, max(worth, solved.bound))
        return self.floor[1]

    def _reached(self, solved: Solved) -> bool:
        """Return whether the best choice so far is known to be worth no more than any."""
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
        """Return the arms of a choice that lacks nothing; else note what it lacks."""
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
        """Return what a choice lacks: what is found quickly first, the verdict last."""
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
        """Note the roads for which a choice has fewer arms than it needs."""
        self.splits |= Counter(self.ways_on.splits(choice.chosen, MAX_PARTINGS))
        for key, courses in roads.courses.items():
            if roads.arms[key.post] > arms[key.post]:
                self.roads.setdefault(key, {}).update(dict.fromkeys(courses))

    def _note(self, choice: Choice, arms: Counter[int]) -> None:
        worth = self.wishes.worth(choice.chosen, arms)
        if self.incumbent is None or worth < self.incumbent.worth:
            self.incumbent = CompleteChoice(choice.chosen, arms, False, worth, 0)

    def _solve(self, least: list[int], until: float) -> Solved | None:
        """Solve the programme. ``least``: what the first wishes are known to come to.

        The wishes that only decide between equals are left until then: most choices lack
        something, and need not be the best of their kind.
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
        """Ask for all needs; return the unknowns that say which signals are faulty."""
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
        """Ask for as many arms as roads are known of; return the unknown of each post."""
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
        """Return the best choice found, when there is no time left to find the least."""
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
        """Take posts away one after another, as long as nothing is lacking and it is worth it."""
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
        told = hopeless or list(self.needs)
        return "; ".join(need.where for need in told[:3])


def _ask(
    programme: Programme, posts: Sequence[int], need: Need, *, instead: int | None = None
) -> None:
    """Ask for a need, or for something instead."""
    terms = {posts[number]: 1 for number in need.added}
    for number in need.gone:
        terms[posts[number]] = terms.get(posts[number], 0) - 1
    if instead is not None:
        terms[instead] = 1
    programme.ask(terms, least=1 - len(need.gone))
