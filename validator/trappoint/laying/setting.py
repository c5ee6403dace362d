"""Verbs: the hand of points, their normal lie, their angle, and whether they are trap points."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trappoint.laying.draft import Draft, spelled
from trappoint.laying.forking import other_hand
from trappoint.laying.leg_curves import mirror_curves
from trappoint.laying.measures import POINTS, YES, Quantity, Thing, Word
from trappoint.laying.offering import Ask, Offer, offering
from trappoint.laying.points import CROSSING_NUMBER
from trappoint.laying.refusing import Refused
from trappoint.laying.verb import verb

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.laying.offering import Spot

_OTHER = {"left": "right", "right": "left"}


@verb(
    "set-hand", "Exchanges the left and the right leg of points, with their tracks.", points=POINTS
)
def set_hand(draft: Draft, points: str) -> str:
    """Exchange the legs: each track, and each lie, is on the other hand."""
    ends = {f"{points}.{hand}": f"{points}.{other}" for hand, other in _OTHER.items()}
    for key, track in draft.things("tracks").items():
        for end in ("up", "down"):
            if track[end] in ends:
                track[end] = ends[track[end]]
                draft.touch("tracks", key)
    thing = draft.thing("points", points)
    thing["normal"] = _OTHER.get(thing["normal"], thing["normal"])
    draft.touch("points", points)
    for lies in lies_of(draft, points):
        lies[points] = _OTHER.get(lies[points], lies[points])
    mirror_curves(draft, points)
    return f"The left and the right leg of {points} are exchanged."


def lies_of(draft: Draft, switch: str) -> Iterator[dict[str, Any]]:
    """Yield the lies in scenes and beliefs, to change, that have one for this switch."""
    scenes = [scene.get("points", {}) for scene in draft.things("scenes").values()]
    beliefs = [arm.get("expects", {}) for arm in draft.arms().values()]
    yield from (lies for lies in (*scenes, *beliefs) if switch in lies)


@verb(
    "set-normal",
    "Says how points normally lie. Scenes and beliefs go on meaning the same lie.",
    points=POINTS,
    normal=Word(("left", "middle", "right")),
)
def set_normal(draft: Draft, points: str, normal: str) -> str:
    """Write the normal lie."""
    thing = draft.thing("points", points)
    old = thing["normal"]
    three = thing.get("kind") == "three-way"
    if normal == "middle" and not three:
        raise Refused(f"{points} cannot lie middle.", "Write left or right.")
    if normal == old:
        return f"Points {points} normally lie {normal}."
    for lies in lies_of(draft, points):
        lies[points] = _meant(lies[points], old, three=three)
    for scene in draft.things("scenes").values():
        lies = scene.setdefault("points", {})
        if lies.get(points) == normal:
            del lies[points]
        elif points not in lies:
            lies[points] = old
        if not lies:
            del scene["points"]
    thing["normal"] = normal
    draft.touch("points", points)
    return f"Points {points} normally lie {normal}."


def _meant(word: str, normal: str, *, three: bool) -> str:
    """Return the lie that a word means."""
    if word == "reverse" and not three:
        return other_hand(normal)
    return normal if word == "normal" else word


@verb(
    "set-angle",
    "Gives the angle of points or of a crossing, as 1 in a crossing number or in degrees.",
    of=Thing(("points", "crossings")),
    crossing_number=CROSSING_NUMBER,
    angle_degrees=Quantity(0.1, 89.9, "an angle in degrees"),
)
def set_angle(
    draft: Draft,
    of: str,
    crossing_number: float | None = None,
    angle_degrees: float | None = None,
) -> str:
    """Write one of the two measures; the other one goes."""
    if (crossing_number is None) == (angle_degrees is None):
        raise Refused("An angle is one measure.", "Give either crossing_number or angle_degrees.")
    kind = "points" if of in draft.things("points") else "crossings"
    thing = draft.thing(kind, of)
    if crossing_number is not None:
        thing.pop("angle_degrees", None)
        thing["crossing_number"] = spelled(crossing_number)
        said = f"1 in {crossing_number:g}"
    else:
        for key in ("crossing_number", "measure"):
            thing.pop(key, None)
        thing["angle_degrees"] = spelled(angle_degrees or 0)
        said = f"{angle_degrees:g} degrees"
    thing.pop("curves", None)
    draft.touch(kind, of)
    words = f"Points {of} have" if kind == "points" else f"Crossing {of} has"
    return f"{words} an angle of {said}."


@verb("set-trap", "Says whether points are trap points.", points=POINTS, trap=YES)
def set_trap(draft: Draft, points: str, trap: bool = True) -> str:
    """Write ``trap``; false is the default and is left out."""
    thing = draft.thing("points", points)
    if trap:
        thing["trap"] = True
    else:
        thing.pop("trap", None)
    draft.touch("points", points)
    return f"Points {points} are {'' if trap else 'no '}trap points."


# --- offers


@offering("points", 10)
def offer_settings(spot: Spot) -> Iterator[Offer]:
    """Offer the other hand, the other normal lies, an angle, and trap points."""
    points = spot.layout.points[spot.key]
    here: dict[str, object] = {"points": spot.key}
    for lie in points.lies:
        if lie != points.normal:
            yield Offer(f"Make {lie} the normal lie", {"do": "set-normal", **here, "normal": lie})
    yield Offer("Exchange left and right", {"do": "set-hand", **here})
    yield _angle(spot.key, points.crossing_number)
    label = "Make them plain points" if points.trap else "Make them trap points"
    yield Offer(label, {"do": "set-trap", **here, "trap": not points.trap})


@offering("crossings", 50)
def offer_angle(spot: Spot) -> Iterator[Offer]:
    """Offer an angle."""
    yield _angle(spot.key, spot.layout.crossings[spot.key].crossing_number)


def _angle(key: str, now: float | None) -> Offer:
    asked = Ask("crossing_number", "1 in", "number", now or 8)
    return Offer("Give the crossing number", {"do": "set-angle", "of": key}, (asked,))
