"""The room from a stand over points and crossings to the next signal.

A stand may have no signal before the next points. A train from it is held beyond them, and may
reach back to the stand: in a plan that holds, no other train has a route over any part of that way.
The room is the length from that signal back to the limit behind the stand. It is known only if all
lengths on the way are given and only one way leads there.
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
"""Most states in the search for the next signals."""


class RoomOnward(NamedTuple):
    """The room of a train that is held beyond points and reaches back to a stand."""

    room: Room
    over: tuple[str, ...]
    """The points and crossings under the train, from the stand on."""


def derive_rooms_onward(facts: Facts) -> list[RoomOnward]:
    """Return the room of each stand from which a train runs over points to the next signal."""
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
    """Return the room from a stand to the end of a way of states; None if it is unknown."""
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
    """Yield the way from ``start`` (left out) to each state in which a head holds a train.

    States that several ways lead to are left out. With ``past_shunts`` the ways run past shunt
    signals, which are off, and past the head at ``start``.
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
    """Return the length of the places of these states in mm; None if a length is missing.

    Over points it follows the centre lines of the toe and the leg to their meeting. A curved leg is
    slightly shorter: by 0.15 mm for 1 in 8 with a radius of 900 mm.
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
    """Return the length of an element from the leg of entry to the leg of exit; None if unknown."""
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
    return None  # a slip, a turntable or a yard
