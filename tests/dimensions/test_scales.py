"""Scales and gauges against published tables."""

from __future__ import annotations

import json
from fractions import Fraction

import pytest

import trappoint
from trappoint.dimensions.scales import (
    NEM_SIZES,
    alike,
    meanings,
    ratio_of,
    scale_of,
    scales_named,
    tell_ratio,
)
from trappoint.model.layout import Layout


def plan(**keys: object) -> Layout:
    text = {"format": "trappoint-layout/1", "tracks": {"a": {"up": "buffer", "down": "buffer"}}}
    return trappoint.load(json.dumps(text | keys))


NEM_010 = [
    # NEM 010 (MOROP, 2011): size, ratio, track of standard gauge in mm. The ratio of S is a value
    # from memory, unconfirmed: the only copy at hand prints 1:60, but 22.5 mm x 64 = 1440 mm.
    ("Z", 220, 6.5),
    ("N", 160, 9),
    ("TT", 120, 12),
    ("H0", 87, 16.5),
    ("S", 64, 22.5),
    ("0", 45, 32),
    ("I", 32, 45),
    ("II", 22.5, 64),
    ("III", 16, 89),
    ("V", 11, 127),
    ("VII", 8, 184),
    ("X", 5.5, 260),
]


@pytest.mark.parametrize(("name", "ratio", "gauge"), NEM_010)
def test_sizes_of_nem_010(name: str, ratio: float, gauge: float) -> None:
    found = scale_of(plan(scale=name, standard="NEM"))
    assert found is not None
    assert (float(found.ratio), found.gauge_mm, found.size) == (ratio, gauge, name)
    assert len(NEM_SIZES) == len(NEM_010)


@pytest.mark.parametrize(
    ("name", "gauge"),
    # NEM 010: the narrow gauges that the sheet prints.
    [("H0m", 12), ("H0e", 9), ("H0i", 6.5), ("H0p", 4.5), ("0m", 22.5), ("0e", 16.5), ("0i", 12),
     ("0p", 9), ("IIm", 45)],
)  # fmt: skip
def test_narrow_gauges_of_nem_010(name: str, gauge: float) -> None:
    found = scale_of(plan(scale=name))
    assert found is not None
    assert found.gauge_mm == gauge


@pytest.mark.parametrize(
    ("name", "ratio", "gauge"),
    [
        # 4 mm to the foot: NEM 010, 3.4. Gauges of EM and P4: the EM and P4 standards.
        ("OO", Fraction(762, 10), 16.5),
        ("00", Fraction(762, 10), 16.5),
        ("EM", Fraction(762, 10), 18.2),
        ("P4", Fraction(762, 10), 18.83),
        ("S4", Fraction(762, 10), 18.83),
        ("N", Fraction(148), 9),
        # The rest: ratios from millimetres to the foot; gauges from memory, unconfirmed.
        ("2 mm", Fraction(3048, 20), 9.42),
        ("3mm", Fraction(3048, 30), 12),
        ("TT", Fraction(3048, 30), 12),
        ("S", Fraction(64), 22.45),
        ("O", Fraction(3048, 70), 32),
        ("Gauge 1", Fraction(3048, 100), 45),
    ],
)
def test_british_scales(name: str, ratio: Fraction, gauge: float) -> None:
    found = scale_of(plan(scale=name, standard="British"))
    assert found is not None
    assert (found.ratio, found.gauge_mm) == (ratio, gauge)


@pytest.mark.parametrize(
    ("name", "gauge"),
    # NMRA S-3.2, target gauge in mm.
    [("O", 31.8), ("OO", 19.1), ("On3", 19.1)],
)
def test_nmra_gauges(name: str, gauge: float) -> None:
    found = scale_of(plan(scale=name, standard="NMRA"))
    assert found is not None
    assert found.gauge_mm == gauge


@pytest.mark.parametrize(
    ("text", "ratio"),
    [("1:76.2", "1:76.2"), ("1/87", "1:87"), ("4 mm", "1:76.2"), ("3.5 mm/ft", "1:87.09"),
     ("7 mm to the foot", "1:43.54"), ("3/16 in", "1:64"), ("3/8 inch to the foot", "1:32"),
     ("0 14", "1:45")],
)  # fmt: skip
def test_scales_by_ratio(text: str, ratio: str) -> None:
    # 304.8/3.5 = 87.0857 and 304.8/4 = 76.2 exactly; 3/16 in/ft = 1:64; "0 14" after NEM 010.
    found = scale_of(plan(scale=text))
    assert found is not None
    assert tell_ratio(found.ratio) == ratio


@pytest.mark.parametrize("name", ["OO", "O", "TT", "N", "0"])
def test_names_that_mean_different_things_have_no_one_meaning(name: str) -> None:
    assert not alike(meanings(plan(scale=name)))
    assert scale_of(plan(scale=name)) is None


def test_the_gauge_tells_oo_apart() -> None:
    british = scale_of(plan(scale="OO", gauge_mm=16.5))
    american = scale_of(plan(scale="OO", gauge_mm=19.05))
    assert british is not None
    assert american is not None
    assert (british.standard, american.standard) == ("British", "NMRA")
    assert ratio_of(plan(scale="OO")) == Fraction(762, 10)


def test_a_ratio_with_a_standard_is_the_scale_of_that_ratio() -> None:
    found = scale_of(plan(scale="1:87", standard="NEM"))
    assert found is not None
    assert found.size == "H0"


@pytest.mark.parametrize("text", ["", "Oh-Oh", "0/0 in", "1:0", "0 mm", "1:", "1/0", "xx 14"])
def test_what_is_no_scale(text: str) -> None:
    assert scales_named(text) == ()
