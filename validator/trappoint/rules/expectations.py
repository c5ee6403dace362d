"""Rules on what the author believes: ``expects``, ``never_with``, ``duties``."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import pointer_to
from trappoint.core.quoting import listed
from trappoint.core.spelling import nearest
from trappoint.interlocking.duties import DUTY_WORDS
from trappoint.model.layout import lie_of, lie_word
from trappoint.rules.route_phrases import barred_beyond, some_names, tell_roads, tracks_over
from trappoint.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.core.findings import Finding
    from trappoint.facts.facts import Facts
    from trappoint.interlocking.routes import Route

EXPECTS = Rule(
    id="expectation-mismatch",
    level="error",
    stage="facts",
    summary="points that an arm does not need as its author believes",
    why=(
        "Either the belief is wrong or the plan is, and whoever wires or builds by it must know "
        "which."
    ),
    source=(
        "Board of Trade requirements 1892, rule 7a: a signal cannot be lowered until the points "
        "are set for it"
    ),
    fails={"signals": {"2": {"arms": [{"id": "2", "expects": {"p2": "reverse"}}]}}},
    passes={"signals": {"2": {"arms": [{"id": "2", "expects": {"p2": "normal"}}]}}},
)


@EXPECTS.checked_by
def _expects(facts: Facts) -> Iterator[Finding]:
    named: dict[str, list[int]] = {}
    for place in facts.together.lever_of:
        named.setdefault(facts.network.places[place].id, []).append(place)
    for number, arm in enumerate(facts.assignment.arms):
        routes = [facts.routes.all[route] for route in facts.assignment.routes_of[number]]
        for name, word in arm.expects.items():
            switch = facts.layout.switch(name)
            if switch is None or not routes:
                continue
            believed = lie_of(switch, word)
            found = {_lie_in(facts, route, name, named.get(name, [])): None for route in routes}
            if set(found) == {believed}:
                continue
            needed = [lie_word(switch, lie) for lie in found if lie is not None]
            if not needed:
                message = f"Arm {arm.id} does not depend on {name} at all."
            elif len(found) > 1:
                message = f"Arm {arm.id} speaks for routes that need {name} differently."
            else:
                message = f"Arm {arm.id} needs {name} {needed[0]}, not {word}."
            own = facts.assignment.routes_of[number]
            yield EXPECTS.finding(
                pointer_to("signals", arm.signal, "arms", arm.position, "expects", name),
                f"{message} It is for trains {tell_roads(facts, own)}.",
                "Put the belief right; or, if it is right, the track, the normal lie or the arm's "
                "`to`.",
                path=(arm.id, name, *tracks_over(facts, own)),
            )


def _lie_in(facts: Facts, route: Route, name: str, places: list[int]) -> str | None:
    """Return how a route needs points or a slip to lie, its own or by what is worked together.

    ``places``: those of the points and crossings of this name.
    """
    switch = facts.layout.switch(name)
    for place in places:
        if place in route.lies:
            return route.lies[place]
    for place in places:
        word = route.needs.get(facts.together.lever_of[place])
        if word is not None and switch is not None:
            return lie_of(switch, word)
    return None


NEVER_WITH = Rule(
    id="never-with-mismatch",
    level="error",
    stage="facts",
    summary="arms that do not conflict as their author believes",
    why="Either the belief is wrong, or an arm does not speak for the road that it should.",
    source=(
        "Board of Trade requirements 1892, rule 7b: no two signals that can lead to a collision "
        "may be shown at once"
    ),
    fails={"signals": {"2": {"arms": [{"id": "2", "never_with": ["3"]}]}}},
    passes={"signals": {"2": {"arms": [{"id": "2", "never_with": ["7L"]}]}}},
)


@NEVER_WITH.checked_by
def _never_with(facts: Facts) -> Iterator[Finding]:
    numbers = {arm.id: number for number, arm in enumerate(facts.assignment.arms)}
    for number, arm in enumerate(facts.assignment.arms):
        if not arm.never_with:
            continue
        always = {c.other for c in facts.conflicts[number] if c.when is None}
        sometimes = {c.other for c in facts.conflicts[number] if c.when is not None}
        for index, name in enumerate(arm.never_with):
            other = numbers.get(name)
            roads = facts.assignment.routes_of
            if other is not None and (other in always or not roads[number] or not roads[other]):
                continue  # An arm with no road is told of by another rule.
            if other is None:
                message = f"{name} is no stop arm: the locking table has no line for it."
            elif other == number:
                message = f"Arm {arm.id} cannot conflict with itself."
            elif other in sometimes:
                message = f"Arms {arm.id} and {name} conflict only for some lies of the points."
            else:
                message = f"Arms {arm.id} and {name} do not conflict: both may be off together."
            over: list[str] = []
            if other is not None and other != number:
                own, theirs = (tell_roads(facts, roads[each]) for each in (number, other))
                message += f" {arm.id} is for trains {own}; {name} for trains {theirs}."
                over = [t for each in (number, other) for t in tracks_over(facts, roads[each])]
            yield NEVER_WITH.finding(
                pointer_to("signals", arm.signal, "arms", arm.position, "never_with", index),
                message,
                "Take the belief out; or, if it is right, look what the two arms speak for.",
                path=(arm.id, name, *dict.fromkeys(over)),
            )


DUTY = Rule(
    id="duty-mismatch",
    level="error",
    stage="facts",
    summary="a duty that a signal does not have",
    why=(
        "A signal that does not do what it was put there for stands in the wrong place or is aimed "
        "wrongly."
    ),
    source="duties are derived from the track; the words are the trade's (home, starter, junction)",
    fails={"signals": {"2": {"duties": ["starter platform B"]}}},
    passes={"signals": {"2": {"duties": ["starter platform A", "protects p2"]}}},
)


@DUTY.checked_by
def _duties(facts: Facts) -> Iterator[Finding]:
    heads_of: dict[str, list[int]] = {}
    for number, head in enumerate(facts.network.heads):
        heads_of.setdefault(head.signal, []).append(number)
    given: dict[str, tuple[str, list[str]]] = {}
    for signal in facts.layout.signals.values():
        derived = facts.duties.of_signal[signal.id]
        for index, duty in enumerate(signal.duties):
            words = " ".join(duty.split())
            if words in derived:
                continue
            first = words.split(" ", 1)[0]
            near = nearest(words, derived)
            if first not in DUTY_WORDS:
                message = f'"{words}" is no duty that can be checked.'
                hint, over = f"Duties begin with {listed(DUTY_WORDS, 'or')}. ", list[str]()
            else:
                if signal.id not in given:
                    given[signal.id] = _given_at(facts, heads_of.get(signal.id, []))
                roads, over = given[signal.id]
                message = f"Signal {signal.id} does not have this duty: {words}.{roads}"
                hint = ""
            has = f"Its duties are: {', '.join(derived)}." if derived else "It has no duties."
            yield DUTY.finding(
                pointer_to("signals", signal.id, "duties", index),
                message,
                f"{hint}{has}{f' Is {near} meant?' if near else ''}",
                path=(signal.id, *over),
            )


def _given_at(facts: Facts, heads: list[int]) -> tuple[str, list[str]]:
    """Tell what a signal gives leave for; return the tracks of that, and those that bar the way."""
    every = [route for head in heads for route in facts.routes.of_head[head]]
    routes = [route for route in every if facts.routes.all[route].needs_arm]
    barred = some_names(track for head in heads for track in barred_beyond(facts, head))
    told = f" It is for trains {tell_roads(facts, routes)}." if routes else ""
    over = tracks_over(facts, routes)
    return told, list(dict.fromkeys((*over, *barred)))
