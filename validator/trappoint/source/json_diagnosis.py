"""A close look at text that is not strict JSON: what is wrong with it, and where.

Only texts that the quick reading refused come here. The scanner goes through the text once,
keeps its own stack (so that no nesting can exhaust the program's) and stops at the first mistake
that leaves the rest without meaning; mistakes that do not (a key that stands twice, a number
that is too large) are collected on the way.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field

from trappoint.core.findings import Finding, pointer_to
from trappoint.source import json_errors
from trappoint.source.json_errors import Mistake
from trappoint.source.json_strings import read_string
from trappoint.source.limits import MAX_DEPTH, MAX_INTEGER_DIGITS
from trappoint.source.positions import Lines

MAX_FINDINGS = 50
"""The most findings of one text: who has more has one cause for them all."""

_BLANK = re.compile(r"[ \t\n\r]*")
_NUMBER = re.compile(r"-?(?:0|[1-9][0-9]*)(\.[0-9]+)?([eE][+-]?[0-9]+)?")
_PLAIN_STRING = r'"[^"\\\x00-\x1f\ud800-\udfff]*"'
_PLAIN_VALUE = rf"({_PLAIN_STRING}|-?(?:0|[1-9][0-9]{{0,14}})(?![\w.+-])|\[\]|\{{\}})"
_PLAIN_ENTRY = re.compile(rf'"([^"\\\x00-\x1f\ud800-\udfff]*)"[ \t\n\r]*:[ \t\n\r]*{_PLAIN_VALUE}')
_PLAIN_ITEM = re.compile(_PLAIN_VALUE)
_COMMA = re.compile(r"[ \t\n\r]*(,)[ \t\n\r]*")
_WORD = re.compile(r"[\w.+-]*", re.ASCII)


def find_mistakes(text: str) -> tuple[Finding, ...]:
    """Return what keeps the text from being strict JSON, in the order of the text.

    Each finding has its line and column. Empty if nothing is wrong.
    """
    scanner = _Scanner(text, Lines(text))
    scanner.run()
    # What is never closed is told last, but begins before what stands in it.
    return tuple(
        sorted(scanner.findings, key=lambda f: (f.line, f.column, f.rule, f.pointer, f.message))
    )


@dataclass(slots=True)
class _Open:
    """An object or a list that has begun and not yet ended."""

    at: int
    keys: dict[str, int] | None
    """For an object: its keys so far, and where each first stood. None for a list."""
    now: str | int = -1
    """The key, or the index, of the entry that was read last."""
    comma_at: int = -1
    """Where the comma before the entry that is being read stands; -1 before the first."""


class _Enough(Exception):  # noqa: N818 - not an error: no more is told
    """Raised where there are more findings than are told."""


class _Stop(Exception):  # noqa: N818 - not an error: the end of what can be understood
    """Raised with the mistake after which the rest of the text has no meaning."""

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

    def run(self) -> None:
        try:
            self._document()
        except _Enough:
            pass
        except _Stop as stop:
            if len(self.findings) < MAX_FINDINGS:
                self._keep(stop.mistake)

    def _keep(self, mistake: Mistake) -> None:
        if len(self.findings) == MAX_FINDINGS:
            raise _Enough
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
        """Go to the next character that is not blank and return it; empty at the end."""
        blank = _BLANK.match(self.text, self.at)
        if blank:
            self.at = blank.end()
        return self.text[self.at : self.at + 1]

    def _peek_within(self, level: _Open) -> str:
        """Return the next character that is not blank; the text must not end before it."""
        char = self._peek()
        if not char:
            raise _Stop(json_errors.unclosed(self.text, level.at))
        return char

    def _goes_on(self, level: _Open) -> bool:
        """Go to the next entry of an object or list, over the comma; False if it ends."""
        ended = self.at
        char = self._peek_within(level)
        if char == ("]" if level.keys is None else "}"):
            self.at += 1
            return False
        if level.now == -1:
            return True
        if char != ",":
            opened = self._opened(level)
            raise _Stop(json_errors.instead_of_comma(self.text, ended, self.at, opened))
        level.comma_at = self.at
        self.at += 1
        self._peek_within(level)
        return True

    def _entry(self, level: _Open) -> None:
        """Read an entry of an object or list; of an object or list in it, only its beginning."""
        if self._plain_entries(level):
            return
        if level.keys is not None:
            self._key(level, level.keys)
        elif isinstance(level.now, int):
            level.now += 1
        self._value()

    def _plain_entries(self, level: _Open) -> bool:
        """Read the entries from here on that are so plain that nothing can be wrong with them.

        Return whether that is done, or the entry that comes must be read in the other way. Read one
        by one, the entries of a long document would take long.
        """
        if len(self.stack) == MAX_DEPTH:
            return False
        plain = _PLAIN_ENTRY if level.keys is not None else _PLAIN_ITEM
        read = False
        while found := plain.match(self.text, self.at):
            if level.keys is None:
                level.now = int(level.now) + 1
            elif found.group(1) in level.keys:
                return False  # This one is to be looked at closely.
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
            level.comma_at = onward.end(1) - 1
            self.at = onward.end()
        return read

    def _key(self, level: _Open, keys: dict[str, int]) -> None:
        at = self.at
        if self.text[at] != '"':
            opened = self._opened(level)
            raise _Stop(json_errors.instead_of_key(self.text, at, level.comma_at, opened))
        level.now = key = self._string()
        if key in keys:
            self._keep(json_errors.twice(at, key, self.lines.place(keys[key])))
        else:
            keys[key] = at
        ended = self.at
        if self._peek_within(level) != ":":
            raise _Stop(json_errors.no_colon(self.text, key, ended, self.at))
        self.at += 1
        self._peek_within(level)

    def _opened(self, level: _Open) -> str:
        """Say what an object or list is and where it began."""
        line, column = self.lines.place(level.at)
        what = "list" if level.keys is None else "object"
        return f"the {what} that begins in line {line}, column {column}"

    def _value(self) -> None:
        """Read a value; of an object or a list, only its beginning."""
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
        """Read a number, true, false or null."""
        found = _WORD.match(self.text, self.at)
        word = found.group() if found else ""
        if word in ("NaN", "Infinity", "-Infinity"):
            self._keep(json_errors.not_a_number(self.at, word))
        elif word and char in "-0123456789":
            self._number(word)
        elif not word:
            level = self.stack[-1] if self.stack else None
            comma_at = level.comma_at if level and level.keys is None else -1
            raise _Stop(json_errors.instead_of_value(self.text, self.at, comma_at))
        elif word not in ("true", "false", "null"):
            raise _Stop(json_errors.broken_word(self.at, word))
        self.at += len(word)

    def _number(self, word: str) -> None:
        found = _NUMBER.fullmatch(word)
        if not found:
            raise _Stop(json_errors.broken_number(self.at, word))
        if found.group(1) or found.group(2):
            fits = math.isfinite(float(word))
        else:
            fits = len(word) <= MAX_INTEGER_DIGITS
        if not fits:
            self._keep(json_errors.out_of_range(self.at, word))
