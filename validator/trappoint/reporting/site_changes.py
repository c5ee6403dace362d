"""The last commits that changed a plan, as part of a page."""

from __future__ import annotations

from datetime import UTC, datetime
from html import escape
from typing import TYPE_CHECKING

from trappoint.core.quoting import visible
from trappoint.reporting.compare_words import sections, verdict

if TYPE_CHECKING:
    from trappoint.comparing.history import CommitChange, History
    from trappoint.comparing.model import Comparison

SHORT = 10
"""The letters of a commit's name that are shown: fixed, so that every clone shows the same."""


def changes_html(history: History) -> str:
    """Return the commits, the newest first, each with its changes in railway terms."""
    parts = []
    if history.edited:
        parts.append("<p>The plan on this page has changes that are in no commit.</p>")
    for number, change in enumerate(history.changes):
        parts.append(_commit(change, opened=number == 0))
    if history.cut:
        parts.append("<p>Older commits are missing: the clone is shallow.</p>")
    return "\n".join(parts)


def date_html(seconds: int | None) -> str:
    """Return the day of a time in UTC, as HTML; empty for None.

    ``seconds`` count from 1970. A time beyond the calendar is left out.
    """
    try:
        moment = None if seconds is None else datetime.fromtimestamp(seconds, UTC)
    except (OverflowError, ValueError, OSError):
        return ""
    if moment is None:
        return ""
    return f'<time datetime="{moment:%Y-%m-%dT%H:%M:%SZ}">{moment:%Y-%m-%d}</time>'


def _commit(change: CommitChange, *, opened: bool) -> str:
    commit = change.commit
    if change.comparison is None:
        inner = f"<p>Not compared: {escape(visible(change.trouble))}</p>"
    else:
        inner = _comparison(change.comparison)
    return (
        f'<details class="commit"{" open" if opened else ""}>\n'
        f"<summary>{date_html(commit.seconds)} {escape(visible(commit.subject))} "
        f"<code>{commit.id[:SHORT]}</code></summary>\n{inner}\n</details>"
    )


def _comparison(comparison: Comparison) -> str:
    parts = [f"<p>{escape(' '.join(verdict(comparison)))}</p>"]
    for section in sections(comparison):
        rows = []
        for row in section.rows:
            lead = f"<b>{escape(row.lead)}</b>"
            if len(row.sentences) == 1:
                rows.append(f"<li>{lead}: {escape(row.sentences[0])}</li>")
            else:
                items = "".join(f"<li>{escape(sentence)}</li>" for sentence in row.sentences)
                rows.append(f"<li>{lead}\n<ul>{items}</ul></li>")
        parts.append(f'<h3>{escape(section.title)}</h3>\n<ul class="rows">\n')
        parts[-1] += "\n".join(rows) + "\n</ul>"
    return "\n".join(parts)
