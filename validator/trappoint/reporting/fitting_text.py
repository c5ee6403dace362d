"""The fitting sheet as text, as CSV and as JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import CAUTION_FITTING
from trappoint.reporting.fitting_words import (
    COLUMNS,
    LOOK,
    advice_on,
    carries,
    remarks_of,
    rows_of,
    tell_arm,
    tell_stage,
    tell_today,
    tell_usual,
    tell_waiting,
    title_of,
    where,
)
from trappoint.reporting.wording import verdict_of_table

if TYPE_CHECKING:
    from trappoint.core.terminal import RenderOptions
    from trappoint.fitting.sheet import FittingSheet


def render_text(sheet: FittingSheet, look: RenderOptions) -> str:
    """Return the sheet as text, wrapped to the width of ``look``."""
    lines = _heading(f"Fitting sheet of {sheet.title}", look, "=")
    lines += [*look.wrap(verdict_of_table(sheet.holds, sheet.longest_train)), "", *look.wrap(LOOK)]
    for post in sheet.posts:
        lines += ["", *look.wrap(f"[ ] {title_of(post)}: {carries(post)}")]
        lines += look.wrap(where(post), "      ")
        for advice in advice_on(post):
            lines += look.wrap(advice, "      ")
        lines += look.wrap(f"faces {post.facing}", "      ")
        for arm in post.arms:
            lines += look.wrap(tell_arm(arm), "      ", "        ")
    usual = tell_usual(sheet)
    if usual:
        lines += ["", *_heading("Usual values, not in the plan", look, "-")]
        for value in usual:
            lines += look.wrap(value, "  ", "    ")
    lines += ["", *_heading("Order of work", look, "-")]
    for remark in remarks_of(sheet.work):
        lines += look.wrap(remark)
    lines += _numbered([tell_stage(stage) for stage in sheet.work.stages], look)
    if sheet.today is not None:
        lines += ["", *_heading("Today, with the parts in hand", look, "-")]
        lines += _numbered(tell_today(sheet.today), look) or ["  Nothing."]
        for line in tell_waiting(sheet.today):
            lines += look.wrap(line, "  ", "    ")
    return "\n".join([*lines, "", *look.wrap(CAUTION_FITTING)]) + "\n"


def _heading(text: str, look: RenderOptions, rule: str) -> list[str]:
    lines = look.wrap(text)
    return [*lines, rule * max(map(len, lines))]


def _numbered(entries: list[str], look: RenderOptions) -> list[str]:
    lines: list[str] = []
    for number, entry in enumerate(entries, 1):
        lines += look.wrap(entry, f"  {number}. ", "     ")
    return lines


def render_csv(sheet: FittingSheet, _: RenderOptions) -> str:
    """Return a row for each arm as CSV (RFC 4180), lengths in millimetres."""
    import csv
    import io

    out = io.StringIO()
    csv.writer(out).writerows([COLUMNS, *rows_of(sheet)])
    return out.getvalue()


def render_json(sheet: FittingSheet, _: RenderOptions) -> str:
    """Return the sheet as one JSON object."""
    import json

    return json.dumps({**sheet.to_json(), "caution": CAUTION_FITTING}, indent=2) + "\n"
