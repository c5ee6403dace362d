"""Run the language server: it answers an editor by the Language Server Protocol.

An editor starts it, and exchanges messages with it over standard input and output.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.app.exit_codes import OK
from trappoint.core.errors import CannotUse

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from trappoint.app.streams import Streams


def add_arguments(parser: ArgumentParser) -> None:
    """Add the arguments and options of the command."""
    parser.add_argument(
        "--stdio",
        action="store_true",
        help="messages over standard input and output, as always; some editors pass this option",
    )


def run(options: Namespace, streams: Streams) -> int:
    """Answer until the editor ends the session, and return the exit code."""
    try:
        import gc

        from trappoint.lsp.server import serve
    except ImportError as error:
        raise CannotUse(
            f"the language server needs {error.name}, which is not installed: "
            "`pip install 'trappoint[lsp]'`."
        ) from None
    gc.enable()  # the command line starts without it, since most runs end soon
    serve()
    return OK
