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
    tell_names,
    tracks_over,
)
from trappoint.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.core.findings import Finding
    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Arm


MAX_COMPARED = 2_000
"""Pairs of roads of two arms side by side that are compared."""


def _thirteen_loops() -> str:
    """Thirteen loops one after another without a signal between them: 8,192 roads for one arm."""
    import json

    tracks = {"west": {"up": "edge:west", "down": "p1.toe"}}
    points: dict[str, dict[str, str]] = {}
    for number in range(1, 14):
        one, other = f"p{2 * number - 1}", f"p{2 * number}"
        points |= {one: {"normal": "left"}, other: {"normal": "right"}}
        onward = f"p{2 * number + 1}.toe" if number < 13 else "edge:east"
        tracks |= {
            f"left{number}": {"up": f"{one}.left", "down": f"{other}.right"},
            f"right{number}": {"up": f"{one}.right", "down": f"{other}.left"},
            f"line{number}": {"up": f"{other}.toe", "down": onward},
        }
    signals = {"1": {"track": "west", "for": "down", "form": "disc", "arms": [{"id": "1"}]}}
    return json.dumps(
        {"format": "trappoint-layout/1", "tracks": tracks, "points": points, "signals": signals}
    )


def _pointer(arm: Arm, *key: str) -> str:
    return pointer_to("signals", arm.signal, "arms", arm.index, *key)


def _too_many(facts: Facts) -> Iterator[Finding]:
    for head in facts.routes.overflowed_heads:
        if facts.routes.untried is not None and head >= facts.routes.untried:
            break
        signal = facts.network.heads[head].signal
        yield TOO_MANY_ROUTES.finding(
            facts.network.heads[head].pointer,
            f"Signal {signal} has more routes than can be followed (4,096 for one signal).",
            "Put stop signals on the way, so that routes end sooner; or make the tracks beyond it "
            "a yard.",
            path=(signal,),
            at_key=True,
        )


def _without_route(facts: Facts) -> Iterator[Finding]:
    from trappoint.rules.loops import advise_beyond, serves_turned

    network = facts.network
    for number, head in enumerate(network.heads):
        if (
            head.elsewhere
            or facts.routes.of_head[number]
            or number in facts.routes.overflowed_heads
        ):
            continue
        pointer = pointer_to("signals", head.signal)
        yard = facts.yard_of_track.get(head.track)
        if network.held_at[number] < 0 and yard is not None:
            yield WITHOUT_ROUTE.finding(
                pointer,
                f"Signal {head.signal} stands inside yard {yard}: it holds nobody there.",
                f"Put it where {head.track} leaves the yard, or take it out: in a yard trains "
                "move by hand signals.",
                path=(head.signal, yard),
                at_key=True,
            )
            continue
        track = facts.layout.tracks[head.track]
        if not track.allows(head.heading):
            turn = "Let it face the other way (`for`)"
            turn = turn if serves_turned(facts, number) else "Take it out"
            yield WITHOUT_ROUTE.finding(
                pointer,
                f"Signal {head.signal} is for {head.heading} trains, but trains run only "
                f"{track.running} on {track.id}.",
                f"{turn}, or change the `running` of {track.id}.",
                path=(head.signal, track.id),
                at_key=True,
            )
            continue
        end = track.end(head.heading).text
        loop = advise_beyond(facts, number)
        if loop is not None:
            yield WITHOUT_ROUTE.finding(
                pointer,
                f"Signal {head.signal} has no route: from {head.track}, {head.heading} towards "
                f"{end}, all ways lead {loop.told}.",
                loop.fix,
                path=(head.signal, head.track, *loop.tracks),
                at_key=True,
            )
            continue
        barred = barred_beyond(facts, number)
        yield WITHOUT_ROUTE.finding(
            pointer,
            f"Signal {head.signal} has no route: from {head.track}, {head.heading} towards {end}, "
            "no train can run on to another signal or to the end of a track."
            f"{_clashing(facts, number)}{tell_barred(barred)}",
            "Look which way it faces (`for`), which track it stands on, and the `running` of the "
            "tracks beyond it.",
            path=(head.signal, head.track, *barred),
            at_key=True,
        )


def _clashing(facts: Facts, head: int) -> str:
    clash = facts.first_clash.get(head)
    if clash is None:
        return ""
    first, second = (facts.network.places[p].id for p in (clash.first, clash.second))
    return (
        f" It would need {first} {clash.lies[0]} and {second} {clash.lies[1]}, but these "
        "are worked together."
    )


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
                f"{_clashing(facts, head)}",
                f"The routes of signal {arm.signal} run to {listed(ends, 'and')}"
                f"{over}: name one of these, or look "
                f"which way the signal faces and how the track leads on.{tell_barred(barred)}",
                path=(arm.id, *arm.to, *met, *barred),
            )


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
    """Tell whether some arm already gives leave along a path, all of it or its beginning."""
    return any(path[: len(other)] == other[: len(path)] for other in told)


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


TOO_MANY_ROUTES = Rule(
    "too-many-routes",
    "error",
    "facts",
    "a signal with more routes than can be followed",
    "A signal that leads to thousands of roads says nothing to a driver, and can not be checked.",
    "the format: at most 4,096 routes for one signal",
    _thirteen_loops,
    {},
    _too_many,
    binding=True,
)

WITHOUT_ROUTE = Rule(
    "signal-without-route",
    "error",
    "facts",
    "a stop signal that can give leave for nothing",
    "A stop signal with no route can never be taken off: mostly it faces the wrong way.",
    "follows from what a route is; common practice, no source",
    {"signals": {"6": {"for": "down"}}},
    {},
    _without_route,
)

NAMES_NO_ROUTE = Rule(
    "arm-names-no-route",
    "error",
    "facts",
    "an arm whose `to` no route of its signal runs over",
    "The arm could never be taken off, and the road that it should speak for may have no arm.",
    "Board of Trade requirements 1892, rule 3: each arm speaks for a line that its driver can take",
    {"signals": {"2": {"arms": [{"id": "2", "to": "siding"}]}}},
    {},
    _names_no_route,
)

NEEDS_TO = Rule(
    "arm-needs-to",
    "error",
    "facts",
    "an arm of which the plan does not tell what it speaks for",
    "`to` may be left out for a single arm, or for as many arms as there are routes in plain order "
    "from left to right.",
    "the format: what `to` may be left out for",
    {"signals": {"2": {"arms": [{"id": "2"}, {"id": "2x"}]}}},
    {"signals": {"7": {"arms": [{"id": "7L"}, {"id": "7R"}]}}},
    _needs_to,
)

WITHOUT_ARM = Rule(
    "route-without-arm",
    "warning",
    "facts",
    "a route that no arm speaks for",
    "Trains can run that way, but nothing ever gives them leave to.",
    "Board of Trade requirements 1892, rule 3: an arm for each line",
    {"signals": {"4": {"arms": [{"id": "4R", "to": "quarry-line"}]}}},
    {},
    _without_arm,
)

TWO_FOR_ONE = Rule(
    "two-arms-for-one-route",
    "error",
    "facts",
    "two arms that speak for one route",
    "Two arms that mean the same leave the driver in doubt; mostly one is aimed at the wrong road.",
    "Board of Trade requirements 1892, rule 3: an arm for each line",
    {"signals": {"1": {"arms": [{"id": "1L", "to": "main"}, {"id": "1R", "to": "main"}]}}},
    {},
    _two_for_one,
)

FOR_TWO_ROADS = Rule(
    "arm-speaks-for-two-roads",
    "error",
    "facts",
    "an arm that speaks for routes that need points to lie differently",
    "Nobody can tell the driver which way the points are set. Discs and shunt arms are left out "
    "of this rule.",
    "Board of Trade requirements 1892, rule 3; a main signal that reads to more than one place "
    "shows which, shunt signals need not (present-day British practice)",
    {"signals": {"1": {"arms": [{"id": "1"}]}}},
    {"signals": {"4": {"form": "disc", "arms": [{"id": "4"}]}}},
    _for_two_roads,
)

OUT_OF_ORDER = Rule(
    "arms-out-of-order",
    "error",
    "facts",
    "arms that stand in another order than the roads that they speak for",
    "A driver reads the arms from left to right as the roads lie, and on one post from the top "
    "down: arms in another order send him the wrong way.",
    "Board of Trade requirements 1892, rule 3: the top arm is for the line on the left; on "
    "brackets arms stand as the roads lie (present-day British practice)",
    {"signals": {"1": {"arms": [{"id": "1R", "to": "main"}, {"id": "1L", "to": "loop-west"}]}}},
    {},
    _out_of_order,
)
