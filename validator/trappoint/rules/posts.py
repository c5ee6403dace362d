"""Rules on the places of signals along their tracks."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import pointer_to
from trappoint.core.quoting import millimetres as mm
from trappoint.model.layout import HEADINGS, HOLDING, cut_at
from trappoint.rules.route_phrases import at_start, thing
from trappoint.rules.rule import BOARD_OF_TRADE, Rule
from trappoint.topology.sections import derive_sections

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.core.findings import Finding
    from trappoint.facts.facts import Facts
    from trappoint.model.layout import ArmKind, Head, Layout

OFF_ITS_TRACK = Rule(
    id="signal-off-its-track",
    level="error",
    stage="plan",
    summary="a signal beyond the end of its track",
    why="A signal holds trains on the track before it, so some of its track must be before it.",
    source="the format: at_mm is measured from the track's up end",
    fails={"signals": {"2": {"at_mm": 1600}}},
    passes={"signals": {"2": {"at_mm": 1450}}},
)


@OFF_ITS_TRACK.checked_by
def _off_their_tracks(facts: Facts) -> Iterator[Finding]:
    for signal in facts.layout.signals.values():
        for head in signal.heads:
            track = facts.layout.tracks.get(head.track)
            if track is None or head.at_mm is None:
                continue
            length = track.length_mm
            pointer = _at_pointer(facts.layout, head)
            if length is not None and head.at_mm > length:
                yield OFF_ITS_TRACK.finding(
                    pointer,
                    f"{at_start(thing(facts, 'signals', signal.id))} is {mm(head.at_mm)} from the "
                    f"up end of {facts.names.called('tracks', track.id)}, which is only "
                    f"{mm(length)} long.",
                    f"Write an at_mm of at most {length:g}, measured from the up end of "
                    f"{track.id}.",
                    path=(signal.id, track.id),
                )
            elif head.at_mm == (0 if head.heading == "down" else length):
                before = "up" if head.heading == "down" else "down"
                yield OFF_ITS_TRACK.finding(
                    pointer,
                    f"{at_start(thing(facts, 'signals', signal.id))} for {head.heading} trains is "
                    f"at the {before} end of {facts.names.called('tracks', track.id)}, so a train "
                    f"held at it would not be on {track.id}.",
                    "Put it on the track on which its trains stop, or write an at_mm inside "
                    f"{track.id}.",
                    path=(signal.id, track.id),
                )


def _at_pointer(layout: Layout, head: Head) -> str:
    """Return a pointer to the at_mm of a head: that of its signal or of its arm."""
    arm = head.arms[0]
    signal = layout.signals[head.signal]
    if signal.at_mm is not None and signal.at_mm == head.at_mm and signal.track == head.track:
        return pointer_to("signals", head.signal, "at_mm")
    return pointer_to("signals", head.signal, "arms", arm.position, "at_mm")


ON_ONE_SPOT = Rule(
    id="signals-on-one-spot",
    level="error",
    stage="plan",
    summary="two signals with arms of one kind at one spot for the same trains",
    why="The order of their arms from left to right, and so the route of each arm, is unknown.",
    source=f"{BOARD_OF_TRADE}, rule 3: arms for one line on one post or on brackets",
    fails={"signals": {"2x": {"track": "main", "for": "down", "arms": [{"id": "2x"}]}}},
    passes={
        "signals": {
            "2x": {
                "track": "main",
                "for": "down",
                "form": "disc",
                "mount": "ground",
                "arms": [{"id": "2x", "kind": "shunt"}],
            }
        }
    },
)


@ON_ONE_SPOT.checked_by
def _on_one_spot(facts: Facts) -> Iterator[Finding]:
    first: dict[tuple[str, str, float, str], Head] = {}
    for head in (head for signal in facts.layout.signals.values() for head in signal.heads):
        track = facts.layout.tracks.get(head.track)
        if track is None:
            continue
        for kind in dict.fromkeys(arm.kind for arm in head.arms if arm.kind in HOLDING):
            spot = (head.track, head.heading, cut_at(head, track), kind)
            other = first.setdefault(spot, head)
            if other is head:
                continue
            yield ON_ONE_SPOT.finding(
                pointer_to("signals", head.signal),
                f"Signals {facts.names.called('signals', other.signal)} and "
                f"{facts.names.called('signals', head.signal)} both have {kind} arms for "
                f"{head.heading} trains at one spot of {facts.names.called('tracks', head.track)}.",
                _apart_or_one(other, head, kind),
                path=(head.signal, other.signal, head.track),
                at_key=True,
            )
            break


def _apart_or_one(one: Head, other: Head, kind: ArmKind) -> str:
    """Return the fix for two heads on one spot; arms for the same road cannot be one signal."""
    roads = [{to for arm in head.arms_of(kind) for to in arm.to} for head in (one, other)]
    if all(roads) and roads[0].isdisjoint(roads[1]):
        return "Make them one signal with all these arms, or move one along the track with at_mm."
    return (
        "Move one along the track with at_mm, or take one out; or, if they are for different "
        "roads, make them one signal and add a `to` to each arm."
    )


EXITS_OVERLAP = Rule(
    id="yard-exits-overlap",
    level="error",
    stage="plan",
    summary="two exit signals of a yard that leave no part of their track inside the yard",
    why="Beyond an exit signal of a yard, its track is outside the yard.",
    source="the format: what a yard is",
    fails=(
        '{"format": "trappoint-layout/1", "tracks": {"west": {"up": "edge:w", "down": "joint:1"}, '
        '"road": {"up": "joint:1", "down": "joint:2", "length_mm": 900}, '
        '"east": {"up": "joint:2", "down": "edge:e"}}, "yards": {"y": {"tracks": ["road"]}}, '
        '"signals": {"1": {"track": "west", "for": "down", "arms": [{"id": "1"}]}, '
        '"2": {"track": "east", "for": "up", "arms": [{"id": "2"}]}, '
        '"3": {"track": "road", "for": "down", "at_mm": 300, "arms": [{"id": "3"}]}, '
        '"4": {"track": "road", "for": "up", "at_mm": 600, "arms": [{"id": "4"}]}}}'
    ),
    passes=(
        '{"format": "trappoint-layout/1", "tracks": {"west": {"up": "edge:w", "down": "joint:1"}, '
        '"road": {"up": "joint:1", "down": "joint:2", "length_mm": 900}, '
        '"east": {"up": "joint:2", "down": "edge:e"}}, "yards": {"y": {"tracks": ["road"]}}, '
        '"signals": {"1": {"track": "west", "for": "down", "arms": [{"id": "1"}]}, '
        '"2": {"track": "east", "for": "up", "arms": [{"id": "2"}]}, '
        '"3": {"track": "road", "for": "down", "at_mm": 600, "arms": [{"id": "3"}]}, '
        '"4": {"track": "road", "for": "up", "at_mm": 300, "arms": [{"id": "4"}]}}}'
    ),
)


@EXITS_OVERLAP.checked_by
def _exits_overlap(facts: Facts) -> Iterator[Finding]:
    layout = facts.layout
    ids = [id_ for yard in layout.yards.values() for id_ in yard.tracks]
    in_yards = [layout.tracks[id_] for id_ in ids if id_ in layout.tracks]
    signalled = {(head.track, head.heading) for head in layout.holding_heads()} if in_yards else ()
    facing_both = [t for t in in_yards if all((t.id, heading) in signalled for heading in HEADINGS)]
    if not facing_both:
        return
    found = derive_sections(layout, layout.holding_heads())
    for track in facing_both:
        both = [found.exit_heads.get((track.id, heading)) for heading in HEADINGS]
        if None in both:
            continue
        down, up = (layout.holding_heads()[number] for number in both if number is not None)
        at_down, at_up = cut_at(down, track), cut_at(up, track)
        if 0 <= at_down <= at_up:
            yield EXITS_OVERLAP.finding(
                pointer_to("signals", down.signal),
                f"Signals {facts.names.called('signals', down.signal)} and "
                f"{facts.names.called('signals', up.signal)} leave no part of "
                f"{facts.names.called('tracks', track.id)} inside its yard: each is beyond the "
                "other.",
                f"Put {down.signal} nearer to the down end than {up.signal}, or take {track.id} "
                "out of the yard.",
                path=(down.signal, up.signal, track.id),
                at_key=True,
            )
