"""Print the signalman's sheet of the running sessions that a plan lists under `sessions`.

Exit codes: 0 = all movements can be made, 1 = some cannot.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.app.exit_codes import FINDINGS, OK
from trappoint.app.load import read_plan
from trappoint.commands.shared import add_format, add_plan, plain_look, tell_more, unreadable
from trappoint.core.by_name import SESSION_REPORTERS, import_by_name
from trappoint.core.errors import CannotUse
from trappoint.reporting.wording import title_of

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from trappoint.app.streams import Streams
    from trappoint.facts.facts import Facts
    from trappoint.operation.sessions import SessionResult


def add_arguments(parser: ArgumentParser) -> None:
    """Add the arguments and options of the command."""
    add_plan(parser)
    parser.add_argument(
        "session", metavar="SESSION", nargs="?", help="id of the session (default: all sessions)"
    )
    parser.add_argument(
        "--other-order",
        action="store_true",
        help="another order of the movements, if those listed cannot all be made in theirs",
    )
    add_format(parser, SESSION_REPORTERS)


def run(options: Namespace, streams: Streams) -> int:
    """Print the sheet and return the exit code."""
    report = read_plan(options.file)
    if report.facts is None or report.table is None:
        raise unreadable(report, streams)
    worked = _sessions(report.facts, options.session)
    from trappoint.operation.session_sheet import write_sheet

    sheets = [write_sheet(report.facts, each, other_order=options.other_order) for each in worked]
    look = plain_look(streams)
    render = import_by_name(SESSION_REPORTERS, options.format).render
    streams.say(render(sheets, title_of(report), look))
    tell_more(report, options.file, streams)
    return OK if all(sheet.whole for sheet in sheets) else FINDINGS


def _sessions(facts: Facts, name: str | None) -> list[SessionResult]:
    """Return the session of this id, or all if it is None. Raises ``CannotUse`` for none."""
    if not facts.layout.sessions:
        raise CannotUse("this plan has no sessions. List them under `sessions`.")
    found = [each for each in facts.sessions if name in (None, each.session.id)]
    if not found and name is not None:
        from trappoint.core.spelling import nearest

        near = nearest(name, facts.layout.sessions)
        hint = f" Is {near} meant?" if near else ""
        raise CannotUse(f"there is no session called {name} in this plan.{hint}")
    return found
