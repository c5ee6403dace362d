"""Write a plan to begin with: stations and junctions along a line, laid by rule and signalled.

Several shapes are joined one after another, from west to east; what is asked of one of them alone
stands behind a colon, as in terminus:roads=4,platforms=2. The ends that are left lead out of the
plan. Its signals are the fewest with which it holds. Lengths are there to be changed.
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

TOLD = {
    "lines": "1 for a single line, 2 for a double one (default: as the shape before it)",
    "roads": "roads side by side; on a double line those for both ways together",
    "platforms": "platforms; an island counts once",
    "hidden": "hidden roads of a round-and-round",
}
"""What each number is for."""


def add_arguments(parser: ArgumentParser) -> None:
    """Say which words the command takes."""
    parser.add_argument(
        "shapes",
        nargs="*",
        metavar="SHAPE",
        help="what to lay, from west to east; SHAPE:roads=4,platforms=2 asks it of that one alone",
    )
    for word in WORDS:
        parser.add_argument(f"--{word}", type=int, metavar="N", help=TOLD[word])
    parser.add_argument("--title", default="", help="what the plan is called")
    levels = "; ".join(f"{level}: {what}" for level, what in LEVELS.items())
    parser.add_argument(
        "--level", choices=LEVELS, default="least", help=f"{levels} (default: least)"
    )
    parser.add_argument(
        "--bare", action="store_true", help="the track alone, without signals (needs no solver)"
    )
    add_output(parser)
    parser.add_argument("--overwrite", action="store_true", help="write FILE though it is there")
    parser.add_argument("--list", action="store_true", help="list the shapes")


def run(options: Namespace, streams: Streams) -> int:
    """Write the plan and return the exit code."""
    if options.list:
        streams.say(_shapes_listed())
        return OK
    name: str | None = options.output_file
    if name not in (None, STANDARD_OUTPUT) and not options.overwrite and os.path.lexists(name):
        raise CannotUse(
            f"{name} is there already, and stays as it is. To write it anew, add --overwrite."
        )
    try:
        text = _text(options, streams)
    except WrongWish as wrong:
        raise CannotUse(f"{wrong} `trappoint new --list` tells what there is.") from None
    except NotInstalled:
        raise CannotUse(
            "to signal a plan needs the solver HiGHS, which is not installed: "
            "`pip install 'trappoint[propose]'`. With --bare the track alone is written."
        ) from None
    write_output(name, text.encode(), streams)
    return OK


def _text(options: Namespace, streams: Streams) -> str:
    """Return the plan that is asked for. Raises WrongWish, NotInstalled."""
    usual = {word: getattr(options, word) for word in WORDS}
    usual = {word: number for word, number in usual.items() if number is not None}
    pieces = [ShapePiece(*read_piece(text, usual)) for text in options.shapes]
    # Bytes of the command line that are no UTF-8 come as lone surrogates.
    title = options.title.encode("utf-8", "replace").decode()
    text = write_plan(lay_out(pieces, title))
    return text if options.bare else _signalled(text, options.level, streams)


def _signalled(text: str, level: Level, streams: Streams) -> str:
    """Return a plan with its signals. Raises NotInstalled."""
    from trappoint.parts.waiting_notice import tell_waiting
    from trappoint.proposing.proposal import propose

    with tell_waiting("Looking for the fewest signals"):
        draft = propose(text, level=level).drafts[0]
    if not draft.least:
        streams.complain(
            "trappoint: the plan holds, but whether fewer signals would do was not found out in "
            "the time that there was."
        )
    return draft.text


def _shapes_listed() -> str:
    lines = []
    for shape in SHAPES.values():
        lines += [f"{shape.name}: {shape.told}"]
        lines += [f"    {word}: {_range(given)}" for word, given in shape.takes.items()]
    return "\n".join(lines) + "\n"


def _range(given: Range) -> str:
    if given.least == given.most:
        return f"always {given.most}"
    return f"{given.least} to {given.most}, {given.usual} where nothing is said"
