"""Where a JSON pointer leads, in terms that stay the same when ids change."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trappoint.comparing.terms import Ref

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from trappoint.comparing.terms import Atom, Entry
    from trappoint.model.layout import Layout

ANYWHERE = (
    "tracks",
    "points",
    "crossings",
    "turntables",
    "platforms",
    "signals",
    "yards",
    "trains",
    "scenes",
    "sessions",
)
"""The kinds of things that a bare id may stand for."""


def pointer_parts(layout: Layout, known: Mapping[str, Any], at: str) -> Entry:
    """Take a JSON pointer, or a bare id, apart into the thing that it names and the way below it.

    An arm is named by its number in the list: it becomes the arm itself.
    """
    parts = [part.replace("~1", "/") for part in at.split("/")]
    if not at.startswith("/") or len(parts) < 3:
        kind = next((kind for kind in ANYWHERE if at in known[kind]), "")
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


_NAMES_BELOW: Mapping[tuple[str, str], tuple[str, ...]] = {
    ("scenes", "points"): ("points", "crossings"),
    ("scenes", "trains"): ("tracks", "yards"),
    ("sessions", "trains"): ("tracks", "yards"),
    ("arms", "expects"): ("points", "crossings"),
}
"""From a kind and a key of such a thing to the kinds of things that the keys below it name."""


def _below(kind: str, below: list[str], known: Mapping[str, Any]) -> Iterator[Atom]:
    """Yield what stands below a thing, with what names another thing as such."""
    for number, part in enumerate(below):
        kinds = _NAMES_BELOW.get((kind, below[0]), ()) if number == 1 else ()
        found = next((each for each in kinds if part in known[each]), None)
        yield part if found is None else Ref(found, part)
