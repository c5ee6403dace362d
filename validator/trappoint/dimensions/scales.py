"""Scales and gauges by name or by ratio, with the standard that each meaning comes from.

Sources: NEM 010 (MOROP, 2011); NMRA S-1.2 and S-3.2. British scales give millimetres to the foot of
304.8 mm (NEM 010, paragraph 3.4, lists 3.5, 4 and 7 mm); their gauges are common practice. One name
can have several meanings: the functions return all of them, and the plan's ``standard`` or
``gauge_mm`` decides.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING, Literal, NamedTuple, Protocol

if TYPE_CHECKING:
    from collections.abc import Iterable

Standard = Literal["NEM", "NMRA", "British"]

FOOT_MM = Fraction(3048, 10)
"""The international foot."""

GAUGE_ALIKE_MM = 0.25
"""Gauges that differ by less count as equal, in mm: sources for S have 22.42 and 22.5."""

RATIO_ALIKE = Fraction(1, 100)
"""Ratios that differ by a smaller part count as equal: H0 is 1:87 in NEM 010, HO 1:87.1."""


class Measured(Protocol):
    """Anything that has a scale: a layout, or the values of a document."""

    @property
    def scale(self) -> str:
        """The name of the scale, empty if none is given."""

    @property
    def standard(self) -> Standard | None:
        """The standard that the name belongs to."""

    @property
    def gauge_mm(self) -> float | None:
        """The gauge of the track, in mm."""


class Scale(NamedTuple):
    """One meaning of a scale's name."""

    name: str
    standard: Standard | None
    """None for a bare ratio, which belongs to no standard."""
    ratio: Fraction
    """Full size divided by model size."""
    gauge_mm: float | None
    """The gauge of its track, between the rails."""
    source: str
    unconfirmed: tuple[str, ...] = ()
    """Which of ``ratio`` and ``gauge`` have no confirmed source."""
    size: str = ""
    """The size of NEM 010 whose other sheets apply, for standard gauge; else empty."""


NEM_SIZES: dict[str, tuple[Fraction, float]] = {
    "Z": (Fraction(220), 6.5),
    "N": (Fraction(160), 9),
    "TT": (Fraction(120), 12),
    "H0": (Fraction(87), 16.5),
    "S": (Fraction(64), 22.5),
    "0": (Fraction(45), 32),
    "I": (Fraction(32), 45),
    "II": (Fraction(45, 2), 64),
    "III": (Fraction(16), 89),
    "V": (Fraction(11), 127),
    "VII": (Fraction(8), 184),
    "X": (Fraction(11, 2), 260),
}
"""Ratio and standard gauge in mm. The ratio of S is unconfirmed; 22.5 mm x 64 = 1440 mm."""

NARROW = {"m": 1, "e": 2, "i": 3, "f": 3, "p": 4}
"""The number of sizes between a scale and the size whose track it has (NEM 010: H0e has N's)."""


def _feet(millimetres: str) -> Fraction:
    """Return the ratio of a scale given in millimetres to the foot."""
    return FOOT_MM / Fraction(millimetres)


_NEM = "NEM 010"
_NMRA = "NMRA S-1.2 and S-3.2"
_BRITISH = "British, {} mm to the foot; common practice, no source"
_NEM_FOOT = "British, {} mm to the foot (NEM 010, 3.4); gauge: common practice, no source"
_BRITISH_TT = (
    'British, 3 mm to the foot; common practice, no source; for TT at 1:120 write "standard": "NEM"'
)
_UNCONFIRMED = {"S": ("ratio",)}
"""The sizes of NEM 010 that have an unconfirmed value."""


def _nem(name: str, size: str, gauge_mm: float | None, standard_gauge: bool) -> Scale:
    """Return a scale of NEM 010 with the ratio of ``size``."""
    return Scale(
        name,
        "NEM",
        NEM_SIZES[size][0],
        gauge_mm,
        _NEM,
        _UNCONFIRMED.get(size, ()),
        size if standard_gauge else "",
    )


_OTHERS: dict[str, tuple[Scale, ...]] = {
    "n": (
        Scale("N", "NMRA", Fraction(160), 9, _NMRA, ("gauge",)),
        Scale("N", "British", Fraction(148), 9, "British; common practice, no source"),
    ),
    "z": (Scale("Z", "NMRA", Fraction(220), 6.5, _NMRA, ("ratio", "gauge")),),
    "tt": (
        Scale("TT", "NMRA", Fraction(120), 12, _NMRA, ("ratio", "gauge")),
        Scale("TT", "British", _feet("3"), 12, _BRITISH_TT, ("gauge",)),
    ),
    "ho": (Scale("HO", "NMRA", Fraction(871, 10), 16.5, _NMRA),),
    "s": (
        Scale("S", "NMRA", Fraction(64), 22.42, _NMRA),
        Scale("S", "British", Fraction(64), 22.45, "British, 3/16 inch to the foot", ("gauge",)),
    ),
    "oo": (
        Scale("OO", "British", _feet("4"), 16.5, _NEM_FOOT.format(4)),
        Scale("OO", "NMRA", _feet("4"), 19.1, _NMRA, ("ratio",)),
    ),
    "o": (
        Scale("O", "NMRA", Fraction(48), 31.8, _NMRA),
        Scale("O", "British", _feet("7"), 32, _NEM_FOOT.format(7), ("gauge",)),
    ),
    "on3": (Scale("On3", "NMRA", Fraction(48), 19.1, _NMRA),),
    "i": (Scale("Gauge 1", "British", _feet("10"), 45, _BRITISH.format(10), ("ratio",)),),
    "em": (Scale("EM", "British", _feet("4"), 18.2, "the EM standard, 4 mm to the foot"),),
    "p4": (Scale("P4", "British", _feet("4"), 18.83, "the P4 standard, 4 mm to the foot"),),
    "s4": (Scale("S4", "British", _feet("4"), 18.83, "the P4 standard, 4 mm to the foot"),),
    "s7": (Scale("S7", "British", _feet("7"), 33, _NEM_FOOT.format(7), ("gauge",)),),
    "3mm": (Scale("3 mm", "British", _feet("3"), 12, _BRITISH.format(3), ("gauge",)),),
    "2mm": (Scale("2 mm", "British", _feet("2"), 9.42, _BRITISH.format(2), ("gauge",)),),
    "g": (Scale("G", "NEM", Fraction(45, 2), 45, "NEM 010, IIm"),),
}

_ALIAS = {"1": "i", "no1": "i", "2": "ii", "3": "iii", "5": "v", "7": "vii", "10": "x"}


def scales_named(text: str) -> tuple[Scale, ...]:
    """Return every meaning of the text of a scale, NEM first; empty if it is unknown.

    It understands ``H0``, ``HO``, ``00``, ``0e``, ``0 14`` (a size and a gauge in mm), ``1:76.2``,
    ``4 mm`` (to the foot) and ``3/16 in`` (to the foot).
    """
    word = re.sub(r"gauge|scale|[\s.]+$|^\s+", "", text.casefold()).strip()
    bare = _by_ratio(text, word)
    if bare is not None:
        return (bare,) if bare.ratio > 1 else ()
    odd = re.fullmatch(r"([a-z0]+)\s+(\d+(?:\.\d+)?)", word)
    if odd:
        size = _nem_size(_key(odd[1]))
        if size is not None:
            return (_nem(text.strip(), size, float(odd[2]), standard_gauge=False),)
    key = _key(word)
    size = _nem_size(key)
    found = []
    if size is not None:
        found.append(_nem(size, size, NEM_SIZES[size][1], standard_gauge=True))
    elif len(key) > 1 and key[-1] in NARROW and key not in _OTHERS:
        narrow = _narrow(key)
        if narrow is not None:
            found.append(narrow)
    return (*found, *_OTHERS.get(key, ()))


def _key(word: str) -> str:
    """Return a name in one spelling: ``o`` for nought, without dots, hyphens and spaces."""
    key = re.sub(r"[\s.\-]", "", word)
    key = _ALIAS.get(key, key)
    return key.replace("0", "o") if not key[:1].isdigit() or key[:1] == "0" else key


def _nem_size(key: str) -> str | None:
    return next((size for size in NEM_SIZES if _key(size.casefold()) == key), None)


def _narrow(key: str) -> Scale | None:
    size = _nem_size(key[:-1])
    if size is None:
        return None
    sizes = list(NEM_SIZES)
    smaller = sizes.index(size) - NARROW[key[-1]]
    # The sheet prints 4.5 mm for H0p; no size has this gauge as its standard gauge.
    gauge = 4.5 if (size, key[-1]) == ("H0", "p") else None
    if smaller >= 0:
        gauge = NEM_SIZES[sizes[smaller]][1]
    return _nem(f"{size}{key[-1]}", size, gauge, standard_gauge=False)


def _by_ratio(text: str, word: str) -> Scale | None:
    ratio = re.fullmatch(r"1\s*[:/]\s*(\d{1,6}(?:\.\d{1,6})?)", word)
    if ratio:
        return Scale(text.strip(), None, Fraction(ratio[1]), None, "ratio from the plan")
    to_foot = re.fullmatch(r"(\d{1,4}(?:\.\d{1,6})?)\s*mm\s*(?:/|to the|per)\s*(?:ft|foot)", word)
    if to_foot is None and _key(word) not in _OTHERS:
        to_foot = re.fullmatch(r"(\d{1,4}(?:\.\d{1,6})?)\s*mm", word)
    if to_foot and Fraction(to_foot[1]):
        return Scale(text.strip(), None, FOOT_MM / Fraction(to_foot[1]), None, "mm to the foot")
    inches = re.fullmatch(r"(\d{1,3}/\d{1,3})\s*in(?:ch)?(?:\s*(?:/|to the)\s*(?:ft|foot))?", word)
    if inches and not re.search(r"^0|/0", inches[1]):
        return Scale(text.strip(), None, 12 / Fraction(inches[1]), None, "inches to the foot")
    return None


def meanings(layout: Measured) -> tuple[Scale, ...]:
    """Return what the plan's scale can mean, narrowed by its ``standard`` and ``gauge_mm``."""
    found = scales_named(layout.scale) if layout.scale else ()
    if layout.standard is not None:
        bare = found and found[0].standard is None
        found = tuple(one for one in found if one.standard == layout.standard) or (
            _in_standard(found[0].ratio, layout.standard) or found if bare else ()
        )
    if layout.gauge_mm is not None:
        gauge = layout.gauge_mm
        fitting = tuple(one for one in found if one.gauge_mm is None or has_gauge(one, gauge))
        found = fitting or found
    return found


def _in_standard(ratio: Fraction, standard: str) -> tuple[Scale, ...]:
    """Return the scales of a standard that have a ratio."""
    nem = (_nem(n, n, gauge, standard_gauge=True) for n, (_, gauge) in NEM_SIZES.items())
    every = (*nem, *(one for group in _OTHERS.values() for one in group))
    return tuple(
        one
        for one in every
        if one.standard == standard and abs(one.ratio - ratio) <= RATIO_ALIKE * ratio
    )


def has_gauge(scale: Scale, gauge_mm: float) -> bool:
    """Return whether a scale's track has this gauge, within `GAUGE_ALIKE_MM`."""
    return scale.gauge_mm is not None and abs(scale.gauge_mm - gauge_mm) <= GAUGE_ALIKE_MM


def scale_of(layout: Measured) -> Scale | None:
    """Return the one meaning of the plan's scale; None if it has none, or several.

    The plan's ``gauge_mm`` overrides the gauge of the name.
    """
    found = meanings(layout)
    if not found or not alike(found):
        return None
    one = found[0]
    gauge = layout.gauge_mm
    if gauge is None:
        return one
    one = one._replace(unconfirmed=tuple(part for part in one.unconfirmed if part != "gauge"))
    return one if has_gauge(one, gauge) else one._replace(gauge_mm=gauge, size="")


def ratio_of(layout: Measured) -> Fraction | None:
    """Return the ratio of the plan's scale; None if its meanings differ in ratio, or none."""
    found = meanings(layout)
    return found[0].ratio if found and _same_ratio(found) else None


def alike(scales: Iterable[Scale]) -> bool:
    """Return whether all meanings have the same ratio and the same gauge."""
    found = list(scales)
    gauges = [one.gauge_mm for one in found if one.gauge_mm is not None]
    same = not gauges or max(gauges) - min(gauges) <= GAUGE_ALIKE_MM
    return same and _same_ratio(found)


def _same_ratio(scales: Iterable[Scale]) -> bool:
    ratios = [one.ratio for one in scales]
    return max(ratios) - min(ratios) <= RATIO_ALIKE * min(ratios)


def gauges_differ(one: Measured, other: Measured) -> bool:
    """Return whether the scales and gauges of two plans exclude a common gauge."""
    return not any(
        abs(mine - theirs) <= GAUGE_ALIKE_MM for mine in _gauges(one) for theirs in _gauges(other)
    ) and bool(_gauges(one) and _gauges(other))


def _gauges(plan: Measured) -> list[float]:
    """Return the gauges that a plan can have, in mm; empty if one of them is unknown."""
    if plan.gauge_mm is not None:
        return [plan.gauge_mm]
    gauges = [scale.gauge_mm for scale in meanings(plan)]
    return [] if None in gauges else [gauge for gauge in gauges if gauge is not None]


def ratios_differ(one: Measured, other: Measured) -> bool:
    """Return whether the scales of two plans exclude a common ratio."""
    pairs = [(mine, theirs) for mine in meanings(one) for theirs in meanings(other)]
    return bool(pairs) and not any(_same_ratio(pair) for pair in pairs)


def tell_ratio(ratio: Fraction) -> str:
    """Write a ratio: ``1:76.2``, ``1:43.54``."""
    return f"1:{float(round(ratio, 2)):g}"
