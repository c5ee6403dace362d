"""The dimensions of a plan in words and grids, for text and Markdown."""

from __future__ import annotations

from math import isinf
from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.findings import CAUTION, CAUTION_FITTING
from trappoint.core.quoting import listed, visible
from trappoint.dimensions.distances import (
    FINDLAY_RISING_YARDS,
    FINDLAY_YARDS,
    in_yards,
    scaled_yards,
)
from trappoint.dimensions.rooms import fits, fits_platform
from trappoint.dimensions.scales import tell_ratio

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from trappoint.dimensions.clearances import Bounds
    from trappoint.dimensions.rooms import Room
    from trappoint.dimensions.scales import Scale
    from trappoint.dimensions.table import Dimensions, PostRoom


class PagePart(NamedTuple):
    """One part of the page: a heading, a remark and a grid."""

    heading: str
    remark: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


_FITS = {True: "yes", False: "no", None: "?"}
_PLATFORM = {"whole": "yes", "coaches": "coaches", "no": "no", None: "?"}

UNKNOWN = "?"


def length(value: float | None) -> str:
    """Return a length in whole millimetres, below 100 in tenths; ``?`` for None."""
    if value is None:
        return UNKNOWN
    return f"{value:,.0f}" if value >= 100 else f"{round(value, 1):g}"


def introduction(table: Dimensions) -> list[str]:
    """Return the paragraphs before the parts: the scale, and the trains that have names."""
    named = [f"{train.id} is {visible(train.name)}" for train in table.trains if train.name]
    trains = [f"Trains: {listed(named, 'and')}."] if named else []
    return [_scale(table), *trains]


def _scale(table: Dimensions) -> str:
    scale, spacing = table.scale, table.spacing
    if scale is None:
        meanings = listed([_meaning(one) for one in table.meanings])
        text = (
            f"The scale can be {meanings}: add `standard` or `gauge_mm` to the plan"
            if meanings
            else "The scale is unknown"
        )
    else:
        text = f"Scale {_meaning(scale)}"
    if spacing is None:
        return f"{text}. The distance at which two tracks are clear of each other is unknown."
    return f"{text}. Tracks {length(spacing[0])} mm apart are clear of each other ({spacing[1]})."


def _meaning(scale: Scale) -> str:
    gauge = "" if scale.gauge_mm is None else f" on {scale.gauge_mm:g} mm"
    return (
        f"{scale.name}, {tell_ratio(scale.ratio)}{gauge} "
        f"({scale.source}{unconfirmed(scale.unconfirmed)})"
    )


def unconfirmed(parts: Sequence[str]) -> str:
    """Return the remark that parts of a scale are unconfirmed, to follow its source."""
    return f"; {' and '.join(parts)}: unconfirmed value" if parts else ""


def caution_of(table: Dimensions) -> str:
    """Return the caution; if the table has places for posts, it covers drilling too."""
    return CAUTION_FITTING if table.posts else CAUTION


def parts_of(table: Dimensions) -> list[PagePart]:
    """Return the parts that have rows, lengths in millimetres."""
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
    "< 900: at most 900 mm; 700 to 900: surely 700 mm, at most 900 mm (the fouling place is not "
    "known exactly); ?: a measure is missing. Tracks without radius_mm count as straight."
)


def _rooms(table: Dimensions) -> PagePart:
    return _lengths(
        table,
        "Which trains fit where",
        "In mm, from the limit at the up end to the limit at the down end.",
        ("Place",),
        [((room.place,), room) for room in table.rooms],
        [("tracks", room.track) for room in table.rooms],
    )


def _onward(table: Dimensions) -> PagePart:
    return _lengths(
        table,
        "Which trains fit between a stand and the signal beyond the points",
        "In mm. A train held at the signal lies over the points and reaches back into the stand. "
        "In a plan that holds, no other train has a route over any of this track.",
        ("Stand", "Over"),
        [((room.place, listed(over, "and")), room) for room, over in table.onward],
        [("tracks", room.track) for room, _ in table.onward],
    )


def _yards(table: Dimensions) -> PagePart:
    return _lengths(
        table,
        "Which trains fit on the tracks of yards",
        "In mm, on one track, clear of the points at its ends. Left out: tracks without length_mm.",
        ("Yard", "Track"),
        [((room.place, room.track), room) for room in table.yards],
        [each for room in table.yards for each in (("yards", room.place), ("tracks", room.track))],
    )


def _lengths(
    table: Dimensions,
    heading: str,
    remark: str,
    columns: tuple[str, ...],
    rows: list[tuple[tuple[str, ...], Room]],
    things: list[tuple[str, str]],
) -> PagePart:
    """Return a row for each room: its length, its limits, and which trains fit."""
    trains = tuple(train.id for train in table.trains)
    return PagePart(
        heading,
        f"{remark} {_ROOM}{_names(table, things)}",
        (*columns, "Room", "Up end", "Down end", *trains),
        tuple(
            (*cells, _room(room), *room.bounds, *(_FITS[fits(t, room)] for t in table.trains))
            for cells, room in rows
        ),
    )


def _names(table: Dimensions, things: Iterable[tuple[str, str]]) -> str:
    """Return a sentence with the names of the ids in a grid, each once; empty if there are none."""
    if table.names is None:
        return ""
    named = {key: table.names.name(kind, key) for kind, key in things}
    text = listed([f"{key} is {name}" for key, name in named.items() if name], "and")
    return f" Names: {text}." if text else ""


def _room(room: Room) -> str:
    if room.at_most_mm is None or room.known:
        return length(room.at_most_mm)
    if not room.surely_mm:
        return f"< {length(room.at_most_mm)}"
    return f"{length(room.surely_mm)} to {length(room.at_most_mm)}"


def _platforms(table: Dimensions) -> PagePart:
    return PagePart(
        "Which trains fit the platforms",
        "In mm. coaches: the coaches fit, with the engine beyond the platform."
        + _names(table, (("platforms", platform.id) for platform in table.platforms)),
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
        "In mm. From the meeting: along a leg, from where the centre lines meet. From the leg's "
        "end: how far back from the points a train must stand. Tracks without radius_mm count as "
        "straight; those without a curve may bend to either hand, which gives two bounds. > 300: "
        "at least 300 mm, and perhaps the whole track."
        + _names(table, ((place.kind, place.element) for place in table.fouling)),
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
        rising, full = (
            length(scaled_yards(y, table.ratio)) for y in (FINDLAY_RISING_YARDS, FINDLAY_YARDS)
        )
        practice = (
            f" In scale, 1,000 yards are {full} mm, and 800 yards, for a rising gradient, "
            f"{rising} mm (G. Findlay, The Working and Management of an English Railway, pp. "
            "82-84). Few layouts have room for this."
        )
    return PagePart(
        "How far distants stand from their stop signals",
        "In mm, and in yards on the full-size railway."
        + practice
        + _names(table, (("arms", found.arm) for found in table.distances)),
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
    sources = dict.fromkeys(p.need.source + unconfirmed(p.need.unconfirmed) for p in table.posts)
    return PagePart(
        "How far posts stand from the centre of their track",
        "In mm, to the nearest part of the post. On the curve: where the track has its radius_mm. "
        f"Source: {'; '.join(sources)}."
        + _names(table, (("signals", post.signal) for post in table.posts)),
        ("Signal", "Track", "At least", "On the curve", "Its middle is at"),
        tuple(_post(post) for post in table.posts),
    )


def _post(post: PostRoom) -> tuple[str, ...]:
    need = post.need
    curve = UNKNOWN if need.curve is None else length(need.curve.most)
    return (
        post.signal,
        post.track,
        length(need.straight_mm),
        curve,
        length(post.from_centre_mm),
    )
