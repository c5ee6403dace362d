"""Findings: the results of a check, each at one place of one document."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.verdict.movements import Movement

Level = Literal["error", "warning", "note"]

LEVELS: tuple[Level, ...] = ("note", "warning", "error")
"""The levels, the lowest first."""

CAUTION = (
    "This is a check on paper, for models. It is not a safety system: nothing that carries "
    "people, at any gauge, may rely on it. Ride-on railways: ask the competent person and keep "
    "the local rules. Mains electricity: leave it to a licensed electrician."
)
"""For every output that gives a verdict, a table or a sheet."""

CAUTION_SHORT = (
    "A check on paper, for models: no safety system, not for anything that carries people."
)
"""The same in one line, for outputs that people see often."""

CAUTION_DRILLING = (
    "Before you drill, measure again on the layout and look for wires and rods beneath the "
    "baseboard. Take the usual care with tools, knives and soldering irons; protect your eyes."
)
"""For every output that gives the place of a hole, or says what to cut, file or solder."""

CAUTION_ELECTRICAL = (
    "Work on extra-low voltage only, from a finished and tested power unit. Leave mains "
    "electricity to a licensed electrician."
)
"""For every output that gives advice on wiring."""

CAUTION_FITTING = f"{CAUTION} {CAUTION_DRILLING}"
"""For fitting sheets, parts lists and charts with drilling measures."""


HOW_THEY_MEET = "How they meet: "
"""The text between the reason of a finding and its movement, in ``why``."""


class Finding(NamedTuple):
    """One result of a check.

    ``pointer`` is the JSON pointer (RFC 6901) of the value that is wrong, and the only location
    that a rule knows. ``line`` and ``column`` count characters from 1, and are 0 until the check
    looks them up. ``path`` lists the ids of the places, arms and tracks that belong to it.
    """

    rule: str
    level: Level
    pointer: str
    message: str
    why: str = ""
    fix: str = ""
    path: tuple[str, ...] = ()
    at_key: bool = False
    """True if the mark belongs under the key itself (an unknown key) and not its value."""
    line: int = 0
    column: int = 0
    movement: Movement | None = None
    """The movement by which two trains meet, if the plan does not hold; else None."""
    instead: str | None = None
    """The JSON that replaces the marked value, if only one correction is possible; empty to remove
    the value, None if there are several corrections. A missing comma goes before the mark."""
    file: str = ""
    """The file of the board that has the value; empty for the plan itself."""
    whole: str = ""
    """For a board: the JSON pointer of the value in the assembled plan; else empty."""

    @property
    def place(self) -> str:
        """The JSON pointer of the value in the plan that was checked, boards included."""
        return self.whole or self.pointer


def pointer_to(*parts: str | int) -> str:
    """Return a JSON pointer from its parts, escaped as in RFC 6901, section 3."""
    return "".join("/" + str(part).replace("~", "~0").replace("/", "~1") for part in parts)


def reaches(level: Level, floor: Level) -> bool:
    """Return whether a level is at or above ``floor``."""
    return LEVELS.index(level) >= LEVELS.index(floor)


def worst(findings: Iterable[Finding]) -> Level | None:
    """Return the highest level among the findings; None if there are none."""
    return max((found.level for found in findings), key=LEVELS.index, default=None)
