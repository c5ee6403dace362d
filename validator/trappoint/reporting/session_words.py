"""The signalman's sheet of a session, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.quoting import listed

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.operation.journey_words import Called
    from trappoint.operation.session_sheet import SessionSheet, SheetEntry


def tell_title(sheet: SessionSheet, title: str) -> str:
    """Return the heading of a sheet."""
    return f"{sheet.name or sheet.session}: {title}"


def tell_beginning(sheet: SessionSheet) -> str:
    """Return where the trains stand at first."""
    if not sheet.standing:
        return "At first no train is on the plan. All arms are at danger, all points normal."
    called = sheet.called
    trains = [f"{called.train(train)} in {called.place(at)}" for train, at in sheet.standing]
    return f"At first: {listed(trains, 'and')}. All arms are at danger, all points normal."


def tell_movement(entry: SheetEntry, called: Called) -> str:
    """Return one movement in a line."""
    order = entry.order
    start, end = called.place(order.start), called.place(order.end)
    if entry.comes_in:
        comes = f" comes in at {called.place(entry.comes_in)}, and runs"
        runs = comes if entry.comes_in == order.start else f"{comes} from {start}"
    else:
        runs = f" from {start}"
    if entry.leaves:
        edge = "" if entry.leaves == order.end else f" at {called.place(entry.leaves)}"
        end = f"{end}, and leaves the plan{edge}"
    return f"Movement {entry.number}: {called.train(order.train)}{runs} to {end}"


def tell_end(sheet: SessionSheet) -> Iterator[str]:
    """Yield the paragraphs at the end of a sheet."""
    if not sheet.stuck:
        yield f"All {sheet.movements} movements are possible in this order."
        return
    if sheet.in_that_order:
        yield "This session cannot be worked in the order of its list."
    yield sheet.stuck
    if sheet.standstill:
        yield "This is a standstill: no train can make its next movement."
    if sheet.order is not None:
        numbers = ", ".join(map(str, sheet.order))
        yield f"All movements are possible in this order: {numbers}."
    elif not sheet.decided:
        yield "Not checked: whether another order makes all movements possible."
    elif sheet.looked:
        yield "No order makes all of these movements possible."
    else:
        yield "Correct this movement first; the movements after it were not tried."
