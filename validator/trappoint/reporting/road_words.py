"""A signalman's order in words: one numbered step after another."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.quoting import listed
from trappoint.core.terminal import plural

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from trappoint.operation.lever_orders import LeverWork
    from trappoint.operation.orders import JourneyOrder, OrderStage
    from trappoint.operation.road import InTheWay, Other, Road


class StepWords(NamedTuple):
    """One step, and what must be kept meanwhile."""

    text: str
    details: tuple[str, ...] = ()


def tell_order(order: JourneyOrder) -> Iterator[StepWords]:
    """Yield the steps of one train's order."""
    at = order.start
    for stage in order.stages:
        if stage.turns == "back":
            yield StepWords(f"{_begin(order.train)} stops in {at}, to set off anew{_way(stage)}.")
        yield from map(_tell_work, stage.works)
        yield StepWords(_tell_run(order, stage, at), tuple(_details(stage)))
        yield from map(_tell_work, stage.after)
        at = stage.over[-1]
    yield from map(_tell_work, order.restore)


def _begin(text: str) -> str:
    return text[:1].upper() + text[1:] if text.startswith("the train") else text


def _way(stage: OrderStage) -> str:
    return f" {stage.heading}" if stage.heading in ("up", "down") else ""


def _tell_work(work: LeverWork) -> StepWords:
    if work.do == "set":
        told = listed(
            [
                f"{name} {word}" + (f" ({lie})" if word != lie else "")
                for name, lie, word in zip(work.names, work.lies, work.words, strict=True)
            ],
            "and",
        )
        lock = f", and lock {listed(work.locks, 'and')}" if work.locks else ""
        text = f"Set {told}{lock}."
    elif work.do == "off":
        text = f"Take {listed(work.names, 'and')} off."
    else:
        text = f"Put {listed(work.names, 'and')} to danger."
    if work.lever is not None:
        verb = "Pull" if work.pull else "Put back"
        text = f"{verb} lever {work.lever}: {text[:1].lower()}{text[1:]}"
    refused = (f"The frame does not allow it so: {work.refused}",) if work.refused else ()
    return StepWords(text, refused)


def _tell_run(order: JourneyOrder, stage: OrderStage, at: str) -> str:
    *over, to = stage.over
    way = f" over {listed(over, 'and')}" if over else ""
    held = "" if stage.arms else " No signal holds it there: it goes by hand signal."
    sets_off = f" from {at}{_way(stage)}" if stage.turns else f" on from {at}"
    return f"{_begin(order.train)} runs{sets_off}{way} to {to}.{held}"


def _details(stage: OrderStage) -> Iterator[str]:
    by_place: dict[str, list[str]] = {}
    for locked in stage.locked:
        by_place.setdefault(locked.until, []).append(f"{locked.switch} {locked.word}")
    if by_place:
        yield f"Locked: {'; '.join(_until(by_place, stage))}."
    by_place = {}
    for danger in stage.danger:
        by_place.setdefault(danger.until, []).append(danger.arm)
    if by_place:
        yield f"At danger: {'; '.join(_until(by_place, stage))}."


def _until(by_place: dict[str, list[str]], stage: OrderStage) -> Iterator[str]:
    for place, names in sorted(by_place.items(), key=lambda each: _last(stage, each[0])):
        told = listed(names, "and")
        if place == stage.over[-1]:
            yield f"{told} while the train is in {place}"
        else:
            yield f"{told} until the train is clear of {place}"


def _last(stage: OrderStage, place: str) -> int:
    return max((at for at, name in enumerate(stage.over) if name == place), default=-1)


# --- the answer


def tell_title(road: Road, title: str) -> str:
    """Return the heading of an answer."""
    return f"Road from {road.asked.start} to {road.asked.to} in {title}"


def tell_outcome(road: Road) -> Iterator[str]:
    """Yield what there is to say before the order, a paragraph each."""
    standing = [f"{train} in {name}" for train, name in road.trains[1:]]
    plain = [f"a train in {n}" if t == f"the train in {n}" else f"{t} in {n}"
             for t, n in road.trains[1:]]  # fmt: skip
    if standing:
        yield f"With {listed(plain, 'and')}:"
    yield _OUTCOMES[road.outcome](road)


def _tell_free(road: Road) -> str:
    order = road.orders[-1]
    return f"The road is free: {tell_length(order.stops, order.places)}."


def _tell_clear_first(road: Road) -> str:
    moves = plural(len(road.orders), "move")
    least = "No fewer will do." if road.decided else "Whether fewer would do was not found out."
    return (
        f"{_blocked(road)} First move {listed(road.first, 'and')}: {moves} in all, one at a time. "
        f"{least}"
    )


def _tell_no_road(road: Road) -> str:
    asked = road.asked
    via = f" over {listed(asked.via, 'and')}" if asked.via else ""
    if road.otherwise:
        via += f", setting off {asked.leaving}" if asked.leaving else ""
        via += f", coming in {asked.arriving}" if asked.arriving else ""
        return (
            f"No road leads from {asked.start} to {asked.to}{via}, even with no other train in the "
            "way. Asked for otherwise, there is one."
        )
    comes = (
        f"From {road.asked.start} a train comes to rest in {listed(road.comes_to, 'or')}, and no "
        "further."
        if road.comes_to
        else f"From {road.asked.start} no road leads anywhere."
    )
    return (
        f"No road leads from {road.asked.start} to {road.asked.to}{via}, even with no other train "
        f"in the way. {comes}"
    )


def _tell_too_long(road: Road) -> str:
    asked, why = road.asked, road.too_long.tell() if road.too_long is not None else ""
    via = f" over {listed(asked.via, 'and')}" if asked.via else ""
    comes = f" It comes to rest in {listed(road.comes_to, 'or')}." if road.comes_to else ""
    return (
        f"No road from {asked.start} to {asked.to}{via} has room for the train, even with no other "
        f"train in the way: {why}{comes}"
    )


def _tell_locked_up(road: Road) -> str:
    return (
        f"{_blocked(road)} It cannot be done: in whatever order the trains are moved, they do "
        "not get out of each other's way."
    )


def _tell_given_up(road: Road) -> str:
    return (
        f"{_blocked(road)} Whether the road can be cleared was not found out: there is more to "
        "look at than the search may."
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
    return f"The road is blocked: {tell_in_the_way(road.in_the_way)}."


def tell_in_the_way(trains: Iterable[InTheWay]) -> str:
    """Tell which trains stand in the way, and where."""
    return listed([f"{each.train} is in the way at {each.places[0]}" for each in trains], "and")


def tell_length(stops: int, places: int) -> str:
    """Tell how long a road is, in the measure by which the shortest is found."""
    turned = f"{plural(stops, 'stop')} to set off anew" if stops else "no stop to set off anew"
    return f"{turned}, {plural(places, 'place')} run over"


def tell_other(other: Other) -> str:
    """Tell another road, and why it was not chosen."""
    arms = f" by {listed(other.arms, 'and')}" if other.arms else ""
    why = f"longer: {tell_length(other.stops, other.places)}."
    if other.too_long is not None:
        why = other.too_long.tell()
    elif other.blocked:
        why = f"blocked: {tell_in_the_way(other.blocked)}."
    return f"Over {listed(other.over, 'and')}{arms}; {why}"


MEASURE = (
    "Shortest: the fewest stops to set off anew (to turn back, or in a yard), then the fewest "
    "places run over, then the fewest times that a signal gives leave."
)
