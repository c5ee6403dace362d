"""Serve the web form and its interface on this computer, until Ctrl-C.

Nothing that is sent to it is stored. TRAPPOINT_SERVE_... variables set the rest:
service/README.md lists them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.app.exit_codes import OK
from trappoint.core.errors import CannotUse
from trappoint.core.findings import CAUTION_SHORT

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from trappoint.app.streams import Streams


def add_arguments(parser: ArgumentParser) -> None:
    """Say which words the command takes."""
    parser.add_argument(
        "--host", help="the address to listen on (default: 127.0.0.1, this computer alone)"
    )
    parser.add_argument("--port", help="the port to listen on (default: 8080; 0: any free one)")


def run(options: Namespace, streams: Streams) -> int:
    """Serve, and return the exit code when that has ended."""
    try:
        import flask  # noqa: F401 # only to know whether it is there
        import waitress  # noqa: F401

        from trappoint_service.config import PREFIX, ConfigError, read_config
        from trappoint_service.server import NotListening, serve
    except ImportError as error:
        raise CannotUse(
            f"the web form needs more than is installed ({error.name} is missing): "
            "pip install 'trappoint[service]'"
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
        streams.say(f"Trappoint is at {address} (Ctrl-C ends it).\n{CAUTION_SHORT}\n")
        streams.flush()

    try:
        serve(read_config(environ), tell)
    except (ConfigError, NotListening) as error:
        raise CannotUse(str(error)) from None
    return OK
