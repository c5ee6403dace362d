"""The service with a server of its own: ``trappoint serve``."""

from __future__ import annotations

import logging
import sys
from typing import TYPE_CHECKING

from trappoint_service.config import LIMIT_BYTES
from trappoint_service.memory import give_back_early

if TYPE_CHECKING:
    from collections.abc import Callable

    from trappoint_service.config import Config

CONNECTIONS = 100


class NotListening(Exception):  # noqa: N818 - it names what was met
    """The service cannot listen on the address. The message says why."""


def serve(config: Config, tell: Callable[[str], None]) -> None:
    """Serve until the process is interrupted. Raises NotListening.

    ``tell`` is given the address, once requests are taken.
    """
    from waitress.server import create_server

    from trappoint_service.app import build_app

    logging.basicConfig(stream=sys.stderr, level=logging.WARNING, format="%(message)s")
    logging.getLogger("trappoint_service").setLevel(logging.INFO)
    # Waitress warns of each request that waits for a thread: under load that is no news.
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)
    give_back_early()
    app = build_app(config)
    try:
        server = create_server(
            app,
            host=config.host,
            port=config.port,
            threads=config.threads,
            connection_limit=CONNECTIONS,
            # A little more than the service takes, so that it can say so itself; all of it is
            # kept in memory, and never in a file.
            max_request_body_size=2 * LIMIT_BYTES,
            inbuf_overflow=2 * LIMIT_BYTES + 1,
            ident=None,
            # So that it reads on, and sees that a client has hung up.
            channel_request_lookahead=1,
        )
    except (OSError, ValueError) as error:
        said = getattr(error, "strerror", None) or str(error)
        raise NotListening(f"{config.host}:{config.port} can not be used: {said}.") from None
    try:
        app.pool.start()
        tell(f"http://{_host(config)}:{_port(server)}/")
        server.run()
    finally:
        server.close()
        app.pool.close()


def _host(config: Config) -> str:
    return f"[{config.host}]" if ":" in config.host else config.host


def _port(server: object) -> int:
    """Return the port that is listened on: with port 0 the system has chosen it.

    A name that stands for several addresses makes a server that keeps a list of them.
    """
    several = getattr(server, "effective_listen", None)
    port: int = several[0][1] if several else getattr(server, "effective_port", 0)
    return port
