"""What tidying changes in the text of a plan, as a unified diff that git and patch apply."""

from __future__ import annotations

import os.path
from difflib import unified_diff as compare_lines
from typing import TYPE_CHECKING

from trappoint.core.quoting import visible

if TYPE_CHECKING:
    from trappoint.core.terminal import RenderOptions

_KINDS = {"-": "error", "+": "good", "@": "note"}
"""From the first character of a line to its colour."""

_NO_END = "\\ No newline at end of file\n"


def unified_diff(name: str, old: str, new: str) -> str:
    """Return the diff from one text of a plan to another; line ends stay as they are."""
    one, other = (_heading(side, name) for side in "ab")
    lines = compare_lines(_lines(old), _lines(new), one, other)
    return "".join(line if line.endswith("\n") else f"{line}\n{_NO_END}" for line in lines)


def paint_diff(diff: str, look: RenderOptions) -> str:
    """Return a diff for a terminal: in colour, with every character visible and harmless."""
    painted = []
    for number, line in enumerate(_lines(diff)):
        kind = "strong" if number < 2 else _KINDS.get(line[0], "")
        text = look.clean(line.rstrip("\r\n"))
        painted.append(f"{look.paint(text, kind) if kind else text}\n")
    return "".join(painted)


def _heading(side: str, name: str) -> str:
    path = visible(name).replace(os.sep, "/")
    if not os.path.isabs(name):  # noqa: PTH117
        path = f"{side}/{path}"
    return f"{path}\t" if " " in path else path  # a tab ends a name with spaces in it


def _lines(text: str) -> list[str]:
    """Return the lines with their ends; other separators may stand within a string of JSON."""
    lines = [f"{line}\n" for line in text.split("\n")]
    last = lines.pop()[:-1]
    return [*lines, last] if last else lines
