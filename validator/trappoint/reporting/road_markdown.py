"""A road for documents: Markdown with one numbered list."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import CAUTION
from trappoint.reporting.road_words import (
    MEASURE,
    tell_length,
    tell_order,
    tell_other,
    tell_outcome,
    tell_title,
)
from trappoint.reporting.table_markdown import escape

if TYPE_CHECKING:
    from trappoint.core.terminal import RenderOptions
    from trappoint.operation.orders import JourneyOrder
    from trappoint.operation.road import Road


def render(road: Road, title: str, look: RenderOptions, *, others: bool = False) -> str:
    """Return the answer as a page; with ``others`` also the roads that were not chosen."""
    parts = [f"# {escape(tell_title(road, title))}", *map(escape, tell_outcome(road))]
    number = 1
    for order in road.orders:
        if len(road.orders) > 1:
            told = f"{order.train} from {order.start} to {order.end}"
            length = tell_length(order.stops, order.places)
            parts.append(f"## {escape(told[:1].upper() + told[1:])}\n\n{length}")
        lines = order_list(order, number)
        number += len(lines)
        parts.append("\n".join(lines))
    if others:
        parts += ["## Other roads", MEASURE]
        items = [f"- {escape(tell_other(other))}" for other in road.others]
        parts.append("\n".join(items) or "There are none.")
    return "\n\n".join([*parts, f"*{CAUTION}*"]) + "\n"


def order_list(order: JourneyOrder, first: int) -> list[str]:
    """Return the steps of an order as items of a list, numbered from ``first``."""
    found = []
    for number, step in enumerate(tell_order(order), first):
        indent = " " * (len(str(number)) + 2)
        details = "".join(f"  \n{indent}{escape(detail)}" for detail in step.details)
        found.append(f"{number}. {escape(step.text)}{details}")
    return found
