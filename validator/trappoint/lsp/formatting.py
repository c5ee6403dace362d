"""A text in the one layout, as the fewest lines that must be changed for it."""

from __future__ import annotations

from difflib import SequenceMatcher

from trappoint.lsp.fixes import Edit
from trappoint.source.reading import Unreadable
from trappoint.tidying.tidy import tidy_content


def tidy_edits(text: str) -> list[Edit]:
    """Return the changes that make a text tidy; none where it is, or cannot be read."""
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
