"""Patterns of plans to leave out, with the syntax of git's ``.gitignore``.

Without a slash, a pattern names a file or a folder at any depth; with one, it is seen from the
folder of the patterns. ``*`` and ``?`` stop at a slash, ``**`` does not; a slash at the end means a
folder. A folder is left out with all of its files. Source: gitignore(5), without its ``!``, which
takes back another pattern.

Patterns may come from a stranger: matching one takes at most as many steps as the path has
characters for each character of the pattern.
"""

from __future__ import annotations

import os.path
import re
from contextlib import suppress
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Sequence

MOST = 500
"""The most characters of a pattern, and the most patterns in one list."""


def why_unusable(pattern: str) -> str:
    """Return the reason why a pattern cannot be used, as a sentence; empty if it can."""
    if pattern in ("", "/"):
        return "A pattern cannot be empty."
    if len(pattern) > MOST:
        return f"A pattern cannot be longer than {MOST} characters."
    if "//" in pattern:
        return f"{pattern} cannot be used: two slashes stand together."
    if pattern.startswith("!"):
        return f"{pattern} cannot be used: a pattern can only leave plans out."
    try:
        _parsed(pattern)
    except (re.error, IndexError):
        return f"{pattern} cannot be used: a [ or a \\ in it is not complete."
    return ""


def is_file_excluded(file: str, patterns: Sequence[str], folder: str) -> bool:
    """Return whether patterns relative to a folder exclude a file on the disk."""
    if not patterns:
        return False
    path, folder = os.path.abspath(file), os.path.abspath(folder)  # noqa: PTH100
    with suppress(ValueError):  # on another drive
        path = os.path.relpath(path, folder)
    return is_excluded(path.replace(os.sep, "/"), patterns)


def is_excluded(path: str, patterns: Sequence[str]) -> bool:
    """Return whether a file is excluded.

    ``path`` is seen from the folder of the patterns; / stands between folders.
    """
    parts = path.split("/")
    return any(_matches(_parsed(pattern), parts) for pattern in patterns)


class _Pattern(NamedTuple):
    parts: tuple[re.Pattern[str] | None, ...]
    """The expressions for each folder and for the name; None for any number of folders."""
    folder: bool
    """True if the pattern matches folders only."""


@cache
def _parsed(pattern: str) -> _Pattern:
    """Read a pattern. Raises ``IndexError`` or ``re.error`` if it is not complete."""
    body = pattern.removesuffix("/")
    words = ["**", body] if "/" not in body else body.removeprefix("/").split("/")
    last = len(words) - 1
    parts = tuple(
        None if re.fullmatch(r"\*\*+", word) and number < last else _regex(word)
        for number, word in enumerate(words)
    )
    return _Pattern(parts, pattern.endswith("/"))


def _matches(pattern: _Pattern, path: list[str]) -> bool:
    """Return whether a file, or a folder that it is in, matches."""
    parts = pattern.parts
    reached = {0}
    for number, name in enumerate(path, 1):
        for part in range(len(parts)):  # any number of folders may be none
            if part in reached and parts[part] is None:
                reached.add(part + 1)
        reached = {step for part in reached for step in _steps(parts[part], part, name)}
        if len(parts) in reached and not (pattern.folder and number == len(path)):
            return True
        reached.discard(len(parts))
    return False


def _steps(regex: re.Pattern[str] | None, part: int, name: str) -> tuple[int, ...]:
    if regex is None:
        return (part,)
    return (part + 1,) if regex.match(name) else ()


def _regex(word: str) -> re.Pattern[str]:
    """Return the expression for a name; without backtracking, which could take for ever."""
    found, at, stars = [""], 0, False
    while at < len(word):
        char = word[at]
        if char == "*":
            if not stars:
                found.append("")
            at += 1
        elif char == "[":
            kind, at = _class(word, at)
            found[-1] += kind
        elif char == "?":
            found[-1] += "."
            at += 1
        else:
            at += char == "\\"
            found[-1] += re.escape(word[at])
            at += 1
        stars = char == "*"
    first, *others = found
    if others:
        middle = "".join(f"(?>.*?{each})" for each in others[:-1])
        first += f"{middle}.*{others[-1]}"
    return re.compile(f"{first}\\Z", re.DOTALL)


def _class(word: str, at: int) -> tuple[str, int]:
    """Return the characters of ``[...]`` as a regular expression, and where they end."""
    at += 1
    found = "["
    if word[at] in "!^":
        found, at = f"{found}^", at + 1
    first = at
    while word[at] != "]" or at == first:
        escaped = word[at] == "\\"
        at += escaped
        found += word[at] if word[at] == "-" and not escaped else re.escape(word[at])
        at += 1
    return f"{found}]", at + 1
