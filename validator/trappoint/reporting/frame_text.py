"""The frame's locking, put into text, Markdown, CSV, HTML or JSON. Every function is pure."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import CAUTION_SHORT
from trappoint.core.quoting import listed
from trappoint.core.terminal import RenderOptions

if TYPE_CHECKING:
    from collections.abc import Callable

    from trappoint.lever_frame.frame import FrameLever, FrameTable, LockingEntry
    from trappoint.model.layout import Layout
    from trappoint.model.settings import Settings

HEADINGS = ("lever", "works", "colour", "locking")

WORKS = {
    "points": "points",
    "stop": "stop arm",
    "distant": "distant arm",
    "calling-on": "calling-on arm",
    "shunt": "shunt arm",
    "arms": "arm",
}


def render_frame(
    layout: Layout,
    format: str = "text",  # noqa: A002 # as the option is called
    *,
    settings: Settings | None = None,
) -> str:
    """Derive the frame of a plan and put it into words.

    ``layout`` is a plan that ``trappoint.load`` gave; ``format`` is ``text``, ``markdown``,
    ``csv``, ``html`` or ``json``; ``settings`` are a club's own. The text ends with a line feed.
    Raises ``ValueError`` for another format, ``PlanError`` where a signal has more routes than can
    be followed.
    """
    from trappoint.checking.frame import frame_table

    writers: dict[str, Callable[[FrameTable, str], str]] = {
        "text": frame_as_text,
        "markdown": frame_as_markdown,
        "csv": lambda table, _: frame_as_csv(table),
        "html": frame_as_html,
        "json": lambda table, _: frame_as_json(table),
    }
    if format not in writers:
        raise ValueError(f"a frame can be written as {listed(list(writers))}, not as {format}")
    return writers[format](frame_table(layout, settings=settings), layout.title)


def _rows(table: FrameTable) -> list[tuple[str, str, str, str]]:
    """Return a row for each lever: number, what it works, colour, locking."""
    return [
        (
            lever.number,
            _works(lever),
            lever.colour,
            _locking(table.of(lever.number)),
        )
        for lever in table.levers
    ]


def _locking(entries: tuple[LockingEntry, ...]) -> str:
    """Put the entries of one lever into words; what it locks without condition is one list."""
    told = [entry.words for entry in entries if entry.relation != "locks" or entry.when]
    plain = [entry for entry in entries if entry.relation == "locks" and not entry.when]
    locked = [term.lever for entry in plain for term in entry.others]
    if locked:
        first = sum(entry.relation == "released by" for entry in entries)
        told.insert(first, f"locks {listed(locked, 'and')}")
    return "; ".join(told)


def _works(lever: FrameLever) -> str:
    if lever.works == "nothing":
        return "spare"
    word = WORKS[lever.works]
    if len(lever.names) > 1 and word != "points":
        word += "s"
    return f"{word} {listed(lever.names, 'and')}"


def _heading(table: FrameTable, title: str) -> str:
    title = RenderOptions().clean(title)
    count = len(table.levers)
    frame = f"Lever frame of {title}" if title else "Lever frame"
    return f"{frame}: {count} {'lever' if count == 1 else 'levers'}"


def _none(table: FrameTable) -> str:
    return "" if table.levers else "The plan has no levers: number them under `levers`."


def frame_as_text(table: FrameTable, title: str = "") -> str:
    """Write a frame for a terminal: one line a lever, then what could not be derived."""
    lines = [_heading(table, title), ""]
    if table.levers:
        rows = [HEADINGS, *_rows(table)]
        widths = [max(len(row[column]) for row in rows) for column in range(3)]
        for row in rows:
            cells = [cell.ljust(width) for cell, width in zip(row, widths, strict=False)]
            start = "  ".join(cells)
            lines += (
                RenderOptions(width=100).wrap(row[3], f"{start}  ") if row[3] else [start.rstrip()]
            )
    else:
        lines.append(_none(table))
    if table.notes:
        lines += ["", "Not derived:", *_wrapped(table.notes)]
    return "\n".join([*lines, "", CAUTION_SHORT]) + "\n"


def _wrapped(notes: tuple[str, ...]) -> list[str]:
    return [line for note in notes for line in RenderOptions(width=100).wrap(note, "- ")]


def frame_as_markdown(table: FrameTable, title: str = "") -> str:
    """Write a frame as a Markdown table."""
    lines = [f"## {_markdown(_heading(table, title))}", ""]
    if table.levers:
        lines += [_markdown_row(HEADINGS), "|---:|---|---|---|"]
        lines += [_markdown_row(row) for row in _rows(table)]
    else:
        lines.append(_none(table))
    if table.notes:
        lines += ["", "Not derived:", "", *(f"- {_markdown(note)}" for note in table.notes)]
    return "\n".join([*lines, "", f"_{CAUTION_SHORT}_"]) + "\n"


def _markdown_row(row: tuple[str, ...]) -> str:
    return f"| {' | '.join(_markdown(cell) for cell in row)} |"


def _markdown(text: str) -> str:
    """Write what could be taken for markup with a backslash before it."""
    text = " ".join(text.split())
    return "".join(f"\\{char}" if char in "\\`*_[]<>|#&" else char for char in text)


def frame_as_csv(table: FrameTable) -> str:
    """Write a frame as CSV (RFC 4180): one record an entry, and one for a lever without any.

    Columns: lever, works, names (parted by spaces), colour, entry.
    """
    import csv
    import io

    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(("lever", "works", "names", "colour", "entry"))
    for lever in table.levers:
        for words in [entry.text for entry in table.of(lever.number)] or [""]:
            names = " ".join(lever.names)
            writer.writerow((lever.number, lever.works, names, lever.colour, words))
    return out.getvalue()


def frame_as_html(table: FrameTable, title: str = "") -> str:
    """Write a frame as a part of an HTML page."""
    from html import escape

    lines = ["<section>", f"<h2>{escape(_heading(table, title))}</h2>"]
    if table.levers:
        head = "".join(f'<th scope="col">{cell}</th>' for cell in HEADINGS)
        lines += ["<table>", f"<thead><tr>{head}</tr></thead>", "<tbody>"]
        for number, *cells in _rows(table):
            rest = "".join(f"<td>{escape(cell)}</td>" for cell in cells)
            lines.append(f'<tr><th scope="row">{escape(number)}</th>{rest}</tr>')
        lines += ["</tbody>", "</table>"]
    else:
        lines.append(f"<p>{escape(_none(table))}</p>")
    if table.notes:
        notes = "".join(f"<li>{escape(note)}</li>" for note in table.notes)
        lines += ["<p>Not derived:</p>", f"<ul>{notes}</ul>"]
    lines += [f"<p><small>{escape(CAUTION_SHORT)}</small></p>", "</section>"]
    return "\n".join(lines) + "\n"


def frame_as_json(table: FrameTable) -> str:
    """Write a frame as JSON, as ``FrameTable.to_json`` gives it."""
    import json

    told = {**table.to_json(), "caution": CAUTION_SHORT}
    return json.dumps(told, indent=2, ensure_ascii=False) + "\n"
