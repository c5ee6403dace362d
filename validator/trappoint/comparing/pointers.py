"""The place of a JSON pointer, in terms that stay the same when ids change."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trappoint.comparing.terms import Ref
from trappoint.model.references import ANYTHING, kinds_at

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from trappoint.comparing.terms import Atom, Entry
    from trappoint.model.layout import Layout


def pointer_parts(layout: Layout, known: Mapping[str, Any], at: str) -> Entry:
    """Split a JSON pointer or an id into the thing that it names and the keys below.

    The number of an arm in its list is replaced with the arm.
    """
    parts = [part.replace("~1", "/") for part in at.split("/")]
    if not at.startswith("/") or len(parts) < 3:
        kind = next((kind for kind in ANYTHING if at in known[kind]), "")
        return ("", Ref(kind, at)) if kind else (at,)
    kind, name = parts[1], parts[2]
    below = parts[3:]
    if kind == "signals" and name in layout.signals and below[:1] == ["arms"] and below[1:]:
        arms = layout.signals[name].arms
        if below[1].isdigit() and int(below[1]) < len(arms):
            arm = Ref("arms", arms[int(below[1])].id)
            return "/", arm, *_below("arms", below[2:], known)
    if kind in known and name in known[kind]:
        return "/", Ref(kind, name), *_below(kind, below, known)
    return tuple(parts)


def _below(kind: str, below: list[str], known: Mapping[str, Any]) -> Iterator[Atom]:
    """Yield the keys below a thing, with references in place of ids."""
    for number, part in enumerate(below):
        kinds = kinds_at(_way(kind, below[0], part), at_key=True) if number == 1 else ()
        found = next((each for each in kinds if part in known[each]), None)
        yield part if found is None else Ref(found, part)


def _way(kind: str, key: str, part: str) -> tuple[str, ...]:
    """Return the path of a key below a thing; its ids are left empty."""

    return ("signals", "", "arms", "", key, part) if kind == "arms" else (kind, "", key, part)
