"""Fresh ids, as a person would give them: ``siding``, ``siding-2``, ``p4``."""

from __future__ import annotations

import re
import unicodedata
from typing import TYPE_CHECKING

from trappoint.core.kinds import LINES
from trappoint.model.references import told_apart_from

if TYPE_CHECKING:
    from trappoint.laying.draft import Draft

MAX_ID = 40
"""The most characters of an id."""


def taken(draft: Draft, kind: str) -> set[str]:
    """Return the ids that a new thing of this kind must not have."""
    if kind in LINES:
        ends = (track[end] for track in draft.things("tracks").values() for end in ("up", "down"))
        prefix = f"{kind.removesuffix('s')}:"
        return {end.removeprefix(prefix) for end in ends if end.startswith(prefix)}
    found: set[str] = set()
    for other in told_apart_from(kind):
        found.update(draft.arms() if other == "arms" else draft.things(other))
    if kind in ("signals", "arms"):
        found.update(draft.things("signals"), draft.arms())
    return found


def fresh(draft: Draft, kind: str, stem: str, name: str | None = None) -> str:
    """Return an id that is free: from the name if there is one, else from the stem.

    ``siding`` is followed by ``siding-2``, and ``main-2`` by ``main-3``.
    """
    stem = (slug(name) if name else "") or stem[:MAX_ID]
    used = taken(draft, kind)
    if stem not in used:
        return stem
    counted = re.fullmatch(r"(.+)-([0-9]{1,4})", stem)
    root, number = (counted[1], int(counted[2])) if counted else (stem, 1)
    while True:
        number += 1
        end = f"-{number}"
        found = f"{root[: MAX_ID - len(end)]}{end}"
        if found not in used:
            return found


def fresh_numbered(draft: Draft, kind: str, letter: str) -> str:
    """Return the id with the next number: ``p4`` after ``p3``, ``1`` if there is none.

    A number is taken if an id has it with more letters behind it, such as the arm ``4L``.
    """
    pattern = re.compile(rf"{letter}([1-9][0-9]{{0,5}})[A-Za-z]*")
    numbers = [int(found[1]) for each in taken(draft, kind) if (found := pattern.fullmatch(each))]
    return f"{letter}{max(numbers, default=0) + 1}"


def slug(name: str) -> str:
    """Return the id for a name: ``goods-loop`` for "Goods loop"; empty if it has no letters."""
    letters = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", letters).strip("-")[:MAX_ID].strip("-")
