"""The room that stock needs: how far posts stand from it, and how far apart tracks lie.

Sources: NEM 102 (structure gauge on straight track, edition of 2017), NEM 103 (widening on curves,
edition of 2016), NEM 112 (track spacing); NMRA S-8 (track centres); the standard interval of
British track, 3,405 mm between centres (GE/GN8573); Findlay, Working and Management of an English
Railway, p. 84 (no signal within 4 ft 6 in of a passenger line of rails). The structure gauge of the
NMRA, S-7, could not be looked up: nothing is said by it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from trappoint.dimensions.scales import Scale
    from trappoint.model.layout import Layout

NEM_102_BL1: dict[str, float] = {
    "Z": 20, "N": 27, "TT": 36, "H0": 48, "S": 66, "0": 94, "I": 130, "II": 184,
}  # fmt: skip
"""The full width between fixed objects beside the bodies of vehicles, in mm, on straight track."""

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
"""The longest coach body of groups A, B and C, in mm."""

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
"""The widening on each side, in mm, by radius and group; None if none is printed."""

NEM_112: dict[str, tuple[float, float]] = {
    "Z": (18, 20.5), "N": (25, 28), "TT": (34, 38), "H0": (46, 52), "S": (62.5, 70),
    "0": (89, 100), "I": (125, 141),
}  # fmt: skip
"""The distance of centres on straight track, on the open line and in stations, in mm.

H0 and the 34 mm of TT are published. The rest is worked out by the rule that gives these: 4.0 m and
4.5 m divided by the ratio."""

NEM_112_H0_CURVES: dict[float, float] = {
    400: 64, 450: 61, 500: 59, 600: 55, 700: 52, 800: 50, 900: 48, 1000: 47, 1100: 46,
}  # fmt: skip
"""The distance of centres on curves with the longest coaches, H0, in mm by radius."""

NMRA_S8: dict[str, float] = {"O": 95.3, "S": 71.4, "HO": 52.4, "N": 28.6}
"""The distance of centres on straight track, in mm: 15 scale feet. N is worked out so."""

BRITISH_CENTRES_MM = 3405
"""Centres of two British tracks at the standard interval of 1,970 mm, full size."""

BRITISH_POST_MM = 1371.6
"""4 ft 6 in: no signal nearer to a passenger line of rails, full size."""


class Bounds(NamedTuple):
    """A value that lies between two printed ones (or is one of them: both alike)."""

    least: float
    most: float


class Clearance(NamedTuple):
    """How far from a track's centre the nearest part of a post must be, in mm."""

    straight_mm: float
    source: str
    curve: Bounds | None
    """The same where the track has the radius that is given; None if that is not known."""
    from_memory: bool = False


def coach_group(size: str, longest_coach_mm: float) -> int | None:
    """Return the group of NEM 103 (0 for A, 1 for B, 2 for C) by the longest coach body."""
    limits = NEM_103_LIMITS.get(size, ())
    return next((n for n, limit in enumerate(limits) if longest_coach_mm <= limit), None)


def widening(size: str, radius_mm: float, group: int) -> Bounds | None:
    """Return the widening on each side on a curve, in mm; None if none is printed.

    Between two printed radii it lies between their values; beyond the largest at most its value.
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
    """Return the distance of straight tracks' centres at which stock just passes, in mm.

    With where it is from: the plan's own ``spacing_mm``, or the standard of its scale.
    """
    if layout.spacing_mm is not None:
        return layout.spacing_mm, "spacing_mm of the plan"
    if scale is None:
        return None
    if scale.standard == "NEM" and scale.size in NEM_112:
        seen = "NEM 112" if scale.size in ("H0", "TT") else "NEM 112's rule, 4.0 m in scale"
        return NEM_112[scale.size][0], seen
    if scale.standard == "NMRA" and scale.name in NMRA_S8:
        return NMRA_S8[scale.name], "NMRA S-8"
    if scale.standard == "British" and "ratio" not in scale.from_memory:
        return BRITISH_CENTRES_MM / float(scale.ratio), "3,405 mm between centres, in scale"
    return None


def spacing_on_curve(scale: Scale, radius_mm: float) -> Bounds | None:
    """Return the spacing that NEM 112 asks for on a curve with the longest coaches (H0 alone)."""
    if scale.size != "H0" or radius_mm < min(NEM_112_H0_CURVES):
        return None
    most = [value for radius, value in NEM_112_H0_CURVES.items() if radius <= radius_mm][-1]
    wider = [value for radius, value in NEM_112_H0_CURVES.items() if radius >= radius_mm]
    return Bounds(wider[0] if wider else most, most)


def post_need(
    scale: Scale, radius_mm: float | None, longest_coach_mm: float | None
) -> Clearance | None:
    """Return how far from the track's centre a post must stay; None if nothing is published."""
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
            "4 ft 6 in from the rails, Findlay p. 84",
            None,
            bool(scale.from_memory),
        )
    return None
