"""Verbs for the particulars of track: curves, gradients, rank, hints for the diagram, locks.

They also take out joints, and rename the roads of turntables.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trappoint.laying.closing import close_up, ends_at
from trappoint.laying.describing import Described
from trappoint.laying.measures import END, HAND, LENGTH, TRACK, YES, Quantity, Thing, Word
from trappoint.laying.mending import rename
from trappoint.laying.names import NEW_ID
from trappoint.laying.offering import Ask, Offer, choice, offering
from trappoint.laying.refusing import Refused
from trappoint.laying.verb import verb

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from trappoint.laying.describing import Given
    from trappoint.laying.draft import Draft
    from trappoint.laying.offering import Spot

_ORDER = Quantity(1, 10_000, "a whole number from 1", whole=True)


def _hint(key: str) -> Callable[[Draft, Given], None]:
    """Return the function that puts a hint for the diagram under ``draw``."""

    def ready(_: Draft, given: Given) -> None:
        if key in given:
            value = given.pop(key)
            given["draw"] = None if value is None else {key: value}

    return ready


def _goes_with(key: str, other: str) -> Callable[[Draft, Given], None]:
    """Return the function that takes the other key away with this one."""

    def ready(_: Draft, given: Given) -> None:
        if key in given and given[key] is None:
            given[other] = None

    return ready


def _and_then(*each: Callable[[Draft, Given], None]) -> Callable[[Draft, Given], None]:
    def ready(draft: Draft, given: Given) -> None:
        for one in each:
            one(draft, given)

    return ready


_TRACK = Described(
    "tracks",
    {
        "radius_mm": LENGTH,
        "curve": HAND,
        "gradient_percent": Quantity(-100, 100, "the gradient towards the down end, in per cent"),
        "rank": Quantity(1, 1000, "the rank of the road, 1 for the most important", whole=True),
        "lane": _ORDER,
    },
    ready=_and_then(_hint("lane"), _goes_with("radius_mm", "curve")),
)
_MEASURE = Word(("centre-line", "right-angle"))
_POINTS = Described(
    "points",
    {"leg_mm": LENGTH, "toe_mm": LENGTH, "measure": _MEASURE, "lock": YES, "order": _ORDER},
    ready=_and_then(_hint("order"), _goes_with("leg_mm", "curves")),
)
_CROSSING = Described(
    "crossings", {"leg_mm": LENGTH, "measure": _MEASURE, "order": _ORDER}, ready=_hint("order")
)
_TURNTABLE = Described(
    "turntables",
    {"kind": Word(("turntable", "traverser", "sector-plate")), "order": _ORDER},
    ready=_hint("order"),
)


@verb(
    "take-out-joint",
    "Takes out a joint, so that the two tracks that meet there are one.",
    track=TRACK,
    end=END,
)
def take_out_joint(draft: Draft, track: str, end: str) -> str:
    """Make one track of two."""
    text = str(draft.thing("tracks", track)[end])
    if not text.startswith("joint:"):
        raise Refused(f"The {end} end of {track} meets no joint.", "Choose an end at a joint.")
    met = ends_at(draft, text)
    if len(met) != 2:
        raise Refused(f"{text.replace(':', ' ')} does not join two ends.", "Mend the joint first.")
    said, gone = close_up(draft, *met)
    if not gone:
        names = " and ".join(dict.fromkeys(key for key, _ in met))
        raise Refused(
            f"{names} cannot be one track: they differ, or a signal would lose its place.",
            "Make them alike first: their running, curve, gradient, rank, names and yard.",
        )
    return said


@verb(
    "rename-road",
    "Gives a road of a turntable another name.",
    turntable=Thing(("turntables",)),
    road=NEW_ID,
    to=NEW_ID,
)
def rename_road(draft: Draft, turntable: str, road: str, to: str) -> str:
    """Rename a road, with the track end that meets it."""
    roads: list[Any] = draft.thing("turntables", turntable)["roads"]
    if road not in roads:
        raise Refused(f"{turntable} has no road {road}.", f"Write {' or '.join(roads)}.")
    if to in roads:
        raise Refused(f"{turntable} has a road {to} already.", "Give another name.")
    rename(draft, "legs", f"{turntable}.{road}", to)
    draft.touch("turntables", turntable)
    return f"Road {road} of {turntable} is called {to}."


# --- offers


@offering("tracks", 85)
def offer_particulars(spot: Spot) -> Iterator[Offer]:
    """Offer a radius and a gradient."""
    track = spot.layout.tracks[spot.key]
    step: dict[str, object] = {"do": "describe-track", "track": spot.key}
    radius = Ask("radius_mm", "Radius", "number", track.radius_mm or 600, unit="mm")
    yield Offer("Give its tightest radius", step, (radius,))
    hand = choice("curve", "Hand, running down", ("left", "left"), ("right", "right"))
    yield Offer("Curve it from end to end", step, (hand, radius))
    rise = Ask(
        "gradient_percent", "Rise towards the down end", "number",
        track.gradient_percent or 1, unit="per cent",
    )  # fmt: skip
    yield Offer("Give its gradient", step, (rise,))


@offering("points", 30)
def offer_lock(spot: Spot) -> Iterator[Offer]:
    """Offer a facing-point lock, or to take it off."""
    locked = spot.layout.points[spot.key].lock
    step: dict[str, object] = {"do": "describe-points", "points": spot.key}
    label = "Take the facing-point lock off" if locked else "Give them a facing-point lock"
    yield Offer(label, {**step, "lock": None if locked else True})


@offering("tracks", 15, part=True)
def offer_joint_out(spot: Spot) -> Iterator[Offer]:
    """Offer to make one track of the two at a joint, if both are plain and without signals."""
    layout = spot.layout
    track = layout.tracks[spot.key]
    end = track.up if spot.part == "up" else track.down
    if end.kind != "joint":
        return
    other = next(
        (
            each
            for each in layout.tracks.values()
            if each is not track and end.text in (each.up.text, each.down.text)
        ),
        None,
    )
    if other is None or (other.down if spot.part == "up" else other.up).text != end.text:
        return
    plain = not any(arm.track in (track.id, other.id) for arm in layout.arms()) and not any(
        {track.id, other.id} & set(yard.tracks) for yard in layout.yards.values()
    )
    alike = [
        (t.running, t.radius_mm, t.curve, t.gradient_percent, t.rank, t.lane)
        for t in (track, other)
    ]
    if plain and alike[0] == alike[1] and not (track.name and other.name):
        step: dict[str, object] = {"do": "take-out-joint", "track": spot.key, "end": spot.part}
        yield Offer("Take the joint out", step)


VERBS = (
    _TRACK.change("describe-track", "Says the curve, gradient or rank of a track."),
    _POINTS.change("describe-points", "Says the measures of points, and whether they are locked."),
    _CROSSING.change("describe-crossing", "Says the measures of a crossing."),
    _TURNTABLE.change("describe-turntable", "Says what kind of turntable it is."),
    take_out_joint,
    rename_road,
)
OFFERINGS = (offer_particulars, offer_lock, offer_joint_out)
