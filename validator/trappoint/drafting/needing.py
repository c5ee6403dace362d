"""What a choice of signals lacks: at each exit at which a train is not held, what would mend it.

The local test of ``trappoint.holding`` passes where three conditions hold of every stand. Where
one fails for a choice of posts, it fails for every choice in which the same posts stand, and the
same are missing, along the ways that show it. So each failure gives a *need*: one of these posts
must be added, or one of those taken away. All plans that fail the test break some need of this
kind; so the least plan that meets every need found so far is, once it breaks none, the least plan.
"""

from __future__ import annotations

from collections import Counter, deque
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations, pairwise
from typing import TYPE_CHECKING, NamedTuple

from trappoint.drafting.arming import confused_roads
from trappoint.drafting.posts import Ground, Spot, onward
from trappoint.drafting.splitting import sure_beyond
from trappoint.facts import Facts

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from trappoint.network import Exit, Network
    from trappoint.routes import Route, Routes

MOST_LOOKS = 3_000_000
"""Places of free runs and routes that are compared for one choice."""


class TooManyRoads(Exception):  # noqa: N818 # it is no fault, only a question too large
    """A choice of signals leaves more routes than can be followed. Names the signal."""


class Need(NamedTuple):
    """One of ``added`` must stand, or one of ``gone`` must not."""

    added: frozenset[int]
    gone: frozenset[int]
    where: str
    """What goes wrong otherwise, for a plan in which none of it can be done."""


class Course(NamedTuple):
    """A way that a train runs, and what lets it: the posts missing and standing on it."""

    missing: frozenset[int]
    standing: frozenset[int]

    def __or__(self, other: Course) -> Course:
        """Return what lets a train run both ways."""
        return Course(self.missing | other.missing, self.standing | other.standing)


NOWHERE = Course(frozenset(), frozenset())


class RoadKey(NamedTuple):
    """Roads of one signal for which one arm is enough: they need the points alike."""

    post: int
    head: str
    """Its track, heading and measure: a post may carry arms for several tracks."""
    lies: frozenset[tuple[str, str]]


@dataclass(slots=True)
class Reach:
    """Where a train in a stand can freely come to, in one heading."""

    stand: int
    name: str
    own: int
    courses: dict[int, Course]
    """From each place reached to the way that fewest posts would bar."""


class Choice:
    """One choice of posts, and the plan that it makes."""

    def __init__(self, ground: Ground, chosen: Iterable[int]) -> None:
        self.ground = ground
        self.chosen = frozenset(chosen)
        self.layout = ground.layout(self.chosen)
        self.facts = Facts(self.layout)
        self.net: Network = self.facts.network
        self.routes: Routes = self.facts.routes
        if self.routes.crowded:
            raise TooManyRoads(self.net.heads[next(iter(self.routes.crowded))].signal)
        self._number = {post.name: number for number, post in enumerate(ground.posts)}
        self._stays = [
            head.stops and not ground.posts[self._number[head.signal]].free
            for head in self.net.heads
        ]
        self.reaches = [
            self._reach(run.stand, run.start) for run in self.facts.free_runs if run.reached
        ]

    # --- what stands and what is missing along a way

    def missing_between(self, state: int, to: int) -> frozenset[int]:
        """Return the posts of which one would face a train between two states, if it stood."""
        net, ground = self.net, self.ground
        place = net.place(state)
        spot: Spot | None = None
        if place.kind == "section":
            beyond = net.place(to)
            heading = net.heading(state)
            if heading and (beyond.kind != "section" or beyond.id != place.id):
                spot = place.id, heading
        elif place.kind == "yards":
            spot = ground.exits.get((place.id, onward(net, to)))
        numbers = ground.at_end.get(spot, ()) if spot else ()
        return frozenset() if any(map(self.stands, numbers)) else frozenset(numbers)

    def stands(self, number: int) -> bool:
        """Tell whether a post is part of this plan."""
        return number in self.chosen or not self.ground.posts[number].free

    def _cuts(self, states: Iterable[int]) -> Course:
        """Return the posts along the tracks of these states, which make sections of them."""
        tracks = {
            place.id for state in states if (place := self.net.place(state)).kind == "section"
        }
        along = [n for track in tracks for n in self.ground.along.get(track, ())]
        return Course(
            frozenset(n for n in along if not self.stands(n)),
            frozenset(n for n in along if self.stands(n)),
        )

    def course(self, states: Sequence[int]) -> Course:
        """Return what lets a train run through these states."""
        missing = (self.missing_between(one, other) for one, other in pairwise(states))
        found = Course(frozenset().union(*missing), frozenset())
        return found | self._cuts(states) if self.ground.along else found

    def route_course(self, route: Route) -> Course:
        """Return what makes a route what it is."""
        net = self.net
        found = self.course((net.held_at[route.head], *route.path))
        ends = net.facing[route.path[-1]]
        numbers = {self._number[net.heads[head].signal] for head in (route.head, ends) if head >= 0}
        numbers |= {self._number[net.heads[head].signal] for head in route.past}
        own = frozenset(number for number in numbers if self.ground.posts[number].free)
        return Course(found.missing, found.standing | own)

    def _reach(self, stand: int, start: int) -> Reach:
        """Run freely from a stand, by the ways on which fewest posts are missing."""
        net = self.net
        came: dict[int, int] = {start: -1}
        least = {start: 0}
        queue = deque([start])
        done: set[int] = set()
        courses: dict[int, Course] = {}
        own = net.place_of[start]
        while queue:
            state = queue.popleft()
            if state in done:
                continue
            done.add(state)
            if net.place_of[state] != own and net.place_of[state] not in courses:
                courses[net.place_of[state]] = self.course(_path(came, state))
            for exit_ in net.exits[state]:
                if exit_.head >= 0:
                    continue
                bars = bool(self.missing_between(state, exit_.to))
                cost = least[state] + bars
                if cost < least.get(exit_.to, 1 << 30):
                    least[exit_.to] = cost
                    came[exit_.to] = state
                    (queue.append if bars else queue.appendleft)(exit_.to)
        if self.ground.along:
            courses = {place: course | self._cuts([start]) for place, course in courses.items()}
        name = f"{net.places[own].name} {net.way[start]}".strip()
        return Reach(stand, name, own, courses)

    # --- needs

    def needs(self) -> list[Need]:
        """Return what this choice lacks: nothing where the local test passes."""
        found = list(self._between_stands())
        self._looks = 0
        for reach in self.reaches:
            found += self._of_routes(reach)
        return _shortest(found)

    def _need(self, course: Course, where: str) -> Need:
        return Need(course.missing, course.standing, where)

    def _between_stands(self) -> Iterator[Need]:
        """Conditions 1 and 2: no other stand in a free run, nor another's free run."""
        at: dict[int, list[Reach]] = {}
        for reach in self.reaches:
            for place, course in reach.courses.items():
                at.setdefault(place, []).append(reach)
                if place in self.net.stand_at:
                    yield self._need(course, f"{reach.name} > {self.net.places[place].name}")
        best: dict[tuple[int, int], tuple[int, Course, str]] = {}
        for place, reaches in at.items():
            for one, other in combinations(reaches, 2):
                if one.stand == other.stand:
                    continue
                course = one.courses[place] | other.courses[place]
                key = id(one), id(other)
                size = len(course.missing) + len(course.standing)
                if key not in best or size < best[key][0]:
                    where = f"{one.name} > {self.net.places[place].name} < {other.name}"
                    best[key] = size, course, where
        for _, course, where in best.values():
            yield self._need(course, where)

    def _of_routes(self, reach: Reach) -> Iterator[Need]:
        """Condition 3: every route that has any place of a free run has all of it."""
        own = reach.own
        seen: set[int] = set()
        courses = {own: NOWHERE, **reach.courses}
        for place in courses:
            for number in self.routes.having[place]:
                self._looks += 1
                if self._looks > MOST_LOOKS:
                    raise TooManyRoads(self.net.heads[self.routes.all[number].head].signal)
                if number in seen:
                    continue
                seen.add(number)
                route = self.routes.all[number]
                if any(place not in route.places for place in courses):
                    yield self._of_route(reach, courses, route)

    def _of_route(self, reach: Reach, courses: dict[int, Course], route: Route) -> Need:
        """Return what must be different for a route that has some of a free run, but not all."""
        had = [place for place in courses if place in route.places]
        lacked = min(
            (place for place in courses if place not in route.places),
            key=lambda place: _size(courses[place]),
        )
        place = min(had, key=lambda place: _size(courses[place]))
        where = (
            f"{reach.name} > {self.net.places[place].name} < {self.net.heads[route.head].signal}"
        )
        free = courses[place] | courses[lacked]
        shown = self._until(route, place, lacked)
        return self._need(free | (self.route_course(route) if shown is None else shown), where)

    def _until(self, route: Route, place: int, lacked: int) -> Course | None:
        """Return what leads a route to a place, where it goes on from there whatever stands.

        None where that is not sure: then its end is part of what makes it what it is.
        """
        if self.ground.along:
            return None
        net, path = self.net, route.path

        def bars(exit_: Exit) -> bool:
            return exit_.head >= 0 and self._stays[exit_.head]

        home = net.held_at[route.head]
        if not sure_beyond(net, self.facts.together, path, route.needs, bars, home, lacked):
            return None
        until = next(step for step, state in enumerate(path) if net.place_of[state] == place)
        found = self.course((net.held_at[route.head], *path[: until + 1]))
        number = self._number[net.heads[route.head].signal]
        own = frozenset((number,)) if self.ground.posts[number].free else frozenset()
        return Course(found.missing, found.standing | own)

    def faults(self) -> list[tuple[int, Need]]:
        """Return what is wrong with single signals, each with the post.

        A new signal that has no route needs a way on; roads of one signal that no names tell apart
        need something between them.
        """
        found: list[tuple[int, Need]] = []
        for head, described in enumerate(self.net.heads):
            number = self._number[described.signal]
            if not self.routes.of_head[head]:
                if self.ground.posts[number].free:
                    need = Need(self._ahead(head), frozenset((number,)), described.track)
                    found.append((number, need))
                continue
            for routes in confused_roads(self.facts, head):
                course = NOWHERE
                for route in routes:
                    course |= self.route_course(self.routes.all[route])
                found.append((number, self._need(course, described.track)))
        return found

    def _ahead(self, head: int) -> frozenset[int]:
        """Return the posts missing anywhere before the next signals."""
        missing: set[int] = set()
        seen = {exit_.to for exit_ in self.net.starts(head)}
        queue = list(seen)
        for state in queue:
            for exit_ in self.net.exits[state]:
                missing |= self.missing_between(state, exit_.to)
                if exit_.head < 0 and exit_.to not in seen:
                    seen.add(exit_.to)
                    queue.append(exit_.to)
        return frozenset(missing)

    # --- arms

    @cached_property
    def roads(self) -> dict[RoadKey, list[Course]]:
        """Return the roads that need an arm each, with what makes each of their routes one."""
        found: dict[RoadKey, list[Course]] = {}
        for route in self.routes.all:
            number = self._number[self.net.heads[route.head].signal]
            if not route.needs_arm or route.shunting:
                continue
            head = self.net.heads[route.head]
            spoken = f"{head.track} {head.heading} {head.at_mm}"
            key = RoadKey(number, spoken, self._lies(route))
            found.setdefault(key, []).append(self.route_course(route))
        return found

    @cached_property
    def arms(self) -> Counter[int]:
        """Return how many arms each post must have: one for each road, and one at least."""
        count = Counter(key.post for key in self.roads)
        standing = (n for n in range(len(self.ground.posts)) if self.stands(n))
        return Counter({number: max(1, count[number]) for number in standing})

    def _lies(self, route: Route) -> frozenset[tuple[str, str]]:
        return frozenset((self.net.places[place].name, lie) for place, lie in route.lies.items())


def _size(course: Course) -> int:
    return len(course.missing) + len(course.standing)


def _path(came: dict[int, int], state: int) -> list[int]:
    path = [state]
    while came[path[-1]] >= 0:
        path.append(came[path[-1]])
    return path[::-1]


def _shortest(needs: Iterable[Need]) -> list[Need]:
    """Drop the needs that follow from shorter ones."""
    kept: list[Need] = []
    for need in sorted(set(needs), key=lambda need: (len(need.added) + len(need.gone), need.where)):
        if not any(one.added <= need.added and one.gone <= need.gone for one in kept):
            kept.append(need)
    return kept
