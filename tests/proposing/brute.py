"""The fewest signals and arms of a small plan, by trying every choice of posts.

The two-train search decides whether a plan holds; the library is not used. A choice counts if it
holds, if trains reach all track that they reach with a signal at every end, and if no route runs
through one platform to another. A signal is faulty if it has no route, arms
that no `to` can distinguish, or more than three arms. All roads into sidings share a disc. The
fewest faulty signals come first, then the fewest signals and arms. Which tracks are sidings is a
convention, so the library's own answer is used.
"""

from __future__ import annotations

from collections import Counter, deque
from itertools import combinations, pairwise, permutations

from oracle.game import OUTSIDE, start_of, steps_of
from oracle.ground import Ground, Route
from oracle.two_trains import holds
from proposing.bare import Plan, signalled, track_ends
from trappoint.model.building import build_layout
from trappoint.proposing.posts import survey


def fewest(plan: Plan) -> tuple[int, int]:
    """Return the least number of faulty signals, and with it the least sum of signals and arms."""
    ends = places_for_posts(plan)
    wanted = reached(Ground(signalled(plan, tuple(ends))))
    sidings = sidings_of(plan)
    best = 1 << 30, 1 << 30
    for count in range(len(ends) + 1):
        if best[0] == 0 and 2 * count > best[1]:
            break
        for chosen in combinations(ends, count):
            choice = signalled(plan, chosen)
            ground = Ground(choice)
            worth = pieces(ground, sidings)
            if worth >= best or not wanted <= reached(ground) or runs_past(ground, plan):
                continue
            if holds(choice):
                best = worth
    return best


def places_for_posts(plan: Plan) -> list[tuple[str, str]]:
    """Each end of a track beyond which it goes on; but a drag is no place for a signal."""
    ground = Ground(signalled(plan, ()))
    drags = {track for place in ground._drags for track in tracks_at(ground, place)}
    return [end for end in track_ends(plan) if end[0] not in drags]


def sidings_of(plan: Plan) -> frozenset[str]:
    """Return the tracks where discs give leave."""
    layout = build_layout({key: value for key, value in plan.items() if key != "signals"})
    return survey(layout).sidings


def pieces(ground: Ground, sidings: frozenset[str] = frozenset()) -> tuple[int, int]:
    """How many signals are faulty, and how many signals and arms there are.

    Without turntables every route of a signal needs the points otherwise than its others.
    """
    faulty: set[str] = set()
    arms: Counter[str] = Counter()
    for head in ground.all_heads:
        kind = "stop" if "stop" in head.kinds else "shunt"
        routes = [r for r in ground.all_routes if r.head == head and r.kind == kind]
        if head.track in sidings:
            arms[head.signal] += 1
            if not routes:
                faulty.add(head.signal)
            continue
        roads = needing_arms(ground, routes)
        armed = [road for road in roads if not into_siding(ground, road, sidings)]
        arms[head.signal] += len(armed) + (len(armed) < len(roads))
        if not routes or confused(ground, roads) or len(armed) > 3:
            faulty.add(head.signal)
    return len(faulty), len(arms) + sum(max(1, count) for count in arms.values())


def into_siding(ground: Ground, route: Route, sidings: frozenset[str]) -> bool:
    """Whether a route ends in a siding."""
    return not sidings.isdisjoint(tracks_at(ground, route.spots[-1][0]))


def runs_past(ground: Ground, plan: Plan) -> bool:
    """Whether a route runs through a platform to another."""
    platforms = plan.get("platforms", {}).items()
    for route in ground.all_routes:
        beside = [
            {name for name, platform in platforms if tracks & {*platform["tracks"]}}
            for tracks in (tracks_at(ground, place) for place, _ in route.spots)
        ]
        served = [names for names in beside if names]
        if any(one.isdisjoint(other) for one, other in pairwise(served)):
            return True
    return False


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
