"""The network of a plan: the places that hold one train at a time, and the moves between them.

A *place* is a section (see ``sections``), an element (points, crossing, turntable) or a yard. A
*state* is a place with the way in which a train occupies it: the heading in a section, the leg by
which it came in at an element, nothing in a yard. An *exit* leads from a state to the next, with
the lie that it needs and the head that it passes. A *head* can hold a train: it is the stop and
shunt arms at one spot for the trains of one track with one heading. States, places and heads have
numbers, which are indexes of plain lists.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from typing import TYPE_CHECKING, Literal, NamedTuple

from trappoint.core.findings import pointer_to
from trappoint.model.layout import BEYOND, edge_beyond

if TYPE_CHECKING:
    from trappoint.model.layout import Head, Heading, Layout
    from trappoint.topology.sections import Piece

PlaceKind = Literal["section", "points", "crossings", "turntables", "yards"]


class Place(NamedTuple):
    """A part of the layout that only one train at a time may occupy."""

    kind: PlaceKind
    id: str
    """The id of the track, the element or the yard."""
    part: int
    """For a section of a cut track, its number from 1, counted from the up end; otherwise 0."""
    name: str
    """A name unique in the plan; for most places the id itself."""

    @property
    def elsewhere(self) -> bool:
        """True if it is on the neighbouring board, beyond a held edge."""
        return self.id.startswith(BEYOND)

    @property
    def pointer(self) -> str:
        """The JSON pointer of the track, element or yard; of the held edge if it is beyond one."""
        if self.elsewhere:
            return pointer_to("edges", edge_beyond(self.id))
        return pointer_to("tracks" if self.kind == "section" else self.kind, self.id)


class Exit(NamedTuple):
    """One move out of a state."""

    to: int
    """The state that it leads to."""
    element: int = -1
    """The place of the element whose lie it needs; -1 if it needs none."""
    lie: str = ""
    head: int = -1
    """The head that it passes; -1 if no head faces the train."""
    facing: bool = False
    """True if the lie decides the way: from the toe of points, or from a slip's leg with two ways.
    If False, a train can run through points that lie wrong."""


class Stand(NamedTuple):
    """A place where a train may stand and set off again."""

    place: int
    states: tuple[int, ...]
    """The states in which a train can set off: one for each heading allowed."""


class Entry(NamedTuple):
    """An edge by which trains come on to the plan."""

    edge: str
    """The name of the edge."""
    state: int
    """The state of a train that has just come on."""


class Network:
    """All places, states and moves of a plan. Built once, then only read."""

    layout: Layout
    """The layout with the tracks and signals beyond its held edges (see ``held_edges``)."""
    places: list[Place]
    place_of: list[int]
    """The place of each state."""
    way: list[str]
    """For each state, the heading (section), the leg of entry (element) or empty (yard)."""
    exits: list[tuple[Exit, ...]]
    """The moves out of each state; from the toe of points, from left to right."""
    terminal: list[bool]
    """True for the states in which the train's track ends at a buffer or an edge."""
    limit: list[bool]
    """True for the states of a section from which no train may run on although the track goes on (a
    limit of shunt)."""
    leaves: list[bool]
    """True for the states from which a train may leave the plan by an edge."""
    heads: list[Head]
    held_at: list[int]
    """The state in which each head holds a train; -1 for a head without effect in a yard."""
    opposed: list[int]
    """The head back to back with each head, at the same cut or joint; -1 if there is none."""
    facing: list[int]
    """The head that faces a train in each state of a section; -1 if there is none."""
    stands: list[Stand]
    stand_at: dict[int, int]
    """The number of the stand at each place that has one."""
    entries: list[Entry]
    """The edges by which trains come on, in the order of the tracks."""
    states_of: list[list[int]]
    """The states of each place."""
    sections: dict[str, list[dict[Heading, int]]]
    """The states of each track by its own headings, piece by piece from the up end. Pieces of one
    section have the same states. Tracks entirely within a yard are left out."""
    pieces: dict[int, tuple[Piece, ...]]
    """The pieces of each section, in the order in which a down train meets them."""
    barred: dict[int, list[str]]
    """For each state, the tracks beyond it that trains may not enter because of `running`."""
    is_element: list[bool]
    """True for the places that are points, a crossing or a turntable."""
    drags: set[int]
    """The sections that only catch vehicles diverted by trap points."""
    cuts: dict[str, list[float]]
    """The cuts of each track that is not entirely within a yard, in mm from its up end."""

    def __init__(self, layout: Layout, heads: list[Head]) -> None:
        self.layout = layout
        self.places = []
        self.place_of = []
        self.way = []
        self.exits = []
        self.terminal = []
        self.limit = []
        self.leaves = []
        self.heads = heads
        self.held_at = []
        self.opposed = []
        self.facing = []
        self.stands = []
        self.stand_at = {}
        self.entries = []
        self.states_of = []
        self.sections = {}
        self.pieces = {}
        self.barred = {}
        self.is_element = []
        self.drags = set()
        self.cuts = {}

    def starts(self, head: int) -> tuple[Exit, ...]:
        """Return the exits that lead past a head; empty if it has no effect."""
        state = self.held_at[head]
        if state < 0:
            return ()
        return tuple(exit_ for exit_ in self.exits[state] if exit_.head == head)

    def section_state(self, track: str, heading: Heading, at_mm: float | None) -> int | None:
        """Return the state of a train beside a post on a track; None if the post is in a yard.

        ``at_mm`` is the distance from the track's up end; None is right at the end run to.
        """
        sections = self.sections.get(track)
        if sections is None:
            return None
        if at_mm is None:
            state = sections[-1 if heading == "down" else 0][heading]
        else:
            beside = bisect_left if heading == "down" else bisect_right
            state = sections[beside(self.cuts[track], at_mm)][heading]
        return None if self.place(state).kind == "yards" else state

    def place(self, state: int) -> Place:
        """Return the place of a state."""
        return self.places[self.place_of[state]]

    def heading(self, state: int) -> Heading | None:
        """Return the heading of a state in a section; None if it is not in a section."""
        if self.place(state).kind != "section":
            return None
        return "down" if self.way[state] == "down" else "up"

    def tracks_of(self, place: int) -> tuple[str, ...]:
        """Return the tracks of a section, in the order of a down train, or those of a yard.

        For a place beyond a held edge the result is empty: the plan has no track there.
        """
        described = self.places[place]
        if described.kind == "yards":
            return self.layout.yards[described.id].tracks
        if described.elsewhere:
            return ()
        return tuple(dict.fromkeys(piece.track for piece in self.pieces.get(place, ())))

    def tracks_run(self, state: int) -> tuple[str, ...]:
        """Return the tracks of a section, in the order of this train, or those of a yard."""
        tracks = self.tracks_of(self.place_of[state])
        return tracks[::-1] if self.heading(state) == "up" else tracks

    def last_piece(self, state: int) -> tuple[Piece, Heading]:
        """Return the piece at the end that a train in a section runs to, and its heading there.

        The heading is that of the piece's own track.
        """
        heading = self.heading(state) or "down"
        piece = self.pieces[self.place_of[state]][-1 if heading == "down" else 0]
        return piece, piece.heading(heading)
