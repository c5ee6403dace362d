"""Every syntax error is found at its exact place, with a message and a fix."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trappoint.source.json_diagnosis import MAX_FINDINGS, find_mistakes
from trappoint.source.limits import MAX_DEPTH
from trappoint.source.reading import LIMIT_BYTES, Document, Unreadable, read_document

# Text, rule, line, column, message.
ONE_MISTAKE = {
    "nothing": ("", "empty-file", 1, 1, "The file is empty."),
    "blanks alone": (" \n\t ", "empty-file", 1, 1, "The file is empty."),
    "byte-order mark": (
        '\ufeff{"a": 1}',
        "byte-order-mark",
        1,
        1,
        "The file begins with a byte-order mark, a character that cannot be seen.",
    ),
    "key twice": (
        '{"a": 1,\n  "b": 2,\n  "a": 3}',
        "duplicate-key",
        3,
        3,
        'The key "a" stands twice in this object: first in line 1, column 2.',
    ),
    "key twice, once escaped": (
        '{"a": 1, "\\u0061": 3}',
        "duplicate-key",
        1,
        10,
        'The key "a" stands twice in this object: first in line 1, column 2.',
    ),
    "NaN": ('{"a": NaN}', "not-a-number", 1, 7, "NaN is not a number."),
    "infinity": ('{"a":\n -Infinity}', "not-a-number", 2, 2, "-Infinity is not a number."),
    "inf": ('{"a": inf}', "not-a-number", 1, 7, "inf is not a number."),
    "-inf": ('{"a": -inf}', "not-a-number", 1, 7, "-inf is not a number."),
    "overflow": (
        '{"a": 1e999}',
        "number-out-of-range",
        1,
        7,
        "The number 1e999 is too large to reckon with.",
    ),
    "many digits": (
        '{"a": -' + "9" * 5000 + "}",
        "number-out-of-range",
        1,
        7,
        "The number -9999999999999999... is too large to reckon with.",
    ),
    "brace too many": (
        "{}\n}",
        "trailing-text",
        2,
        1,
        "There is one } too many: everything was closed before it.",
    ),
    "comment at the end": (
        "{} # x",
        "not-json",
        1,
        4,
        "JSON has no comments.",
    ),
    "second document": ("{} {}", "trailing-text", 1, 4, "There is text after the end of the plan."),
    "conflict at the end": (
        "{}\n>>>>>>> theirs\n",
        "trailing-text",
        2,
        1,
        "A conflict between two versions was left in the file.",
    ),
    "conflict within": (
        '{"a": 1,\n<<<<<<< ours\n "b": 2}',
        "not-json",
        2,
        1,
        "A conflict between two versions was left in the file.",
    ),
    "conflict after an entry": (
        '{"a": 1\n=======\n}',
        "not-json",
        2,
        1,
        "A conflict between two versions was left in the file.",
    ),
    "no comma in an object": (
        '{"a": 1\n "b": 2}',
        "not-json",
        1,
        8,
        "There is no comma between this entry and the next.",
    ),
    "no comma in a list": (
        "[1 2]",
        "not-json",
        1,
        3,
        "There is no comma between this entry and the next.",
    ),
    "comma before a brace": (
        '{"a": 1,\n}',
        "not-json",
        1,
        8,
        "There is a comma after the last entry.",
    ),
    "comma before a bracket": (
        "[1 , ]",
        "not-json",
        1,
        4,
        "There is a comma after the last entry.",
    ),
    "two commas": ("[1,,2]", "not-json", 1, 4, "There is one comma too many."),
    "two commas in an object": (
        '{"a": 1,,}',
        "not-json",
        1,
        8,
        "There is a comma after the last entry.",
    ),
    "comma first": ("{,}", "not-json", 1, 2, "There is one comma too many."),
    "comma first in a list": ("[,]", "not-json", 1, 2, "A value is missing before the comma."),
    "no value": ('{"a": }', "not-json", 1, 7, "A value is missing before the closing }."),
    "no value, comma": ('{"a":,}', "not-json", 1, 6, "A value is missing before the comma."),
    "closing bracket alone": ("]", "not-json", 1, 1, "A value is missing before the closing ]."),
    "no colon": ('{"a" 1}', "not-json", 1, 5, 'There is no colon after the key "a".'),
    "equals sign": ('{"a" = 1}', "not-json", 1, 6, "An equals sign stands between key and value."),
    "semicolon": ('{"a": 1; "b": 2}', "not-json", 1, 8, "A semicolon stands where a comma should."),
    "colon in a list": ('["a": 1]', "not-json", 1, 5, "A colon stands after a value."),
    "single quotes round a key": (
        "{'a': 1}",
        "not-json",
        1,
        2,
        "Text must stand in double quotes, not in single ones.",
    ),
    "single quotes round a value": (
        "{\"a\": 'b'}",
        "not-json",
        1,
        7,
        "Text must stand in double quotes, not in single ones.",
    ),
    "curly quotes": (
        '{"a": \u201cb\u201d}',
        "not-json",
        1,
        7,
        "Text must stand in straight double quotes, not in \u201c.",
    ),
    "comment": ('{\n  // here\n"a": 1}', "not-json", 2, 3, "JSON has no comments."),
    "block comment": ('{"a": /* b */ 1}', "not-json", 1, 7, "JSON has no comments."),
    "comment after a value": ('{"a": 1 # b\n}', "not-json", 1, 9, "JSON has no comments."),
    "bare key": ("{a: 1}", "not-json", 1, 2, "The key a must stand in double quotes."),
    "number as key": ("{1: 1}", "not-json", 1, 2, "The key 1 must stand in double quotes."),
    "object as key": ("{{}: 1}", "not-json", 1, 2, "{ stands where a key should."),
    "bare text": ('{"a": main}', "not-json", 1, 7, "The text main must stand in double quotes."),
    "True": ('{"a": True}', "not-json", 1, 7, "True is no value of JSON."),
    "yes": ('{"a": yes}', "not-json", 1, 7, "yes is no value of JSON."),
    "None": ('{"a": None}', "not-json", 1, 7, "None is no value of JSON."),
    "leading zero": ("[007]", "not-json", 1, 2, "007 is not a number as JSON writes it."),
    "plus sign": ("[+1]", "not-json", 1, 2, "+1 is not a number as JSON writes it."),
    "leading point": ("[.5]", "not-json", 1, 2, ".5 is not a number as JSON writes it."),
    "point at the end": ("[5.]", "not-json", 1, 2, "5. is not a number as JSON writes it."),
    "hexadecimal": ("[0x1F]", "not-json", 1, 2, "0x1F is not a number as JSON writes it."),
    "unit": ('{"a": 900mm}', "not-json", 1, 7, "900mm is not a number as JSON writes it."),
    "half an exponent": ("[1e]", "not-json", 1, 2, "1e is not a number as JSON writes it."),
    "minus alone": ("[-]", "not-json", 1, 2, "- is not a number as JSON writes it."),
    "brace not closed": (
        '{"a":\n {"b": 1}',
        "not-json",
        1,
        1,
        "The object that begins here is never closed.",
    ),
    "inner brace not closed": (
        '{"a":\n {"b": 1',
        "not-json",
        2,
        2,
        "The object that begins here is never closed.",
    ),
    "bracket not closed": ("[1,", "not-json", 1, 1, "The list that begins here is never closed."),
    "cut off after a key": (
        '{"a"',
        "not-json",
        1,
        1,
        "The object that begins here is never closed.",
    ),
    "cut off after a colon": (
        '{"a":',
        "not-json",
        1,
        1,
        "The object that begins here is never closed.",
    ),
    "wrong closer": (
        '{"a": [1, 2}',
        "not-json",
        1,
        12,
        "} cannot close the list that begins in line 1, column 7.",
    ),
    "wrong closer for an object": (
        '\n{"a": 1]',
        "not-json",
        2,
        8,
        "] cannot close the object that begins in line 2, column 1.",
    ),
    "wrong closer at once": (
        "{]",
        "not-json",
        1,
        2,
        "] cannot close the object that begins in line 1, column 1.",
    ),
    "text not closed": ('{"a": "b', "not-json", 1, 7, "The text that begins here is never closed."),
    "text over a line's end": (
        '{"a": "b\n"}',
        "not-json",
        1,
        7,
        "The text that begins here is not closed before its line ends.",
    ),
    "tab in a text": ('{"a": "b\tc"}', "not-json", 1, 9, "A tab stands in a text."),
    "control character": (
        '{"a": "b\x01c"}',
        "not-json",
        1,
        9,
        "The control character U+0001 stands in a text.",
    ),
    "bad escape": ('{"a": "C:\\dir"}', "not-json", 1, 10, "\\d means nothing in a JSON text."),
    "bad unicode escape": (
        '{"a": "\\u12"}',
        "not-json",
        1,
        8,
        "\\u12 means nothing in a JSON text.",
    ),
    "backslash at the end of a line": (
        '{"a": "b\\\n"}',
        "not-json",
        1,
        9,
        "A backslash ends the line.",
    ),
    "half a pair": (
        '{"a": "\\ud83d"}',
        "not-json",
        1,
        8,
        "\\ud83d is half of a character: its other half is missing.",
    ),
    "the second half first": (
        '{"a": "\\ude00\\ud83d"}',
        "not-json",
        1,
        8,
        "\\ude00 is half of a character: its other half is missing.",
    ),
    "half a pair, raw": (
        '{"a": "\ud83d"}',
        "not-json",
        1,
        8,
        "U+D83D is half of a character: its other half is missing.",
    ),
    "no-break space": (
        '{"a":\u00a01}',
        "not-json",
        1,
        6,
        "A character that is not seen (U+00A0, no-break space) stands where a value should.",
    ),
    "strange character": (
        '{"a": \u20ac}',
        "not-json",
        1,
        7,
        "The character \u20ac (U+20AC, euro sign) stands where a value should.",
    ),
    "strange ASCII character": (
        '{"a": *}',
        "not-json",
        1,
        7,
        "The character * stands where a value should.",
    ),
    "strange key": (
        '{"a": 1, *}',
        "not-json",
        1,
        10,
        "The character * stands where a key in double quotes should.",
    ),
    "NUL": (
        "\x00",
        "not-json",
        1,
        1,
        "A character that is not seen (U+0000) stands where a value should.",
    ),
    "too deep": (
        "\n" + "[" * (MAX_DEPTH + 1) + "]" * (MAX_DEPTH + 1) + "}",
        "too-deep",
        2,
        MAX_DEPTH + 1,
        "More than 64 objects and lists stand inside one another here.",
    ),
}


@pytest.mark.parametrize("name", ONE_MISTAKE)
def test_one_mistake(name: str) -> None:
    text, rule, line, column, message = ONE_MISTAKE[name]
    result = read_document(text, "plan")
    assert isinstance(result, Unreadable)
    first = result.findings[0]
    assert (first.rule, first.line, first.column, first.message) == (rule, line, column, message)
    assert first.level == "error"
    assert first.why.endswith((".", '."'))
    assert first.fix.endswith((".", '."'))
    if name not in ("the second half first", "two commas in an object"):
        assert len(result.findings) == 1


def test_mistakes_that_leave_the_rest_its_meaning_are_all_found() -> None:
    text = '\ufeff{"a": NaN,\n "b": [1e999, {"c": 1, "c": 2, "c": "\\udc00"}],\n "a": 2,}'
    assert [(f.rule, f.line, f.column, f.pointer) for f in find_mistakes(text)] == [
        ("byte-order-mark", 1, 1, ""),
        ("not-a-number", 1, 8, "/a"),
        ("number-out-of-range", 2, 8, "/b/0"),
        ("duplicate-key", 2, 24, "/b/1/c"),
        ("duplicate-key", 2, 32, "/b/1/c"),
        ("not-json", 2, 38, "/b/1/c"),
        ("duplicate-key", 3, 2, "/a"),
        ("not-json", 3, 8, "/a"),
    ]


def test_a_thousand_mistakes_of_one_kind_are_not_all_told() -> None:
    assert len(find_mistakes("[" + "NaN," * 1000 + "1]")) == MAX_FINDINGS


@pytest.mark.parametrize(
    ("text", "fix"),
    [
        ('{"a": 900mm}', "Write 900: lengths are in millimetres."),
        ("[007]", "Take the zeros at its front out."),
        ("[.5]", "Put a 0 before the point: 0.5."),
        ("[5.]", "Take the point at its end out, or write 5.0."),
        ("[0x1F]", "Write it in decimal digits."),
        ("[+1]", "Take the plus sign out."),
        ("[True]", 'Write true, or "True" for the word itself.'),
        ("[1,]", "Take the comma out."),
        ('{"a": 1', "Put } where it ends. Perhaps the file was cut off."),
        ("{a: 1}", 'Write "a".'),
    ],
)
def test_the_fix_fits_the_mistake(text: str, fix: str) -> None:
    assert find_mistakes(text)[0].fix == fix


@pytest.mark.parametrize("opening", ["[", '{"a":', '[{"b":'])
def test_brackets_up_to_the_limit_end_quickly_with_a_finding(opening: str) -> None:
    source = (opening * (LIMIT_BYTES // len(opening))).encode()
    result = read_document(source, "plan")
    assert isinstance(result, Unreadable)
    assert [finding.rule for finding in result.findings] == ["too-deep"]


def test_sixty_four_levels_are_read() -> None:
    text = '{"a":' * MAX_DEPTH + "1" + "}" * MAX_DEPTH
    assert isinstance(read_document(text, "plan"), Document)
    assert find_mistakes(text) == ()


def _strictly_json(text: str) -> bool:
    """Return whether a text is strict JSON, by the standard library and a few checks.

    RFC 8259 sections 3 to 8; RFC 7493 section 2.3 forbids repeated keys.
    """

    def unique(pairs: list[tuple[str, object]]) -> object:
        if len({key for key, _ in pairs}) < len(pairs):
            raise ValueError
        return dict(pairs)

    def refuse(_: str) -> object:
        raise ValueError

    def finite(digits: str) -> float:
        if float(digits) in (float("inf"), float("-inf")):
            raise ValueError
        return float(digits)

    try:
        value = json.loads(
            text, object_pairs_hook=unique, parse_constant=refuse, parse_float=finite
        )
        json.dumps(value, ensure_ascii=False).encode()
    except ValueError:
        return False
    return True


SCRAPS = st.lists(
    st.sampled_from(
        [
            *"{}[],:\"-0 \n\r\t\\'\ufeff\u00a0\x00é\ud800",
            *('"a"', '"b"', "1", ".5", "e9", "1e999", "true", "nul", "NaN", "//"),
            *("\\u", "d83d", "de00", "00e9", "=======\n", "<<<<<<< "),
        ]
    ),
    max_size=14,
).map("".join)


@given(SCRAPS | st.text(max_size=20))
def test_the_close_look_and_the_standard_library_agree(text: str) -> None:
    found = find_mistakes(text)
    assert (found == ()) == _strictly_json(text)
    for finding in found:
        assert f"{finding.message}{finding.why}{finding.fix}".isprintable()


JSON_VALUES = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(max_size=6),
    lambda inner: (
        st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=4), inner, max_size=4)
    ),
    max_leaves=20,
)


@given(JSON_VALUES, st.booleans(), st.sampled_from([None, 1, "\t"]))
def test_what_the_standard_library_writes_is_without_mistakes(
    value: object, ascii_only: bool, indent: int | str | None
) -> None:
    assert find_mistakes(json.dumps(value, ensure_ascii=ascii_only, indent=indent)) == ()


@given(JSON_VALUES, st.data())
def test_a_text_with_one_character_lost_or_put_in_agrees_too(
    value: object, data: st.DataObject
) -> None:
    text = json.dumps(value)
    at = data.draw(st.integers(0, len(text)))
    put_in = data.draw(st.sampled_from([*'{}[],:"\\0e-. \n', ""]))
    text = text[:at] + put_in + text[at + data.draw(st.integers(0, 1)) :]
    found = find_mistakes(text)
    assert (found == ()) == _strictly_json(text)
    for finding in found:
        lines = text.split("\n")
        assert 1 <= finding.line <= len(lines)
        assert 1 <= finding.column <= len(lines[finding.line - 1]) + 1
