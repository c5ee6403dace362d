"""Hover texts for signals and arms."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.lsp.hover_phrases import as_of, called, heading, lines, millimetres, noted
from trappoint.lsp.lenient_access import Data, arm_of, text, texts, things
from trappoint.reporting.wording import (
    by_what,
    conditions_of,
    never_with,
    tell_condition,
    tell_lies,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from trappoint.interlocking.conflicts import By
    from trappoint.interlocking.locking_table import ArmEntry
    from trappoint.lsp.document_state import CheckedText


def tell_arm(data: Data, name: str, checked: CheckedText) -> str:
    """Return the hover text of an arm; empty if the plan has no such arm."""
    found = arm_of(data, name)
    if found is None:
        return ""
    signal, arm = found
    owner = called(data, "signals", signal)
    head = f"{heading('arm', name, arm)} of signal {owner}: {text(arm, 'kind', 'stop')} arm"
    entry = checked.arm(name)
    if entry is None:
        return lines(head, noted(arm), _NOT_YET)
    sees = by_what(checked.worked.table) if checked.worked and checked.worked.table else {}
    return lines(head, *_locking(entry, sees), noted(arm), as_of(checked))


_NOT_YET = "Its routes appear here once the plan has no errors in its form."


def _locking(entry: ArmEntry, sees: Mapping[By, str]) -> Iterator[str]:
    """Yield the routes and conflicts of an arm. ``sees``: who keeps conflicting arms apart."""
    yield entry.meaning
    for route in entry.routes:
        if len(entry.routes) > 1:
            way = ", ".join(route.over) or route.start
            yield f"over {way}: {tell_lies(route.points) or 'no points'}"
        elif route.points:
            yield f"needs {tell_lies(route.points)}"
        if route.past:
            yield f"needs these arms off along the route: {', '.join(route.past)}"
    for by, who in sees.items():
        others = never_with(entry, by)
        if others:
            yield f"never off with {', '.join(others)} ({who})"
    for conflict in conditions_of(entry):
        who = sees.get(conflict.by, "")
        yield f"not off with {conflict.arm} while {tell_condition(conflict)} ({who})"
    if entry.duties:
        yield f"duties: {'; '.join(entry.duties)}"


def tell_signal(data: Data, name: str, checked: CheckedText) -> str:
    """Return the hover text of a signal: its place, its duties and the meaning of its arms."""
    signal = things(data, "signals").get(name)
    if signal is None:
        return ""
    track, running = called(data, "tracks", text(signal, "track", "?")), text(signal, "for", "?")
    from_end = millimetres(signal, "at_mm")
    where = f"{from_end} from its up end" if from_end else f"at its {running} end"
    head = f"{heading('signal', name, signal)}: on {track}, {where}, for trains running {running}"
    items = [head]
    duties = checked.duties(name)
    if duties:
        items.append(f"duties: {'; '.join(duties)}")
    listed = signal.get("arms")
    for arm in listed if isinstance(listed, list) else ():
        for own in texts(arm.get("id")) if isinstance(arm, dict) else ():
            entry = checked.arm(own)
            items.append(
                f"arm {own}: {entry.meaning if entry else text(arm, 'kind', 'stop') + ' arm'}"
            )
    return lines(*items, noted(signal), as_of(checked))
