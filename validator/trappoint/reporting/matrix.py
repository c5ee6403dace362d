"""The square of conflicts: for each two stop arms, what keeps them from being off together."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from trappoint.interlocking.locking_table import LockingTable

LETTERS = {"points": "P", "direct": "L"}
"""For a conflict the points see to, and for one that only the locking does."""

LEGEND = (
    "P: never off together, the points see to it. L: never off together, only the locking sees "
    "to it. Small letters: only in certain lies of the points. Blank: may be off together."
)


def stop_arms(table: LockingTable) -> list[str]:
    """Return the ids of the stop arms, in the order of the plan."""
    return [entry.arm for entry in table.arms if entry.kind == "stop"]


def conflict_letters(table: LockingTable) -> dict[tuple[str, str], str]:
    """Return, for two arms that conflict, the letter that says how."""
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
