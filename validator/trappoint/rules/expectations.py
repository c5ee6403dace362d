"""Rules on the author's beliefs: ``expects``, ``never_with``, ``duties``."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import pointer_to
from trappoint.core.quoting import listed, quoted
from trappoint.core.spelling import nearest
from trappoint.interlocking.duties import DUTY_WORDS
from trappoint.model.layout import lie_of, lie_word
from trappoint.rules.route_phrases import (
    at_start,
    barred_beyond,
    routes_in_words,
    some_names,
    thing,
    tracks_over,
)
from trappoint.rules.rule import BOARD_OF_TRADE, Rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.core.findings import Finding
    from trappoint.facts.facts import Facts
    from trappoint.interlocking.routes import Route

EXPECTS = Rule(
    id="expectation-mismatch",
    level="error",
    stage="facts",
    summary="an arm that does not need points as its `expects` says",
    why="Either `expects` or the plan is wrong, and nobody should build or wire a wrong plan.",
    source=(
        f"{BOARD_OF_TRADE}, rule 7a: a signal cannot be lowered until the points are set for it"
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
            own = facts.assignment.routes_of[number]
            called = at_start(thing(facts, "arms", arm.id))
            if not needed:
                message = f"{called} does not need {name} either way."
            elif len(found) > 1:
                message = f"{called} has routes that need {name} to lie differently."
            else:
                message = f"{called} needs {name} {needed[0]}, not {word}."
            yield EXPECTS.finding(
                pointer_to("signals", arm.signal, "arms", arm.position, "expects", name),
                f"{message} It is for trains {routes_in_words(facts, own)}.",
                f"Correct what {arm.id} expects; or, if that is right, correct the track, the "
                f"normal lie of {name} or the arm's `to`.",
                path=(arm.id, name, *tracks_over(facts, own)),
            )


def _lie_in(facts: Facts, route: Route, name: str, places: list[int]) -> str | None:
    """Return the lie that a route needs of points or a slip, None if it needs none.

    A route also needs the lies that follow from ``worked_together``. ``places``: the places of the
    points and crossings of this name.
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
    summary="an arm that does not conflict with an arm in its `never_with`",
    why="Either `never_with` is wrong, or one of the arms is for the wrong road.",
    source=(
        f"{BOARD_OF_TRADE}, rule 7b: no two signals that can lead to a collision "
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
                continue  # Another rule reports an arm without a route.
            one, two = (facts.names.called("arms", each) for each in (arm.id, name))
            if other is None:
                message = f"{two} gives leave for no route, so it is not in the locking table."
            elif other == number:
                message = f"{at_start(thing(facts, 'arms', name))} cannot conflict with itself."
            elif other in sometimes:
                message = f"Arms {one} and {two} conflict only for some lies of the points."
            else:
                message = f"Arms {one} and {two} do not conflict: both may be off together."
            over: list[str] = []
            if other is not None and other != number:
                own, theirs = (routes_in_words(facts, roads[each]) for each in (number, other))
                message += f" {arm.id} is for trains {own}; {name} for trains {theirs}."
                over = [t for each in (number, other) for t in tracks_over(facts, roads[each])]
            yield NEVER_WITH.finding(
                pointer_to("signals", arm.signal, "arms", arm.position, "never_with", index),
                message,
                f"Take {name} out of `never_with`"
                + ("." if not over else ", or correct the `to` of the two arms."),
                path=(arm.id, name, *dict.fromkeys(over)),
            )


DUTY = Rule(
    id="duty-mismatch",
    level="error",
    stage="facts",
    summary="a duty that a signal does not have",
    why="A signal without the duty meant for it is in the wrong place or has the wrong `to`.",
    source=(
        "the format: the check derives duties from the track; home, starter and junction are the "
        "trade's words"
    ),
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
                message = f"{quoted(words)} is no duty that can be checked."
                hint, over = f"Begin a duty with {listed(DUTY_WORDS, 'or')}. ", list[str]()
            else:
                if signal.id not in given:
                    given[signal.id] = _given_at(facts, heads_of.get(signal.id, []))
                roads, over = given[signal.id]
                called = at_start(thing(facts, "signals", signal.id))
                message = f"{called} does not have the duty {quoted(words)}.{roads}"
                hint = ""
            fix = f"Write {quoted(near)}" if near else "Take this duty out"
            has = f"its duties are {', '.join(derived)}" if derived else "it has no duties"
            yield DUTY.finding(
                pointer_to("signals", signal.id, "duties", index),
                message,
                f"{hint}{fix}: {has}.",
                path=(signal.id, *over),
            )


def _given_at(facts: Facts, heads: list[int]) -> tuple[str, list[str]]:
    """Return a sentence on a signal's routes, then their tracks and those that bar its way."""
    every = [route for head in heads for route in facts.routes.of_head[head]]
    routes = [route for route in every if facts.routes.all[route].needs_arm]
    barred = some_names(track for head in heads for track in barred_beyond(facts, head))
    sentence = f" It is for trains {routes_in_words(facts, routes)}." if routes else ""
    over = tracks_over(facts, routes)
    return sentence, list(dict.fromkeys((*over, *barred)))
