"""Rules on track ends and legs: one end meets each leg, two each joint; the curves of legs."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from trappoint.core.findings import pointer_to
from trappoint.core.spelling import SpellingHints
from trappoint.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.core.findings import Finding
    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Layout, Points


def _legs(layout: Layout) -> Iterator[tuple[str, str, str]]:
    """Yield every leg: the kind of its element, the element's id and the leg."""
    for kind in ("points", "crossings", "turntables"):
        for element in getattr(layout, kind).values():
            for leg in element.legs:
                yield kind, element.id, leg


def _met(layout: Layout) -> dict[tuple[str, str, str], list[tuple[str, str]]]:
    """Return for each leg the track ends that meet it: track, and up or down."""
    met: dict[tuple[str, str, str], list[tuple[str, str]]] = {leg: [] for leg in _legs(layout)}
    for track in layout.tracks.values():
        for heading in ("up", "down"):
            end = track.end(heading)
            found = layout.element(end)
            if found is not None:
                met[found[0], end.name, end.leg].append((track.id, heading))
    return met


UNMET_LEG = Rule(
    id="unmet-leg",
    level="error",
    stage="plan",
    summary="a leg of points, of a crossing or of a turntable that no track meets",
    why="The check cannot know where a train goes that takes a leg without a track.",
    source="the format: exactly one track end meets each leg of each element",
    fails={"points": {"p4": {"normal": "left"}}},
    passes={},
)


@UNMET_LEG.checked_by
def _unmet_legs(facts: Facts) -> Iterator[Finding]:
    for (kind, id_, leg), ends in _met(facts.layout).items():
        if not ends:
            yield UNMET_LEG.finding(
                pointer_to(kind, id_),
                f"No track meets {id_}.{leg}.",
                f"Add a track with an end at {id_}.{leg} (to a buffer, if it leads nowhere).",
                path=(id_,),
            )


LEG_MET_TWICE = Rule(
    id="leg-met-twice",
    level="error",
    stage="plan",
    summary="a leg that two track ends meet",
    why="A leg meets one track; one of these two ends is probably a mistake.",
    source="the format: exactly one track end meets each leg of each element",
    fails={"tracks": {"siding": {"up": "p3.right"}}},
    passes={},
)


@LEG_MET_TWICE.checked_by
def _legs_met_twice(facts: Facts) -> Iterator[Finding]:
    for (_, id_, leg), ends in _met(facts.layout).items():
        for extra in ends[1:]:
            track, side = ends[0]
            yield LEG_MET_TWICE.finding(
                pointer_to("tracks", *extra),
                f"The {side} end of {facts.names.called('tracks', track)} already meets "
                f"{id_}.{leg}.",
                f"Change one of the two track ends at {id_}.{leg}; to join two tracks, add points.",
                path=(id_, track),
            )


OPEN_JOINT = Rule(
    id="open-joint",
    level="error",
    stage="plan",
    summary="a joint of more or fewer than two track ends",
    why="A joint joins exactly two track ends.",
    source="the format: exactly two track ends meet at a joint",
    fails={"tracks": {"siding": {"down": "joint:quay"}}},
    passes={
        "tracks": {
            "siding": {"down": "joint:quay", "stand": True},
            "quay": {"up": "joint:quay", "down": "buffer"},
        },
        "signals": {
            "8": {"track": "quay", "for": "up", "arms": [{"id": "8"}]},
            "9": {"track": "siding", "for": "down", "arms": [{"id": "9"}]},
        },
    },
)


@OPEN_JOINT.checked_by
def _open_joints(facts: Facts) -> Iterator[Finding]:
    met: dict[str, list[str]] = {}
    for track in facts.layout.tracks.values():
        for heading in ("up", "down"):
            end = track.end(heading)
            if end.kind == "joint":
                met.setdefault(end.name, []).append(pointer_to("tracks", track.id, heading))
    names = [name for name, pointers in met.items() if len(pointers) == 1]
    hints = SpellingHints()
    reported: set[str] = set()
    for name, pointers in met.items():
        if len(pointers) == 1 and name not in reported:
            near = hints.nearest(name, [other for other in names if other != name])
            hint = f"Write joint:{near} if you mean that, or add" if near else "Add"
            if near and hints.nearest(near, [o for o in names if o != near]) == name:
                reported.add(near)  # One misspelt joint leaves two open: one finding is enough.
            yield OPEN_JOINT.finding(
                pointers[0],
                f"Only one track end meets joint:{name}.",
                f"{hint} a second track end at joint:{name}, or end this track at a buffer or an "
                "edge.",
                instead=f'"joint:{near}"' if near else None,
            )
        for extra in pointers[2:]:
            yield OPEN_JOINT.finding(
                extra,
                f"joint:{name} already joins two track ends.",
                "Add another joint for this end; to join three tracks, add points.",
            )


_BRITISH = {"standard": "British"}
_CURVED = {
    "crossing_number": None,
    "leg_mm": 300,
    "curves": {"left": {"hand": "left", "radius_mm": 600}},
}

ANGLE_AND_CURVES = Rule(
    id="angle-and-curves",
    level="error",
    stage="plan",
    summary="points with both an angle and curves",
    why=(
        "Legs that curve part along one tangent, and legs with an angle where their straight "
        "centre lines meet: one pair of legs cannot do both."
    ),
    source="the format: curves instead of an angle",
    fails={**_BRITISH, "points": {"p1": {**_CURVED, "crossing_number": 8}}},
    passes={**_BRITISH, "points": {"p1": _CURVED}},
)


@ANGLE_AND_CURVES.checked_by
def _both(facts: Facts) -> Iterator[Finding]:
    for points in facts.layout.points.values():
        key = "angle_degrees" if points.crossing_number is None else "crossing_number"
        if points.curves and (points.crossing_number or points.angle_degrees):
            yield ANGLE_AND_CURVES.finding(
                pointer_to("points", points.id, key),
                f"Points {facts.names.called('points', points.id)} have both {key} and curves.",
                f"Take {key} out: the curves give the angle at the ends of the legs.",
                path=(points.id,),
                at_key=True,
            )


LEGS_NEVER_PART = Rule(
    id="legs-never-part",
    level="warning",
    stage="facts",
    summary="curves with which the legs of points never part",
    why="A leg that curves more to the other leg's side than that leg does would cross it.",
    source="geometry: two curves from one tangent",
    fails={
        **_BRITISH,
        "points": {"p1": {**_CURVED, "curves": {"left": {"hand": "right", "radius_mm": 600}}}},
    },
    passes={**_BRITISH, "points": {"p1": _CURVED}},
)


@LEGS_NEVER_PART.checked_by
def _never_part(facts: Facts) -> Iterator[Finding]:
    for points in facts.layout.points.values():
        for one, other in pairwise(points.lies) if points.curves else ():
            if _to_the_left(points, one) <= _to_the_left(points, other):
                yield LEGS_NEVER_PART.finding(
                    pointer_to("points", points.id, "curves"),
                    f"The {one} leg of {facts.names.called('points', points.id)} never parts from "
                    f"its {other} leg: with these curves it does not lie to the left of it.",
                    "Correct the hands or the radii of the legs.",
                    path=(points.id,),
                    at_key=True,
                )


def _to_the_left(points: Points, leg: str) -> float:
    """Return the curvature of a leg in 1/mm, positive to the left; 0 for a straight one."""
    for curve in points.curves:
        if curve.leg == leg:
            return (1 if curve.hand == "left" else -1) / curve.radius_mm
    return 0.0
