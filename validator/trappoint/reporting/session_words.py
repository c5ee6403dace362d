"""The signalman's sheet of a session, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.quoting import listed

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.operation.session_sheet import SessionSheet, SheetEntry


def tell_title(sheet: SessionSheet, title: str) -> str:
    """Return the heading of a sheet."""
    return f"{sheet.name or sheet.session}: {title}"


def tell_beginning(sheet: SessionSheet) -> str:
    """Tell where trains stand at first."""
    if not sheet.standing:
        return "At first no train is on the plan. All arms are at danger, all points normal."
    told = listed([f"{train} in {place}" for train, place in sheet.standing], "and")
    return f"At first: {told}. All arms are at danger, all points normal."


def tell_movement(entry: SheetEntry) -> str:
    """Tell one movement in a line."""
    order = entry.order
    start, end = order.start, order.end
    if entry.comes_in and entry.comes_in != start:
        start = f"{entry.comes_in} ({start})"
    if entry.leaves:
        end = f"{end if entry.leaves == end else f'{entry.leaves} ({end})'}, and leaves the plan"
    comes = "comes in at " if entry.comes_in else "from "
    return f"Movement {entry.number}: {order.train} {comes}{start} to {end}"


def tell_end(sheet: SessionSheet) -> Iterator[str]:
    """Yield what there is to say at the end, a paragraph each."""
    if not sheet.stuck:
        yield f"All {sheet.movements} movements can be made in this order."
        return
    if sheet.in_that_order:
        yield "In the order of its list this session cannot be worked."
    yield sheet.stuck
    if sheet.standstill:
        yield "That is a standstill: no train can make its next movement."
    if sheet.order is not None:
        numbers = ", ".join(map(str, sheet.order))
        yield f"In this order all movements can be made: {numbers}."
    elif not sheet.decided:
        yield "Whether there is an order in which all can be made was not found out."
    elif sheet.looked:
        yield "There is no order in which all these movements can be made."
    else:
        yield "Mend that first; the movements after it were not tried."
