"""A road from one stand to another: the order to set it, or why it is impossible."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from trappoint.core.errors import TooMany
from trappoint.operation.clearing import ClearingWish, clear, shortest
from trappoint.operation.journey_search import MAX_STEPS, Finder, JourneyAim
from trappoint.operation.journey_words import Called
from trappoint.operation.orders import write_order
from trappoint.operation.signal_box import SignalBox
from trappoint.operation.standing import (
    NoPlace,
    Stood,
    first_shared,
    goal_named,
    length_of,
    places_named,
    scene_named,
    stands_named,
    states_named,
    stood,
)
from trappoint.operation.train_lengths import (
    TrainTooLong,
    find_too_long,
    for_any_length,
    too_long_for,
)
from trappoint.operation.train_places import stretches_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Heading
    from trappoint.operation.clearing import Shift
    from trappoint.operation.journey_search import Journey
    from trappoint.operation.orders import JourneyOrder
    from trappoint.operation.train_places import Stretch

Outcome = Literal["free", "clear-first", "no-road", "too-long", "locked-up", "given-up"]
"""In this order: the road is free; other trains must move first; no road leads there, even with no
other train in the way; the train is too long for every road; no order of moves clears the road; the
search reached its limit."""

MAX_OTHERS = 12
"""Most other roads in an answer."""


class InTheWay(NamedTuple):
    """A train in the way of a road."""

    train: str
    places: tuple[str, ...]
    """The places of the road that it occupies."""


class Other(NamedTuple):
    """A road that was not chosen, and why."""

    over: tuple[str, ...]
    """The places of the road."""
    arms: tuple[str, ...]
    stops: int
    places: int
    blocked: tuple[InTheWay, ...]
    """The trains in the way; empty if the road is only longer."""
    too_long: TrainTooLong | None = None
    """The place in which the train does not fit; None if it fits everywhere."""


@dataclass(frozen=True, slots=True)
class Asked:
    """The question: a start, a goal, and the trains that stand elsewhere."""

    start: str
    to: str
    via: tuple[str, ...] = ()
    leaving: Heading | None = None
    """The heading in which the train must set off; None for any."""
    arriving: Heading | None = None
    """The heading in which it must come in; None for any."""
    scene: str | None = None
    """The scene that gives the places of trains and the lies of points."""
    standing: tuple[str, ...] = ()
    """The places of more trains."""


@dataclass(frozen=True, slots=True)
class Road:
    """The answer to a question."""

    asked: Asked
    outcome: Outcome
    orders: tuple[JourneyOrder, ...] = ()
    """One for each move: first the moves that clear the road, last the one in question."""
    first: tuple[str, ...] = ()
    """The trains that must move first."""
    decided: bool = True
    """False if the search reached its limit, so that fewer moves may be enough."""
    in_the_way: tuple[InTheWay, ...] = ()
    """The trains on the road that would be the shortest without them."""
    others: tuple[Other, ...] = ()
    comes_to: tuple[str, ...] = ()
    """If no road leads to the goal: the tracks that a train can reach."""
    otherwise: bool = False
    """If no road leads to the goal: whether one does over other tracks or in another heading."""
    steps: tuple[Mapping[str, Any], ...] = ()
    """All orders as single steps of trains, in the form of movements."""
    trains: tuple[tuple[str, str], ...] = ()
    """Every train with the track or yard in which it stands at first."""
    too_long: TrainTooLong | None = None
    """The place in which the train does not fit: the goal, or one on the way."""
    stands: tuple[tuple[str, str, tuple[Stretch, ...]], ...] = ()
    """Every train when the last order begins, with its place and the stretches of track there."""
    called: Called = field(default_factory=Called, compare=False)
    """The names in the plan."""

    def to_json(self) -> dict[str, Any]:
        """Return the answer as JSON values."""
        return {
            "from": self.asked.start,
            "to": self.asked.to,
            "outcome": self.outcome,
            "move_first": list(self.first),
            "least": self.decided,
            "standing": [{"train": train, "in": name} for train, name in self.trains],
            "in_the_way": [_way_to_json(each) for each in self.in_the_way],
            "orders": [order_to_json(order) for order in self.orders],
            "others": [
                {
                    "over": list(other.over),
                    "arms": list(other.arms),
                    "stops": other.stops,
                    "places": other.places,
                    "blocked": [_way_to_json(each) for each in other.blocked],
                    "too_long": _too_long_to_json(other.too_long),
                }
                for other in self.others
            ],
            "comes_to": list(self.comes_to),
            "otherwise": self.otherwise,
            "too_long": _too_long_to_json(self.too_long),
            "steps": [dict(step) for step in self.steps],
        }


def _way_to_json(each: InTheWay) -> dict[str, Any]:
    return {"train": each.train, "places": list(each.places)}


def _too_long_to_json(each: TrainTooLong | None) -> dict[str, Any] | None:
    return None if each is None else each._asdict()


def order_to_json(order: JourneyOrder) -> dict[str, Any]:
    """Return one train's order as JSON values."""
    return {
        "train": order.train,
        "from": order.start,
        "to": order.end,
        "stops": order.stops,
        "places": order.places,
        "stages": [
            {
                "sets_off": stage.turns != "",
                "heading": stage.heading or None,
                "do": [work.to_json() for work in stage.works],
                "arms": list(stage.arms),
                "over": list(stage.over),
                "at_danger": [each._asdict() for each in stage.danger],
                "locked": [each._asdict() for each in stage.locked],
                "after": [work.to_json() for work in stage.after],
            }
            for stage in order.stages
        ],
        "restore": [work.to_json() for work in order.restore],
    }


def set_road(facts: Facts, asked: Asked, *, most_steps: int = MAX_STEPS) -> Road:
    """Find the road of one train, and set it.

    ``facts`` are those of a plan without errors (``Report.facts``) that is not too large to
    analyse. Raises ``NoPlace`` for a name that the plan does not have, or that is no answer to
    the question.
    """
    road = _set_road(Finder(facts, most_steps), asked)
    return replace(road, stands=tuple(_stands(facts, road)), called=Called(facts.names))


def _stands(facts: Facts, road: Road) -> Iterator[tuple[str, str, tuple[Stretch, ...]]]:
    """Yield every train when the last order begins: those that move first have moved."""
    moved = {order.train: order.end for order in road.orders[:-1]}
    moving = road.orders[-1] if road.orders else None
    for train, named in road.trains:
        place = moved.get(train, named)
        found = stretches_of(facts, place)
        if moving is not None and train == moving.train:
            section = stretches_of(facts, moving.start)
            found = tuple(each for each in section if each in found) or section
        yield train, place, found


def _set_road(finder: Finder, asked: Asked) -> Road:
    facts = finder.facts
    mover, others, named = _trains(finder, asked)
    wish = _wish(facts, asked, mover)
    box = SignalBox(facts, _points(facts, asked))
    all_taken = frozenset(place for other in others for place in other.takes)
    try:
        found = shortest(finder, wish, all_taken)
        unhindered = found if not all_taken else shortest(finder, wish, frozenset())
        too_long = None if unhindered is not None else find_too_long(finder, wish)
    except TooMany:
        return Road(asked, "given-up", decided=False, trains=named)
    if unhindered is None:
        return _without_road(finder, wish, Road(asked, "no-road", trains=named, too_long=too_long))
    roads = tuple(_others(finder, wish, others, found, unhindered))
    if found is not None:
        order = write_order(finder, box, mover.train, found)
        steps = tuple(_steps(finder, mover.train, found))
        return Road(asked, "free", (order,), others=roads, steps=steps, trains=named)
    in_the_way = tuple(_in_the_way(finder, unhindered, others))
    cleared = clear(finder, wish, others)
    if cleared.shifts is None:
        outcome: Outcome = "locked-up" if cleared.decided else "given-up"
        return Road(
            asked, outcome, in_the_way=in_the_way, decided=cleared.decided, others=roads,
            trains=named,
        )  # fmt: skip
    return Road(
        asked,
        "clear-first",
        tuple(write_order(finder, box, each.train, each.journey) for each in cleared.shifts),
        cleared.first,
        cleared.decided,
        in_the_way,
        roads,
        steps=steps_of(finder, cleared.shifts),
        trains=named,
    )


def _without_road(finder: Finder, wish: ClearingWish, road: Road) -> Road:
    """Return the answer for a goal that the train cannot reach."""
    comes_to = _comes_to(finder, wish.train)
    goal = {finder.network.places[place].name for place in wish.goal.places}
    outcome: Outcome = "no-road" if road.too_long is None else "too-long"
    otherwise = bool(goal & set(comes_to))
    return replace(road, outcome=outcome, comes_to=comes_to, otherwise=otherwise)


def steps_of(finder: Finder, shifts: Iterable[Shift]) -> tuple[Mapping[str, Any], ...]:
    """Return the single steps of several moves."""
    return tuple(step for each in shifts for step in _steps(finder, each.train, each.journey))


# --- the question


def _wish(facts: Facts, asked: Asked, mover: Stood) -> ClearingWish:
    goal = goal_named(facts, asked.to, asked.arriving)
    if goal.places & mover.takes and len(mover.nodes) == 1:
        raise NoPlace(f"The train is in {asked.to} already: choose another start or goal.")
    wants = tuple(JourneyAim(frozenset(places_named(facts, name))) for name in asked.via)
    sets_off = None if asked.leaving is None else states_named(facts, asked.start, asked.leaving)
    return ClearingWish(mover, goal, wants, sets_off)


def _points(facts: Facts, asked: Asked) -> Mapping[str, str]:
    return facts.layout.scenes[asked.scene].points if asked.scene else {}


def _trains(
    finder: Finder, asked: Asked
) -> tuple[Stood, tuple[Stood, ...], tuple[tuple[str, str], ...]]:
    """Return the train that runs, the trains that stand, and all trains with their places."""
    facts = finder.facts
    places = stands_named(facts, asked.start)
    nodes = tuple(finder.standing(place) for place in places)
    mover = Stood("the train", nodes, frozenset(places))
    others: list[Stood] = []
    names: list[tuple[str, str]] = []
    for name, train in _standing(facts, asked):
        called = train if isinstance(train, str) else f"the train in {name}"
        if mover.takes & set(places_named(facts, name)) and mover.train == "the train":
            if isinstance(train, str):
                mover = mover._replace(train=called, length_mm=length_of(facts, train))
            continue
        names.append((called, name))
        others.append(stood(finder, called, name))
    shared = first_shared([mover, *others])
    if shared is not None:
        one, other = shared
        raise NoPlace(f"{_begin(one.train)} and {other.train} cannot stand in the same place.")
    return mover, tuple(others), ((mover.train, asked.start), *names)


def _begin(text: str) -> str:
    return text[:1].upper() + text[1:] if text.startswith("the train") else text


def _standing(facts: Facts, asked: Asked) -> Iterator[tuple[str, object]]:
    if asked.scene is not None:
        yield from scene_named(facts.layout, asked.scene).trains.items()
    yield from ((name, True) for name in asked.standing)


# --- the answer


def _comes_to(finder: Finder, mover: Stood) -> tuple[str, ...]:
    try:
        length_mm = mover.length_mm
        nodes = [n for start in mover.nodes for n in finder.reach(start, frozenset(), length_mm)]
    except TooMany:
        return ()
    names = {finder.network.places[finder.place(node)].name for node in nodes}
    return tuple(place.name for place in finder.network.places if place.name in names)


def _in_the_way(finder: Finder, journey: Journey, others: tuple[Stood, ...]) -> Iterator[InTheWay]:
    places: dict[int, None] = {}
    for leg in journey.legs:
        states = finder.routes.all[leg.route].path if leg.route >= 0 else leg.states
        if leg.do != "set-off":
            places.update(dict.fromkeys(finder.network.place_of[state] for state in states))
    for other in others:
        met = tuple(finder.network.places[p].name for p in places if p in other.takes)
        if met:
            yield InTheWay(other.train, met)


def _others(
    finder: Finder,
    wish: ClearingWish,
    trains: tuple[Stood, ...],
    chosen: Journey | None,
    unhindered: Journey,
) -> Iterator[Other]:
    """Yield other roads: for each route of the shortest road, the shortest road without it."""
    known = [chosen.legs] if chosen is not None else []
    count = 0
    for journey in _candidates(finder, wish, chosen, unhindered):
        if journey.legs in known or count >= MAX_OTHERS:
            continue
        count += 1
        known.append(journey.legs)
        arms = tuple(
            finder.facts.assignment.arms[arm].id
            for leg in journey.legs
            if leg.route >= 0
            for arm in finder.leave[leg.route].arms
        )
        over = tuple(finder.network.place(state).name for state in journey.run_over())
        blocked = tuple(_in_the_way(finder, journey, trains))
        too_long = too_long_for(finder, wish, journey)
        yield Other(over, arms, journey.stops, journey.cost[1], blocked, too_long)


def _candidates(
    finder: Finder, wish: ClearingWish, chosen: Journey | None, unhindered: Journey
) -> Iterator[Journey]:
    yield unhindered
    if wish.train.length_mm is not None:
        try:
            yield from filter(None, [shortest(finder, for_any_length(wish), frozenset())])
        except TooMany:
            return
    for known in (unhindered, chosen) if chosen is not None else (unhindered,):
        for leg in known.legs:
            if leg.route >= 0:
                try:
                    other = shortest(finder, wish, frozenset(), leg.route)
                except TooMany:
                    return
                if other is not None:
                    yield other


def _steps(finder: Finder, train: str, journey: Journey) -> Iterator[dict[str, Any]]:
    network = finder.network
    for leg in journey.legs:
        if leg.do == "set-off":
            heading = network.way[leg.states[0]] or None
            yield {"train": train, "do": "set-off", "heading": heading}
            continue
        if leg.route >= 0:
            route = finder.routes.all[leg.route]
            over = [network.place(state).name for state in route.path]
            signal = network.heads[route.head].signal
            yield {"train": train, "do": "take", "signal": signal, "over": over}
        for state in leg.states:
            yield {"train": train, "do": "run", "to": network.place(state).name}
