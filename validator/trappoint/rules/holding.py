"""The rule behind the verdict: exits at which a train that stands is not held."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.findings import pointer_to
from trappoint.holding import MOST_FAILURES
from trappoint.rules.rule import Rule
from trappoint.rules.told import road

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from trappoint.facts import Facts
    from trappoint.findings import Finding, Level
    from trappoint.movements import Movement, Step
    from trappoint.verdict import Failure


def _unheld(facts: Facts) -> Iterator[Finding]:
    failures = facts.verdict.failures
    if len(failures) > MOST_FAILURES:
        # Not all can be told: those that tell against the plan come first.
        failures = tuple(sorted(failures, key=lambda failure: failure.movement is None))
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
                "Whether two trains can really be brought together there could not be found out: "
                "there are too many positions."
            )
        yield UNHELD_EXIT.finding(
            _pointer(facts, failure),
            _message(facts, failure),
            _fix(facts, failure),
            path=_path(facts, failure),
            why=why,
            level=level,
            movement=failure.movement,
        )


def _stand_name(facts: Facts, failure: Failure) -> str:
    network = facts.network
    return network.places[network.stands[failure.run.stand].place].name


def _pointer(facts: Facts, failure: Failure) -> str:
    network = facts.network
    place = network.places[network.stands[failure.run.stand].place]
    if place.kind == "yards":
        return place.pointer
    return pointer_to("tracks", place.id, network.way[failure.run.start])


def _path(facts: Facts, failure: Failure) -> list[str]:
    network = facts.network
    names = [_stand_name(facts, failure)]
    states = failure.run.path_to(failure.run.reached[failure.place])
    names += [network.place(state).name for state in states]
    if failure.kind in ("route-across", "route-behind"):
        names.append(_leave(facts, failure.other))
    elif failure.kind == "free-run":
        names.append(network.places[network.stands[failure.other].place].name)
    return names


def _leave(facts: Facts, route: int) -> str:
    """Name the arm that gives leave for a route, or the signal where no arm speaks for it."""
    for number in facts.assignment.speaking.get(route, ()):
        return facts.assignment.arms[number].id
    return facts.network.heads[facts.routes.all[route].head].signal


def _message(facts: Facts, failure: Failure) -> str:
    network = facts.network
    stand = _stand_name(facts, failure)
    way = network.way[failure.run.start]
    running = f", running {way}," if way else ""
    place = network.places[failure.place]
    comes = f"a train in {stand}{running} comes to {place.name} without passing a stop signal"
    if failure.kind == "stand":
        tail = "and another train may stand there"
    elif failure.kind == "free-run":
        other = network.places[network.stands[failure.other].place].name
        tail = f"and so may a train from {other}"
    else:
        leave = _leave(facts, failure.other)
        through = (
            ""
            if network.place(facts.routes.all[failure.other].path[-1]).name == place.name
            else f" through {place.name}"
        )
        if failure.kind == "route-across":
            tail = (
                f"{leave} may be off at the time for a train {road(facts, failure.other)}{through}"
            )
        else:
            tail = (
                f"another may be there still, for {leave} lets a train in to {stand} while "
                f"{place.name} is taken"
            )
    return f"{comes[0].upper()}{comes[1:]}; {tail}."


def _fix(facts: Facts, failure: Failure) -> str:
    network = facts.network
    place = network.places[network.stands[failure.run.stand].place]
    if place.kind == "yards":
        first = network.place_of[failure.run.path_to(failure.run.reached[failure.place])[0]]
        name = network.places[first].name
        fix = f"Put a stop signal at the edge of yard {place.id}, where it leads to {name}"
        if network.places[first].kind != "section" and _leads_back(facts, first, failure.run.start):
            fix += f"; or, if {name} belongs to the yard, list it there"
        return f"{fix}."
    way = network.way[failure.run.start]
    where = f"its {way} end" if not place.part else f"the {way} end of its part {place.part}"
    return f"Put a stop signal for {way} trains on {place.id}, at {where}."


def _leads_back(facts: Facts, place: int, state: int) -> bool:
    """Tell whether an element just outside a yard also leads back into it."""
    network = facts.network
    exits = [exit_ for beside in network.states_of[place] for exit_ in network.exits[beside]]
    return sum(exit_.to == state for exit_ in exits) > 1


def tell_movement(movement: Movement) -> str:
    """Tell a movement in sentences: who stands where, who moves, where they meet."""
    story = tell_steps(movement.starts, movement.steps)
    return f"How they meet: {story} Both are in {movement.meets_at}."


def tell_steps(starts: tuple[str, str], steps: Iterable[Step]) -> str:
    """Tell what two trains do, one sentence for what one of them does in one go."""
    lines = [f"train A stands in {starts[0]}, train B in {starts[1]}"]
    last: Step | None = None
    for step in steps:
        if last is not None and last.train == step.train and last.do == step.do == "run":
            lines[-1] += f", {step.to}"
        else:
            lines.append(_tell(step))
        last = step
    return f"{'. '.join(lines)}."


def _tell(step: Step) -> str:
    if step.do == "set-off":
        return f"{step.train} sets off{f' {step.heading}' if step.heading else ''}"
    if step.do == "take":
        return f"Signal {step.signal} is taken off for {step.train}, as far as {step.over[-1]}"
    return f"{step.train} runs to {step.to}"


UNHELD_EXIT = Rule(
    "unheld-exit",
    "error",
    "facts",
    "a train that stands can run to where another may be, with no stop signal to hold it",
    "Every train that stands must be held wherever its way may meet another's.",
    "Board of Trade requirements 1892, rule 7b: no two signals that can lead to a collision may "
    "be shown at once; two trains are enough to find a collision (James and others, Science of "
    "Computer Programming, 2014)",
    {"signals": {"6": None}},
    {},
    _unheld,
    binding=True,
)
