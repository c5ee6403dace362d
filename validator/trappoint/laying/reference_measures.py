"""Kinds of measures that name things: on boards too, lies of points, places, nothing at all."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any, NamedTuple

from trappoint.core.kinds import MAPS
from trappoint.core.quoting import described, listed, quoted
from trappoint.core.spelling import nearest
from trappoint.laying.measures import ID, Text, Thing
from trappoint.laying.refusing import Refused
from trappoint.model.building import build_layout
from trappoint.model.layout import lie_of
from trappoint.model.references import ARMS, ROADS, STANDS, SWITCHES, TRACKS

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.laying.draft import Draft
    from trappoint.laying.measures import Measure

_ON_BOARD = re.compile(rf"({ID.pattern})/({ID.pattern})(/{ID.pattern}){{0,6}}")


class OrNone(NamedTuple):
    """A measure that can be taken away again, with null."""

    one: Measure

    @property
    def told(self) -> str:
        """What to give."""
        return f"{self.one.told}, or null to take it away"

    def read(self, draft: Draft, where: str, value: object) -> Any:
        """Return the value, or None."""
        return None if value is None else self.one.read(draft, where, value)


class Named(NamedTuple):
    """The id of a thing of the plan's own, or ``BOARD/ID`` for one on a board of the plan."""

    kinds: tuple[str, ...]

    @property
    def told(self) -> str:
        """The kinds of thing."""
        return Thing(self.kinds).told

    def read(self, draft: Draft, where: str, value: object) -> str:
        """Return the id."""
        if isinstance(value, str) and (found := _ON_BOARD.fullmatch(value)):
            boards = draft.things("boards")
            if found[1] in boards:
                return value
            if boards:
                near = nearest(found[1], boards)
                fix = (
                    f"Write {near} if you mean that." if near else f"Write {listed(list(boards))}."
                )
                raise Refused(f"The plan has no board {found[1]}.", fix)
        return Thing(self.kinds).read(draft, where, value)


class Several(NamedTuple):
    """A list of things, each named once; a step may also give a single id without a list."""

    one: Measure
    may_be_empty: bool = False

    @property
    def told(self) -> str:
        """The kinds of thing."""
        return f"{self.one.told}, or a list of such"

    def read(self, draft: Draft, where: str, value: object) -> tuple[str, ...]:
        """Return the entries."""
        given = value if isinstance(value, list | tuple) else [value]
        found = dict.fromkeys(self.one.read(draft, where, each) for each in given)
        if not found and not self.may_be_empty:
            raise Refused(f"{_begun(where)} is an empty list.", f"Give {self.told}.")
        return tuple(found)


class OneOrMore(NamedTuple):
    """Like ``Several``; one alone is kept without a list, as the format allows."""

    one: Measure

    @property
    def told(self) -> str:
        """The kinds of thing."""
        return Several(self.one).told

    def read(self, draft: Draft, where: str, value: object) -> str | tuple[str, ...]:
        """Return the id, or the ids."""
        found = Several(self.one).read(draft, where, value)
        return found[0] if len(found) == 1 and not isinstance(value, list | tuple) else found


class FreshArm(NamedTuple):
    """An id that no other arm of the plan has yet."""

    told: str = "a new id for an arm, of at most 40 letters, digits, hyphens and underlines"

    def read(self, draft: Draft, where: str, value: object) -> str:
        """Return the id."""
        if not isinstance(value, str) or not ID.fullmatch(value):
            raise Refused(f"{_begun(where)} is {described(value)}.", f"Give {self.told}.")
        if value in draft.arms():
            raise Refused(f"There is an arm {value} already.", "Give another id.")
        return value


class Lies(NamedTuple):
    """Points and slips, each with its lie."""

    told: str = 'points and slips, each with its lie, such as {"p1": "reverse"}'

    def read(self, draft: Draft, where: str, value: object) -> dict[str, str]:
        """Return the lies by the ids of the points and slips."""
        if not isinstance(value, dict):
            raise Refused(f"{_begun(where)} is {described(value)}.", f"Give {self.told}.")
        layout = draft.layout()
        for key, lie in value.items():
            Named(SWITCHES).read(draft, where, key)
            switch = layout.switch(key)
            if switch is None:
                if "/" in key and isinstance(lie, str):
                    continue
                raise Refused(f"{key} has no lies: it is a diamond.", "Leave it out.")
            if not isinstance(lie, str) or lie_of(switch, lie) is None:
                lies = listed([*switch.lies, "normal", *(["reverse"] if switch.reverse else [])])
                raise Refused(f"{key} cannot lie {_word(lie)}.", f"Write {lies}.")
        return dict(value)


class Trains(NamedTuple):
    """The trains on the layout: for a track or yard, true or the id of the train."""

    told: str = 'tracks and yards, each with true or the id of a train, such as {"main": "local"}'

    def read(self, draft: Draft, where: str, value: object) -> dict[str, object]:
        """Return the trains by the places on which they stand."""
        if not isinstance(value, dict):
            raise Refused(f"{_begun(where)} is {described(value)}.", f"Give {self.told}.")
        for stand, train in value.items():
            Named(STANDS).read(draft, where, stand)
            if train is not True:
                Named(("trains",)).read(draft, where, train)
        return dict(value)


class Whereabouts(NamedTuple):
    """A stand, or ``edge:NAME`` where a train comes on or leaves."""

    told: str = "the id of a track, platform or yard, or edge:NAME"

    def read(self, draft: Draft, where: str, value: object) -> str:
        """Return the text."""
        if isinstance(value, str) and value.startswith("edge:"):
            Named(("edges",)).read(draft, where, value.removeprefix("edge:"))
            return value
        return Named(ROADS).read(draft, where, value)


class Lines(NamedTuple):
    """Free text."""

    told: str = "a text"

    def read(self, draft: Draft, where: str, value: object) -> str:
        """Return the text as it is."""
        Text(self.told).read(draft, where, value)
        return str(value)


class Form(NamedTuple):
    """A text of a certain form."""

    pattern: str
    told: str

    def read(self, draft: Draft, where: str, value: object) -> str:
        """Return the text."""
        Text(self.told).read(draft, where, value)
        if not isinstance(value, str) or not re.fullmatch(self.pattern, value, re.ASCII):
            raise Refused(f"{_begun(where)} is {described(value)}.", f"Give {self.told}.")
        return value


class Place(NamedTuple):
    """A place of the plan: ``plan``, or a kind and an id, such as ``signals/4`` or ``arms/4L``."""

    told: str = "a place of the plan, such as signals/4 or arms/4L"

    def read(self, draft: Draft, where: str, value: object) -> tuple[str, str]:
        """Return the kind and the id; the id of the plan itself is empty."""
        if value == "plan":
            return "plan", ""
        kind, _, key = str(value).partition("/")
        if not isinstance(value, str) or not key or kind not in (*MAPS, "arms", "joints"):
            raise Refused(f"{_begun(where)} is {described(value)}.", f"Give {self.told}.")
        if "/" in key:
            board = key.partition("/")[0]
            plan = draft.things("boards").get(board, {}).get("plan")
            if plan is not None:
                raise Refused(
                    f"{quoted(key)} is on board {board}, which has a plan of its own.",
                    f"Change it in {plan}.",
                )
        if kind == "levers":
            Lever().read(draft, where, key)
        else:
            Thing((kind,)).read(draft, where, key)
        return kind, key


class Lever(NamedTuple):
    """The number of a lever of the plan."""

    told: str = "the number of a lever of the plan"

    def read(self, draft: Draft, where: str, value: object) -> str:
        """Return the number as text, as the plan has it."""
        key = str(value) if isinstance(value, int) and not isinstance(value, bool) else value
        return Thing(("levers",)).read(draft, where, key)


class LeverNumber(NamedTuple):
    """A number for a lever, from 1 to 999."""

    told: str = "a number from 1 to 999"

    def read(self, draft: Draft, where: str, value: object) -> str:
        """Return the number as text, as the plan has it."""
        text = str(value)
        if isinstance(value, bool) or not re.fullmatch(r"[1-9][0-9]{0,2}", text, re.ASCII):
            raise Refused(f"{_begun(where)} is {described(value)}.", f"Give {self.told}.")
        return text


def _begun(where: str) -> str:
    return where[:1].upper() + where[1:]


def _word(lie: object) -> str:
    return lie if isinstance(lie, str) else described(lie)


def lies_not_normal(draft: Draft, lies: Mapping[str, str]) -> dict[str, str]:
    """Return the lies that are not normal, as a scene lists them."""
    layout = build_layout(draft.data())
    found = {}
    for key, lie in lies.items():
        switch = layout.switch(key)
        if switch is None or lie_of(switch, lie) != switch.normal:
            found[key] = lie
    return found


ARM = Thing(ARMS)
SIGNAL = Thing(("signals",))
A_TRACK = Named(TRACKS)
AN_ARM = Named(ARMS)
ROAD = Named(ROADS)
A_SWITCH = Named(SWITCHES)
NOTE = Lines("a note")
LONG_NAME = Text("a name")
