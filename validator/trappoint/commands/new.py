"""Write a first plan: stations and junctions along a line, laid by rule and signalled.

Several shapes are joined one after another, from west to east. Options of one shape alone follow
a colon, as in terminus:roads=4,platforms=2. Free ends lead out of the plan. The plan has the fewest
signals with which it holds. Its lengths are examples: change them.
"""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from trappoint.app.exit_codes import OK
from trappoint.commands.shared import STANDARD_OUTPUT, add_output, write_output
from trappoint.core.errors import CannotUse, NotInstalled
from trappoint.proposing.levels import LEVELS
from trappoint.shapes.laying import ShapePiece, lay_out
from trappoint.shapes.options import WORDS, WrongWish
from trappoint.shapes.shapes import SHAPES, read_piece
from trappoint.shapes.writing import write_plan

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from trappoint.app.streams import Streams
    from trappoint.proposing.levels import Level
    from trappoint.shapes.options import Range

HELP = {
    "lines": "number of lines: 1 single, 2 double (default: that of the shape before)",
    "roads": "number of roads side by side, both directions together (default: see --list)",
    "platforms": "number of platforms, an island counted once (default: see --list)",
    "hidden": "number of hidden roads of a round-and-round (default: see --list)",
}
"""The help text of each number."""


def add_arguments(parser: ArgumentParser) -> None:
    """Add the arguments and options of the command."""
    parser.add_argument(
        "shapes",
        nargs="*",
        metavar="SHAPE",
        help="shapes from west to east; SHAPE:roads=4,platforms=2 sets options of that shape alone",
    )
    for word in WORDS:
        parser.add_argument(f"--{word}", type=int, metavar="N", help=HELP[word])
    parser.add_argument("--title", default="", help="title of the plan (default: none)")
    levels = ", ".join(f"{level} ({what})" for level, what in LEVELS.items())
    parser.add_argument(
        "--level",
        choices=LEVELS,
        default="least",
        help=f"level of signalling: {levels} (default: least)",
    )
    parser.add_argument(
        "--bare", action="store_true", help="track alone, without signals (needs no solver)"
    )
    add_output(parser)
    parser.add_argument("--overwrite", action="store_true", help="overwrite FILE")
    parser.add_argument(
        "--list", action="store_true", help="list of the shapes, their options and an example"
    )


def run(options: Namespace, streams: Streams) -> int:
    """Write the plan and return the exit code."""
    if options.list:
        streams.say(_shapes_listed())
        return OK
    name: str | None = options.output_file
    if name not in (None, STANDARD_OUTPUT) and not options.overwrite and os.path.lexists(name):
        raise CannotUse(
            f"{name} exists already, and is unchanged. To overwrite it, add --overwrite."
        )
    try:
        text = _text(options, streams)
    except WrongWish as wrong:
        raise CannotUse(f"{wrong} `trappoint new --list` lists the shapes.") from None
    except NotInstalled:
        raise CannotUse(
            "signals need the solver HiGHS, which is not installed: "
            "`pip install 'trappoint[propose]'`. To write the track alone, add --bare."
        ) from None
    write_output(name, text.encode(), streams)
    return OK


def _text(options: Namespace, streams: Streams) -> str:
    """Return the text of the plan. Raises WrongWish, NotInstalled."""
    usual = {word: getattr(options, word) for word in WORDS}
    usual = {word: number for word, number in usual.items() if number is not None}
    pieces = [ShapePiece(*read_piece(text, usual)) for text in options.shapes]
    # Bytes of the command line that are not UTF-8 arrive as lone surrogates.
    title = options.title.encode("utf-8", "replace").decode()
    text = write_plan(lay_out(pieces, title))
    return text if options.bare else _signalled(text, options.level, streams)


def _signalled(text: str, level: Level, streams: Streams) -> str:
    """Return the text of a plan with signals added. Raises NotInstalled."""
    from trappoint.parts.waiting_notice import tell_waiting
    from trappoint.proposing.proposal import propose

    with tell_waiting("Looking for the fewest signals"):
        draft = propose(text, level=level).drafts[0]
    if not draft.least:
        streams.complain(
            "trappoint: the plan holds, but the time limit ended the search: fewer signals may "
            "be enough."
        )
    return draft.text


def _shapes_listed() -> str:
    """Return the shapes with their options and ranges, then an example command."""
    lines = []
    for shape in SHAPES.values():
        lines += [f"{shape.name}: {shape.told}"]
        lines += [f"    {word}: {_range(given)}" for word, given in shape.takes.items()]
    lines += [
        "",
        "Example, from west to east:",
        "    trappoint new terminus:roads=4,platforms=2 passing-loop -o halt.layout.json",
    ]
    return "\n".join(lines) + "\n"


def _range(given: Range) -> str:
    if given.least == given.most:
        return f"always {given.most}"
    return f"{given.least} to {given.most} (default: {given.usual})"
