"""Positions in an editor, tested against the codecs of the standard library."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trappoint.source.text_positions import Encoding, TextPlaces

CODECS: dict[Encoding, tuple[str, int]] = {
    "utf-8": ("utf-8", 1),
    "utf-16": ("utf-16-le", 2),
    "utf-32": ("utf-32-le", 4),
}
"""Python's name of each encoding, and the bytes of one unit."""

TEXTS = st.text(st.sampled_from('ab"é東🚂\u2028\x0b\x85\r\n'), max_size=40)


@given(TEXTS, st.sampled_from(sorted(CODECS)))
def test_there_and_back(text: str, encoding: Encoding) -> None:
    places = TextPlaces(text, encoding)
    codec, unit = CODECS[encoding]
    for offset in range(len(text) + 1):
        if text[offset - 1 : offset + 1] == "\r\n":
            continue  # between the two halves of one line end nothing can be
        place = places.place(offset)
        # Lines end at LF, CR LF and CR alone (LSP 3.17, "Text Documents").
        lines = re.split(r"\r\n|\r|\n", text[:offset])
        assert place.line == len(lines) - 1
        assert place.character == len(lines[-1].encode(codec)) // unit
        assert places.offset(*place) == offset


@pytest.mark.parametrize(
    ("encoding", "character", "offset"),
    [("utf-16", 3, 2), ("utf-16", 2, 1), ("utf-8", 5, 2), ("utf-8", 3, 1), ("utf-32", 2, 2)],
)
def test_within_and_behind_an_engine(encoding: Encoding, character: int, offset: int) -> None:
    """It takes two units of UTF-16 and four of UTF-8 (The Unicode Standard, section 3.9)."""
    assert TextPlaces("a🚂b", encoding).offset(0, character) == offset


def test_beyond_the_end() -> None:
    places = TextPlaces("one\r\ntwo", "utf-16")
    assert places.offset(0, 99) == 3
    assert places.offset(99, 0) == 8
    assert places.place(99) == (1, 3)
    assert places.line_end(1) == 3
    assert places.offset_of(2, 2) == 6
