"""Rules on arms and the roads that they speak for."""

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
    barred_beyond,
    elements_met,
    goal_of,
    road,
    tell_barred,
    tell_clash,
    tell_names,
    tracks_over,
)
from trappoint.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.core.findings import Finding
    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Arm


def _pointer(arm: Arm, *key: str) -> str:
    """Point at an arm, or at something of it."""
    return pointer_to("signals", arm.signal, "arms", arm.position, *key)


NAMES_NO_ROUTE = Rule(
    id="arm-names-no-route",
    level="error",
    stage="facts",
    summary="an arm whose `to` no route of its signal runs over",
    why="The arm could never be taken off, and the road that it should speak for may have no arm.",
    source=(
        "Board of Trade requirements 1892, rule 3: each arm speaks for a line that its driver can "
        "take"
    ),
    fails={"signals": {"2": {"arms": [{"id": "2", "to": "siding"}]}}},
    passes={},
)


@NAMES_NO_ROUTE.checked_by
def _names_no_route(facts: Facts) -> Iterator[Finding]:
    assignment = facts.assignment
    told: dict[tuple[int, bool], tuple[list[str], list[str], list[str]]] = {}
    for number, arm in enumerate(assignment.arms):
        head = assignment.head_of[number]
        own = facts.routes.of_kind(head, shunting=arm.kind == "shunt") if head >= 0 else []
        if arm.to and own and not assignment.routes_of[number]:
            key = head, arm.kind == "shunt"
            if key not in told:
                goals = dict.fromkeys(goal_of(facts, route) for route in own)
                told[key] = list(goals), elements_met(facts, own), barred_beyond(facts, head)
            ends, met, barred = told[key]
            over = f", over {tell_names(met)}" if met else ""
            yield NAMES_NO_ROUTE.finding(
                _pointer(arm, "to"),
                f"Arm {arm.id} is to speak for {listed(arm.to, 'and')}, but no route of signal "
                f"{arm.signal} runs over {'that' if len(arm.to) == 1 else 'all of these'}."
                f"{tell_clash(facts, head)}",
                f"The routes of signal {arm.signal} run to {listed(ends, 'and')}"
                f"{over}: name one of these, or look "
                f"which way the signal faces and how the track leads on.{tell_barred(barred)}",
                path=(arm.id, *arm.to, *met, *barred),
            )


NEEDS_TO = Rule(
    id="arm-needs-to",
    level="error",
    stage="facts",
    summary="an arm of which the plan does not tell what it speaks for",
    why=(
        "`to` may be left out for a single arm, or for as many arms as there are routes in plain "
        "order from left to right."
    ),
    source="the format: what `to` may be left out for",
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
        told = "that part where left and right are not told" if arms == count else ""
        roads = [road(facts, route) for route in kin[: MAX_ROADS + 1]]
        more = "; and more" if len(roads) > MAX_ROADS else ""
        key = assignment.head_of[number], arm.kind
        if key not in over_all:
            over_all[key] = tracks_over(facts, kin)
        yield NEEDS_TO.finding(
            _pointer(arm),
            f"Which road does arm {arm.id} speak for? Signal {arm.signal} has {arms} arms of that "
            f"kind for {count} route{'' if count == 1 else 's'} {told}".rstrip()
            + (f": {'; '.join(roads[:MAX_ROADS])}{more}." if roads else "."),
            "Give the arm a `to`: a track or a platform that only its road runs over.",
            path=(arm.id, *over_all[key]),
        )


WITHOUT_ARM = Rule(
    id="route-without-arm",
    level="warning",
    stage="facts",
    summary="a route that no arm speaks for",
    why="Trains can run that way, but nothing ever gives them leave to.",
    source="Board of Trade requirements 1892, rule 3: an arm for each line",
    fails={"signals": {"4": {"arms": [{"id": "4R", "to": "quarry-line"}]}}},
    passes={},
)


@WITHOUT_ARM.checked_by
def _without_arm(facts: Facts) -> Iterator[Finding]:
    assignment = facts.assignment
    spoken = {
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
        told = [facts.routes.all[route].path for route in own if route in spoken]
        for route in own:
            if route in spoken or not facts.routes.all[route].needs_arm:
                continue
            # An arm of either kind is enough for a way: to shunt or to run along it.
            if not _same_way(facts.routes.all[route].path, told):
                entry = describe_route(facts, route)
                yield WITHOUT_ARM.finding(
                    pointer_to("signals", head.signal, "arms"),
                    f"No arm of signal {head.signal} speaks for the route {road(facts, route)}.",
                    "Add an arm for it, or aim one of those that are there (`to`).",
                    path=(head.signal, *entry.over, *entry.points),
                )


def _same_way(path: tuple[int, ...], told: list[tuple[int, ...]]) -> bool:
    """Return whether some arm already gives leave along a path, all of it or its beginning."""
    return any(path[: len(other)] == other[: len(path)] for other in told)


TWO_FOR_ONE = Rule(
    id="two-arms-for-one-route",
    level="error",
    stage="facts",
    summary="two arms that speak for one route",
    why=(
        "Two arms that mean the same leave the driver in doubt; mostly one is aimed at the wrong "
        "road."
    ),
    source="Board of Trade requirements 1892, rule 3: an arm for each line",
    fails={"signals": {"1": {"arms": [{"id": "1L", "to": "main"}, {"id": "1R", "to": "main"}]}}},
    passes={},
)


@TWO_FOR_ONE.checked_by
def _two_for_one(facts: Facts) -> Iterator[Finding]:
    assignment = facts.assignment
    first: dict[int, str] = {}
    called: dict[int, str] = {}
    for number, arm in enumerate(assignment.arms):
        # A calling-on arm speaks for the same routes as the stop arm above it, and should.
        said = called if arm.kind == "calling-on" else first
        for route in assignment.routes_of[number]:
            if route in said:
                yield TWO_FOR_ONE.finding(
                    _pointer(arm, "to") if arm.to else _pointer(arm),
                    f"Arm {arm.id} speaks for a route for which arm {said[route]} speaks "
                    f"already: {road(facts, route)}.",
                    f"Aim one of the two elsewhere (`to`), or take one away: {arm.id} and "
                    f"{said[route]} would mean the same.",
                    path=(arm.id, said[route]),
                )
                break
            said[route] = arm.id


FOR_TWO_ROADS = Rule(
    id="arm-speaks-for-two-roads",
    level="error",
    stage="facts",
    summary="an arm that speaks for routes that need points to lie differently",
    why=(
        "Nobody can tell the driver which way the points are set. Discs and shunt arms are left "
        "out of this rule."
    ),
    source=(
        "Board of Trade requirements 1892, rule 3; a main signal that reads to more than one place "
        "shows which, shunt signals need not (present-day British practice)"
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
                f"Arm {arm.id} speaks for {count} routes that need {listed(split, 'and')} to "
                f"lie differently: {listed(goals, 'and')}"
                f"{' and more' if count > 4 else ''}.",
                "Give each road an arm of its own on a bracket, left to right as the roads lie, "
                "each with its `to`; or make it a disc, if it is only for shunting.",
                path=dict.fromkeys((arm.id, *split, *met)),
            )


MAX_COMPARED = 2_000
"""Pairs of roads of two arms side by side that are compared."""

OUT_OF_ORDER = Rule(
    id="arms-out-of-order",
    level="error",
    stage="facts",
    summary="arms that stand in another order than the roads that they speak for",
    why=(
        "A driver reads the arms from left to right as the roads lie, and on one post from the top "
        "down: arms in another order send him the wrong way."
    ),
    source=(
        "Board of Trade requirements 1892, rule 3: the top arm is for the line on the left; on "
        "brackets arms stand as the roads lie (present-day British practice)"
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
            told = False
            for mine, theirs in islice(pairs, MAX_COMPARED):
                if mine != theirs:
                    told = left_to_right(facts.network, facts.routes, mine, theirs) == 1
                    if not told:
                        break
            if told:
                one, other = assignment.arms[left], assignment.arms[right]
                place = "left of" if one.doll != other.doll else "above"
                yield OUT_OF_ORDER.finding(
                    _pointer(one),
                    f"Arm {one.id} stands {place} arm {other.id}, but its road lies to the right: "
                    f"{one.id} speaks for the road "
                    f"{road(facts, assignment.routes_of[left][0])}, {other.id} for the road "
                    f"{road(facts, assignment.routes_of[right][0])}.",
                    "List the arms as the driver sees their roads, from left to right; or put "
                    "right what they speak for (`to`), or the left and right legs of the points.",
                    path=(one.id, other.id),
                )
