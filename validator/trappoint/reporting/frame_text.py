"""The locking of the lever frame as text, Markdown, CSV, HTML or JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import CAUTION
from trappoint.core.quoting import listed
from trappoint.core.terminal import RenderOptions, width_of
from trappoint.model.names import Names
from trappoint.reporting.table_markdown import escape

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from trappoint.lever_frame.frame import FrameLever, FrameTable, LockingEntry
    from trappoint.model.layout import Layout
    from trappoint.model.settings import Settings

    LeverNames = Mapping[str, str]
    """From the number of a lever to its name."""

    Row = tuple[str, ...]

_UNNAMED: LeverNames = {}

HEADINGS = ("lever", "works", "colour", "name", "locking")

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
    """Derive the frame of a plan and return it in a format; the text ends with a line feed.

    ``layout`` comes from ``trappoint.load``; ``format`` is ``text``, ``markdown``, ``csv``,
    ``html`` or ``json``; ``settings`` are those of a club. Raises ``ValueError`` for another
    format, and ``PlanError`` if a signal has too many routes to analyse.
    """
    from trappoint.checking.frame import frame_table

    writers: dict[str, Callable[[FrameTable, str, LeverNames], str]] = {
        "text": frame_as_text,
        "markdown": frame_as_markdown,
        "csv": lambda table, *_: frame_as_csv(table),
        "html": frame_as_html,
        "json": lambda table, *_: frame_as_json(table),
    }
    if format not in writers:
        raise ValueError(f"a frame can be written as {listed(list(writers))}, not as {format}")
    table = frame_table(layout, settings=settings)
    return writers[format](table, layout.title, _names(layout))


def _names(layout: Layout) -> LeverNames:
    """Return the names of the levers: their own, or that of their only arm."""
    names = Names(layout)
    found = {
        number: names.name("levers", number)
        or (names.name("arms", lever.arms[0]) if len(lever.arms) == 1 else "")
        for number, lever in layout.levers.items()
    }
    return {number: name for number, name in found.items() if name}


def _grid(table: FrameTable, names: LeverNames) -> tuple[Row, list[Row]]:
    """Return the headings and a row for each lever, without the column of names if empty."""
    rows: list[Row] = [
        (
            lever.number,
            _works(lever),
            lever.colour,
            names.get(lever.number, ""),
            _locking(table.of(lever.number)),
        )
        for lever in table.levers
    ]
    if names:
        return HEADINGS, rows
    return (*HEADINGS[:3], HEADINGS[4]), [(*row[:3], row[4]) for row in rows]


def _locking(entries: tuple[LockingEntry, ...]) -> str:
    """Return the entries of one lever in words, its unconditional locks as one list."""
    phrases = [entry.words for entry in entries if entry.relation != "locks" or entry.when]
    plain = [entry for entry in entries if entry.relation == "locks" and not entry.when]
    locked = [term.lever for entry in plain for term in entry.others]
    if locked:
        first = sum(entry.relation == "released by" for entry in entries)
        phrases.insert(first, f"locks {listed(locked, 'and')}")
    return "; ".join(phrases)


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


def frame_as_text(table: FrameTable, title: str = "", names: LeverNames = _UNNAMED) -> str:
    """Return a frame as text: a row for each lever, then the locking that was not derived."""
    lines = [_heading(table, title), ""]
    if table.levers:
        headings, found = _grid(table, {number: _short(name) for number, name in names.items()})
        rows = [headings, *found]
        widths = [max(map(width_of, column)) for column in list(zip(*rows, strict=True))[:-1]]
        for *first, locking in rows:
            cells = [
                cell + " " * (width - width_of(cell))
                for cell, width in zip(first, widths, strict=True)
            ]
            start = "  ".join(cells)
            lines += (
                RenderOptions(width=100).wrap(locking, f"{start}  ")
                if locking
                else [start.rstrip()]
            )
    else:
        lines.append(_none(table))
    if table.notes:
        lines += ["", "Not derived:", *_wrapped(table.notes)]
    return "\n".join([*lines, "", *RenderOptions(width=100).wrap(CAUTION)]) + "\n"


def _short(name: str) -> str:
    """Return a name of at most 24 characters: the locking needs the rest of the line."""
    return name if len(name) <= 24 else f"{name[:21]}..."


def _wrapped(notes: tuple[str, ...]) -> list[str]:
    return [line for note in notes for line in RenderOptions(width=100).wrap(note, "- ")]


def frame_as_markdown(table: FrameTable, title: str = "", names: LeverNames = _UNNAMED) -> str:
    """Return a frame as a Markdown table."""
    lines = [f"## {escape(_heading(table, title))}", ""]
    if table.levers:
        headings, rows = _grid(table, names)
        lines += [_markdown_row(headings), "|---:|" + "---|" * (len(headings) - 1)]
        lines += [_markdown_row(row) for row in rows]
    else:
        lines.append(_none(table))
    if table.notes:
        lines += ["", "Not derived:", "", *(f"- {escape(note)}" for note in table.notes)]
    return "\n".join([*lines, "", f"*{CAUTION}*"]) + "\n"


def _markdown_row(row: Row) -> str:
    return f"| {' | '.join(escape(cell) for cell in row)} |"


def frame_as_csv(table: FrameTable) -> str:
    """Return a frame as CSV (RFC 4180): a record for each entry, or one for a lever without any.

    Columns: lever, works, names (separated by spaces), colour, entry.
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


def frame_as_html(table: FrameTable, title: str = "", names: LeverNames = _UNNAMED) -> str:
    """Return a frame as a section of an HTML page."""
    import html

    lines = ["<section>", f"<h2>{html.escape(_heading(table, title))}</h2>"]
    if table.levers:
        headings, rows = _grid(table, names)
        head = "".join(f'<th scope="col">{cell}</th>' for cell in headings)
        lines += ["<table>", f"<thead><tr>{head}</tr></thead>", "<tbody>"]
        for number, *cells in rows:
            rest = "".join(f"<td>{html.escape(cell)}</td>" for cell in cells)
            lines.append(f'<tr><th scope="row">{html.escape(number)}</th>{rest}</tr>')
        lines += ["</tbody>", "</table>"]
    else:
        lines.append(f"<p>{html.escape(_none(table))}</p>")
    if table.notes:
        notes = "".join(f"<li>{html.escape(note)}</li>" for note in table.notes)
        lines += ["<p>Not derived:</p>", f"<ul>{notes}</ul>"]
    lines += [f"<p><small>{html.escape(CAUTION)}</small></p>", "</section>"]
    return "\n".join(lines) + "\n"


def frame_as_json(table: FrameTable) -> str:
    """Return a frame as JSON: ``FrameTable.to_json`` with the caution."""
    import json

    data = {**table.to_json(), "caution": CAUTION}
    return json.dumps(data, indent=2, ensure_ascii=False) + "\n"
