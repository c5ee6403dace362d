"""Wrapping, cleaning and safe cells."""

from __future__ import annotations

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from trappoint.core.csv_cells import safe_cell
from trappoint.core.terminal import RenderOptions, width_of

WORDS = st.lists(
    st.text(st.characters(min_codepoint=33, max_codepoint=126), min_size=1, max_size=90)
)


@given(WORDS, st.integers(0, 12))
def test_wrapping_keeps_every_word_and_the_width(words: list[str], indent: int) -> None:
    lines = RenderOptions().wrap(" ".join(words), " " * indent)
    assert " ".join(lines).split() == words
    for line in lines:
        assert len(line) <= 80 or " " not in line.strip()


@given(WORDS)
def test_no_line_could_take_the_next_word(words: list[str]) -> None:
    lines = RenderOptions().wrap(" ".join(words))
    for line, following in pairwise(lines):
        assert len(line) + 1 + len(following.split()[0]) > 80


@given(st.text())
def test_cleaned_text_is_printable(text: str) -> None:
    assert RenderOptions().clean(text).isprintable()
    assert RenderOptions(encoding="ascii").clean(text).isascii()


def test_wide_letters_are_counted_twice() -> None:
    """Unicode Standard Annex 11: ideographs are wide, accents that combine take no column."""
    assert width_of("\u65e5\u672c") == 4
    assert width_of("cafe\u0301") == 4
    lines = RenderOptions(width=10).wrap("\u65e5\u672c \u65e5\u672c\u65e5 \u65e5")
    assert lines == ["\u65e5\u672c", "\u65e5\u672c\u65e5 \u65e5"]


def test_no_cell_begins_a_formula() -> None:
    """The signs are those that OWASP names for CSV injection."""
    for sign in "=+-@\t\r\n":
        assert safe_cell(f"{sign}1+1") == f"'{sign}1+1"
    assert safe_cell("7R") == "7R"
    assert safe_cell("") == ""
