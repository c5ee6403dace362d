"""Rules on what a plan says about its edges."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from trappoint.model.layout import opposite
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
    """A terminus whose home signal stands on the next board, or does not."""
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
    summary="a board that says its neighbour holds trains at an edge, where the neighbour does not",
    why=(
        "By itself the board is judged as if a stop signal stood beyond that edge: without one, "
        "what was found about it alone is not true here."
    ),
    source="common practice, no source",
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
    told: set[str] = set()
    for promise in promises:
        beyond, towards = partner[promise.track, opposite(promise.heading)]
        start = _unheld_from(facts, promise, beyond, towards)
        if start is None or promise.pointer in told:
            continue
        told.add(promise.pointer)
        plan = f"Board {promise.plan}" if promise.plan else "This plan"
        yield NOT_HELD.finding(
            promise.pointer,
            f"{plan} says that trains are held at its edge {promise.edge}, but no stop signal on "
            f"the neighbouring board holds a train from {start} before it runs from {beyond} on to "
            f"{promise.track}.",
            f"Put a stop signal for {towards} trains on {beyond}, at its {towards} end; or take "
            f"`held` out at edge {promise.edge}, and put a stop signal on {promise.track}.",
            path=(promise.edge, beyond, promise.track),
            at_key=True,
        )


def _unheld_from(facts: Facts, promise: Promise, beyond: str, towards: Heading) -> str | None:
    """Name a place from which a train comes over the joint unheld; None if none does."""
    network, tracks = facts.network, facts.layout.tracks
    if not (tracks[promise.track].allows(promise.heading) and tracks[beyond].allows(towards)):
        return None
    before = _state_at(facts, beyond, towards, towards)
    after = _state_at(facts, promise.track, opposite(promise.heading), promise.heading)
    # Across a bare joint both are one section: whoever is in it can run over the joint.
    unheld = before == after or any(
        exit_.to == after and exit_.head < 0 for exit_ in network.exits[before]
    )
    if unheld:
        for run in facts.free_runs:
            if before in run.came_from:
                return network.place(run.start).name
    shunted: str | None = None
    for route in facts.routes.all:
        way = (network.held_at[route.head], *route.path)
        crosses = before in route.path if before == after else (before, after) in pairwise(way)
        if crosses and not route.shunting:
            return None
        if crosses and shunted is None:
            shunted = network.place(way[0]).name
    return shunted


def _state_at(facts: Facts, track: str, end: Heading, heading: Heading) -> int:
    """Return the state of a train at an end of a track, with this heading; or that in its yard."""
    pieces = facts.network.sections.get(track)
    if pieces is None:
        return facts.network.states_of[facts.parts[track][0]][0]
    return pieces[-1 if end == "down" else 0][heading]
