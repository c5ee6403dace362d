"""A signalman's order: the points to set and the arms to take off, step by step, for one journey.

A journey has *stages*. In each stage the signalman sets the points, then takes off the arms, the
farthest ahead first, so that the train starts only when its whole road is set. The train runs, and
the arms go back to danger behind it. A new stage begins when the train turns back, or comes to
points again that it now needs in another lie. At the end the signalman puts the points back.
(Farthest arm first: common practice, no source.)
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, NamedTuple

from trappoint.interlocking.conflicts import routes_conflict
from trappoint.model.layout import lie_of, lie_word
from trappoint.operation.lever_orders import LeverWork

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.facts.facts import Facts
    from trappoint.interlocking.conflicts import By
    from trappoint.operation.journey_search import Finder, Journey, JourneyLeg
    from trappoint.operation.signal_box import SignalBox
    from trappoint.topology.network import Network


class Danger(NamedTuple):
    """An arm that must be at danger while the train runs."""

    arm: str
    by: By
    """``points``: the points lie against it; ``direct``: the locking, or you, must keep it on."""
    until: str
    """The place that the train must have left before the arm may be taken off."""


class Locked(NamedTuple):
    """Points or a slip that must not be moved while the train runs."""

    switch: str
    lie: str
    word: str
    """``normal``, ``reverse``, or the lie itself for three-way points."""
    until: str
    """The place that the train must have left: the switch, or one worked with it."""


class OrderStage(NamedTuple):
    """The works before one run of the train, the run, and the works after it."""

    turns: Literal["", "first", "back"]
    """``first``: the train sets off for the first time; ``back``: after it stopped to turn back."""
    heading: str
    """The heading in which it sets off; empty in a yard."""
    works: tuple[LeverWork, ...]
    """The points to set and the arms to take off, in order, before the train moves."""
    over: tuple[str, ...]
    """The places that the train runs over; it stops in the last one."""
    arms: tuple[str, ...]
    """The arms that give it leave, as it meets them; empty if no signal holds it."""
    danger: tuple[Danger, ...]
    locked: tuple[Locked, ...]
    after: tuple[LeverWork, ...]
    """The arms to put to danger behind it."""


class JourneyOrder(NamedTuple):
    """The order for one journey."""

    train: str
    start: str
    end: str
    stages: tuple[OrderStage, ...]
    restore: tuple[LeverWork, ...]
    """The points to put back."""
    stops: int
    places: int
    things: tuple[tuple[str, str], ...] = ()
    """The kind (``tracks``, ``points``, ``crossings``, ``turntables``, ``yards``) and the id of all
    that the train runs over, beginning with the track from which it sets off."""


class _Part(NamedTuple):
    """The legs of a stage, and the lies that they need, with the places of switches as keys."""

    legs: list[JourneyLeg]
    lies: dict[int, str]
    turns: Literal["", "first", "back"]
    heading: str


def write_order(finder: Finder, box: SignalBox, train: str, journey: Journey) -> JourneyOrder:
    """Return the order for a journey, and leave the box as it was.

    If the frame does not allow the arms along the road to be off at once, the train runs from
    signal to signal.
    """
    lay, levers = dict(box.lies), box.levers
    order = _write(finder, box, train, journey, lay, at_once=True)
    if _refused(order):
        box.lies, box.levers = dict(lay), levers
        order = _write(finder, box, train, journey, lay, at_once=False)
    return order


def _refused(order: JourneyOrder) -> bool:
    works = [w for stage in order.stages for w in (*stage.works, *stage.after)]
    return any(work.refused for work in (*works, *order.restore))


def _write(
    finder: Finder,
    box: SignalBox,
    train: str,
    journey: Journey,
    lay: dict[int, str],
    *,
    at_once: bool,
) -> JourneyOrder:
    parts = _parts(finder, journey, at_once=at_once)
    stages = tuple(_stage(finder, box, part) for part in parts)
    names = [place.name for place in finder.network.places]
    return JourneyOrder(
        train,
        names[finder.place(journey.start)],
        names[finder.place(journey.end)],
        stages,
        tuple(box.put_back(lay)),
        journey.stops,
        journey.cost[1],
        _things(finder, journey),
    )


def _things(finder: Finder, journey: Journey) -> tuple[tuple[str, str], ...]:
    network = finder.network
    start = finder.place(journey.start)
    found = _at(network, start, network.tracks_of(start))
    for state in journey.run_over():
        found += _at(network, network.place_of[state], network.tracks_run(state))
    return tuple(dict.fromkeys(found))


def _at(network: Network, place: int, tracks: tuple[str, ...]) -> list[tuple[str, str]]:
    """Return the tracks of a section, or the element or yard at another place."""
    described = network.places[place]
    if described.kind == "section":
        return [("tracks", track) for track in tracks]
    return [(described.kind, described.id)]


def _parts(finder: Finder, journey: Journey, *, at_once: bool) -> Iterator[_Part]:
    facts, network = finder.facts, finder.network
    part = _Part([], {}, "", "")
    needs: dict[int, str] = {}
    at = journey.start if journey.start < finder.count else -1
    begun = False
    for leg in _whole_legs(finder, journey):
        if leg.do == "set-off":
            if part.legs:
                yield part
            turns: Literal["first", "back"] = "back" if begun else "first"
            part, needs = _Part([], {}, turns, network.way[leg.states[0]]), {}
        else:
            lies = dict(_lies(finder, leg, at))
            own = {
                facts.together.lever_of[place]: facts.together.word(place, lie)
                for place, lie in lies.items()
            }
            clash = any(needs.get(lever, word) != word for lever, word in own.items())
            apart = not at_once and leg.route >= 0 and any(b.route >= 0 for b in part.legs)
            if clash or apart or _conflicts(finder, part, leg):
                yield part
                part, needs = _Part([], {}, "", ""), {}
            part.legs.append(leg)
            part.lies.update(lies)
            needs |= own
        begun = True
        at = leg.states[-1]
    if part.legs:
        yield part


def _whole_legs(finder: Finder, journey: Journey) -> Iterator[JourneyLeg]:
    """Yield the legs. A leg that ends on an element is joined to the next one.

    So the points are set before the train comes on to them.
    """
    network, onto = finder.network, tuple[int, ...]()
    for leg in journey.legs:
        whole = leg._replace(states=(*onto, *leg.states))
        on_element = network.is_element[network.place_of[leg.states[-1]]]
        onto = whole.states if on_element else ()
        if not on_element:
            yield whole


def _lies(finder: Finder, leg: JourneyLeg, at: int) -> Iterator[tuple[int, str]]:
    """Yield the switches that a leg needs, with their lies."""
    if leg.route >= 0:
        yield from finder.routes.all[leg.route].lies.items()
        return
    for state in leg.states:
        exit_ = next(e for e in finder.network.exits[at] if e.to == state and e.head < 0)
        if exit_.element >= 0:
            yield exit_.element, exit_.lie
        at = state


def _conflicts(finder: Finder, part: _Part, leg: JourneyLeg) -> bool:
    routes = finder.routes.all
    return leg.route >= 0 and any(
        routes_conflict(routes[before.route], routes[leg.route]) is not None
        or not routes[before.route].places.isdisjoint(routes[leg.route].places)
        for before in part.legs
        if before.route >= 0
    )


def _stage(finder: Finder, box: SignalBox, part: _Part) -> OrderStage:
    facts, network = finder.facts, finder.network
    states = [state for leg in part.legs for state in leg.states]
    arms = [arm for leg in part.legs if leg.route >= 0 for arm in finder.leave[leg.route].arms]
    works = box.set_road(part.lies, arms, states)
    danger = tuple(_danger(finder, box, arms, part, states))
    locked = tuple(_locked(facts, part, states))
    return OrderStage(
        part.turns,
        part.heading,
        tuple(works),
        tuple(network.place(state).name for state in states),
        tuple(facts.assignment.arms[arm].id for arm in arms),
        danger,
        locked,
        tuple(box.to_danger(arms)),
    )


def _danger(
    finder: Finder, box: SignalBox, arms: list[int], part: _Part, states: list[int]
) -> Iterator[Danger]:
    facts, network, routes = finder.facts, finder.network, finder.routes.all
    lies = {network.places[place].id: lie for place, lie in box.lies.items()}
    found: dict[int, By] = {}
    for arm in arms:
        for conflict in facts.conflicts[arm]:
            holds = all(lies.get(name) == lie for name, lie in (conflict.when or {}).items())
            if holds and conflict.other not in arms and found.get(conflict.other) != "direct":
                found[conflict.other] = conflict.by
    own = {place for leg in part.legs if leg.route >= 0 for place in routes[leg.route].places}
    for other in sorted(found):
        theirs = {p for number in facts.assignment.routes_of[other] for p in routes[number].places}
        shared = [s for s in states if network.place_of[s] in theirs & own]
        # Routes without a common place conflict through points worked together, or overlaps.
        until = shared[-1] if shared else states[-1]
        yield Danger(facts.assignment.arms[other].id, found[other], network.place(until).name)


def _locked(facts: Facts, part: _Part, states: list[int]) -> Iterator[Locked]:
    network, together = facts.network, facts.together
    places = [network.place_of[state] for state in states]
    done: set[int] = set()
    for place, lie in part.lies.items():
        lever = together.lever_of[place]
        if lever in done:
            continue
        done.add(lever)
        members = together.members[lever]
        last = max(
            (at for at, passed in enumerate(places) if passed in members), default=len(places) - 1
        )
        until = network.places[places[last]].name
        for member in members:
            name = network.places[member].id
            switch = facts.layout.switch(name)
            if switch is None:
                continue
            own = lie
            if len(members) > 1:
                own = lie_of(switch, together.word(place, lie)) or lie
            yield Locked(name, own, lie_word(switch, own), until)
