"""The signalman's sheet of a session: the orders for its movements."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from trappoint.operation.journey_search import Finder
from trappoint.operation.journey_words import Called, tell_stuck
from trappoint.operation.orders import write_order
from trappoint.operation.road import order_to_json
from trappoint.operation.signal_box import SignalBox

if TYPE_CHECKING:
    from trappoint.facts.facts import Facts
    from trappoint.operation.orders import JourneyOrder
    from trappoint.operation.sessions import Made, SessionResult


class SheetEntry(NamedTuple):
    """One movement of the sheet."""

    number: int
    """Its number in the session's list, from 1."""
    order: JourneyOrder
    note: str
    comes_in: str
    """The edge at which the train first comes in; empty if it is on the plan."""
    leaves: str
    """The edge at which it leaves the plan in the end; empty if it stays."""


class SessionSheet(NamedTuple):
    """The sheet of one session."""

    session: str
    name: str
    standing: tuple[tuple[str, str], ...]
    """The trains at first, each with its place."""
    entries: tuple[SheetEntry, ...]
    movements: int
    """The number of movements of the session."""
    stuck: str
    """Why the next movement is impossible; empty if all are possible."""
    standstill: bool
    """Whether no train can make its next movement then."""
    order: tuple[int, ...] | None
    """The numbers of the movements in another order that is possible; None if there is none."""
    decided: bool
    """False if the search for another order reached its limit."""
    looked: bool
    """Whether a search looked for another order. It helps only against trains in the way."""
    in_that_order: bool
    """Whether the entries are in that other order."""
    called: Called
    """The names in the plan."""

    @property
    def whole(self) -> bool:
        """Whether the sheet has every movement."""
        return len(self.entries) == self.movements

    def to_json(self) -> dict[str, Any]:
        """Return the sheet as JSON values."""
        return {
            "session": self.session,
            "name": self.name,
            "standing": [{"train": train, "in": place} for train, place in self.standing],
            "can_be_made": not self.stuck,
            "stuck": self.stuck,
            "standstill": self.standstill,
            "order": None if self.order is None else list(self.order),
            "order_looked_for": self.looked,
            "order_found_out": self.decided,
            "in_that_order": self.in_that_order,
            "movements": [
                {
                    "number": entry.number,
                    "comes_in_at": entry.comes_in or None,
                    "leaves_at": entry.leaves or None,
                    "note": entry.note,
                    **order_to_json(entry.order),
                }
                for entry in self.entries
            ],
        }


def write_sheet(facts: Facts, worked: SessionResult, *, other_order: bool = False) -> SessionSheet:
    """Return the sheet of a session, up to the first movement that is impossible.

    With ``other_order``, use the other order if the list itself is impossible.
    """
    finder, box = Finder(facts), SignalBox(facts)
    session = worked.session
    other = other_order and worked.order is not None
    made: tuple[Made, ...] = worked.order or () if other else worked.made
    entries = []
    for each in made:
        move = session.moves[each.number]
        order = write_order(finder, box, each.train, each.journey)
        comes_in = move.start or "" if each.comes_in else ""
        entries.append(
            SheetEntry(each.number + 1, order, move.note, comes_in, move.to if each.leaves else "")
        )
    standing = tuple(
        (train if isinstance(train, str) else "a train", place)
        for place, train in session.trains.items()
    )
    order_found = None if worked.order is None else tuple(m.number + 1 for m in worked.order)
    return SessionSheet(
        session.id,
        session.name,
        standing,
        tuple(entries),
        len(session.moves),
        _stuck(facts, worked),
        worked.standstill,
        order_found,
        worked.decided,
        worked.stuck is not None and worked.stuck.why in ("blocked", "edge-taken"),
        other,
        Called(facts.names),
    )


def _stuck(facts: Facts, worked: SessionResult) -> str:
    if worked.shared is not None:
        one, other = map(Called(facts.names).train, worked.shared)
        return f"{one} and {other} start in the same place."
    if worked.stuck is None:
        return ""
    move = worked.session.moves[worked.stuck.number]
    return f"Movement {worked.stuck.number + 1}: {tell_stuck(worked.stuck, move, facts.names)}"
