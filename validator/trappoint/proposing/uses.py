"""What a proposal is good for, in one sentence, from its plan."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.quoting import listed

if TYPE_CHECKING:
    from trappoint.checking.report import Report
    from trappoint.facts.facts import Facts
    from trappoint.proposing.levels import Level

FOR: dict[Level, str] = {
    "least": "the least to build",
    "homes": "trains that wait outside an occupied platform",
    "full": "a full timetable, with trains that follow one another",
    "at-points": "a start for your own changes, with every set of points protected",
}


def use_of(report: Report, level: Level) -> str:
    """Return what a proposal is good for: its purpose, and how many trains it keeps apart."""
    facts = report.facts
    if facts is None or report.layout is None:
        return f"Good for {FOR[level]}."
    trains = len(_kept_apart(facts))
    at_once = "1 train at a time" if trains == 1 else f"up to {trains} trains at once"
    homes = _with_home(facts)
    outside = ""
    if homes:
        called = [facts.names.called("platforms", each) for each in homes]
        outside = f"; a train can wait outside {listed(called, 'and')}"
    return f"Good for {FOR[level]}: places for {at_once}{outside}."


def _kept_apart(facts: Facts) -> set[int]:
    """Return the places where a train can stand, or be held, with no other there."""
    network = facts.network
    held = {network.place_of[state] for state in network.held_at if state >= 0}
    return {p for p in {*network.stand_at, *held} if not network.places[p].elsewhere}


def _with_home(facts: Facts) -> list[str]:
    duties = {duty for found in facts.duties.of_arm for duty in found}
    return [p for p in facts.layout.platforms if f"home platform {p}" in duties]
