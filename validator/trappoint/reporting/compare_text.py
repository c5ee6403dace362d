"""Comparisons as text for a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import CAUTION_SHORT
from trappoint.reporting.compare_words import headline, sections, verdict

if TYPE_CHECKING:
    from trappoint.comparing.model import Comparison
    from trappoint.core.terminal import RenderOptions
    from trappoint.reporting.compare_words import Row


def render(comparison: Comparison, look: RenderOptions) -> str:
    """Return the comparison as lines: the verdict, the changes, the caution."""
    lines = [look.paint(line, "strong") for line in look.wrap(headline(comparison), later="  ")]
    old, new = comparison.old.report.holds, comparison.new.report.holds
    kind = "good" if new else "error" if new is not old else "strong"
    first, *others = verdict(comparison)
    lines += [look.paint(line, kind) for line in look.wrap(first)]
    for sentence in others:
        lines += look.wrap(sentence)
    for section in sections(comparison):
        lines += ["", look.paint(section.title, "strong")]
        for row in section.rows:
            lines += _row(row, look)
    lines += ["", *(look.paint(line, "faint") for line in look.wrap(CAUTION_SHORT))]
    return "\n".join(lines) + "\n"


def _row(row: Row, look: RenderOptions) -> list[str]:
    """Return a row: a single sentence on the line of its thing, several below it."""
    if len(row.sentences) == 1:
        whole = f"{row.lead}  {row.sentences[0]}"
        return look.wrap(whole.replace("  ", ": ", 1), "  ", "      ")
    lines = look.wrap(f"{row.lead}:", "  ", "      ")
    for sentence in row.sentences:
        lines += look.wrap(sentence, "    - ")
    return lines
