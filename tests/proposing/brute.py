"""The fewest signals and arms of a small plan, by trying every choice of posts.

The two-train search decides whether a plan holds; the library is not used. A choice counts if it
holds, and if trains reach all track that they reach with a signal at every end. A signal is faulty
if it has no route, or arms that no `to` can distinguish. The fewest faulty signals come first, then
the fewest signals and arms.
"""

from __future__ import annotations

from collections import Counter, deque
from itertools import combinations, permutations

from oracle.game import OUTSIDE, start_of, steps_of
from oracle.ground import Ground, Route
from oracle.two_trains import holds
from proposing.bare import Plan, signalled, track_ends


def fewest(plan: Plan) -> tuple[int, int]:
    """Return the least number of faulty signals, and with it the least sum of signals and arms."""
    ends = places_for_posts(plan)
    wanted = reached(Ground(signalled(plan, tuple(ends))))
    best = 1 << 30, 1 << 30
    for count in range(len(ends) + 1):
        if best[0] == 0 and 2 * count > best[1]:
            break
        for chosen in combinations(ends, count):
            choice = signalled(plan, chosen)
            ground = Ground(choice)
            worth = pieces(ground)
            if worth < best and wanted <= reached(ground) and holds(choice):
                best = worth
    return best


def places_for_posts(plan: Plan) -> list[tuple[str, str]]:
    """Each end of a track beyond which it goes on; but a drag is no place for a signal."""
    ground = Ground(signalled(plan, ()))
    drags = {track for place in ground._drags for track in tracks_at(ground, place)}
    return [end for end in track_ends(plan) if end[0] not in drags]


def pieces(ground: Ground) -> tuple[int, int]:
    """How many signals are faulty, and how many signals and arms there are.

    Without turntables every route of a signal needs the points otherwise than its others.
    """
    faulty: set[str] = set()
    arms: Counter[str] = Counter()
    for head in ground.all_heads:
        routes = [route for route in ground.all_routes if route.head == head]
        roads = needing_arms(ground, routes)
        arms[head.signal] += len(roads)
        if not routes or confused(ground, roads):
            faulty.add(head.signal)
    return len(faulty), len(arms) + sum(max(1, count) for count in arms.values())


def needing_arms(ground: Ground, routes: list[Route]) -> list[Route]:
    """The routes of a signal without those into a drag, and to a limit if it has others."""
    kept = [route for route in routes if not route.derails]
    return [route for route in kept if not ends_at_limit(ground, route)] or kept


def ends_at_limit(ground: Ground, route: Route) -> bool:
    place, heading = route.spots[-1]
    section = ground.sections.get(place)
    if section is None or place in ground.stands or not section.ends:
        return False
    piece, end = section.ends[heading]
    text = ground.tracks[piece.track][end]
    closed = text == "buffer" or text.startswith("edge:")
    (way,) = ground.ways_out[place, heading]
    return way.head is None and not (piece.reaches(end) and closed)


def confused(ground: Ground, routes: list[Route]) -> bool:
    """Whether one road runs over all tracks that another does, and no sides tell them apart."""
    if all(part_at_points(ground, one, other) for one, other in combinations(routes, 2)):
        return False
    over = [
        {track for place in route.places for track in tracks_at(ground, place)} for route in routes
    ]
    return any(one <= other for one, other in permutations(over, 2))


def part_at_points(ground: Ground, one: Route, other: Route) -> bool:
    """Whether the driver sees one road to the left of the other: they part at facing points."""
    before = one.start
    for left, right in zip(one.spots, other.spots, strict=False):
        if left != right:
            break
        before = left
    return before[1] == "toe"


def tracks_at(ground: Ground, place: str) -> set[str]:
    section = ground.sections.get(place)
    return set() if section is None else {piece.track for piece in section.pieces}


def reached(ground: Ground) -> set[str]:
    """Return the tracks that a lone train reaches from some stand or edge.

    Trap points lie normal for a train without a route over them.
    """
    ground.guards = frozenset(ground.elements.trap_groups)
    queue = deque([OUTSIDE, *(start_of(place) for place in ground.stands)])
    seen = set(queue)
    while queue:
        for act in steps_of(ground, queue.popleft()):
            if act.after not in seen:
                seen.add(act.after)
                queue.append(act.after)
    return {track for train in seen for track in tracks_at(ground, train.place)}
