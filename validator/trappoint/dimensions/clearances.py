"""Clearances: the room between track and posts, and the spacing of tracks.

Sources: MOROP, NEM 102 (structure gauge on straight track, 2017), NEM 103 (widening on curves,
2016) and NEM 112 (track spacing); NMRA S-8 (track centres); RSSB, GE/GN8573 (standard interval of
British tracks, 1,970 mm between the nearest rails); G. Findlay, The Working and Management of an
English Railway, p. 84 (no signal within 4 ft 6 in of a passenger line of rails). NMRA S-7, a
structure gauge, is not used.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from trappoint.dimensions.scales import Scale
    from trappoint.model.layout import Layout

NEM_102_BL1: dict[str, float] = {
    "Z": 20, "N": 27, "TT": 36, "H0": 48, "S": 66, "0": 94, "I": 130, "II": 184,
}  # fmt: skip
"""Full width between fixed objects at the height of vehicle bodies, straight track, in mm."""

NEM_103_LIMITS: dict[str, tuple[float, float, float]] = {
    "Z": (91, 110, 124),
    "N": (125, 151, 170),
    "TT": (167, 202, 227),
    "H0": (230, 278, 313),
    "S": (313, 378, 425),
    "0": (460, 556, 625),
    "I": (625, 756, 850),
    "II": (889, 1076, 1209),
}
"""The longest coach body of the groups A, B and C, in mm."""

_Widening = tuple[float | None, float | None, float | None]

NEM_103: dict[str, dict[float, _Widening]] = {
    "N": {
        250: (3, 5, 6), 300: (2, 4, 5), 350: (2, 3, 4), 400: (1, 2, 4), 450: (1, 2, 3),
        500: (1, 1, 3), 550: (0, 1, 2), 600: (0, 1, 2), 700: (0, 0, 2), 800: (0, 0, 1),
        900: (0, 0, 1), 1000: (0, 0, 0),
    },
    "TT": {
        250: (6, None, None), 300: (5, 7, None), 350: (4, 6, 8), 400: (3, 5, 7), 450: (3, 4, 6),
        500: (2, 4, 5), 550: (2, 3, 4), 600: (1, 3, 4), 700: (1, 2, 3), 800: (0, 2, 3),
        900: (0, 1, 2), 1000: (0, 1, 2), 1200: (0, 0, 1), 1400: (0, 0, 1), 1600: (0, 0, 1),
        2000: (0, 0, 0),
    },
    "H0": {
        350: (8, None, None), 400: (7, 11, None), 450: (6, 9, 12), 500: (5, 8, 11),
        550: (4, 7, 10), 600: (4, 6, 9), 700: (3, 5, 7), 800: (3, 4, 6), 900: (2, 3, 5),
        1000: (2, 3, 4), 1200: (1, 2, 3), 1400: (1, 2, 2), 1600: (0, 1, 2), 2000: (0, 1, 1),
    },
    "0": {
        600: (19, None, None), 700: (16, None, None), 800: (14, 22, None), 900: (12, 19, 25),
        1000: (10, 17, 22), 1200: (8, 14, 18), 1400: (7, 11, 15), 1600: (6, 9, 13),
        2000: (4, 7, 9),
    },
}  # fmt: skip
"""The widening on each side in mm, by radius in mm and group; None if the sheet has none."""

NEM_112: dict[str, tuple[float, float]] = {
    "Z": (18, 20.5), "N": (25, 28), "TT": (34, 38), "H0": (46, 52), "S": (62.5, 70),
    "0": (89, 100), "I": (125, 141),
}  # fmt: skip
"""Track centres on straight track, on the open line and in stations, in mm.

The values of H0, and 34 mm for TT, are published. The others are derived by the rule that gives
these: 4.0 m and 4.5 m in scale."""

NEM_112_H0_CURVES: dict[float, float] = {
    400: 64, 450: 61, 500: 59, 600: 55, 700: 52, 800: 50, 900: 48, 1000: 47, 1100: 46,
}  # fmt: skip
"""Track centres in H0 on curves for the longest coaches, in mm by radius in mm."""

NMRA_S8: dict[str, float] = {"O": 95.3, "S": 71.4, "HO": 52.4, "N": 28.6}
"""Track centres on straight track, in mm: 15 ft in scale. The value for N is derived."""

BRITISH_CENTRES_MM = 3405
"""Track centres of two British tracks at the standard interval of 1,970 mm, full size."""

BRITISH_POST_MM = 1371.6
"""4 ft 6 in: the least distance of a signal from a passenger line of rails, full size."""

_FINDLAY = (
    "4 ft 6 in in scale from the rails (G. Findlay, The Working and Management of an English "
    "Railway, p. 84)"
)


class Bounds(NamedTuple):
    """The least and the most that a value can be; both are the same if it is known."""

    least: float
    most: float


class Clearance(NamedTuple):
    """The least distance from a track's centre to the nearest part of a post, in mm."""

    straight_mm: float
    source: str
    curve: Bounds | None
    """The same on a curve of the track's radius; None if no value applies."""
    unconfirmed: tuple[str, ...] = ()
    """Which of ``ratio`` and ``gauge`` it rests on have no confirmed source."""


def coach_group(size: str, longest_coach_mm: float) -> int | None:
    """Return the group of NEM 103 of a coach body: 0 for A, 1 for B, 2 for C; None if none fits."""
    limits = NEM_103_LIMITS.get(size, ())
    return next((n for n, limit in enumerate(limits) if longest_coach_mm <= limit), None)


def widening(size: str, radius_mm: float, group: int) -> Bounds | None:
    """Return the widening on each side on a curve, in mm; None if the sheet has none.

    Between two printed radii it lies between their values; beyond the largest it is at most its
    value.
    """
    rows = NEM_103.get(size)
    if rows is None:
        return None
    tighter = [row[group] for radius, row in rows.items() if radius <= radius_mm]
    wider = [row[group] for radius, row in rows.items() if radius >= radius_mm]
    most = tighter[-1] if tighter else None
    if most is None:
        return None
    least = wider[0] if wider else 0.0
    return None if least is None else Bounds(least, most)


def passing_spacing(layout: Layout, scale: Scale | None) -> tuple[float, str] | None:
    """Return the spacing of straight tracks at which stock just passes, in mm, and its source.

    The source is the plan's own ``spacing_mm`` or the standard of its scale. None if neither has
    a value.
    """
    if layout.spacing_mm is not None:
        return layout.spacing_mm, "spacing_mm of the plan"
    if scale is None:
        return None
    if scale.standard == "NEM" and scale.size in NEM_112:
        printed = scale.size in ("H0", "TT")
        return (
            NEM_112[scale.size][0],
            "NEM 112" if printed else "derived from NEM 112's rule, 4.0 m in scale",
        )
    if scale.standard == "NMRA" and scale.name in NMRA_S8:
        derived = scale.name == "N"
        return (
            NMRA_S8[scale.name],
            "derived from NMRA S-8's rule, 15 ft in scale" if derived else "NMRA S-8",
        )
    if scale.standard == "British" and "ratio" not in scale.unconfirmed:
        return (
            BRITISH_CENTRES_MM / float(scale.ratio),
            "3,405 mm between centres in scale, RSSB GE/GN8573, 8.1",
        )
    return None


def spacing_on_curve(scale: Scale, radius_mm: float) -> Bounds | None:
    """Return the spacing of NEM 112 for the longest coaches on a curve, in mm; None beside H0."""
    if scale.size != "H0" or radius_mm < min(NEM_112_H0_CURVES):
        return None
    most = [value for radius, value in NEM_112_H0_CURVES.items() if radius <= radius_mm][-1]
    wider = [value for radius, value in NEM_112_H0_CURVES.items() if radius >= radius_mm]
    return Bounds(wider[0] if wider else most, most)


def post_need(
    scale: Scale, radius_mm: float | None, longest_coach_mm: float | None
) -> Clearance | None:
    """Return the clearance of a post from the track's centre; None if no standard has a value."""
    if scale.standard == "NEM" and scale.size in NEM_102_BL1:
        straight = NEM_102_BL1[scale.size] / 2
        curve = None
        if radius_mm is not None and longest_coach_mm is not None:
            group = coach_group(scale.size, longest_coach_mm)
            wide = None if group is None else widening(scale.size, radius_mm, group)
            if wide is not None:
                curve = Bounds(straight + wide.least, straight + wide.most)
        return Clearance(straight, "NEM 102", curve)
    if scale.standard == "British" and scale.gauge_mm is not None:
        beside = BRITISH_POST_MM / float(scale.ratio)
        return Clearance(
            scale.gauge_mm / 2 + beside,
            _FINDLAY,
            None,
            scale.unconfirmed,
        )
    return None
