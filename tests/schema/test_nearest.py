"""The search for the nearest known word."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trappoint.core.spelling import nearest, slips_between

KEYS = ("up", "down", "running", "stand", "length_mm", "radius_mm", "at_mm", "arms", "note")


@pytest.mark.parametrize(
    ("word", "meant"),
    [
        ("lenght_mm", "length_mm"),
        ("length", "length_mm"),
        ("length-mm", "length_mm"),
        ("at", "at_mm"),
        ("UP", "up"),
        ("arm", "arms"),
        ("donw", "down"),
        ("runing", "running"),
        ("colour", None),
        ("", None),
        ("x" * 5000, None),
        ("mm", None),
    ],
)
def test_nearest(word: str, meant: str | None) -> None:
    assert nearest(word, KEYS) == meant


def test_of_equally_near_words_the_first_is_taken() -> None:
    assert nearest("p4", ["p1", "p2"]) == "p1"
    assert nearest("p4", []) is None


@pytest.mark.parametrize(
    ("one", "other", "slips"),
    [
        # Wagner and Fischer's classic pair, and a case in which no letter may change after a swap.
        ("kitten", "sitting", 3),
        ("ca", "abc", 3),
        ("ab", "ba", 1),
        ("", "abc", 3),
        ("abc", "abc", 0),
    ],
)
def test_slips(one: str, other: str, slips: int) -> None:
    assert slips_between(one, other) == slips


@given(st.text("abc", max_size=7), st.text("abc", max_size=7))
def test_slips_are_alike_both_ways_and_never_more_than_the_longer_word(a: str, b: str) -> None:
    assert slips_between(a, b) == slips_between(b, a)
    assert abs(len(a) - len(b)) <= slips_between(a, b) <= max(len(a), len(b))
