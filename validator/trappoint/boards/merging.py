"""Merges the plans of boards into one document, in which each id starts with its board."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from trappoint.boards.collecting import AssemblyError
from trappoint.boards.joining import edge_of, joins_of
from trappoint.boards.turning import turn_round
from trappoint.core.findings import pointer_to
from trappoint.core.kinds import MAPS
from trappoint.model.layout import opposite

if TYPE_CHECKING:
    from collections.abc import Callable

    from trappoint.boards.collecting import BoardPart
    from trappoint.boards.joining import Joined
    from trappoint.model.layout import Heading

    Names = Callable[[str], str]

OTHER_END: dict[str, Heading] = {"up": "down", "down": "up"}
"""For each end of a track, the heading of the trains that come on there."""

MEASURES = ("scale", "standard", "gauge_mm")


class Promise(NamedTuple):
    """A joined edge that a plan declares as held by its neighbour."""

    plan: str
    """The board whose plan declares it; empty for the plan itself."""
    edge: str
    """The name of the edge in that plan."""
    track: str
    """The id in the whole of the track that ended there."""
    heading: Heading
    """The heading in the whole of the trains that come on to the track there."""

    @property
    def pointer(self) -> str:
        """The JSON pointer of the edge in the whole."""
        return pointer_to("edges", f"{self.plan}/{self.edge}" if self.plan else self.edge)


Lists = dict[str, list[tuple[str, int]]]
"""For each list of the whole, the source of each entry: a board and the index in its list."""


def merge(
    parts: list[BoardPart], joined: Joined
) -> tuple[dict[str, Any], Lists, list[AssemblyError]]:
    """Return all plans as one document, the sources of its list entries, and the errors.

    Joined edges become joints. An error is a measure that cannot be turned round, because its
    track has no length. Findings that a board accepts are left out: they apply to the board only.
    """
    own = parts[0].data
    whole: dict[str, Any] = {key: own[key] for key in own if key not in MAPS}
    whole |= {key: {} for key in MAPS}
    whole["worked_together"] = []
    lists: Lists = {"worked_together": [], "joins": []}
    unmeasured: list[AssemblyError] = []
    for part in parts:
        _take_over_measures(part, whole)
        given = _prefixed(part, joined)
        if part.turned:
            unmeasured += [
                AssemblyError("without-length", pointer, (part.name, track))
                for pointer, track in turn_round(given)
            ]
        for key in MAPS:
            # A board and the whole may both describe an edge: the entry of the whole counts.
            whole[key] |= {
                id_: entry for id_, entry in given.get(key, {}).items() if id_ not in whole[key]
            }
        groups = given.get("worked_together", [])
        lists["worked_together"] += [(part.name, number) for number in range(len(groups))]
        whole["worked_together"] += groups
        lists["joins"] += [(part.name, number) for number in range(len(part.data.get("joins", ())))]
    whole["joins"] = [
        {side: str(edge_of(part.name, join[side])) for side in ("a", "b")}
        for part, join in joins_of(parts)
    ]
    return whole, lists, unmeasured


def _take_over_measures(part: BoardPart, whole: dict[str, Any]) -> None:
    """Take over scale and spacing from the first board that gives them, if the plan does not."""
    if not any(key in whole for key in MEASURES):
        whole |= {key: part.data[key] for key in MEASURES if key in part.data}
    if part.name and "spacing_mm" in part.data and "spacing_mm" not in whole:
        whole["spacing_mm"] = part.data["spacing_mm"]


def _end(text: str, part: BoardPart, joined: Joined) -> str:
    """Return what a track's end meets in the whole: a joint if its edge is joined."""
    if text == "buffer":
        return text
    kind, colon, edge = text.partition(":")
    if not colon:
        return part.prefix + text
    if kind == "edge" and (part.name, edge) in joined:
        return f"joint:{joined[part.name, edge]}"
    return f"{kind}:{part.prefix}{edge}"


def _prefixed(part: BoardPart, joined: Joined) -> dict[str, Any]:
    """Return the maps and lists of a plan, with its board's name before every id."""
    prefix = part.prefix

    def name(given: str) -> str:
        return prefix + given

    def track(given: dict[str, Any]) -> dict[str, Any]:
        return {**given, **{key: _end(given[key], part, joined) for key in ("up", "down")}}

    entries: dict[str, Callable[[dict[str, Any]], dict[str, Any]]] = {
        "tracks": track,
        "platforms": lambda given: _with(given, name, "tracks"),
        "signals": lambda given: _signal(given, name),
        "yards": lambda given: _with(given, name, "tracks", "points", "crossings", "turntables"),
        "levers": lambda given: _with(given, name, "points", "arms"),
        "scenes": lambda given: _scene(given, name),
        "sessions": lambda given: _session(given, name),
    }
    found: dict[str, Any] = {}
    for key in MAPS:
        if key == "edges":
            continue
        renamed = entries.get(key, dict)
        found[key] = {prefix + id_: renamed(entry) for id_, entry in part.data.get(key, {}).items()}
    # A joined edge becomes a joint, so its entry is dropped; ``promises`` keeps the claim.
    found["edges"] = {
        prefix + edge: entry
        for edge, entry in part.data.get("edges", {}).items()
        if _edge(part, edge) not in joined
    }
    # A session that crosses a joined edge makes sense only for the board alone: drop it.
    joined_here = {f"edge:{prefix}{edge}" for board, edge in joined if board == part.name}
    found["sessions"] = {
        id_: session
        for id_, session in found["sessions"].items()
        if not any(joined_here & {move.get("from"), move["to"]} for move in session["moves"])
    }
    found["worked_together"] = [
        [name(each) for each in group] for group in part.data.get("worked_together", ())
    ]
    return found


def promises(parts: list[BoardPart], joined: Joined) -> tuple[Promise, ...]:
    """Return the joined edges that a plan declares as held by its neighbour."""
    named = {part.name: part for part in parts}
    return tuple(
        Promise(part.name, edge, *_end_at(named[board], name))
        for part in parts
        for edge, entry in part.data.get("edges", {}).items()
        for board, name in (_edge(part, edge),)
        if entry.get("held") and (board, name) in joined
    )


def said_by(parts: list[BoardPart]) -> dict[str, str]:
    """Return the board whose plan describes each edge, by the edge's name in the whole.

    If several plans describe an edge, the outermost counts. Boards have their names in the whole.
    """
    found: dict[str, str] = {}
    for part in parts:
        for edge in part.data.get("edges", {}):
            found.setdefault(part.prefix + edge, part.name)
    return found


def _end_at(part: BoardPart, edge: str) -> tuple[str, Heading]:
    """Return the track at an edge, and the heading of trains that come on there, in the whole."""
    for name, track in part.data["tracks"].items():
        for end, onward in OTHER_END.items():
            if track[end] == f"edge:{edge}":
                return part.prefix + name, onward if not part.turned else opposite(onward)
    raise AssertionError(f"only an edge that there is can be joined: {edge}")


def _edge(part: BoardPart, edge: str) -> tuple[str, str]:
    """Return the board of an edge that a plan names, and the name of the edge on that board."""
    inner, _, name = edge.rpartition("/")
    return f"{part.prefix}{inner}" if inner else part.name, name


def _with(given: dict[str, Any], name: Names, *keys: str) -> dict[str, Any]:
    """Return an entry with the ids under some keys renamed: one id, a list, or a map's keys."""
    return given | {key: _renamed(given[key], name) for key in keys if key in given}


def _renamed(value: Any, name: Names) -> Any:
    if isinstance(value, str):
        return name(value)
    if isinstance(value, list):
        return [name(each) for each in value]
    return {name(key): entry for key, entry in value.items()}


def _signal(given: dict[str, Any], name: Names) -> dict[str, Any]:
    found = _with(given, name, "track")
    found["arms"] = [
        _with(arm, name, "id", "track", "to", "under", "repeats", "expects", "never_with")
        for arm in given["arms"]
    ]
    if "duties" in given:
        found["duties"] = [_duty(duty, name) for duty in given["duties"]]
    return found


def _duty(duty: str, name: Names) -> str:
    """Return a duty with its last word renamed: the id of a thing."""
    *words, last = duty.split() or [""]
    return " ".join((*words, name(last))) if words else duty


def _session(given: dict[str, Any], name: Names) -> dict[str, Any]:
    def where(text: str) -> str:
        kind, colon, edge = text.partition(":")
        return f"{kind}:{name(edge)}" if colon else name(text)

    found = _scene(given, name)
    found["moves"] = [
        _with(_with(move, name, "train", "via", "arm"), where, "from", "to")
        for move in given["moves"]
    ]
    return found


def _scene(given: dict[str, Any], name: Names) -> dict[str, Any]:
    found = _with(given, name, "points", "off", "trains")
    if "trains" in found:
        found["trains"] = {
            place: name(train) if isinstance(train, str) else train
            for place, train in found["trains"].items()
        }
    return found
