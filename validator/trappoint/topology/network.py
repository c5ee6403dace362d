"""Places and moves: where one train at a time may be, and where it may go from there.

A *place* is a section (see ``sections``), an element (points, crossing, turntable) or a yard. A
*state* is a place together with the way a train is in it: in a section the heading, in an element
the leg by which it came in, in a yard nothing. An *exit* leads from a state to the next one; it
says which lie it needs and which signal must be passed. What can hold a train is a *head*: the stop
and shunt arms at one spot that speak to the trains of one track with one heading. States, places
and heads are numbered, so that what follows can work with plain lists.
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
    """What one train at a time may have."""

    kind: PlaceKind
    id: str
    """The id of the track, the element or the yard."""
    part: int
    """For a section of a cut track its number from the up end, from 1; otherwise 0."""
    name: str
    """Unique over the plan; for most places the id itself."""

    @property
    def elsewhere(self) -> bool:
        """True if it lies on the neighbouring board, beyond a held edge."""
        return self.id.startswith(BEYOND)

    @property
    def pointer(self) -> str:
        """The JSON pointer of the track, element or yard; that of a held edge beyond it."""
        if self.elsewhere:
            return pointer_to("edges", edge_beyond(self.id))
        return pointer_to("tracks" if self.kind == "section" else self.kind, self.id)


class Exit(NamedTuple):
    """One move out of a state."""

    to: int
    """The state that it leads to."""
    element: int = -1
    """The place of the element whose lie it needs; -1 where it needs none."""
    lie: str = ""
    head: int = -1
    """The head that must be passed; -1 where none faces the train."""
    facing: bool = False
    """True if the lie decides the way: from the toe of points, or on to a slip from a leg with
    two ways. Where it is False, a train could run through points that lie wrong."""


class Stand(NamedTuple):
    """Where a train may stand and set off again."""

    place: int
    states: tuple[int, ...]
    """The states that a train takes when it sets off: one for each heading allowed."""


class Entry(NamedTuple):
    """An edge by which trains come on to the plan."""

    edge: str
    """The name of the edge."""
    state: int
    """The state of a train that has just come on."""


class Network:
    """All places, states and moves of a plan. Built once, then only read."""

    layout: Layout
    """The plan with what lies beyond its held edges (see ``beyond``)."""
    places: list[Place]
    place_of: list[int]
    """The place of each state."""
    way: list[str]
    """The heading (sections), the leg come in by (elements) or nothing (yards) of each state."""
    exits: list[tuple[Exit, ...]]
    """The moves out of each state, from left to right where points lead to several."""
    terminal: list[bool]
    """True for the states in which the track ends before the train: buffer or edge."""
    limit: list[bool]
    """True for the states of a section in which no train may run on, though its track goes on: the
    trade's limit of shunt."""
    leaves: list[bool]
    """True for the states from which a train may leave the plan by an edge."""
    heads: list[Head]
    held_at: list[int]
    """The state in which each head holds a train; -1 for a head without effect in a yard."""
    opposed: list[int]
    """The head back to back with each head, across the same cut or joint; -1 where none is."""
    facing: list[int]
    """The head that faces a train in each state of a section; -1 where there is none."""
    stands: list[Stand]
    stand_at: dict[int, int]
    """From a place to the number of its stand."""
    entries: list[Entry]
    """Every edge by which trains come on, in the order of the tracks."""
    states_of: list[list[int]]
    """The states of each place."""
    sections: dict[str, list[dict[Heading, int]]]
    """The states of each track, piece by piece from the up end, by the track's own headings. Pieces
    of one section have the same states. Tracks that are in a yard whole are left out."""
    pieces: dict[int, tuple[Piece, ...]]
    """The pieces of each section, in the order in which a down train meets them."""
    barred: dict[int, list[str]]
    """From a state to the tracks beyond it that trains may not run on to, by their `running`."""
    is_element: list[bool]
    """For each place: is it points, a crossing or a turntable?"""
    drags: set[int]
    """The places that only catch what trap points turn aside."""
    cuts: dict[str, list[float]]
    """Where each of these tracks is cut, in mm from the up end."""

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
        """Return the exits that lead past a head."""
        state = self.held_at[head]
        if state < 0:
            return ()
        return tuple(exit_ for exit_ in self.exits[state] if exit_.head == head)

    def section_state(self, track: str, heading: Heading, at_mm: float | None) -> int | None:
        """Return the state of a train beside a post on a track; None if that is in a yard.

        ``at_mm`` is measured from the track's up end; None is right at the end run to.
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
        """Return the heading of a state in a section, None elsewhere."""
        if self.place(state).kind != "section":
            return None
        return "down" if self.way[state] == "down" else "up"

    def tracks_of(self, place: int) -> tuple[str, ...]:
        """Return the tracks of a section, as a down train meets them; those of a yard.

        Beyond a held edge there are none: what lies there is no track of the plan.
        """
        described = self.places[place]
        if described.kind == "yards":
            return self.layout.yards[described.id].tracks
        if described.elsewhere:
            return ()
        return tuple(dict.fromkeys(piece.track for piece in self.pieces.get(place, ())))

    def tracks_run(self, state: int) -> tuple[str, ...]:
        """Return the tracks of a section, as a train in this state meets them; those of a yard."""
        tracks = self.tracks_of(self.place_of[state])
        return tracks[::-1] if self.heading(state) == "up" else tracks

    def last_piece(self, state: int) -> tuple[Piece, Heading]:
        """Return the piece at the end that a train in a section runs to.

        With it the train's heading on that piece's own track.
        """
        heading = self.heading(state) or "down"
        piece = self.pieces[self.place_of[state]][-1 if heading == "down" else 0]
        return piece, piece.heading(heading)
