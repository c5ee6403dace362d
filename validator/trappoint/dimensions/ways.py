"""How far it is over points, crossings and joints to where a train is held.

A train that sets off from a stand with no signal to hold it before the next points is held beyond
them, and may reach back to the stand: in a plan that holds, no other train has a route over part of
what lies between. It may be as long as what is between the signal and what bounds it at its rear.
Only where every length on the way is given, and where there is one way alone, is it told.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, NamedTuple

from trappoint.dimensions.borders import about, place_length, run_over, total
from trappoint.dimensions.rooms import Rooms, room_between
from trappoint.model.layout import opposite

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.dimensions.rooms import Room
    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Crossing, Points
    from trappoint.topology.network import Network

MAX_STATES = 2000
"""Farther on than so many states nothing is looked for."""


class RoomOnward(NamedTuple):
    """The length of a train that is held at a signal beyond points and reaches back to a stand."""

    room: Room
    over: tuple[str, ...]
    """The points and crossings that it lies over, from the stand on."""


def derive_rooms_onward(facts: Facts) -> list[RoomOnward]:
    """Return the room of every stand from which a train runs on over points to where it is held."""
    network, rooms = facts.network, Rooms(facts)
    return [
        found
        for stand in network.stands
        for start in stand.states
        if network.heading(start) is not None and network.facing[start] < 0
        for path in ways_to_heads(network, start)
        if (found := _onward(rooms, start, path)) is not None
    ]


def _onward(rooms: Rooms, start: int, path: list[int]) -> RoomOnward | None:
    """Return the room from a stand on to where a way of states ends; None if none is known."""
    network = rooms.network
    over = [place for place in map(network.place, path) if place.kind != "section"]
    length = path_length(network, [start, *path])
    heading = network.heading(start)
    if not over or length is None or heading is None or network.heading(path[-1]) is None:
        return None
    behind, ahead = rooms.bound(about(network, start)), rooms.bound(path[-1])
    ends = (behind, ahead) if heading == "down" else (ahead, behind)
    place = network.place(start)
    room = room_between(place.name, network.layout.tracks[place.id], True, length, *ends)
    return None if room.at_most_mm is None else RoomOnward(room, tuple(one.id for one in over))


def ways_to_heads(network: Network, start: int, past_shunts: bool = False) -> Iterator[list[int]]:
    """Yield the states from one on (left out) to each in which a head holds a train.

    Of those to which more than one way leads, none. ``past_shunts`` leads past shunt signals that
    are off, and past what stands beside a train in the first state.
    """

    def holds(state: int) -> bool:
        head = network.facing[state]
        return head >= 0 and (network.heads[head].stops or not past_shunts)

    came_from = {start: -1}
    ways_in: Counter[int] = Counter()
    queue = [start]
    for state in queue:
        if holds(state) and not (past_shunts and state == start):
            continue
        for exit_ in network.exits[state]:
            ways_in[exit_.to] += 1
            if exit_.to not in came_from:
                came_from[exit_.to] = state
                queue.append(exit_.to)
        if len(queue) > MAX_STATES:
            return
    for held in filter(holds, queue[1:]):
        path, back = [], held
        while back != start:
            path.append(back)
            back = came_from[back]
        if all(ways_in[one] == 1 for one in path):
            yield path[::-1]


def path_length(network: Network, states: list[int]) -> float | None:
    """Return how long all that these states lie in is; None if a length is not given.

    Over points it is measured along the centre lines of the toe and of the leg, which meet. Where
    the leg is curved its road is shorter by a little: by 0.15 mm on 1 in 8 of 900 mm radius.
    """
    lengths = []
    for number, state in enumerate(states):
        place = network.place(state)
        if place.kind == "section":
            lengths.append(place_length(network, network.place_of[state]))
        else:
            lengths.append(_through(network, state, states[number + 1]))
    return total(lengths)


def _through(network: Network, state: int, onward: int) -> float | None:
    """Return how long an element is between the leg come in by and the one left by."""
    layout, place, heading = network.layout, network.place(state), network.heading(onward)
    if heading is None:
        return None
    first = run_over(network, onward)[0]
    leg, out = (
        network.way[state],
        layout.tracks[first.track].end(opposite(first.heading(heading))).leg,
    )
    element: Points | Crossing
    if place.kind == "points":
        element = layout.points[place.id]
        return total((element.leg_mm, element.toe_mm))
    if place.kind == "crossings" and leg[0] == out[0]:
        element = layout.crossings[place.id]
        return total((element.leg_mm, element.leg_mm))
    return None  # the road of a slip, a turntable, a yard
