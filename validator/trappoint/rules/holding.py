"""The rule that decides the verdict: exits at which no signal holds a standing train."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import pointer_to
from trappoint.rules.route_phrases import place_called, road
from trappoint.rules.rule import BOARD_OF_TRADE, Rule
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
    summary="a standing train that can run to where another may be, with no stop signal to hold it",
    why="Every train that stands must be held wherever its way may meet another's.",
    source=(
        f"{BOARD_OF_TRADE}, rule 7b: no two signals that can lead to a collision "
        "may be shown at once; the format: what it means that a plan holds"
    ),
    fails={"signals": {"6": None}},
    passes={},
    binding=True,
)


@UNHELD_EXIT.checked_by
def _unheld(facts: Facts) -> Iterator[Finding]:
    failures = facts.verdict.failures
    if len(failures) > MAX_FAILURES:
        # Only the first are reported: those with a movement show that the plan does not hold.
        failures = tuple(sorted(failures, key=lambda failure: failure.movement is None))
    if not failures:
        return
    from trappoint.rules.holding_fixes import fix_of, opened_traps
    from trappoint.rules.movement_phrases import movement_in_words

    opened = opened_traps(facts)
    for failure in failures:
        level: Level = "error"
        why = ""
        if failure.movement is not None:
            why = movement_in_words(facts, failure.movement)
        elif failure.decided:
            level = "note"
            why = "No two trains can ever be there at once, so the plan still holds."
        else:
            why = (
                "The check does not know whether two trains can meet there: the plan has too many "
                "positions to search."
            )
        yield UNHELD_EXIT.finding(
            _pointer(facts, failure),
            unheld_message(facts, failure),
            fix_of(facts, failure, opened),
            path=_path(facts, failure),
            why=why,
            level=level,
            movement=failure.movement,
        )


def _start_id(facts: Facts, failure: Failure) -> str:
    return facts.network.place(failure.run.start).name


def _pointer(facts: Facts, failure: Failure) -> str:
    """Return a pointer to the end of the track that the train runs to, or to the yard."""
    network = facts.network
    place = network.place(failure.run.start)
    if place.kind == "yards":
        return place.pointer
    piece, heading = network.last_piece(failure.run.start)
    return pointer_to("tracks", piece.track, heading)


def _path(facts: Facts, failure: Failure) -> list[str]:
    network = facts.network
    names = [_start_id(facts, failure)]
    if failure.place in failure.run.reached:
        states = failure.run.path_to(failure.run.reached[failure.place])
        names += [network.place(state).name for state in states]
    if failure.kind in ("route-across", "route-behind"):
        names.append(_leave(facts, failure.other)[1])
    elif failure.kind == "free-run":
        names.append(network.places[failure.other].name)
    return names


def _leave(facts: Facts, route: int) -> tuple[str, str]:
    """Return kind and id of the arm that gives leave for a route, or of its signal if none does."""
    for number in facts.assignment.speaking.get(route, ()):
        return "arms", facts.assignment.arms[number].id
    return "signals", facts.network.heads[facts.routes.all[route].head].signal


def unheld_message(facts: Facts, failure: Failure) -> str:
    """Return a sentence on a train that no signal holds."""
    network, run = facts.network, failure.run
    at = network.places[failure.place]
    start, place = (place_called(facts, each) for each in (network.place(run.start), at))
    if failure.kind == "edge":
        edge = network.entries[run.entry].edge
        called = facts.names.called("edges", edge)
        called = f"edge:{edge}" if called == edge else f"edge {called}"
        return (
            f"Nothing stops a train that comes on at {called} before {place}: the next one runs "
            "into it."
        )
    heading = network.heading(run.start)
    running = f", running {heading}," if heading else ""
    unheld = f"Nothing stops a train in {start}{running} before {place}"
    if failure.kind == "stand":
        return f"{unheld}, where another train may be."
    if failure.kind == "free-run":
        other = place_called(facts, network.places[failure.other])
        return f"{unheld}, nor a train from {other}."
    leave = facts.names.called(*_leave(facts, failure.other))
    if failure.kind == "route-behind":
        return f"{unheld}, while {leave} lets another train follow {road(facts, failure.other)}."
    last = network.place(facts.routes.all[failure.other].path[-1])
    over = "" if last == at else f" over {place}"
    return f"{unheld}, while {leave} lets another run{over} {road(facts, failure.other)}."
