"""The number of arms that the signals of a choice need, and faults of single signals.

A new signal has an arm for each of its roads, and one disc for all that lead into sidings. In a
siding, one disc serves all its roads. A new signal with more than three arms is at fault, as no
bracket carries more: a signal farther on divides its roads. (Three is common practice, no source;
discs for sidings: Board of Trade requirements 1892, rule 3.)
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

from trappoint.laying.arming import confused_roads, roads_of
from trappoint.proposing.need import NONE, Need, Posts
from trappoint.proposing.sidings import split_roads

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.laying.arming import ArmRoad
    from trappoint.proposing.choice import Choice
    from trappoint.proposing.posts import PostGround

MOST_DOLLS = 3
"""The greatest number of arms side by side that a driver can read."""

DISC = frozenset({("", "disc")})
"""The lies of the key of all roads into sidings."""


class Course(NamedTuple):
    """The posts that a route depends on: missing ones on its way, and standing ones."""

    missing: Posts
    standing: Posts

    def __or__(self, other: Course) -> Course:
        """Return the posts that both depend on."""
        return Course(self.missing | other.missing, self.standing | other.standing)


class RoadKey(NamedTuple):
    """Routes of one signal that share an arm, because they need the same lies."""

    post: int
    head: str
    """Its track, heading and measure: a post may carry arms for several tracks."""
    lies: frozenset[tuple[str, str]]


@dataclass(slots=True)
class NeededRoads:
    """The roads that need an arm each, with the posts that their routes depend on."""

    courses: dict[RoadKey, list[Course]] = field(default_factory=dict)
    arms: Counter[int] = field(default_factory=Counter)
    """The number of arms of each post: one for each road, at least one."""
    discs: set[int] = field(default_factory=set)
    """The posts that have a disc besides their arms."""

    def over(self, ground: PostGround) -> int:
        """Return the number of new signals with more arms than a bracket carries."""
        return sum(
            ground.readable(post) and count - (post in self.discs) > MOST_DOLLS
            for post, count in self.arms.items()
        )


def roads_in(choice: Choice) -> NeededRoads:
    """Return the roads of a choice."""
    found = NeededRoads()
    for head, described in enumerate(choice.net.heads):
        if not described.stops or described.elsewhere:
            continue  # The neighbour's arm gives leave for all its roads.
        post = choice.post_of(described, shunting=False)
        spoken = f"{described.track} {described.heading} {described.at_mm}"
        if choice.ground.shunts_from(post):
            continue
        roads = roads_of(choice.facts, head)
        armed, shunted = armed_roads(choice, post, roads)
        found.arms[post] += len(armed) + bool(shunted)
        if armed and shunted:
            found.discs.add(post)
        for road in roads:
            lies = DISC if road in shunted else _lies(choice, road.routes[0])
            courses = found.courses.setdefault(RoadKey(post, spoken, lies), [])
            courses += [_course_of_road(choice, head, route) for route in road.routes]
    for number, stands in enumerate(choice.standing):
        if stands and not choice.ground.posts[number].elsewhere:
            found.arms[number] = max(1, found.arms[number])
    return found


def armed_roads(
    choice: Choice, post: int, roads: list[ArmRoad]
) -> tuple[list[ArmRoad], list[ArmRoad]]:
    """Return the roads of a post that have an arm each, and those that share its disc."""
    if not choice.ground.posts[post].new:
        return roads, []
    return split_roads(choice.routes, roads, choice.net, choice.ground.sidings)


def _lies(choice: Choice, route: int) -> frozenset[tuple[str, str]]:
    lies = choice.routes.all[route].lies
    return frozenset((choice.net.places[place].name, lie) for place, lie in lies.items())


def _course_of_road(choice: Choice, head: int, route: int) -> Course:
    """Return the posts that make a route need an arm."""
    if choice.net.heads[head].shunts or _at_a_limit(choice, route):
        # That depends on the other routes of its signal too.
        return around(choice, head)
    return course_of(choice, route)


def _at_a_limit(choice: Choice, route: int) -> bool:
    last = choice.routes.all[route].path[-1]
    return choice.net.limit[last] and choice.net.place_of[last] not in choice.net.stand_at


def course_of(choice: Choice, route: int) -> Course:
    """Return the posts that a route depends on."""
    passing = choice.passings[route]
    ends = [number for number in passing.ends if choice.standing[number]]
    return Course(passing.missing[-1], choice.free((passing.post, *ends[:1])))


def around(choice: Choice, head: int) -> Course:
    """Return the posts that the routes of a head depend on: all up to the next stop signals."""
    finest = choice.finest
    home = choice.states_of(choice.net.held_at[head])[-1]
    starts = {exit_.to for exit_ in choice.net.starts(head)}
    own = choice.posts_of(choice.net.heads[head], stops=False)
    first = {choice.states_of(state)[0] for state in starts}
    missing: set[int] = set()
    standing = {number for number in own if choice.standing[number]}
    queue = [move.to for move in finest.moves[home] if move.to in first]
    seen = set(queue)
    for state in queue:
        for move in finest.moves[state]:
            standing.update(number for number in move.posts if choice.standing[number])
            missing.update(number for number in move.posts if not choice.standing[number])
            if not choice.stand(move.stops) and move.to not in seen:
                seen.add(move.to)
                queue.append(move.to)
    return Course(frozenset(missing), choice.free(standing))


def faults_in(choice: Choice) -> list[tuple[int, Need]]:
    """Return the faults of single signals, each with its post.

    A new signal without a route needs a way onwards. Roads of one signal that no ``to`` can
    distinguish need a signal between them.
    """
    return list(_faults(choice))


def _faults(choice: Choice) -> Iterator[tuple[int, Need]]:
    for head, described in enumerate(choice.net.heads):
        if described.elsewhere:
            continue
        if not choice.routes.of_head[head]:
            number = choice.posts_of(described, stops=False)[0]
            if choice.ground.posts[number].free:
                course = around(choice, head)
                yield number, Need(course.missing, course.standing, described.track)
            continue
        if not described.stops:
            continue
        number = choice.post_of(described, shunting=False)
        if choice.ground.shunts_from(number):
            continue
        for routes in confused_roads(choice.facts, head):
            course = Course(NONE, NONE)
            for route in routes:
                course |= course_of(choice, route)
            yield number, Need(course.missing, course.standing, described.track)
