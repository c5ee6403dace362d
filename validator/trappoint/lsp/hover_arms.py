"""What an arm gives leave to do and what it excludes; what a signal is there for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.lsp.hover_phrases import as_of, lines, named, noted
from trappoint.lsp.lenient_access import Data, arm_of, text, texts, things
from trappoint.reporting.wording import (
    BY_WHAT,
    conditions_of,
    never_with,
    tell_condition,
    tell_lies,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.interlocking.locking_table import ArmEntry
    from trappoint.lsp.document_state import CheckedText


def tell_arm(data: Data, name: str, checked: CheckedText) -> str:
    """Say what an arm is and what follows for it from the track."""
    found = arm_of(data, name)
    if found is None:
        return ""
    signal, arm = found
    head = f"**arm {name}** of signal {signal}: {text(arm, 'kind', 'stop')}{named(arm)}"
    entry = checked.arm(name)
    if entry is None:
        return lines(head, noted(arm), _NOT_YET)
    return lines(head, *_follows(entry), noted(arm), as_of(checked))


_NOT_YET = "What it gives leave to do can be told once the plan can be worked out."


def _follows(entry: ArmEntry) -> Iterator[str]:
    yield entry.meaning
    for route in entry.routes:
        if len(entry.routes) > 1:
            way = ", ".join(route.over) or route.start
            yield f"over {way}: {tell_lies(route.points) or 'no points'}"
        elif route.points:
            yield f"needs {tell_lies(route.points)}"
        if route.past:
            yield f"needs off on the way: {', '.join(route.past)}"
    for by, sees in BY_WHAT.items():
        others = never_with(entry, by)
        if others:
            yield f"never off with {', '.join(others)} ({sees})"
    for conflict in conditions_of(entry):
        sees = BY_WHAT[conflict.by]
        yield f"not off with {conflict.arm} while {tell_condition(conflict)} ({sees})"
    if entry.duties:
        yield f"duties: {'; '.join(entry.duties)}"


def tell_signal(data: Data, name: str, checked: CheckedText) -> str:
    """Say where a signal stands, what it is there for, and what each of its arms means."""
    signal = things(data, "signals").get(name)
    if signal is None:
        return ""
    track, heading = text(signal, "track", "?"), text(signal, "for", "?")
    at_mm = signal.get("at_mm")
    where = f"{at_mm:g} mm from its up end" if _is_number(at_mm) else f"at its {heading} end"
    head = f"**signal {name}**{named(signal)}: on {track}, {where}, for trains running {heading}"
    told = [head]
    duties = checked.duties(name)
    if duties:
        told.append(f"duties: {'; '.join(duties)}")
    listed = signal.get("arms")
    for arm in listed if isinstance(listed, list) else ():
        for own in texts(arm.get("id")) if isinstance(arm, dict) else ():
            entry = checked.arm(own)
            told.append(f"arm {own}: {entry.meaning if entry else text(arm, 'kind', 'stop')}")
    return lines(*told, noted(signal), as_of(checked))


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
