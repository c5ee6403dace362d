"""The parity test: finds tracks that lie the wrong way round, and reversing loops.

Each track has a sense, from its up end to its down end. The sense continues where a down end meets
an up end, and is reversed where two up ends or two down ends meet. Either some tracks can be turned
round so that the sense continues everywhere, or there is a reversing loop: a way round on which the
right-hand rail meets the left-hand one. (F. Harary's balance of signed graphs, 1953.) Turntables
are left out: the table turns its rails with the train.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.model.layout import SLIP_LINKS

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from trappoint.model.layout import Layout


MAX_LOOPS = 501
"""The most reversing loops to find: one more than the findings shown for one rule."""


class Meeting(NamedTuple):
    """Two track ends between which a train can run."""

    one: str
    other: str
    """The ids of the two tracks."""
    at: str
    """The place where they meet: an element's id, or ``joint:NAME``."""
    keeps: bool
    """True if a down end meets an up end."""


class Parity(NamedTuple):
    """The result of the parity test."""

    to_turn: tuple[tuple[str, ...], ...]
    """For each connected part that can be corrected, the fewest tracks to turn round."""
    turned_at: tuple[tuple[str, ...], ...]
    """For each such part, where the tracks to turn meet the others (see ``Meeting.at``)."""
    turned_beside: tuple[tuple[str, ...], ...]
    """For each such part, the other tracks that they meet there."""
    loops: tuple[tuple[str, ...], ...]
    """The tracks of each reversing loop, in order."""
    sections: tuple[str, ...]
    """For each loop, the track to isolate. Isolating all of them leaves no reversing loop."""


def derive_parity(layout: Layout) -> Parity:
    """Return the result of the parity test for a plan with complete legs and joints."""
    meetings = list(_meetings(layout))
    beside: dict[str, list[Meeting]] = {track: [] for track in layout.tracks}
    for meeting in meetings:
        beside[meeting.one].append(meeting)
        if meeting.other != meeting.one:
            beside[meeting.other].append(meeting)
    order = {track: number for number, track in enumerate(layout.tracks)}
    place_of = {meeting: number for number, meeting in enumerate(meetings)}
    to_turn: list[tuple[str, ...]] = []
    loops: list[tuple[tuple[str, ...], str]] = []
    done: set[str] = set()
    for track in layout.tracks:
        if track not in done:
            sense, balanced = _spread(track, beside)
            done.update(sense)
            if not balanced:
                own = _those_of(sense, beside, place_of)
                loops += _reversing_loops(layout, sense, own)
            elif not all(sense.values()):
                names = sorted(sense, key=order.__getitem__)
                kept = [name for name in names if sense[name]]
                turned = [name for name in names if not sense[name]]
                to_turn.append(tuple(turned if len(turned) <= len(kept) else kept))
    borders = [_border(turned, _those_of(turned, beside, place_of)) for turned in to_turn]
    return Parity(
        tuple(to_turn),
        tuple(tuple(dict.fromkeys(m.at for m in border)) for border in borders),
        tuple(
            tuple(dict.fromkeys(m.one if m.other in turned else m.other for m in border))
            for turned, border in zip(map(frozenset, to_turn), borders, strict=True)
        ),
        tuple(loop for loop, _ in loops),
        tuple(section for _, section in loops),
    )


def _those_of(
    tracks: Iterable[str], beside: dict[str, list[Meeting]], place_of: dict[Meeting, int]
) -> list[Meeting]:
    """Return the meetings of some tracks, in the order of the plan."""
    own = {meeting: None for track in tracks for meeting in beside[track]}
    return sorted(own, key=place_of.__getitem__)


def _border(turned: tuple[str, ...], meetings: list[Meeting]) -> list[Meeting]:
    """Return the meetings of some tracks with other tracks."""
    inside = set(turned)
    return [m for m in meetings if (m.one in inside) is not (m.other in inside)]


def _meetings(layout: Layout) -> Iterator[Meeting]:
    ends: dict[tuple[str, str], list[tuple[str, str]]] = {}
    for track in layout.tracks.values():
        for side, end in (("up", track.up), ("down", track.down)):
            found = layout.element(end)
            if end.kind == "joint":
                ends.setdefault(("joint", end.name), []).append((track.id, side))
            elif found is not None and found[0] != "turntables":
                ends.setdefault((f"{found[0]}:{end.name}", end.leg), []).append((track.id, side))
    for (kind, name), met in ends.items():
        if kind == "joint" and len(met) == 2:
            yield _meeting(met[0], met[1], f"joint:{name}")
    for points in layout.points.values():
        for leg in points.lies:
            key = f"points:{points.id}"
            yield _meeting(ends[key, "toe"][0], ends[key, leg][0], points.id)
    for crossing in layout.crossings.values():
        for one, other in (("a1", "a2"), ("b1", "b2"), *SLIP_LINKS[crossing.kind]):
            key = f"crossings:{crossing.id}"
            yield _meeting(ends[key, one][0], ends[key, other][0], crossing.id)


def _meeting(one: tuple[str, str], other: tuple[str, str], at: str) -> Meeting:
    return Meeting(one[0], other[0], at, one[1] != other[1])


def _spread(start: str, beside: dict[str, list[Meeting]]) -> tuple[dict[str, bool], bool]:
    """Return the sense of each track connected to the start, and whether all meetings agree.

    True is the sense of the start.
    """
    sense = {start: True}
    balanced = True
    waiting = [start]
    for track in waiting:
        for meeting in beside[track]:
            other = meeting.other if meeting.one == track else meeting.one
            wanted = sense[track] == meeting.keeps
            if other not in sense:
                sense[other] = wanted
                waiting.append(other)
            elif sense[other] != wanted:
                balanced = False
    return sense, balanced


def _reversing_loops(
    layout: Layout, tracks: dict[str, bool], meetings: list[Meeting]
) -> list[tuple[tuple[str, ...], str]]:
    """Return short reversing loops, each with the track of it to isolate.

    After each loop that track is removed, and the search goes on until no loop is left.

    In the double cover of the graph (each track once for each sense) a shortest way from a track
    to itself in the other sense is a shortest reversing loop through it.
    """
    import networkx

    graph: networkx.Graph[tuple[str, bool]] = networkx.Graph()
    for meeting in meetings:
        for sense in (True, False):
            graph.add_edge((meeting.one, sense), (meeting.other, sense == meeting.keeps))
    found: list[tuple[tuple[str, ...], str]] = []
    settled: set[tuple[str, bool]] = set()
    for track in tracks:
        while (track, True) in graph and (track, True) not in settled:
            try:
                way = networkx.shortest_path(graph, (track, True), (track, False))
            except networkx.NetworkXNoPath:
                # Then no track connected with it in this sense has a reversing loop.
                whole = networkx.node_connected_component(graph, (track, True))
                settled |= whole
                settled |= {(name, not sense) for name, sense in whole}
                break
            if len(found) == MAX_LOOPS:
                return found
            loop = _innermost([name for name, _ in way])
            section = _section(layout, loop)
            found.append((loop, section))
            graph.remove_nodes_from([(section, True), (section, False)])
    return found


def _section(layout: Layout, loop: tuple[str, ...]) -> str:
    """Return the longest track of a loop, since a whole train is likeliest to fit there.

    Without lengths, it is the track furthest from the start of the loop.
    """

    def fitness(place: int) -> tuple[float, int]:
        return layout.tracks[loop[place]].length_mm or 0, -abs(place - len(loop) // 2)

    return loop[max(range(len(loop)), key=fitness)]


def _innermost(way: list[str]) -> tuple[str, ...]:
    """Return a loop without the stem that leads to it and back."""
    first, last = 0, len(way) - 1
    while first + 1 < last - 1 and way[first + 1] == way[last - 1]:
        first, last = first + 1, last - 1
    return tuple(way[first:last])
