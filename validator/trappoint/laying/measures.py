"""The kinds of measures that steps give: words, lengths, ids of things, fresh ids."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any, NamedTuple, NoReturn, Protocol

from trappoint.core.kinds import ONE_OF
from trappoint.core.quoting import described, listed, number, quoted
from trappoint.core.spelling import nearest
from trappoint.laying.naming import taken
from trappoint.laying.refusing import Refused

if TYPE_CHECKING:
    from trappoint.laying.draft import Draft

ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,39}")
LONGEST_MM = 1_000_000
MOST_TEXT = 2_000


class Measure(Protocol):
    """A kind of measure."""

    @property
    def told(self) -> str:
        """What to give, in words."""

    def read(self, draft: Draft, where: str, value: object) -> Any:
        """Return the value if it is of this kind. Raises ``Refused``."""


def _wrong(where: str, value: object, told: str) -> NoReturn:
    raise Refused(f"{where[:1].upper() + where[1:]} is {described(value)}.", f"Give {told}.")


class Word(NamedTuple):
    """One of some words."""

    words: tuple[str, ...]

    @property
    def told(self) -> str:
        """The words."""
        return listed(self.words)

    def read(self, draft: Draft, where: str, value: object) -> str:
        """Return the word."""
        if value not in self.words:
            near = nearest(value, self.words) if isinstance(value, str) else None
            _wrong(where, value, near or self.told)
        return str(value)


class Quantity(NamedTuple):
    """A number within bounds."""

    least: float
    most: float
    told: str
    whole: bool = False

    def read(self, draft: Draft, where: str, value: object) -> float:
        """Return the number."""
        if isinstance(value, bool) or not isinstance(value, int | float):
            _wrong(where, value, self.told)
        within = self.least <= value <= self.most
        if not within or (self.whole and value != int(value)):
            bounds = f"{self.told}, from {number(self.least)} to {number(self.most)}"
            _wrong(where, value, bounds)
        return int(value) if value == int(value) else value


class Text(NamedTuple):
    """A text for people."""

    told: str = "a text"

    def read(self, draft: Draft, where: str, value: object) -> str:
        """Return the text without blanks around it."""
        if not isinstance(value, str) or not value.strip() or len(value) > MOST_TEXT:
            _wrong(where, value, f"{self.told}, of at most {MOST_TEXT:,} characters")
        if any("\ud800" <= letter <= "\udfff" for letter in value):
            raise Refused(
                f"{where[:1].upper() + where[1:]} has half of a character.", f"Give {self.told}."
            )
        return value.strip()


class Yes(NamedTuple):
    """Yes or no."""

    told: str = "true or false"

    def read(self, draft: Draft, where: str, value: object) -> bool:
        """Return the answer."""
        if not isinstance(value, bool):
            _wrong(where, value, self.told)
        return value


class Thing(NamedTuple):
    """The id of a thing of the plan's own."""

    kinds: tuple[str, ...]

    @property
    def told(self) -> str:
        """The kinds of thing."""
        return f"the id of {listed([_article(ONE_OF[kind]) for kind in self.kinds])}"

    def read(self, draft: Draft, where: str, value: object) -> str:
        """Return the id."""
        if not isinstance(value, str):
            _wrong(where, value, self.told)
        known = [name for kind in self.kinds for name in _names(draft, kind)]
        if value not in known:
            what = listed([ONE_OF[kind] for kind in self.kinds])
            if "/" in value:
                raise Refused(
                    f"{quoted(value)} is on a board, which has a plan of its own.",
                    "Change it in the plan of its board.",
                )
            near = nearest(value, known)
            fix = f"Write {near} if you mean that." if near else f"Give {self.told}."
            raise Refused(f"The plan has no {what} {quoted(value)}.", fix)
        return value


class Things(NamedTuple):
    """The ids of one or more things: a text, or a list of texts."""

    one: Thing

    @property
    def told(self) -> str:
        """The kinds of thing."""
        return f"{self.one.told}, or a list of such ids"

    def read(self, draft: Draft, where: str, value: object) -> tuple[str, ...]:
        """Return the ids, each once."""
        given = value if isinstance(value, list | tuple) else [value]
        found = dict.fromkeys(self.one.read(draft, where, each) for each in given)
        if not found:
            _wrong(where, value, self.told)
        return tuple(found)


class Fresh(NamedTuple):
    """An id that nothing else of the plan has yet."""

    kind: str

    @property
    def told(self) -> str:
        """The form of an id."""
        return (
            "a new id of at most 40 letters, digits, hyphens and underlines, beginning with a "
            "letter or a digit"
        )

    def read(self, draft: Draft, where: str, value: object) -> str:
        """Return the id."""
        if not isinstance(value, str) or not ID.fullmatch(value):
            _wrong(where, value, self.told)
        if value in taken(draft, self.kind):
            raise Refused(f"Something in the plan is called {value} already.", "Give another id.")
        return value


class OuterEnd(NamedTuple):
    """What a new end of track meets: ``buffer``, ``edge``, or ``edge:NAME``."""

    told: str = "buffer, edge, or edge:NAME"

    def read(self, draft: Draft, where: str, value: object) -> str:
        """Return the text; ``edge`` still needs a name."""
        if value in ("buffer", "edge"):
            return str(value)
        if not isinstance(value, str) or not value.startswith("edge:"):
            _wrong(where, value, self.told)
        name = value.removeprefix("edge:")
        if not ID.fullmatch(name):
            _wrong(where, value, self.told)
        if name in taken(draft, "edges"):
            raise Refused(f"The plan has an edge {name} already.", "Give another name.")
        return value


def mm(value: float) -> str:
    """Return a length for a sentence: ``1,600.5 mm``."""
    return f"{float(round(value, 3)):,}".removesuffix(".0") + " mm"


def _names(draft: Draft, kind: str) -> list[str]:
    if kind == "arms":
        return list(draft.arms())
    if kind in ("edges", "joints"):
        return sorted(taken(draft, kind))
    return list(draft.things(kind))


def _article(noun: str) -> str:
    if noun == "points":
        return noun
    return f"{'an' if noun[0] in 'aeiou' else 'a'} {noun}"


TRACK = Thing(("tracks",))
POINTS = Thing(("points",))
END = Word(("up", "down"))
HEADING = Word(("down", "up"))
HAND = Word(("left", "right"))
LENGTH = Quantity(0.001, LONGEST_MM, "a length in mm")
POSITION = Quantity(0, LONGEST_MM, "a distance in mm from the up end of the track")
NAME = Text("a name")
YES = Yes()
OUTER = OuterEnd()
