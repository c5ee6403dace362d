"""The signalman's sheet of a running session: what he does for each movement, in their order."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from trappoint.operation.journey_search import Finder
from trappoint.operation.journey_words import tell_stuck
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
    """The edge at which the train comes on to the plan first; nothing where it is on it."""
    leaves: str
    """The edge at which it then leaves the plan; nothing where it stays."""


class SessionSheet(NamedTuple):
    """The sheet of one session."""

    session: str
    name: str
    standing: tuple[tuple[str, str], ...]
    """Which trains stand where at first."""
    entries: tuple[SheetEntry, ...]
    movements: int
    """How many movements the session has."""
    stuck: str
    """Why the next movement cannot be made, nothing where all can."""
    standstill: bool
    """True if no train at all can make its next movement then."""
    order: tuple[int, ...] | None
    """Another order in which all can be made, by their numbers; None if there is none."""
    decided: bool
    """False if it was not found out whether there is one."""
    looked: bool
    """True if another order was looked for: only trains in the way can be a matter of order."""
    in_that_order: bool
    """True if the entries are in that other order."""

    @property
    def whole(self) -> bool:
        """True if every movement is on it."""
        return len(self.entries) == self.movements

    def to_json(self) -> dict[str, Any]:
        """Return it as plain values."""
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
    """Write the sheet of a session as far as it can be worked.

    With ``other_order``, where the list cannot be worked through and another order can, that one.
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
        _stuck(worked),
        worked.standstill,
        order_found,
        worked.decided,
        worked.stuck is not None and worked.stuck.why in ("blocked", "edge-taken"),
        other,
    )


def _stuck(worked: SessionResult) -> str:
    if worked.shared is not None:
        one, other = worked.shared
        return f"{one} and {other} stand in one place before anything moves."
    if worked.stuck is None:
        return ""
    move = worked.session.moves[worked.stuck.number]
    return f"Movement {worked.stuck.number + 1}: {tell_stuck(worked.stuck, move)}"
