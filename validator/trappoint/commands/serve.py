"""Serve the web form and the web interface on this computer, until Ctrl-C.

It stores nothing that it receives. With a folder, it also opens and saves the plans and stores in
that folder: for one person, on this computer alone, at an address with a secret. service/README.md
lists the variables TRAPPOINT_SERVE_..., which set everything else.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.app.exit_codes import OK
from trappoint.core.errors import CannotUse
from trappoint.core.findings import CAUTION_SHORT

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from trappoint.app.streams import Streams

WARNING = (
    "Keep the address secret: with it, anyone on this computer can read and change the plans of "
    "the folder. It changes with every start.\n"
)


def add_arguments(parser: ArgumentParser) -> None:
    """Add the arguments and options of the command."""
    parser.add_argument(
        "folder",
        nargs="?",
        metavar="FOLDER",
        help="folder whose plans and stores are opened and saved (default: none)",
    )
    parser.add_argument(
        "--host", help="address to listen on (default: 127.0.0.1, this computer alone)"
    )
    parser.add_argument("--port", help="port to listen on; 0: any free one (default: 8080)")


def run(options: Namespace, streams: Streams) -> int:
    """Serve until Ctrl-C, and return the exit code."""
    try:
        import flask  # noqa: F401 # only to know whether it is installed
        import waitress  # noqa: F401

        from trappoint.app.open_folder import OpenFolder
        from trappoint_service.config import PREFIX, ConfigError, read_config
        from trappoint_service.server import NotListening, serve
    except ImportError as error:
        raise CannotUse(
            f"the web form needs {error.name}, which is not installed: "
            "`pip install 'trappoint[service]'`."
        ) from None
    import gc
    import os

    gc.enable()  # the command line starts without it, since most runs end soon
    environ = dict(os.environ)
    for word in ("host", "port"):
        value = getattr(options, word)
        if value is not None:
            environ[PREFIX + word.upper()] = value

    def tell(address: str) -> None:
        secret = "" if folder is None else WARNING
        streams.say(f"Trappoint is at {address} (Ctrl-C ends it).\n{secret}{CAUTION_SHORT}\n")
        streams.flush()

    folder = None
    try:
        config = read_config(environ)
        if options.folder is not None:
            config.check_folder()
            folder = OpenFolder(options.folder)
        serve(config, tell, folder)
    except (ConfigError, NotListening) as error:
        raise CannotUse(str(error)) from None
    finally:
        if folder is not None:
            folder.close()
    return OK
