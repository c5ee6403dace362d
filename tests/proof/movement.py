"""Movements in the form of the check: written from a run, and followed step by step."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Any

from proof.printed import NO_TABLE, Printed
from proof.roads import Roads
from proof.system import AT_REST, COMES_ON, OFF_THE_LINE, OUTSIDE, Pair, System

Movement = dict[str, Any]
LABELS = "AB"


class NoMovementError(AssertionError):
    """Raised if a movement is impossible, or if the trains do not meet at its end only."""


def tell(system: System, run: Sequence[Pair]) -> Movement:
    """Return a run, step by step, in the form of the check."""
    steps = []
    for before, after in pairwise(run):
        moving = 0 if before[1] == after[1] else 1
        told = _told(system, before[moving], after[moving])
        if told is not None:
            steps.append({"train": LABELS[moving], **told})
    places = [system.states[number].place or None for number in run[0]]
    return {"starts": dict(zip(LABELS, places, strict=True)), "steps": steps}


def follow(roads: Roads, movement: Movement) -> None:
    """Raise NoMovementError unless the steps bring two trains into one place, at the last one."""
    system = System(Printed(roads, NO_TABLE))
    pairs = {
        (one, other)
        for one in _starting(system, movement["starts"]["A"])
        for other in _starting(system, movement["starts"]["B"])
        if system.are_starts((one, other))
    }
    if not pairs:
        raise NoMovementError(f"trains cannot start so: {movement['starts']}")
    for number, step in enumerate(movement["steps"]):
        pairs = {
            after
            for pair in pairs
            if not system.meet(pair)
            for after in _stepping(system, pair, step)
        }
        if not pairs:
            raise NoMovementError(f"step {number + 1} cannot be done: {step}")
    if not any(system.meet(pair) for pair in pairs):
        raise NoMovementError("the trains have not met")


def _starting(system: System, place: str | None) -> list[int]:
    return [n for n in system.starts if system.states[n].place == (place or "")]


def _stepping(system: System, pair: Pair, step: dict[str, Any]) -> Iterator[Pair]:
    """Return the pairs of states to which a step of a movement leads."""
    moving = LABELS.index(step["train"])
    one, other = pair[moving], pair[1 - moving]
    wanted = {key: value for key, value in step.items() if key != "train"}
    spot, grant = system.states[one].spot, system.states[one].grant
    stands = spot[1] in system.roads.stands.get(spot[0], ())
    if stands and grant == AT_REST and wanted == {"do": "set-off", "heading": spot[1] or None}:
        yield pair  # it has that heading already
    for after in (*system.plain[one], *system.asked[one]):
        if after in system.asked[one] and not system.may(after, other):
            continue
        for told in _tellings(system, one, after):
            if told == wanted:
                reached = system.come_on(after)
                yield (reached, other) if moving == 0 else (other, reached)


def _told(system: System, before: int, after: int) -> dict[str, Any] | None:
    """Return a step in the form of the check, None for one without a form: to have come on."""
    return next(iter(_tellings(system, before, after)), None)


def _tellings(system: System, before: int, after: int) -> list[dict[str, Any]]:
    """Return the forms of a step; a step that sets off may also be one that runs on."""
    state, to = system.states[before], system.states[after]
    if to.grant == COMES_ON:
        edges = [edge for edge, spot in system.roads.edges if spot == to.spot]
        return [{"do": "come-on", "edge": edge, "to": to.place} for edge in edges]
    if state.grant == COMES_ON and to.spot == state.spot:
        return []
    if to == OUTSIDE:
        return [{"do": "leave"}]
    if to == OFF_THE_LINE:
        return [{"do": "run", "to": drag} for drag in sorted(system.roads.drags)]
    if after in system.asked[before] and to.grant != AT_REST:
        route = system.grants[to.grant].route
        over = [place for place, _ in route.path]
        return [{"do": "take", "signal": route.head.signal, "over": over}]
    told = []
    heading = to.spot[1] or None
    stands = to.spot[1] in system.roads.stands.get(to.place, ())
    if to.place == state.place and to.grant == AT_REST and stands:
        told.append({"do": "set-off", "heading": heading})
    if not told or _runs_to_itself(system, before, after):
        told.append({"do": "run", "to": to.place})
    return told


def _runs_to_itself(system: System, before: int, after: int) -> bool:
    """Return whether a train runs over a cut or a joint into the place in which it is already."""
    state, to = system.states[before], system.states[after]
    if state.grant >= 0:
        return system.ahead(state)[:1] == (to.spot,)
    gates = system.roads.gates.get(state.spot, ())
    return any(way.to == to.spot for gate in gates if gate.head is None for way in gate.ways)
