"""The square of conflicts: for each pair of arms, what keeps them from being off together.

It has the arms that hold trains: stop, shunt and calling-on arms. Distants only advise.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.reporting.wording import by_what

if TYPE_CHECKING:
    from trappoint.interlocking.locking_table import LockingTable
    from trappoint.model.layout import Layout

LETTERS = {"points": "P", "direct": "L"}
"""For a conflict that the points prevent, and for one that the locking or you must prevent."""


def legend(plan: Layout | LockingTable) -> str:
    """Return what the letters mean, as sentences."""
    sees = by_what(plan)
    return (
        f"P: never off together, {sees['points']}. L: never off together, {sees['direct']}. "
        "Small letters: only in certain lies of the points. Blank: may be off together."
    )


def holding_arms(table: LockingTable) -> list[str]:
    """Return the ids of the arms that hold trains, in the order of the plan."""
    return [entry.arm for entry in table.arms if entry.kind != "distant"]


def conflict_letters(table: LockingTable) -> dict[tuple[str, str], str]:
    """Return the letter of each pair of arms that conflict; two letters if both kinds apply."""
    letters: dict[tuple[str, str], str] = {}
    for entry in table.arms:
        for conflict in entry.conflicts:
            letter = LETTERS[conflict.by]
            key = entry.arm, conflict.arm
            if conflict.when is not None:
                letter = letter.lower()
                letter = letters.get(key, "").replace(letter, "") + letter
            letters[key] = letter
    return letters
