"""A road as text: the signalman's order, numbered."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import CAUTION
from trappoint.core.terminal import width_of
from trappoint.reporting.road_words import (
    MEASURE,
    tell_heading,
    tell_length,
    tell_order,
    tell_other,
    tell_outcome,
    tell_title,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.core.terminal import RenderOptions
    from trappoint.operation.journey_words import Called
    from trappoint.operation.orders import JourneyOrder
    from trappoint.operation.road import Road


def render(road: Road, title: str, look: RenderOptions, *, others: bool = False) -> str:
    """Return the answer as text; with ``others`` also the other roads."""
    heading = look.wrap(tell_title(road, title))
    lines = [*heading, "=" * max(map(width_of, heading)), ""]
    for paragraph in tell_outcome(road):
        lines += look.wrap(paragraph)
    number = 1
    for order in road.orders:
        lines.append("")
        if len(road.orders) > 1:
            length = tell_length(order.stops, order.places)
            lines += look.wrap(f"{tell_heading(order, road.called)}: {length}")
            lines.append("")
        steps = list(order_lines(order, road.called, look, number))
        lines += [line for _, own in steps for line in own]
        number += len(steps)
    if others:
        lines += ["", "Other roads", "-----------"]
        lines += look.wrap(MEASURE)
        for other in road.others:
            lines += look.wrap(tell_other(other, road.called), "  ", "    ")
        if not road.others:
            lines += ["There are none."]
    lines += ["", *look.wrap(CAUTION)]
    return "\n".join(lines) + "\n"


def order_lines(
    order: JourneyOrder, called: Called, look: RenderOptions, first: int
) -> Iterator[tuple[int, list[str]]]:
    """Yield the steps of an order, each with its number from ``first`` and its lines."""
    for number, step in enumerate(tell_order(order, called), first):
        lines = look.wrap(step.text, f"{number:>3}  ", "     ")
        for detail in step.details:
            lines += look.wrap(detail, "     ", "       ")
        yield number, lines
