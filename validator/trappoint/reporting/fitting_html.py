"""The fitting sheet for the bench: one A4 page of HTML that needs no other file."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from trappoint.core.findings import CAUTION_FITTING
from trappoint.reporting.fitting_words import (
    LOOK,
    advice_on,
    carries,
    label_words,
    remarks_of,
    tell_arm,
    tell_stage,
    tell_today,
    tell_usual,
    tell_waiting,
    title_of,
    where,
)
from trappoint.reporting.html_sheet import html_sheet
from trappoint.reporting.wording import verdict_of_table

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.core.terminal import RenderOptions
    from trappoint.fitting.posts import Post
    from trappoint.fitting.sheet import FittingSheet

_STYLE = """
  @page { size: A4; margin: 15mm; }
  body { font: 1rem/1.4 Georgia, serif; margin: 2rem auto; max-width: 50rem; padding: 0 1rem; }
  section.post { border-top: 1px solid #777; padding: 0.4rem 0; break-inside: avoid; }
  h2 { break-after: avoid; }
  h3 { margin: 0; font-size: 1.05rem; }
  p { margin: 0.2rem 0; }
  ul, ol { margin: 0.2rem 0; padding-left: 1.5rem; }
  ol.ticks { list-style-position: outside; }
  li { break-inside: avoid; }
  input { width: 1.1rem; height: 1.1rem; vertical-align: middle; }
  .verdict { font-weight: bold; }
  .caution { border-left: 0.3rem solid #777; padding-left: 0.7rem; margin-top: 1rem; }
  .labels { display: grid; grid-template-columns: repeat(auto-fill, minmax(45mm, 1fr)); }
  .labels div { border: 1px dashed #777; padding: 2mm; break-inside: avoid; font-size: 0.75rem; }
  .labels b { display: block; font-size: 1.1rem; }
  @media print { body { margin: 0; padding: 0; max-width: none; font-size: 10pt; } }
"""


def render(sheet: FittingSheet, _: RenderOptions) -> str:
    """Return the page in ASCII, so that it reads the same in every encoding."""
    heading = f"Fitting sheet of {sheet.title}"
    body = f"""<h1>{escape(heading)}</h1>
<p class="verdict">{escape(verdict_of_table(sheet.holds, sheet.longest_train))}</p>
{body_of(sheet)}
<h2>Labels</h2>
{_labels(sheet)}"""
    return html_sheet(heading, _STYLE, body, CAUTION_FITTING)


def body_of(sheet: FittingSheet, level: int = 2) -> str:
    """Return the posts, the order of work and today's work as parts of a page.

    ``level`` is the level of their headings; a post's heading is one level lower.
    """
    posts = "".join(_post(post, level + 1) for post in sheet.posts)
    parts = [
        _heading("Where to drill", level),
        f"<p>{escape(LOOK)}</p>\n{posts}",
        *_usual(sheet, level),
        _heading("Order of work", level),
        _paragraphs(remarks_of(sheet.work)),
        _steps(map(tell_stage, sheet.work.stages)),
    ]
    if sheet.today is not None:
        parts += [
            _heading("Today, with the parts in hand", level),
            _steps(tell_today(sheet.today)),
            _paragraphs(tell_waiting(sheet.today)),
        ]
    return "\n".join(parts)


def _usual(sheet: FittingSheet, level: int) -> list[str]:
    told = tell_usual(sheet)
    if not told:
        return []
    return [_heading("Usual values, not in the plan", level), _paragraphs(told)]


def _heading(text: str, level: int) -> str:
    return f"<h{level}>{text}</h{level}>"


def _labels(sheet: FittingSheet) -> str:
    labels = "\n".join(
        f"<div><b>{escape(label.large)}</b>{escape('; '.join(label.small))}</div>"
        for label in label_words(sheet)
    )
    return f'<div class="labels">\n{labels}\n</div>'


def _post(post: Post, level: int) -> str:
    arms = "".join(f"<li>{escape(tell_arm(arm))}</li>\n" for arm in post.arms)
    label = f"{escape(title_of(post))}: {escape(carries(post))}"
    advice = "".join(f"<p><strong>{escape(text)}</strong></p>\n" for text in advice_on(post))
    heading = _heading(f'<label><input type="checkbox"> {label}</label>', level)
    return (
        f'<section class="post">{heading}\n<p>{escape(where(post))}</p>\n{advice}'
        f"<p>faces {escape(post.facing)}</p>\n<ul>\n{arms}</ul></section>\n"
    )


def _steps(entries: Iterable[str]) -> str:
    items = "".join(
        f'<li><label><input type="checkbox"> {escape(entry)}</label></li>\n' for entry in entries
    )
    return f'<ol class="ticks">\n{items}</ol>' if items else "<p>Nothing.</p>"


def _paragraphs(texts: Iterable[str]) -> str:
    return "\n".join(f"<p>{escape(text)}</p>" for text in texts)
