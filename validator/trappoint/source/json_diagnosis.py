"""Find the mistakes in a text that is not strict JSON, with their lines and columns.

``reading`` uses this module only for a text that its quick reader refused. The scanner reads the
text once. It has a stack of its own, so deep nesting cannot exhaust the stack of the program. It
collects mistakes and goes on as long as the rest of the text has a clear meaning. For slips
(comments, commas, quotes) it also records how to mend them; the mended text can then be checked.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from typing import NamedTuple

from trappoint.core.findings import Finding, pointer_to
from trappoint.source import json_errors
from trappoint.source.json_errors import Mistake
from trappoint.source.json_strings import read_string
from trappoint.source.limits import MAX_DEPTH, MAX_INTEGER_DIGITS
from trappoint.source.positions import Lines

MAX_FINDINGS = 50
"""Limit on the slips reported for one text, and on its other mistakes."""

MAX_SLIPS = 10_000
"""Limit on the slips mended in one text."""

_BLANK = re.compile(r"[ \t\n\r]*")
_NUMBER = re.compile(r"-?(?:0|[1-9][0-9]*)(\.[0-9]+)?([eE][+-]?[0-9]+)?")
_PLAIN_STRING = r'"[^"\\\x00-\x1f\ud800-\udfff]*"'
_PLAIN_VALUE = rf"({_PLAIN_STRING}|-?(?:0|[1-9][0-9]{{0,14}})(?![\w.+-]| [a-z])|\[\]|\{{\}})"
_PLAIN_ENTRY = re.compile(rf'"([^"\\\x00-\x1f\ud800-\udfff]*)"[ \t\n\r]*:[ \t\n\r]*{_PLAIN_VALUE}')
_PLAIN_ITEM = re.compile(_PLAIN_VALUE)
_COMMA = re.compile(r"[ \t\n\r]*(,)[ \t\n\r]*")
_WORD = re.compile(r"[\w.+-]*", re.ASCII)
_UNIT = re.compile(r" (?:mm|cm|m|in|inch|inches|ft|feet)(?![\w.+-])")


class Edit(NamedTuple):
    """A replacement: offsets into a text (the end is exclusive), and the new text."""

    start: int
    end: int
    text: str


class Diagnosis(NamedTuple):
    """The mistakes in a text, and the edits that mend its slips."""

    findings: tuple[Finding, ...]
    """In the order of the text, each with its line and column; empty if the text is strict JSON."""
    edits: tuple[Edit, ...]
    """The edits that mend the slips, in the order of the text; empty if the scanner had to stop."""


def find_mistakes(text: str) -> tuple[Finding, ...]:
    """Return a finding for each mistake in the text, in the order of the text."""
    return diagnose(text).findings


def diagnose(text: str) -> Diagnosis:
    """Return the mistakes in a text, and edits for those that have one clear correction."""
    scanner = _Scanner(text, Lines(text))
    whole = scanner.run()
    # The scanner finds an unclosed object last, but the object begins before its contents.
    findings = sorted(
        scanner.findings, key=lambda f: (f.line, f.column, f.rule, f.pointer, f.message)
    )
    return Diagnosis(tuple(findings), tuple(sorted(scanner.edits)) if whole else ())


@dataclass(slots=True)
class _Open:
    """An object or a list that is not closed yet."""

    at: int
    keys: dict[str, int] | None
    """The keys of an object so far, each with its first offset; None for a list."""
    now: str | int = -1
    """The key or index of the last entry read; -1 before the first."""


class _Enough(Exception):  # noqa: N818 - it only stops the scanner
    """Raised when the text has more mistakes or slips than the limits allow."""


class _Stop(Exception):  # noqa: N818 - it only stops the scanner
    """Raised for a mistake after which the rest of the text has no clear meaning."""

    def __init__(self, mistake: Mistake) -> None:
        super().__init__(mistake.message)
        self.mistake = mistake


@dataclass(slots=True)
class _Scanner:
    text: str
    lines: Lines
    at: int = 0
    stack: list[_Open] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    edits: list[Edit] = field(default_factory=list)
    others: int = 0
    """Number of mistakes that are not slips."""

    def run(self) -> bool:
        """Read the text; return whether the scanner reached its end."""
        try:
            self._document()
        except _Enough:
            return False
        except _Stop as stop:
            if self.others < MAX_FINDINGS:
                self._keep(stop.mistake)
            return False
        return True

    def _keep(self, mistake: Mistake) -> None:
        """Record a mistake, with its edit if it is a slip. Raises ``_Enough`` above the limits."""
        if mistake.mended is not None:
            if len(self.edits) == MAX_SLIPS:
                raise _Enough
            length, text = mistake.mended
            self.edits.append(Edit(mistake.at, mistake.at + length, text))
            if len(self.edits) > MAX_FINDINGS:
                return
        elif self.others == MAX_FINDINGS:
            raise _Enough
        else:
            self.others += 1
        line, column = self.lines.place(mistake.at)
        pointer = pointer_to(*(level.now for level in self.stack if level.now != -1))
        self.findings.append(
            Finding(
                mistake.rule,
                "error",
                pointer,
                mistake.message,
                mistake.why,
                mistake.fix,
                at_key=mistake.rule == "duplicate-key",
                line=line,
                column=column,
                instead=mistake.instead,
            )
        )

    def _go_on(self, mistake: Mistake) -> None:
        """Record a mistake and go on. Raises ``_Stop`` if the rest has no clear meaning."""
        if mistake.ends:
            raise _Stop(mistake)
        self._keep(mistake)

    def _document(self) -> None:
        if self.text.startswith("\ufeff"):
            self._keep(json_errors.BYTE_ORDER_MARK)
            self.at = 1
        if not self._peek():
            raise _Stop(json_errors.EMPTY)
        self._value()
        while self.stack:
            level = self.stack[-1]
            if self._goes_on(level):
                self._entry(level)
            else:
                self.stack.pop()
        if self._peek():
            raise _Stop(json_errors.instead_of_end(self.text, self.at))

    def _peek(self) -> str:
        """Skip blanks and comments; return the next character, empty at the end of the text."""
        while True:
            blank = _BLANK.match(self.text, self.at)
            if blank:
                self.at = blank.end()
            char = self.text[self.at : self.at + 1]
            comment = json_errors.comment_at(self.text, self.at) if char in ("/", "#") else None
            if comment is None:
                return char
            self._go_on(comment)
            self.at = self.edits[-1].end

    def _peek_within(self, level: _Open) -> str:
        """Skip blanks and comments; return the next character. Raises ``_Stop`` at the end."""
        char = self._peek()
        if not char:
            raise _Stop(json_errors.unclosed(self.text, level.at))
        return char

    def _goes_on(self, level: _Open) -> bool:
        """Skip to the next entry of an object or list; return False if it has no further entry."""
        ended = self.at
        char = self._peek_within(level)
        closer = "]" if level.keys is None else "}"
        if level.now == -1:
            while char == "," and level.keys is not None:
                self._keep(json_errors.comma_too_many(self.at))
                self.at += 1
                char = self._peek_within(level)
        elif char == ",":
            return self._after_comma(level, closer)
        elif char != closer:
            opened, in_list = self._opened(level), level.keys is None
            self._go_on(
                json_errors.instead_of_comma(self.text, ended, self.at, opened, in_list=in_list)
            )
            return self._after_comma(level, closer) if char == ";" else True
        self.at += char == closer
        return char != closer

    def _after_comma(self, level: _Open, closer: str) -> bool:
        """Skip a comma; return False if the object or list ends after it."""
        comma_at = self.at
        self.at += 1
        char = self._peek_within(level)
        while char == ",":
            self._keep(json_errors.comma_too_many(self.at))
            self.at += 1
            char = self._peek_within(level)
        if char != closer:
            return True
        self._keep(json_errors.last_comma(comma_at))
        self.at += 1
        return False

    def _entry(self, level: _Open) -> None:
        """Read an entry. If its value is an object or a list, read only the opening bracket."""
        if self._plain_entries(level):
            return
        if level.keys is not None:
            self._key(level, level.keys)
        elif isinstance(level.now, int):
            level.now += 1
        self._value()

    def _plain_entries(self, level: _Open) -> bool:
        """Read as many entries as match a simple pattern of correct JSON; this saves time.

        Return False if the next entry must be read step by step.
        """
        if len(self.stack) == MAX_DEPTH:
            return False
        plain = _PLAIN_ENTRY if level.keys is not None else _PLAIN_ITEM
        read = False
        while found := plain.match(self.text, self.at):
            if level.keys is None:
                level.now = int(level.now) + 1
            elif found.group(1) in level.keys:
                return False  # _key reports the repeated key.
            else:
                level.now = found.group(1)
                level.keys[found.group(1)] = self.at
            read = True
            self.at = found.end(1 if level.keys is None else 2)
            onward = _COMMA.match(self.text, self.at)
            if onward is None:
                break
            if not plain.match(self.text, onward.end()):
                break
            self.at = onward.end()
        return read

    def _key(self, level: _Open, keys: dict[str, int]) -> None:
        at = self.at
        if self.text[at] == '"':
            level.now = key = self._string()
        else:
            self._go_on(json_errors.instead_of_key(self.text, at, self._opened(level)))
            level.now = key = self.edits[-1].text[1:-1]
            self.at = self.edits[-1].end
        if key in keys:
            self._keep(json_errors.twice(at, key, self.lines.place(keys[key])))
        else:
            keys[key] = at
        ended = self.at
        if self._peek_within(level) != ":":
            self._go_on(json_errors.no_colon(self.text, key, ended, self.at))
        self.at += 1
        self._peek_within(level)

    def _opened(self, level: _Open) -> str:
        """Return words for an object or a list, with the line and column where it begins."""
        line, column = self.lines.place(level.at)
        what = "list" if level.keys is None else "object"
        return f"the {what} that begins in line {line}, column {column}"

    def _value(self) -> None:
        """Read a value. If it is an object or a list, read only the opening bracket."""
        char = self.text[self.at]
        if char == '"':
            self._string()
        elif char in "{[":
            if len(self.stack) == MAX_DEPTH:
                raise _Stop(json_errors.too_deep(self.at, MAX_DEPTH))
            self.stack.append(_Open(self.at, {} if char == "{" else None))
            self.at += 1
        else:
            self._word(char)

    def _string(self) -> str:
        value, self.at, mistake = read_string(self.text, self.at)
        if mistake and mistake.ends:
            raise _Stop(mistake)
        if mistake:
            self._keep(mistake)
        return value

    def _word(self, char: str) -> None:
        """Read a number, true, false, null, or a mistake in their place."""
        found = _WORD.match(self.text, self.at)
        word = found.group() if found else ""
        after = self.at + len(word)
        if word in ("NaN", "Infinity", "-Infinity"):
            self._keep(json_errors.not_a_number(self.at, word))
        elif word and char in "-0123456789":
            after = self._number(word)
        elif not word:
            self._go_on(json_errors.instead_of_value(self.text, self.at))
            after = self.edits[-1].end
        elif word not in ("true", "false", "null"):
            self._go_on(json_errors.broken_word(self.at, word))
        self.at = after

    def _number(self, word: str) -> int:
        """Read a number; return the offset after it and after its unit, if it has one."""
        unit = _UNIT.match(self.text, self.at + len(word))
        if unit and word.replace(".", "").isdigit():
            word += unit.group()
        found = _NUMBER.fullmatch(word)
        if not found:
            self._go_on(json_errors.broken_number(self.at, word))
            return self.at + len(word)
        if found.group(1) or found.group(2):
            fits = math.isfinite(float(word))
        else:
            fits = len(word) <= MAX_INTEGER_DIGITS
        if not fits:
            self._keep(json_errors.out_of_range(self.at, word))
        return self.at + len(word)
