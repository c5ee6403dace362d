"""Formatting: the fewest changed lines that make a text tidy."""

from __future__ import annotations

from difflib import SequenceMatcher

from trappoint.fixing.text_fixes import Edit
from trappoint.source.reading import Unreadable
from trappoint.tidying.tidy import tidy_content


def tidy_edits(text: str) -> list[Edit]:
    """Return the changes that make a text tidy; empty if it is tidy or unreadable."""
    tidy = tidy_content(text)
    if isinstance(tidy, Unreadable) or tidy == text:
        return []
    old, new = text.splitlines(keepends=True), tidy.splitlines(keepends=True)
    starts = [0]
    for line in old:
        starts.append(starts[-1] + len(line))
    return [
        Edit(starts[i], starts[j], "".join(new[k:m]))
        for what, i, j, k, m in SequenceMatcher(None, old, new, autojunk=False).get_opcodes()
        if what != "equal"
    ]
