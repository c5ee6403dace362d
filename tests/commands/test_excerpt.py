"""The mark is under the place, in a line of any characters."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trappoint.core.terminal import RenderOptions
from trappoint.reporting.excerpt import SourceLines, excerpt

BEFORE = "     1  "
PLAIN = st.text(st.characters(min_codepoint=33, max_codepoint=126), min_size=1, max_size=900)


def marked(line: str, column: int, look: RenderOptions | None = None) -> tuple[str, str, str]:
    """Return the shown line, the mark's line, and what stands above the mark."""
    source, mark = excerpt(line, column, BEFORE, look or RenderOptions())
    start = len(mark) - len(mark.lstrip())
    return source, mark, source[start : len(mark)]


@given(PLAIN, st.data())
def test_plain_lines_of_any_length(line: str, data: st.DataObject) -> None:
    column = data.draw(st.integers(1, len(line)))
    source, mark, above = marked(line, column)
    assert len(source) <= 80
    assert len(mark) <= 80
    assert source.startswith(BEFORE)
    assert above[0] == line[column - 1]
    assert line[column - 1 :].startswith(above)


@given(st.text(max_size=300), st.integers(0, 400))
def test_anything_is_shown_in_80_harmless_columns(line: str, column: int) -> None:
    source, mark = excerpt(line, column, BEFORE, RenderOptions())
    assert source.isprintable()
    assert mark.strip()
    assert set(mark) <= {" ", "^", "\\", "_", "/"}


@pytest.mark.parametrize(
    ("line", "column", "above"),
    [
        ('    "a": "value"', 10, '"value"'),
        ('    "a": 12.5,', 10, "12.5"),
        ('    "a": -3e+7}', 10, "-3e+7"),
        ('    "a": {"b": 1}', 10, "{"),
        ('    "with \\"quotes\\"": 1', 5, '"with \\"quotes\\""'),
        ('    "never closed', 5, '"never closed'),
        ('\t"a":\t"b"', 7, '"b"'),
    ],
)
def test_the_whole_value_is_marked(line: str, column: int, above: str) -> None:
    assert marked(line, column)[2] == above


def test_behind_the_end_of_the_line() -> None:
    source, mark, above = marked('  "p2": 1', 10)
    assert above == ""
    assert mark == " " * len(source) + "^"


def test_spaces_at_the_front_are_left_out() -> None:
    assert marked('        "a": 1', 9)[0] == BEFORE + '"a": 1'


@pytest.mark.parametrize(
    ("before", "columns"),
    [
        ("\u65e5\u672c", 4),  # wide: two columns each (UAX 11)
        ("e\u0301", 1),  # a combining accent takes none
        ("\u00e9", 1),
        ("\x1b", 4),  # shown as \x1b
        ("\u202e", 6),  # shown as \u202e: it would turn the line round
    ],
)
def test_columns_of_odd_characters(before: str, columns: int) -> None:
    _, mark = excerpt(f"{before}7", len(before) + 1, "", RenderOptions())
    assert mark == " " * columns + "^"


def test_letters_that_the_encoding_lacks_are_measured_as_shown() -> None:
    source, mark = excerpt("\u00e9: 7", 4, "", RenderOptions(encoding="ascii"))
    assert source == "\\xe9: 7"
    assert mark == "      ^"


def test_a_line_of_8_mib_costs_no_time() -> None:
    line = "[" + "1," * 4_000_000
    source, _, above = marked(line, 6_000_002)
    assert above in ("1", ",")
    assert len(source) <= 80


def test_lines_end_as_editors_count_them() -> None:
    lines = SourceLines("a\r\nb\rc\nd\x0cd\u2028d")
    assert [lines.line(number) for number in range(6)] == [
        *(None, "a", "b", "c", "d\x0cd\u2028d", None)
    ]
