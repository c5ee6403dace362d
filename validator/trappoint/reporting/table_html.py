"""Locking tables as one page of HTML that needs no other file."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from trappoint.reporting.html_sheet import html_sheet
from trappoint.reporting.matrix import conflict_letters, holding_arms, legend
from trappoint.reporting.wording import (
    GRANTED,
    by_what,
    conditions_of,
    count_pairs,
    named_id,
    never_with,
    tell_condition,
    tell_lies,
    verdict_of_table,
)

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from trappoint.core.terminal import RenderOptions
    from trappoint.interlocking.conflicts import By
    from trappoint.interlocking.locking_table import ArmEntry, LockingTable

_STYLE = """
  body { font: 1rem/1.4 Georgia, serif; margin: 2rem auto; max-width: 75rem; padding: 0 1rem; }
  table { border-collapse: collapse; margin: 1rem 0; }
  caption { font-weight: bold; text-align: left; padding: 0.3rem 0; }
  th, td { border: 1px solid #777; padding: 0.2rem 0.5rem; text-align: left; vertical-align: top; }
  .plain td:nth-of-type(3) { min-width: 14rem; }
  .square td, .square thead th { text-align: center; }
  .wide { overflow-x: auto; }
  .verdict { font-weight: bold; }
  .caution { border-left: 0.3rem solid #777; padding-left: 0.7rem; }
  @media print { body { margin: 0; max-width: none; } tr { break-inside: avoid; } }
"""


def render(table: LockingTable, title: str, look: RenderOptions) -> str:
    """Return the page in ASCII, so that it reads the same in every encoding."""
    heading = f"Locking table of {title}"
    body = f"""<h1>{escape(heading)}</h1>
<p class="verdict">{escape(verdict_of_table(table.holds, table.longest_train))}</p>
<p>{escape(count_pairs(table))}</p>
{_signals(table)}
{_arms(table)}
{_square(table)}
{granted(table.takes_for_granted)}"""
    return html_sheet(heading, _STYLE, body)


def granted(sentences: Iterable[str]) -> str:
    """Return the section that lists what the verdict takes for granted."""
    items = "".join(f"<li>{escape(sentence)}</li>" for sentence in sentences)
    return f"<section><h2>{GRANTED}</h2>\n<ul>{items}</ul></section>"


def _signals(table: LockingTable) -> str:
    rows = ((named_id(each.signal, each.name), "; ".join(each.duties)) for each in table.signals)
    return _grid("What each signal is there for", ("Signal", "Duties"), rows)


def _arms(table: LockingTable) -> str:
    sees = by_what(table)
    headings = (
        "Arm",
        "Signal",
        "Kind",
        "Meaning",
        "Points",
        f"Never off with: {sees['points']}",
        f"Never off with: {sees['direct']}",
        "Not off with, in certain lies",
    )
    rows = (_row(entry, sees) for entry in table.arms)
    return _grid("What each arm gives leave for", headings, rows)


def _row(entry: ArmEntry, sees: Mapping[By, str]) -> tuple[str, ...]:
    return (
        named_id(entry.arm, entry.name),
        entry.signal,
        entry.kind,
        entry.meaning,
        "; or ".join(tell_lies(route.points) or "none" for route in entry.routes),
        ", ".join(never_with(entry, "points")),
        ", ".join(never_with(entry, "direct")),
        "; ".join(
            f"{c.arm} while {tell_condition(c)} ({sees[c.by]})" for c in conditions_of(entry)
        ),
    )


def _square(table: LockingTable) -> str:
    arms = holding_arms(table)
    letters = conflict_letters(table)
    rows = (
        (one, *("=" if one == two else letters.get((one, two), "") for two in arms)) for one in arms
    )
    grid = _grid("Which arms conflict", ("Arm", *arms), rows, kind="square")
    return f"{grid}\n<p>{escape(legend(table))}</p>"


def _grid(
    caption: str, headings: Iterable[str], rows: Iterable[Iterable[str]], kind: str = "plain"
) -> str:
    heads = "".join(f'<th scope="col">{escape(text)}</th>' for text in headings)
    body = []
    for first, *others in rows:
        cells = "".join(f"<td>{escape(text)}</td>" for text in others)
        body.append(f'<tr><th scope="row">{escape(first)}</th>{cells}</tr>')
    return (
        f'<div class="wide" tabindex="0"><table class="{kind}">\n'
        f"<caption>{escape(caption)}</caption>\n<thead><tr>{heads}</tr></thead>\n<tbody>\n"
        + "\n".join(body)
        + "\n</tbody></table></div>"
    )
