"""A road as Markdown: the signalman's order in numbered lists."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import CAUTION
from trappoint.reporting.road_words import (
    MEASURE,
    tell_heading,
    tell_length,
    tell_order,
    tell_other,
    tell_outcome,
    tell_title,
)
from trappoint.reporting.table_markdown import escape

if TYPE_CHECKING:
    from trappoint.core.terminal import RenderOptions
    from trappoint.operation.journey_words import Called
    from trappoint.operation.orders import JourneyOrder
    from trappoint.operation.road import Road


def render(road: Road, title: str, look: RenderOptions, *, others: bool = False) -> str:
    """Return the answer as a page; with ``others`` also the other roads."""
    parts = [f"# {escape(tell_title(road, title))}", *map(escape, tell_outcome(road))]
    number = 1
    for order in road.orders:
        if len(road.orders) > 1:
            length = tell_length(order.stops, order.places)
            heading = escape(tell_heading(order, road.called))
            parts.append(f"## {heading}\n\n{length[:1].upper()}{length[1:]}.")
        lines = order_list(order, road.called, number)
        number += len(lines)
        parts.append("\n".join(lines))
    if others:
        parts += ["## Other roads", MEASURE]
        items = [f"- {escape(tell_other(other, road.called))}" for other in road.others]
        parts.append("\n".join(items) or "There are none.")
    return "\n\n".join([*parts, f"*{CAUTION}*"]) + "\n"


def order_list(order: JourneyOrder, called: Called, first: int) -> list[str]:
    """Return the steps of an order as list items, numbered from ``first``."""
    found = []
    for number, step in enumerate(tell_order(order, called), first):
        indent = " " * (len(str(number)) + 2)
        details = "".join(f"  \n{indent}{escape(detail)}" for detail in step.details)
        found.append(f"{number}. {escape(step.text)}{details}")
    return found
