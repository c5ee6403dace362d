"""Code shared by commands that draw on paper: the size of the sheet, what a PDF cannot show."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.errors import CannotUse

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from trappoint.app.streams import Streams
    from trappoint.drawing.fonts import Unprinted
    from trappoint.drawing.paper import Sheet


def add_sheet(parser: ArgumentParser) -> None:
    """Add the options for paper: see ``sheet_meant``."""
    parser.add_argument(
        "--sheet",
        choices=("a4", "a3", "long"),
        default="a4",
        help="size of the paper: a plan that is too wide continues in rows below; long: one strip "
        "(default: a4)",
    )
    parser.add_argument(
        "--standing", action="store_true", help="paper with its short side below (default: lying)"
    )


def sheet_meant(options: Namespace) -> Sheet:
    """Return the sheet of paper that the options mean. Raises ``CannotUse``."""
    from trappoint.drawing.paper import sheet_of

    if options.standing and options.sheet == "long":
        raise CannotUse("--standing needs a sheet: --sheet a4 or --sheet a3.")
    return sheet_of(options.sheet, standing=options.standing)


def tell_unprinted(found: Unprinted, streams: Streams) -> None:
    """Print what a PDF cannot show."""
    for sentence in found.sentences(shown=True):
        streams.complain(f"trappoint: {sentence}")
