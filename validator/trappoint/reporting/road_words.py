"""Roads in words: the numbered steps of a signalman's order, and the answer before them."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.quoting import listed
from trappoint.core.terminal import plural

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from trappoint.operation.journey_words import Called
    from trappoint.operation.lever_orders import LeverWork
    from trappoint.operation.orders import JourneyOrder, OrderStage
    from trappoint.operation.road import InTheWay, Other, Road


class StepWords(NamedTuple):
    """One step, and what must stay locked or at danger during it."""

    text: str
    details: tuple[str, ...] = ()


def tell_order(order: JourneyOrder, called: Called) -> Iterator[StepWords]:
    """Yield the steps of one train's order."""
    at = order.start
    train = _begin(called.train(order.train))
    for stage in order.stages:
        if stage.turns == "back":
            text = f"{train} stops in {called.place(at)}, to set off again{_way(stage)}."
            yield StepWords(text)
        yield from (_tell_work(work, called) for work in stage.works)
        yield StepWords(_tell_run(train, stage, at, called), tuple(_details(stage, called)))
        yield from (_tell_work(work, called) for work in stage.after)
        at = stage.over[-1]
    yield from (_tell_work(work, called) for work in order.restore)


def tell_heading(order: JourneyOrder, called: Called) -> str:
    """Return the heading of one train's order: the train, its start and its end."""
    train, start, end = called.train(order.train), called.place(order.start), order.end
    return f"{_begin(train)} from {start} to {called.place(end)}"


def _begin(text: str) -> str:
    return text[:1].upper() + text[1:] if text.startswith("the train") else text


def _way(stage: OrderStage) -> str:
    return f" {stage.heading}" if stage.heading in ("up", "down") else ""


def _tell_work(work: LeverWork, called: Called) -> StepWords:
    if work.do == "set":
        points = listed(
            [
                f"{called.place(name)} {word}" + (f" ({lie})" if word != lie else "")
                for name, lie, word in zip(work.names, work.lies, work.words, strict=True)
            ],
            "and",
        )
        lock = f", and lock {listed(work.locks, 'and')}" if work.locks else ""
        text = f"Set {points}{lock}."
    else:
        arms = listed([called.arm(arm) for arm in work.names], "and")
        text = f"Take {arms} off." if work.do == "off" else f"Put {arms} to danger."
    if work.lever is not None:
        verb = "Pull" if work.pull else "Put back"
        text = f"{verb} lever {work.lever}: {text[:1].lower()}{text[1:]}"
    refused = (f"The frame refuses: {work.refused}",) if work.refused else ()
    return StepWords(text, refused)


def _tell_run(train: str, stage: OrderStage, at: str, called: Called) -> str:
    *over, to = stage.over
    way = f" over {called.places(over)}" if over else ""
    held = "" if stage.arms else " No signal holds it there: it goes by hand signal."
    start = called.place(at)
    sets_off = f" from {start}{_way(stage)}" if stage.turns else f" on from {start}"
    return f"{train} runs{sets_off}{way} to {called.place(to)}.{held}"


def _details(stage: OrderStage, called: Called) -> Iterator[str]:
    by_place: dict[str, list[str]] = {}
    for locked in stage.locked:
        by_place.setdefault(locked.until, []).append(f"{called.place(locked.switch)} {locked.word}")
    if by_place:
        yield f"Locked: {'; '.join(_until(by_place, stage, called))}."
    by_place = {}
    for danger in stage.danger:
        by_place.setdefault(danger.until, []).append(called.arm(danger.arm))
    if by_place:
        yield f"At danger: {'; '.join(_until(by_place, stage, called))}."


def _until(by_place: dict[str, list[str]], stage: OrderStage, called: Called) -> Iterator[str]:
    for place, ids in sorted(by_place.items(), key=lambda each: _last(stage, each[0])):
        where = called.place(place)
        if place == stage.over[-1]:
            yield f"{listed(ids, 'and')} while the train is in {where}"
        else:
            yield f"{listed(ids, 'and')} until the train is clear of {where}"


def _last(stage: OrderStage, place: str) -> int:
    return max((at for at, name in enumerate(stage.over) if name == place), default=-1)


# --- the answer


def tell_title(road: Road, title: str) -> str:
    """Return the heading of an answer."""
    start, to = road.called.place(road.asked.start), road.called.place(road.asked.to)
    return f"Road from {start} to {to} in {title}"


def tell_outcome(road: Road) -> Iterator[str]:
    """Yield the paragraphs before the order."""
    others = [_standing(road, train, place) for train, place in road.trains[1:]]
    if others:
        yield f"Other trains: {listed(others, 'and')}."
    yield _OUTCOMES[road.outcome](road)


def _standing(road: Road, train: str, place: str) -> str:
    name = "a train" if train == f"the train in {place}" else road.called.train(train)
    return f"{name} in {road.called.place(place)}"


def _tell_free(road: Road) -> str:
    order = road.orders[-1]
    return f"The road is free: {tell_length(order.stops, order.places)}."


def _tell_clear_first(road: Road) -> str:
    moves = plural(len(road.orders), "move")
    first = listed([road.called.train(train) for train in road.first], "and")
    least = (
        "Fewer moves are not enough."
        if road.decided
        else "Fewer moves may be enough: the search reached its limit before it could tell."
    )
    return f"{_blocked(road)} First move {first}: {moves} in all, one at a time. {least}"


def _from_to(road: Road) -> str:
    """Return the start, the way and the goal of the question, in words."""
    asked, called = road.asked, road.called
    via = f" over {called.places(asked.via)}" if asked.via else ""
    return f"from {called.place(asked.start)} to {called.place(asked.to)}{via}"


def _tell_no_road(road: Road) -> str:
    asked, called = road.asked, road.called
    if road.otherwise:
        ways = f", setting off {asked.leaving}" if asked.leaving else ""
        ways += f", coming in {asked.arriving}" if asked.arriving else ""
        return (
            f"No road leads {_from_to(road)}{ways}, even with no other train in the way. There is "
            "a road over other tracks or in another direction."
        )
    start = called.place(asked.start)
    comes = (
        f"From {start} a train can reach only {called.places(road.comes_to, 'or')}."
        if road.comes_to
        else f"From {start} no road leads anywhere."
    )
    return f"No road leads {_from_to(road)}, even with no other train in the way. {comes}"


def _tell_too_long(road: Road) -> str:
    why = road.too_long.tell(road.called) if road.too_long is not None else ""
    comes = f" It can reach {road.called.places(road.comes_to, 'or')}." if road.comes_to else ""
    return (
        f"No road {_from_to(road)} has room for the train, even with no other train in the way: "
        f"{why}{comes}"
    )


def _tell_locked_up(road: Road) -> str:
    return (
        f"{_blocked(road)} The road cannot be cleared: no order of moves gets the trains out of "
        "each other's way."
    )


def _tell_given_up(road: Road) -> str:
    return (
        f"{_blocked(road)} Not checked: whether the road can be cleared. The search reached its "
        "limit."
    ).strip()


_OUTCOMES = {
    "free": _tell_free,
    "clear-first": _tell_clear_first,
    "no-road": _tell_no_road,
    "too-long": _tell_too_long,
    "locked-up": _tell_locked_up,
    "given-up": _tell_given_up,
}


def _blocked(road: Road) -> str:
    if not road.in_the_way:
        return "Trains stand in the way." if road.trains[1:] else ""
    return f"The road is blocked: {tell_in_the_way(road.in_the_way, road.called)}."


def tell_in_the_way(trains: Iterable[InTheWay], called: Called) -> str:
    """Return the trains in the way in words, each with the first place that it occupies."""
    return listed(
        [
            f"{called.train(each.train)} is in the way at {called.place(each.places[0])}"
            for each in trains
        ],
        "and",
    )


def tell_length(stops: int, places: int) -> str:
    """Return the length of a road in words: its places, and how often the train sets back."""
    times = {1: "once", 2: "twice"}.get(stops, f"{stops} times")
    back = f"setting back {times}" if stops else "without setting back"
    return f"{plural(places, 'place')}, {back}"


def tell_other(other: Other, called: Called) -> str:
    """Return another road, and why it was not chosen."""
    arms = f" by {listed(other.arms, 'and')}" if other.arms else ""
    why = f"longer: {tell_length(other.stops, other.places)}."
    if other.too_long is not None:
        why = other.too_long.tell(called)
    elif other.blocked:
        why = f"blocked: {tell_in_the_way(other.blocked, called)}."
    return f"Over {called.places(other.over)}{arms}; {why}"


MEASURE = (
    "The shortest road sets back least often (a stop in a yard counts too), then has the fewest "
    "places, then the fewest signals."
)
