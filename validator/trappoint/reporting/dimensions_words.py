"""What fits where, in words: the same parts for every form in which people read it."""

from __future__ import annotations

from math import isinf
from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.quoting import listed
from trappoint.dimensions.distances import FINDLAY_YARDS, QUARTER_MILE_YARDS, in_yards, scaled_yards
from trappoint.dimensions.rooms import fits, fits_platform
from trappoint.dimensions.scales import tell_ratio

if TYPE_CHECKING:
    from trappoint.dimensions.clearances import Bounds
    from trappoint.dimensions.rooms import Room
    from trappoint.dimensions.scales import Scale
    from trappoint.dimensions.table import Dimensions, PostRoom


class PagePart(NamedTuple):
    """One part of the page: a heading, what is to be said of it, a grid."""

    heading: str
    remark: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


_FITS = {True: "yes", False: "no", None: "?"}
_PLATFORM = {"whole": "yes", "coaches": "coaches", "no": "no", None: "?"}

UNKNOWN = "?"


def length(value: float | None) -> str:
    """Write a length: whole millimetres, small ones to the tenth; ``?`` where it is not known."""
    if value is None:
        return UNKNOWN
    return f"{value:,.0f}" if value >= 100 else f"{round(value, 1):g}"


def tell_scale(table: Dimensions) -> str:
    """Say what the clearances are worked out by."""
    scale, spacing = table.scale, table.spacing
    if scale is None:
        told = listed([_meaning(one) for one in table.meanings])
        said = (
            f"The scale can be {told}: `standard` or `gauge_mm` in the plan says which"
            if told
            else "The scale is not known"
        )
    else:
        said = f"Scale {_meaning(scale)}"
    if spacing is None:
        return f"{said}. At which distance two tracks are clear of one another is not known."
    return f"{said}. Tracks {length(spacing[0])} mm apart are clear of one another ({spacing[1]})."


def _meaning(scale: Scale) -> str:
    gauge = "" if scale.gauge_mm is None else f" on {scale.gauge_mm:g} mm"
    memory = f", {' and '.join(scale.from_memory)} from memory" if scale.from_memory else ""
    return f"{scale.name}, {tell_ratio(scale.ratio)}{gauge} ({scale.source}{memory})"


def parts_of(table: Dimensions) -> list[PagePart]:
    """Return the parts that have something in them. Lengths in millimetres."""
    parts = [
        _rooms(table),
        _onward(table),
        _yards(table),
        _platforms(table),
        _fouling(table),
        _distants(table),
        _posts(table),
    ]
    return [part for part in parts if part.rows]


_ROOM = (
    "<, to: that much at most, as a fouling place is not known, or not quite; ?: a measure is not "
    "given. Tracks that give no radius_mm are taken to be straight."
)


def _rooms(table: Dimensions) -> PagePart:
    return _lengths(
        table,
        "Which trains fit where",
        "In mm, between what bounds a train at the up end and at the down end.",
        ("Place",),
        [((room.place,), room) for room in table.rooms],
    )


def _onward(table: Dimensions) -> PagePart:
    return _lengths(
        table,
        "Which trains fit between a stand and the signal beyond the points",
        "In mm. Held there, a train lies over the points and reaches back to the stand: in a plan "
        "that holds, no other one has a route over part of that.",
        ("Stand", "Over"),
        [((room.place, listed(over, "and")), room) for room, over in table.onward],
    )


def _yards(table: Dimensions) -> PagePart:
    return _lengths(
        table,
        "Which trains fit on the tracks of yards",
        "In mm, on one track, clear of the points at its ends; tracks of which the length is "
        "given.",
        ("Yard", "Track"),
        [((room.place, room.track), room) for room in table.yards],
    )


def _lengths(
    table: Dimensions,
    heading: str,
    remark: str,
    columns: tuple[str, ...],
    rows: list[tuple[tuple[str, ...], Room]],
) -> PagePart:
    """Return rooms with what bounds them, and which trains fit each."""
    trains = tuple(train.id for train in table.trains)
    return PagePart(
        heading,
        f"{remark} {_ROOM}",
        (*columns, "Room", "Up end", "Down end", *trains),
        tuple(
            (*cells, _room(room), *room.bounds, *(_FITS[fits(t, room)] for t in table.trains))
            for cells, room in rows
        ),
    )


def _room(room: Room) -> str:
    if room.at_most_mm is None or room.known:
        return length(room.at_most_mm)
    if not room.surely_mm:
        return f"< {length(room.at_most_mm)}"
    return f"{length(room.surely_mm)} to {length(room.at_most_mm)}"


def _platforms(table: Dimensions) -> PagePart:
    return PagePart(
        "Which trains fit the platforms",
        "In mm. coaches: they fit, with the engine beyond the platform.",
        ("Platform", "Length", *(train.id for train in table.trains)),
        tuple(
            (
                platform.id,
                length(platform.length_mm),
                *(_PLATFORM[fits_platform(train, platform.length_mm)] for train in table.trains),
            )
            for platform in table.platforms
        ),
    )


def _fouling(table: Dimensions) -> PagePart:
    return PagePart(
        "Where two legs foul one another",
        "In mm. From the meeting: along a leg from where the centre lines meet. From the leg's "
        "end: how far back from the points a train must stand. Tracks that give no radius_mm are "
        "taken to be straight; those that do may curve to either side, and so it lies between two "
        "bounds. >: that much at least, and perhaps nowhere.",
        ("Points", "Legs", "Angle", "Tracks", "From the meeting", "From the leg's end"),
        tuple(
            (
                place.element,
                f"{place.legs[0]}, {place.legs[1]}",
                f"{place.angle_degrees:.2f}",
                "curved" if place.curved else "straight",
                _bounds(place.along),
                _bounds(place.beyond),
            )
            for place in table.fouling
        ),
    )


def _bounds(bounds: Bounds) -> str:
    if isinf(bounds.most):
        return f"> {length(bounds.least)}" if bounds.least else UNKNOWN
    if bounds.least == bounds.most:
        return length(bounds.most)
    return f"{length(bounds.least)} to {length(bounds.most)}"


def _distants(table: Dimensions) -> PagePart:
    practice = ""
    if table.ratio is not None:
        quarter, full = (
            length(scaled_yards(y, table.ratio)) for y in (QUARTER_MILE_YARDS, FINDLAY_YARDS)
        )
        practice = (
            f" A quarter of a mile is {quarter} mm; the 1,000 yards of practice (Findlay, pp. "
            f"82-84) are {full} mm. Models compress this: few have room for it."
        )
    return PagePart(
        "How far distants stand from their stop signals",
        "In mm, and in yards of the prototype." + practice,
        ("Distant", "Signal", "Distance", "Yards"),
        tuple(
            (
                found.arm,
                found.to,
                length(found.model_mm),
                UNKNOWN if table.ratio is None else f"{in_yards(found.model_mm, table.ratio):,.0f}",
            )
            for found in table.distances
        ),
    )


def _posts(table: Dimensions) -> PagePart:
    return PagePart(
        "How far posts stand from the centre of their track",
        "In mm, to the nearest part of the post. On the curve: where the track has the radius "
        "that is given.",
        ("Signal", "Track", "At least", "On the curve", "Its middle is at", "Source"),
        tuple(_post(post) for post in table.posts),
    )


def _post(post: PostRoom) -> tuple[str, ...]:
    need = post.need
    curve = UNKNOWN if need.curve is None else length(need.curve.most)
    memory = ", from memory" if need.from_memory else ""
    return (
        post.signal,
        post.track,
        length(need.straight_mm),
        curve,
        length(post.from_centre_mm),
        need.source + memory,
    )
