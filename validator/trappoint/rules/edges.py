"""The rule on edges at which a board relies on its neighbour."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from trappoint.model.layout import opposite
from trappoint.rules.route_phrases import place_called
from trappoint.rules.rule import Assembled, Rule
from trappoint.topology.sections import joint_partners

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from trappoint.boards.merging import Promise
    from trappoint.core.findings import Finding
    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Heading

_MODULE: Mapping[str, object] = {
    "format": "trappoint-layout/1",
    "tracks": {
        "line": {"up": "edge:town", "down": "p1.toe"},
        "road-1": {"up": "p1.left", "down": "buffer"},
        "road-2": {"up": "p1.right", "down": "buffer"},
    },
    "points": {"p1": {"normal": "left", "lock": True}},
    "platforms": {"A": {"tracks": ["road-1"]}, "B": {"tracks": ["road-2"]}},
    "signals": {
        "1": {"track": "road-1", "for": "up", "arms": [{"id": "1"}]},
        "2": {"track": "road-2", "for": "up", "arms": [{"id": "2"}]},
    },
    "edges": {"town": {"held": True}},
}


def _whole(signals: Mapping[str, object]) -> Assembled:
    """Return a terminus joined to a board with these signals; its home signal belongs there."""
    return Assembled(
        {
            "format": "trappoint-layout/1",
            "tracks": {"approach": {"up": "edge:town", "down": "edge:harbour"}},
            "signals": signals,
            "boards": {"harbour": {"plan": "harbour.layout.json"}},
            "joins": [{"a": ":harbour", "b": "harbour:town"}],
        },
        {"harbour.layout.json": _MODULE},
    )


NOT_HELD = Rule(
    id="edge-not-held",
    level="error",
    stage="facts",
    summary="an edge marked `held` whose neighbouring board has no stop signal for it",
    why=(
        "The check of that board alone relies on a stop signal beyond this edge, and here there is "
        "none."
    ),
    source="the format: held edges",
    fails=_whole({}),
    passes=_whole(
        {
            "1": {
                "track": "approach",
                "for": "down",
                "mount": "bracket",
                "arms": [
                    {"id": "1L", "to": "harbour/road-1"},
                    {"id": "1R", "to": "harbour/road-2"},
                ],
            }
        }
    ),
)


@NOT_HELD.checked_by
def _not_held(facts: Facts) -> Iterator[Finding]:
    promises = facts.assembly.promises if facts.assembly is not None else ()
    if not promises:
        return
    partner = joint_partners(facts.layout)
    reported: set[str] = set()
    for promise in promises:
        beyond, towards = partner[promise.track, opposite(promise.heading)]
        start = _unheld_from(facts, promise, beyond, towards)
        if start is None or promise.pointer in reported:
            continue
        reported.add(promise.pointer)
        plan = f"board {promise.plan}" if promise.plan else "this plan"
        one, other = (facts.names.called("tracks", track) for track in (beyond, promise.track))
        yield NOT_HELD.finding(
            promise.pointer,
            f"Edge {promise.edge} of {plan} is marked `held`, but no stop signal on the "
            f"neighbouring board holds a train from {start} before it runs from {one} on to "
            f"{other}.",
            f"Put a stop signal for {towards} trains on {beyond}, at its {towards} end; or take "
            f"`held` out at edge {promise.edge}, and put a stop signal on {promise.track}.",
            path=(promise.edge, beyond, promise.track),
            at_key=True,
        )


def _unheld_from(facts: Facts, promise: Promise, beyond: str, towards: Heading) -> str | None:
    """Return the name of a place from which a train runs over the joint unheld, None if none."""
    network, tracks = facts.network, facts.layout.tracks
    if not (tracks[promise.track].allows(promise.heading) and tracks[beyond].allows(towards)):
        return None
    before = _state_at(facts, beyond, towards, towards)
    after = _state_at(facts, promise.track, opposite(promise.heading), promise.heading)
    # A bare joint divides nothing: a train anywhere in the section can run over it.
    unheld = before == after or any(
        exit_.to == after and exit_.head < 0 for exit_ in network.exits[before]
    )
    if unheld:
        for run in facts.free_runs:
            if before in run.came_from:
                return place_called(facts, network.place(run.start))
    shunted: str | None = None
    for route in facts.routes.all:
        way = (network.held_at[route.head], *route.path)
        crosses = before in route.path if before == after else (before, after) in pairwise(way)
        if crosses and not route.shunting:
            return None
        if crosses and shunted is None:
            shunted = place_called(facts, network.place(way[0]))
    return shunted


def _state_at(facts: Facts, track: str, end: Heading, heading: Heading) -> int:
    """Return the state of a train at an end of a track with this heading, or in its yard."""
    pieces = facts.network.sections.get(track)
    if pieces is None:
        return facts.network.states_of[facts.parts[track][0]][0]
    return pieces[-1 if end == "down" else 0][heading]
