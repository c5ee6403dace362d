"""Rules on arms and the routes for which they give leave."""

from __future__ import annotations

from itertools import islice, pairwise, product
from typing import TYPE_CHECKING

from trappoint.core.findings import pointer_to
from trappoint.core.quoting import listed
from trappoint.interlocking.arms import left_to_right
from trappoint.interlocking.locking_table import describe_route
from trappoint.rules.route_phrases import (
    MAX_ROADS,
    MAX_STATES,
    at_start,
    barred_beyond,
    barred_in_words,
    clash_in_words,
    elements_met,
    goal_of,
    names_in_words,
    of_signal,
    road,
    thing,
    tracks_over,
)
from trappoint.rules.rule import BOARD_OF_TRADE, Rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.core.findings import Finding
    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Arm


def _pointer(arm: Arm, *key: str) -> str:
    """Return a pointer to an arm, or to a key of it."""
    return pointer_to("signals", arm.signal, "arms", arm.position, *key)


NAMES_NO_ROUTE = Rule(
    id="arm-names-no-route",
    level="error",
    stage="facts",
    summary="an arm whose `to` is on no route of its signal",
    why="The arm could never be taken off, and another route may be without an arm.",
    source=f"{BOARD_OF_TRADE}, rule 3: an arm for each line",
    fails={"signals": {"2": {"arms": [{"id": "2", "to": "siding"}]}}},
    passes={},
)


@NAMES_NO_ROUTE.checked_by
def _names_no_route(facts: Facts) -> Iterator[Finding]:
    assignment = facts.assignment
    known: dict[tuple[int, bool], tuple[list[str], list[str], list[str]]] = {}
    for number, arm in enumerate(assignment.arms):
        head = assignment.head_of[number]
        own = facts.routes.of_kind(head, shunting=arm.kind == "shunt") if head >= 0 else []
        if arm.to and own and not assignment.routes_of[number]:
            key = head, arm.kind == "shunt"
            if key not in known:
                goals = dict.fromkeys(goal_of(facts, route) for route in own)
                known[key] = list(goals), elements_met(facts, own), barred_beyond(facts, head)
            ends, met, barred = known[key]
            over = f", over {names_in_words(met)}" if met else ""
            there = "there" if len(arm.to) == 1 else "over all of these"
            yield NAMES_NO_ROUTE.finding(
                _pointer(arm, "to"),
                f"{at_start(thing(facts, 'arms', arm.id))} should lead to "
                f"{listed(arm.to, 'and')}, but no route from signal {arm.signal} runs {there}."
                f"{clash_in_words(facts, head)}{barred_in_words(barred)}",
                f"Write a track on a route of signal {arm.signal} (to {listed(ends, 'or')}{over}), "
                "or correct the signal's track or `for`.",
                path=(arm.id, *arm.to, *met, *barred),
            )


NEEDS_TO = Rule(
    id="arm-needs-to",
    level="error",
    stage="facts",
    summary="an arm whose route the plan does not give",
    why=(
        "An arm may be without a `to` only if it is alone, or if the signal has as many arms as "
        "routes in plain order from left to right."
    ),
    source="the format: which arms may be without a `to`",
    fails={"signals": {"2": {"arms": [{"id": "2"}, {"id": "2x"}]}}},
    passes={"signals": {"7": {"arms": [{"id": "7L"}, {"id": "7R"}]}}},
)


@NEEDS_TO.checked_by
def _needs_to(facts: Facts) -> Iterator[Finding]:
    assignment = facts.assignment
    over_all: dict[tuple[int, str], list[str]] = {}
    for number in assignment.unresolved:
        arm = assignment.arms[number]
        if not facts.routes.of_head[assignment.head_of[number]]:
            continue
        head = facts.network.heads[assignment.head_of[number]]
        kin = facts.routes.of_kind(assignment.head_of[number], shunting=arm.kind == "shunt")
        arms, count = len(head.arms_of(arm.kind)), len(kin)
        unclear = ", without a left and a right where they part" if arms == count else ""
        roads = [road(facts, route) for route in kin[: MAX_ROADS + 1]]
        more = "; and more" if len(roads) > MAX_ROADS else ""
        key = assignment.head_of[number], arm.kind
        if key not in over_all:
            over_all[key] = tracks_over(facts, kin)
        yield NEEDS_TO.finding(
            _pointer(arm),
            f"{at_start(thing(facts, 'arms', arm.id))} has no clear route: signal {arm.signal} "
            f"has {arms} arm{'' if arms == 1 else 's'} of this kind for {count} "
            f"route{'' if count == 1 else 's'}{unclear}"
            + (f": {'; '.join(roads[:MAX_ROADS])}{more}." if roads else "."),
            f"Add a `to` to {arm.id}: a track or a platform that only its route runs over.",
            path=(arm.id, *over_all[key]),
        )


WITHOUT_ARM = Rule(
    id="route-without-arm",
    level="warning",
    stage="facts",
    summary="a route for which no arm gives leave",
    why="Trains can run that way, but no arm ever gives them leave to.",
    source=f"{BOARD_OF_TRADE}, rule 3: an arm for each line",
    fails={"signals": {"4": {"arms": [{"id": "4R", "to": "quarry-line"}]}}},
    passes={},
)


@WITHOUT_ARM.checked_by
def _without_arm(facts: Facts) -> Iterator[Finding]:
    assignment = facts.assignment
    given = {
        route
        for arm, routes in zip(assignment.arms, assignment.routes_of, strict=True)
        if arm.kind != "calling-on"
        for route in routes
    }
    unclear = {assignment.head_of[number] for number in assignment.unresolved}
    for number, head in enumerate(facts.network.heads):
        if number in unclear:
            continue
        own = facts.routes.of_head[number]
        paths = [facts.routes.all[route].path for route in own if route in given]
        for route in own:
            if route in given or not facts.routes.all[route].needs_arm:
                continue
            # A stop arm or a shunt arm is enough for a way.
            if not _same_way(facts.routes.all[route].path, paths):
                entry = describe_route(facts, route)
                yield WITHOUT_ARM.finding(
                    pointer_to("signals", head.signal, "arms"),
                    f"No arm of {thing(facts, 'signals', head.signal)} gives leave for the route "
                    f"{road(facts, route)}.",
                    f"Add an arm for this route to signal {head.signal}, or change the `to` of "
                    "one of its arms.",
                    path=(head.signal, *entry.over, *entry.points),
                )


def _same_way(path: tuple[int, ...], given: list[tuple[int, ...]]) -> bool:
    """Return whether an arm gives leave along a path or its beginning."""
    return any(path[: len(other)] == other[: len(path)] for other in given)


TWO_FOR_ONE = Rule(
    id="two-arms-for-one-route",
    level="error",
    stage="facts",
    summary="two arms that give leave for the same route",
    why="Two arms for one route leave the driver in doubt; most often one has the wrong `to`.",
    source=f"{BOARD_OF_TRADE}, rule 3: an arm for each line",
    fails={"signals": {"1": {"arms": [{"id": "1L", "to": "main"}, {"id": "1R", "to": "main"}]}}},
    passes={},
)


@TWO_FOR_ONE.checked_by
def _two_for_one(facts: Facts) -> Iterator[Finding]:
    assignment = facts.assignment
    first: dict[int, str] = {}
    calling: dict[int, str] = {}
    for number, arm in enumerate(assignment.arms):
        # A calling-on arm should have the routes of the stop arm above it.
        seen = calling if arm.kind == "calling-on" else first
        for route in assignment.routes_of[number]:
            if route in seen:
                yield TWO_FOR_ONE.finding(
                    _pointer(arm, "to") if arm.to else _pointer(arm),
                    f"Arms {seen[route]} and {arm.id}{of_signal(facts, arm.signal)} give leave for "
                    f"the same route {road(facts, route)}.",
                    f"Change the `to` of {seen[route]} or of {arm.id}, or take one of them out.",
                    path=(arm.id, seen[route]),
                )
                break
            seen[route] = arm.id


FOR_TWO_ROADS = Rule(
    id="arm-speaks-for-two-roads",
    level="error",
    stage="facts",
    summary="an arm for routes that need points to lie differently",
    why="A stop arm for two roads does not show the driver which way the points lie.",
    source=(
        f"{BOARD_OF_TRADE}, rule 3: an arm for each line; for shunt signals: common practice, no "
        "source"
    ),
    fails={"signals": {"1": {"arms": [{"id": "1"}]}}},
    passes={"signals": {"4": {"form": "disc", "arms": [{"id": "4"}]}}},
)


@FOR_TWO_ROADS.checked_by
def _for_two_roads(facts: Facts) -> Iterator[Finding]:
    assignment = facts.assignment
    for number, arm in enumerate(assignment.arms):
        if arm.kind != "stop" or arm.elsewhere or facts.layout.signals[arm.signal].form == "disc":
            continue
        lies: dict[int, set[str]] = {}
        for route in assignment.routes_of[number]:
            for place, lie in facts.routes.all[route].lies.items():
                lies.setdefault(place, set()).add(lie)
        split = [facts.network.places[place].id for place, found in lies.items() if len(found) > 1]
        if split:
            count = len(assignment.routes_of[number])
            goals = [road(facts, route) for route in assignment.routes_of[number][:4]]
            met = elements_met(facts, list(assignment.routes_of[number][:MAX_STATES]))
            yield FOR_TWO_ROADS.finding(
                _pointer(arm),
                f"{at_start(thing(facts, 'arms', arm.id))} gives leave for {count} routes that "
                f"need {listed(split, 'and')} to lie differently: {listed(goals, 'and')}"
                f"{' and more' if count > 4 else ''}.",
                f"Add an arm for each road to signal {arm.signal} on a bracket, from left to right "
                "as the roads lie, each with its `to`; or, for shunting only, make it a disc.",
                path=dict.fromkeys((arm.id, *split, *met)),
            )


MAX_COMPARED = 2_000
"""The most pairs of routes compared for two neighbouring arms."""

OUT_OF_ORDER = Rule(
    id="arms-out-of-order",
    level="error",
    stage="facts",
    summary="arms in another order than their roads",
    why=(
        "A driver reads arms from left to right as the roads lie, or from the top down on one "
        "post; in another order they send him the wrong way."
    ),
    source=(
        f"{BOARD_OF_TRADE}, rule 3: the top arm is for the line on the left; on brackets: common "
        "practice, no source"
    ),
    fails={
        "signals": {"1": {"arms": [{"id": "1R", "to": "main"}, {"id": "1L", "to": "loop-west"}]}}
    },
    passes={},
)


@OUT_OF_ORDER.checked_by
def _out_of_order(facts: Facts) -> Iterator[Finding]:
    assignment = facts.assignment
    of_head: dict[tuple[int, str], list[int]] = {}
    for number, head in enumerate(assignment.head_of):
        of_head.setdefault((head, assignment.arms[number].kind), []).append(number)
    for numbers in of_head.values():
        ordered = sorted(numbers, key=lambda number: assignment.arms[number].doll)
        for left, right in pairwise(ordered):
            pairs = product(assignment.routes_of[left], assignment.routes_of[right])
            swapped = False
            for mine, theirs in islice(pairs, MAX_COMPARED):
                if mine != theirs:
                    swapped = left_to_right(facts.network, facts.routes, mine, theirs) == 1
                    if not swapped:
                        break
            if swapped:
                one, other = assignment.arms[left], assignment.arms[right]
                place = "left of" if one.doll != other.doll else "above"
                yield OUT_OF_ORDER.finding(
                    _pointer(one),
                    f"Arm {one.id} is {place} arm {other.id}{of_signal(facts, one.signal)}, but "
                    f"its road is to the right: {one.id} is for the route "
                    f"{road(facts, assignment.routes_of[left][0])}, {other.id} for the route "
                    f"{road(facts, assignment.routes_of[right][0])}.",
                    "List the arms in the order of their roads, from left to right as the driver "
                    "sees them; or correct the `to` of the arms, or the left and right legs of the "
                    "points.",
                    path=(one.id, other.id),
                )
