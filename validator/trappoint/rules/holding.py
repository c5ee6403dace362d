"""The rule behind the verdict: exits at which a train that stands is not held."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import pointer_to
from trappoint.rules.route_phrases import road
from trappoint.rules.rule import Rule
from trappoint.verdict.local_test import MAX_FAILURES

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.core.findings import Finding, Level
    from trappoint.facts.facts import Facts
    from trappoint.verdict.verdict import Failure

UNHELD_EXIT = Rule(
    id="unheld-exit",
    level="error",
    stage="facts",
    summary="a train that stands can run to where another may be, with no stop signal to hold it",
    why="Every train that stands must be held wherever its way may meet another's.",
    source=(
        "Board of Trade requirements 1892, rule 7b: no two signals that can lead to a collision "
        "may be shown at once; two trains are enough to find a collision (James and others, "
        "Science of Computer Programming, 2014)"
    ),
    fails={"signals": {"6": None}},
    passes={},
    binding=True,
)


@UNHELD_EXIT.checked_by
def _unheld(facts: Facts) -> Iterator[Finding]:
    failures = facts.verdict.failures
    if len(failures) > MAX_FAILURES:
        # Not all can be told: those that tell against the plan come first.
        failures = tuple(sorted(failures, key=lambda failure: failure.movement is None))
    if not failures:
        return
    from trappoint.rules.holding_fixes import fix_of, opened_traps
    from trappoint.rules.movement_phrases import tell_movement

    opened = opened_traps(facts)
    for failure in failures:
        level: Level = "error"
        why = ""
        if failure.movement is not None:
            why = tell_movement(failure.movement)
        elif failure.decided:
            level = "note"
            why = (
                "No train can ever come there while another could, so the plan holds all the same."
            )
        else:
            why = (
                "It is not known whether two trains can really be brought together there: the plan "
                "has too many positions to search."
            )
        yield UNHELD_EXIT.finding(
            _pointer(facts, failure),
            _message(facts, failure),
            fix_of(facts, failure, opened),
            path=_path(facts, failure),
            why=why,
            level=level,
            movement=failure.movement,
        )


def _start_name(facts: Facts, failure: Failure) -> str:
    return facts.network.place(failure.run.start).name


def _pointer(facts: Facts, failure: Failure) -> str:
    """Point at the end of the track that the train runs to, or at the yard."""
    network = facts.network
    place = network.place(failure.run.start)
    if place.kind == "yards":
        return place.pointer
    piece, heading = network.last_piece(failure.run.start)
    return pointer_to("tracks", piece.track, heading)


def _path(facts: Facts, failure: Failure) -> list[str]:
    network = facts.network
    names = [_start_name(facts, failure)]
    if failure.place in failure.run.reached:
        states = failure.run.path_to(failure.run.reached[failure.place])
        names += [network.place(state).name for state in states]
    if failure.kind in ("route-across", "route-behind"):
        names.append(_leave(facts, failure.other))
    elif failure.kind == "free-run":
        names.append(network.places[failure.other].name)
    return names


def _leave(facts: Facts, route: int) -> str:
    """Name the arm that gives leave for a route, or the signal where no arm speaks for it."""
    for number in facts.assignment.speaking.get(route, ()):
        return facts.assignment.arms[number].id
    return facts.network.heads[facts.routes.all[route].head].signal


def _message(facts: Facts, failure: Failure) -> str:
    network, run = facts.network, failure.run
    start, place = _start_name(facts, failure), network.places[failure.place].name
    if failure.kind == "edge":
        edge = network.entries[run.entry].edge
        return (
            f"Nothing stops a train that comes on at edge:{edge} before {place}: the next one "
            "runs into it."
        )
    heading = network.heading(run.start)
    running = f", running {heading}," if heading else ""
    unheld = f"Nothing stops a train in {start}{running} before {place}"
    if failure.kind == "stand":
        return f"{unheld}, where another train may be."
    if failure.kind == "free-run":
        return f"{unheld}, nor one from {network.places[failure.other].name}."
    leave = _leave(facts, failure.other)
    if failure.kind == "route-behind":
        return f"{unheld}, while {leave} lets another train follow {road(facts, failure.other)}."
    over = (
        ""
        if network.place(facts.routes.all[failure.other].path[-1]).name == place
        else (f" over {place}")
    )
    return f"{unheld}, while {leave} lets another run{over} {road(facts, failure.other)}."
