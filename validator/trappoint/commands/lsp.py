"""Answer an editor while a plan is being written, by the Language Server Protocol.

It is not called by hand: an editor starts it and speaks with it over standard input and output.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.app.exit_codes import OK
from trappoint.core.errors import CannotUse

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from trappoint.app.streams import Streams


def add_arguments(parser: ArgumentParser) -> None:
    """Say which words the command takes."""
    parser.add_argument(
        "--stdio",
        action="store_true",
        help="speak over standard input and output: some editors say so, and it is always done",
    )


def run(options: Namespace, streams: Streams) -> int:
    """Answer until the editor is done or has gone, and return the exit code."""
    try:
        import gc

        from trappoint.lsp.server import serve
    except ImportError as error:
        raise CannotUse(
            f"the editor's companion needs more than is installed ({error.name} is missing): "
            "pip install 'trappoint[lsp]'"
        ) from None
    gc.enable()  # the command line starts without it, since most runs end soon
    serve()
    return OK
