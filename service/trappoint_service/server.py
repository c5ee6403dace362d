"""The built-in server: ``trappoint serve``."""

from __future__ import annotations

import logging
import time
from typing import TYPE_CHECKING, Any

from trappoint_service.config import LIMIT_BYTES
from trappoint_service.memory import give_back_early
from trappoint_service.stopping import Ending, leave_process_one

if TYPE_CHECKING:
    from collections.abc import Callable

    from trappoint.app.open_folder import OpenFolder
    from trappoint_service.app import Service
    from trappoint_service.config import Config
    from trappoint_service.listening import Listener, Places

LOG = logging.getLogger("trappoint_service")

OTHER_FILES = 64
"""Open files besides connections: libraries, the log, listening sockets."""

HEADER_BYTES = 32 * 1024
RECEIVE_BYTES = 64 * 1024

FOLDER_BYTES = 9 * LIMIT_BYTES
"""Most bytes of a body that the server reads, if texts are saved: two of them, with escapes."""


class NotListening(Exception):  # noqa: N818 - it describes the failure
    """Raised if the service cannot listen on the address; the message gives the reason."""


def serve(config: Config, tell: Callable[[str], None], folder: OpenFolder | None = None) -> None:
    """Serve until a signal stops the process. Raises NotListening.

    ``tell`` receives the address once the service accepts requests. With a folder, the service has
    its pages too, and the address has the secret.
    """
    leave_process_one()
    from trappoint_service.app import build_app

    # Waitress warns of each request that waits for a thread, which is normal under load.
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)
    give_back_early()
    app = build_app(config, folder)
    ending = Ending()
    ending.listen()
    most = 2 * LIMIT_BYTES if folder is None else FOLDER_BYTES
    places, listeners = _listen(app, config, most)
    ending.wake = listeners[0].pull_trigger
    try:
        app.pool.start()
        places.start_threads()
        secret = "" if folder is None else f"{folder.secret}/"
        tell(f"http://{_host(config)}:{listeners[0].effective_port}/{secret}")
        while not ending.asked:
            _turn(places, listeners)
        _let_requests_end(places, listeners)
    finally:
        app.pool.close()


def _listen(app: Service, config: Config, most: int) -> tuple[Places, list[Listener]]:
    """Open the sockets. Raises NotListening."""
    from waitress.adjustments import Adjustments

    from trappoint_service.listening import Listener, Places

    places = Places(config, _connections(config), app.counters)
    app.counters.sources.append(places.families)
    shared: dict[int, Any] = {}
    try:
        adj = Adjustments(**_adjustments(config, most))
        return places, [Listener(app, places, adj, found, shared) for found in adj.listen]
    except (OSError, ValueError) as error:
        said = getattr(error, "strerror", None) or str(error).rstrip(".")
        raise NotListening(f"{config.host}:{config.port} cannot be used: {said}.") from None


def _adjustments(config: Config, most: int) -> dict[str, Any]:
    """Return the words for waitress; ``most`` is the number of bytes of the longest body."""
    return {
        "host": config.host,
        "port": config.port,
        # A little more than the service accepts, so that the service can answer with its own
        # error; all of it stays in memory, never in a file.
        "max_request_body_size": most,
        "inbuf_overflow": most + 1,
        "outbuf_overflow": 2**40,
        # Never reached: an answer is written whole, so that no thread waits for its client.
        "outbuf_high_watermark": 2**40,
        "max_request_header_size": HEADER_BYTES,
        "recv_bytes": RECEIVE_BYTES,
        # Read on during a request, to notice a closed connection.
        "channel_request_lookahead": 1,
        # The application knows which of them to trust.
        "clear_untrusted_proxy_headers": False,
        "log_socket_errors": False,
        "asyncore_use_poll": True,
        "ident": None,
    }


def _connections(config: Config) -> int:
    """Return the limit of connections, lowered to the system's limit of open files."""
    try:
        import resource
    except ImportError:  # Windows has none
        return config.connections
    others = OTHER_FILES + 4 * (config.workers + config.long_workers)
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    wanted = config.connections + others
    if soft != resource.RLIM_INFINITY and soft < wanted:
        soft = wanted if hard == resource.RLIM_INFINITY else min(wanted, hard)
        resource.setrlimit(resource.RLIMIT_NOFILE, (soft, hard))
        if soft < wanted:
            LOG.warning(
                "The system allows %d open files: at most %d connections.", soft, soft - others
            )
            return max(soft - others, 1)
    return config.connections


def _turn(places: Places, listeners: list[Listener], seconds: float = 1.0) -> None:
    """Run the loop that serves the sockets."""
    places.sweep()
    first = listeners[0]
    first.asyncore.loop(timeout=seconds, map=first._map, use_poll=True, count=1)


def _let_requests_end(places: Places, listeners: list[Listener]) -> None:
    """Stop listening, and wait until open requests have their answers."""
    for listener in listeners:
        listener.stop_listening()
    places.ending = True
    end = time.monotonic() + places.config.stop_seconds
    places.sweep()
    while places.channels and time.monotonic() < end:
        _turn(places, listeners, 0.1)


def _host(config: Config) -> str:
    return f"[{config.host}]" if ":" in config.host else config.host
