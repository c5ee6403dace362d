"""Distants for the homes of a proposal, if their track has room for one.

A distant stands as far before its home as the track lets it: on the full size it would stand a
quarter of a mile out, which models compress. Sources: Board of Trade requirements 1892, rule 3;
that so short a track has no room for one is common practice, no source.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trappoint.facts.facts import Facts
from trappoint.model.building import build_layout

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.model.layout import Head

MIN_ROOM_MM = 600
"""The least distance between a distant and its home, in mm: a nearer distant has no use."""

INSIDE_MM = 100
"""The distance of a distant from the end of its track, in mm."""


def add_distants(data: dict[str, Any]) -> list[str]:
    """Add a distant for each home without one that has room for it; return their ids."""
    facts = Facts(build_layout(data))
    spoken = {number for distant in facts.distants for number in distant.repeats}
    added = []
    for number, head in _homes(facts):
        if spoken.intersection(facts.stop_arms_at.get(number, ())):
            continue
        length = facts.layout.tracks[head.track].length_mm
        if length is None or length < MIN_ROOM_MM or head.at_mm is not None:
            continue
        name = _free_id(data, f"{head.signal.replace('/', '-')}D")
        at_mm = INSIDE_MM if head.heading == "down" else length - INSIDE_MM
        data["signals"][name] = {
            "track": head.track, "for": head.heading, "at_mm": at_mm, "mount": "post",
            "arms": [{"id": name, "kind": "distant"}],
        }  # fmt: skip
        added.append(name)
    return added


def _homes(facts: Facts) -> Iterator[tuple[int, Head]]:
    """Yield the homes that trains reach from outside the plan or along a plain line."""
    for number, head in enumerate(facts.network.heads):
        if head.elsewhere:
            continue
        track = facts.layout.tracks[head.track]
        from_edge = track.end("up" if head.heading == "down" else "down").kind == "edge"
        duties = facts.duties.of_signal[head.signal]
        home = any(duty.startswith("home ") for duty in duties)
        if head.stops and home and (from_edge or not track.stand):
            yield number, head


def _free_id(data: dict[str, Any], name: str) -> str:
    taken = {*data["signals"], *(a["id"] for s in data["signals"].values() for a in s["arms"])}
    number = 2
    free = name
    while free in taken:
        free, number = f"{name}{number}", number + 1
    return free
