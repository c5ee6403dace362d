"""Rules on the plan as written: where posts stand, arms' ids, and lies that points do not have."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.findings import pointer_to
from trappoint.layout import lie_of
from trappoint.network import cut_at
from trappoint.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.facts import Facts
    from trappoint.findings import Finding
    from trappoint.layout import Head, Layout, Points


def _at_pointer(layout: Layout, head: Head) -> str:
    """Point at the measure that puts a head where it stands, or else at its signal."""
    arm = head.arms[0]
    signal = layout.signals[head.signal]
    if signal.at_mm is not None and signal.at_mm == head.at_mm and signal.track == head.track:
        return pointer_to("signals", head.signal, "at_mm")
    return pointer_to("signals", head.signal, "arms", arm.index, "at_mm")


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
                    f"Signal {signal.id} would stand {head.at_mm:g} mm from the up end of "
                    f"{track.id}, which is {length:g} mm long.",
                    "at_mm is measured from the track's up end: give at most its length.",
                    path=(signal.id, track.id),
                )
            elif head.at_mm == (0 if head.heading == "down" else length):
                before = "up" if head.heading == "down" else "down"
                yield OFF_ITS_TRACK.finding(
                    pointer,
                    f"Signal {signal.id} for {head.heading} trains stands at the {before} end of "
                    f"{track.id}: a train held at it would not be on {track.id} at all.",
                    "Put it on the track on which its trains stop, or give at_mm inside the track.",
                    path=(signal.id, track.id),
                )


def _on_one_spot(facts: Facts) -> Iterator[Finding]:
    first: dict[tuple[str, str, float], str] = {}
    plain = {
        (head.signal, head.track, head.heading)
        for head in facts.layout.holding_heads()
        if head.at_mm is None
    }
    for head in facts.layout.holding_heads():
        track = facts.layout.tracks.get(head.track)
        if track is None:
            continue
        spot = (head.track, head.heading, cut_at(head, track))
        other = first.setdefault(spot, head.signal)
        if other != head.signal or (
            spot[2] == -1
            and head.at_mm is not None
            and (head.signal, head.track, head.heading) in plain
        ):
            yield ON_ONE_SPOT.finding(
                pointer_to("signals", head.signal),
                f"Signal {head.signal} stands where signal {other} stands, for the same trains: "
                f"{head.heading} trains on {head.track}.",
                f"Make them one signal (a bracket has room for all arms of {other} and "
                f"{head.signal}), or move one along the track with at_mm.",
                path=(head.signal, other, head.track),
                at_key=True,
            )


def _arm_ids_twice(facts: Facts) -> Iterator[Finding]:
    first: dict[str, str] = {}
    for arm in facts.layout.arms():
        if arm.id in first:
            yield ARM_ID_TWICE.finding(
                pointer_to("signals", arm.signal, "arms", arm.index, "id"),
                f"There is an arm {arm.id} on signal {first[arm.id]} already.",
                "Give every arm of the plan an id of its own.",
                path=(arm.id, first[arm.id]),
            )
        first.setdefault(arm.id, arm.signal)


def _lies_that_are_not(facts: Facts) -> Iterator[Finding]:
    layout = facts.layout
    for points in layout.points.values():
        if points.normal not in points.lies:
            yield _no_such_lie(pointer_to("points", points.id, "normal"), points, points.normal)
    for arm in layout.arms():
        for name, word in arm.expects.items():
            switch = layout.switch(name)
            if switch is not None and lie_of(switch, word) is None:
                pointer = pointer_to("signals", arm.signal, "arms", arm.index, "expects", name)
                yield _no_such_lie(pointer, switch, word)
    for scene in layout.scenes.values():
        for name, word in scene.points.items():
            switch = layout.switch(name)
            if switch is not None and lie_of(switch, word) is None:
                yield _no_such_lie(pointer_to("scenes", scene.id, "points", name), switch, word)
    for number, group in enumerate(layout.worked_together):
        for index, name in enumerate(group):
            if name in layout.points and layout.points[name].kind == "three-way":
                yield NO_SUCH_LIE.finding(
                    pointer_to("worked_together", number, index),
                    f"{name} are three-way points: they have two lies that are not normal, so "
                    "they can not be worked together with others by one lever.",
                    f"Take {name} out of the list; three-way points have levers of their own.",
                    path=(name,),
                )


def _no_such_lie(pointer: str, switch: Points | object, word: str) -> Finding:
    lies: tuple[str, ...] = getattr(switch, "lies", ())
    name: str = getattr(switch, "id", "")
    return NO_SUCH_LIE.finding(
        pointer,
        f"{name} can not lie {word}.",
        f"Write one of: {', '.join(lies)}.",
        path=(name,),
    )


OFF_ITS_TRACK = Rule(
    "signal-off-its-track",
    "error",
    "plan",
    "a signal that would not stand on its track",
    "A train is held on the track before its signal; where there is none, nothing can be told.",
    "the format: at_mm is measured from the track's up end",
    {"signals": {"2": {"at_mm": 1600}}},
    {"signals": {"2": {"at_mm": 1450}}},
    _off_their_tracks,
)

ON_ONE_SPOT = Rule(
    "signals-on-one-spot",
    "error",
    "plan",
    "two stop signals at one place for the same trains",
    "A driver can not tell which of the two is his, and no train is held at one of them only.",
    "Board of Trade requirements 1892, rule 3: arms for one line on one post or on brackets",
    {"signals": {"2x": {"track": "main", "for": "down", "arms": [{"id": "2x"}]}}},
    {},
    _on_one_spot,
)

ARM_ID_TWICE = Rule(
    "arm-id-twice",
    "error",
    "plan",
    "two arms with one id",
    "Tables, levers and scenes name arms by their ids, so that each must have its own.",
    "the format: arm ids are unique over the plan",
    {"signals": {"3": {"arms": [{"id": "2"}]}}},
    {},
    _arm_ids_twice,
)

NO_SUCH_LIE = Rule(
    "no-such-lie",
    "error",
    "plan",
    "a lie that these points do not have",
    "Points lie left or right, three-way points also in the middle, slips straight or slip.",
    "the format: lies as seen from the toe",
    {"points": {"p1": {"normal": "middle"}}},
    {},
    _lies_that_are_not,
)
