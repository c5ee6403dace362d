"""Print the signalman's sheet of the running sessions that a plan lists under `sessions`.

Exits with 0 where all movements can be made, with 1 where some can not.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.app.exit_codes import FINDINGS, OK, USAGE_ERROR
from trappoint.app.load import read_plan
from trappoint.commands.shared import add_format, add_plan, plain_look, tell_more, unreadable
from trappoint.core.terminal import RenderOptions
from trappoint.reporting.wording import name_of

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from trappoint.app.streams import Streams
    from trappoint.facts.facts import Facts
    from trappoint.operation.session_sheet import SessionSheet
    from trappoint.operation.sessions import SessionResult

FORMATS = ("text", "markdown", "html", "json")


def add_arguments(parser: ArgumentParser) -> None:
    """Say which words the command takes."""
    add_plan(parser)
    parser.add_argument(
        "session", metavar="SESSION", nargs="?", help="the session (default: all of them)"
    )
    parser.add_argument(
        "--other-order",
        action="store_true",
        help="where the list can not be worked through, print an order that can, if there is one",
    )
    add_format(parser, FORMATS)


def run(options: Namespace, streams: Streams) -> int:
    """Print the sheet and return the exit code."""
    report = read_plan(options.file)
    if report.facts is None or report.table is None:
        raise unreadable(report, streams)
    worked = _sessions(report.facts, options.session, streams)
    if worked is None:
        return USAGE_ERROR
    from trappoint.operation.session_sheet import write_sheet

    sheets = [write_sheet(report.facts, each, other_order=options.other_order) for each in worked]
    title = report.facts.layout.title or name_of(report.file)
    look = plain_look(streams)
    streams.say(_render(sheets, title, look, options.format))
    tell_more(report, options.file, streams)
    return OK if all(sheet.whole for sheet in sheets) else FINDINGS


def _sessions(facts: Facts, name: str | None, streams: Streams) -> list[SessionResult] | None:
    """Return the sessions asked for; None where there are none, which is said."""
    if not facts.layout.sessions:
        streams.complain("trappoint: this plan has no sessions: list them under `sessions`.")
        return None
    found = [each for each in facts.sessions if name in (None, each.session.id)]
    if not found and name is not None:
        from trappoint.core.spelling import nearest

        near = nearest(name, facts.layout.sessions)
        hint = f" Is {near} meant?" if near else ""
        streams.complain(f"trappoint: there is no session called {name} in this plan.{hint}")
        return None
    return found


def _render(sheets: list[SessionSheet], title: str, look: RenderOptions, form: str) -> str:
    if form == "json":
        import json

        from trappoint.core.findings import CAUTION

        told = {"sessions": [sheet.to_json() for sheet in sheets], "caution": CAUTION}
        return json.dumps(told, indent=2) + "\n"
    if form == "markdown":
        from trappoint.reporting.session_markdown import render
    elif form == "html":
        from trappoint.reporting.session_html import render
    else:
        from trappoint.reporting.session_text import render
    return render(sheets, title, look)
