"""One connection to ``trappoint serve``: its phases, their time limits, and its end.

The library reads whole requests before a thread takes them, and sends answers without one. So a
slow client costs a place, never a thread; this module adds the limits on how long it keeps it.
"""

from __future__ import annotations

import socket
import time
from contextlib import suppress
from functools import cached_property
from http import HTTPStatus
from typing import TYPE_CHECKING, Any

from waitress.channel import HTTPChannel
from waitress.parser import HTTPRequestParser
from waitress.receiver import ChunkedReceiver
from waitress.task import ErrorTask, WSGITask
from waitress.utilities import BadRequest, Error

from trappoint_service.clients import network_of
from trappoint_service.counters import NO_ROUTE
from trappoint_service.problem_documents import MIMETYPE, problem_document
from trappoint_service.security_headers import HEADERS

if TYPE_CHECKING:
    from trappoint_service.config import Config
    from trappoint_service.listening import Listener

LEAST_RATE = 16 * 1024
"""Bytes a second that a client sends or reads at least, beyond the time that it has anyway."""

SEND_BUFFER_BYTES = 128 * 1024
"""The part of an unread answer that the system keeps; more would cost its memory. It doubles this
for its own needs: socket(7)."""

LINE_BYTES = 4096
"""Longest line between the parts of a chunked body, and longest trailer, in bytes."""

LINGER_SECONDS = 3.0
"""Seconds for reading and dropping the rest of a refused request, so that the answer arrives."""

PHASES = ("idle", "header", "body", "busy", "reading", "closing")
"""The phases of a connection; in all but ``busy`` it waits for its client."""

_PROBLEMS = {
    400: ("bad-request", "The request is not valid HTTP"),
    408: ("request-timeout", "The request did not arrive in time."),
    413: ("request-entity-too-large", "The request is too large: it may have at most 8 MiB."),
    431: ("request-header-fields-too-large", "The header fields are too long."),
    500: (
        "fault",
        "Internal error, not a fault of your plan. Please report it.",
    ),
    501: ("not-implemented", "The only known transfer coding is `chunked`."),
    503: ("busy", "The service is busy. Please try again soon."),
}
"""Kind and sentence for each status of the server's own answers."""

RETRY_SECONDS = 5


class TimedOut(Error):  # noqa: N818 - the library calls its own so
    """A request that did not arrive in time."""

    code, reason = 408, "Request Timeout"


class Crowded(Error):  # noqa: N818
    """A request that is refused because others need its memory or its connection."""

    code, reason = 503, "Service Unavailable"


def refusal(error: Error) -> tuple[str, list[tuple[str, str]], bytes]:
    """Return status, headers and body of the answer to a refused request."""
    code = error.code if error.code in _PROBLEMS else 500
    kind, detail = _PROBLEMS[code]
    if code == 400:
        # The library's text quotes the client.
        why = error.body.partition(' "')[0]
        detail = f"{detail}: {why}."
    headers = [("Content-Type", MIMETYPE), *HEADERS.items(), ("Cache-Control", "no-store")]
    if code == 503:
        headers.append(("Retry-After", str(RETRY_SECONDS)))
    body = problem_document(code, kind, detail).encode()
    return f"{code} {HTTPStatus(code).phrase}", headers, body


class Parser(HTTPRequestParser):
    """Reads a request, malformed ones included."""

    path = ""
    """The library logs it, even if the first line of the request has none."""

    def received(self, data: bytes) -> int:
        """Take received bytes; return how many of them belong to this request."""
        try:
            consumed: int = super().received(data)
        except ValueError:  # an address or a length that Python cannot parse
            self._refuse("a part of its first lines cannot be read")
            return len(data)
        parts = self.body_rcv
        # The library searches such a line from its start each time that more arrives.
        if (
            isinstance(parts, ChunkedReceiver)
            and not self.completed
            and max(len(parts.control_line), len(parts.trailer)) > LINE_BYTES
        ):
            self._refuse("a line between the parts of its body is too long")
        return consumed

    def _refuse(self, why: str) -> None:
        self.error = BadRequest(why)
        self.completed = True


class RequestTask(WSGITask):
    """A request that the application answers."""

    def build_response_header(self) -> bytes:
        """Return the header of the answer; it announces the end when the server stops."""
        if self.channel.server.places.ending:
            self.set_close_on_finish()
        return bytes(super().build_response_header())


class RefusalTask(ErrorTask):
    """A request that the server itself refuses, with a problem document."""

    def execute(self) -> None:
        """Write the answer."""
        self.status, headers, body = refusal(self.request.error)
        self.response_headers.extend(headers)
        self.content_length = len(body)
        self.channel.refused = True
        self.channel.server.places.counters.count(NO_ROUTE, "", self.request.error.code)
        self.set_close_on_finish()
        self.write(body)


class Channel(HTTPChannel):
    """A connection. Everything but ``service`` runs in the thread of the server's loop."""

    parser_class = Parser
    task_class = RequestTask
    error_task_class = RefusalTask
    server: Listener

    def __init__(self, *words: Any, **more: Any) -> None:
        self.since = time.monotonic()
        """The start of the present phase."""
        self.sent = 0
        """Bytes sent of the present answer."""
        self.serving = self.parked = self.refused = self.lingering = False
        super().__init__(*words, **more)

    @cached_property
    def crowd(self) -> str:
        """The address that this connection counts for."""
        return network_of(self.addr[0])

    def client(self, proxies: int) -> str:
        """Return the address that sent the request, looking past trusted proxies."""
        chain = self.requests[0].headers.get("X_FORWARDED_FOR", "").split(",")
        return network_of(chain[-proxies].strip()) if 0 < proxies <= len(chain) else self.crowd

    @property
    def phase(self) -> str:
        """One of ``PHASES``."""
        if self.lingering:
            return "closing"
        if (self.total_outbufs_len or self.parked) and not self.serving:
            return "reading"
        if self.requests:
            return "busy"
        if self.request is None:
            return "idle"
        return "body" if self.request.headers_finished else "header"

    @property
    def held(self) -> int:
        """Bytes of requests and answers that are held for this connection."""
        bodies = (parser.body_rcv for parser in (*self.requests, self.request) if parser)
        return int(self.total_outbufs_len) + sum(len(body) for body in bodies if body is not None)

    def late(self, config: Config) -> bool:
        """Return whether the client has exceeded the time limit of the phase."""
        match self.phase:
            case "idle":
                limit = config.idle_seconds
            case "header":
                limit = config.header_seconds
            case "body" if self.request is not None:
                limit = config.header_seconds + config.transfer_seconds
                limit += self.request.body_bytes_received / LEAST_RATE
            case "reading":
                read = max(self.sent - 2 * SEND_BUFFER_BYTES, 0)
                limit = config.transfer_seconds + read / LEAST_RATE
            case "closing":
                limit = LINGER_SECONDS
            case _:
                return False
        return time.monotonic() - self.since > limit

    def dismiss(self, error: Error) -> None:
        """Close the connection at once; try to send this answer to an open request."""
        if self.phase in ("header", "body", "busy"):
            status, headers, body = refusal(error)
            headers += [("Content-Length", str(len(body))), ("Connection", "close")]
            lines = [f"HTTP/1.1 {status}", *(f"{name}: {value}" for name, value in headers)]
            with suppress(OSError):  # the client does not read, or has gone
                self.socket.send("\r\n".join([*lines, "", ""]).encode() + body)
            self.server.places.counters.count(NO_ROUTE, "", error.code)
        self.handle_close()

    def received(self, data: bytes) -> bool:
        """Receive bytes from the client."""
        if self.lingering:
            return False
        if self.request is None:
            data = data.lstrip(b"\r\n")  # RFC 9112, 2.2
            if not data:
                return False
            self.since = time.monotonic()
        self.server.places.take(len(data))
        return bool(super().received(data))

    def writable(self) -> bool:
        """Return whether ``handle_write`` has something to do."""
        return bool(super().writable() or (self.parked and not self.serving))

    def handle_write(self) -> None:
        """Send the rest of the answer; then go on to the next request, or end."""
        if self.parked and not self.serving and not self.total_outbufs_len:
            self.parked = False
            self.server.add_task(self)
        elif self.refused and self.close_when_flushed and not self.will_close:
            self._flush_exception(self._flush_some)
            if self.connected and not self.total_outbufs_len:
                self._linger()
        else:
            super().handle_write()
            if not self.total_outbufs_len and not self.serving:
                self.since = time.monotonic()

    def _linger(self) -> None:
        """Read the rest of the request: closing earlier would lose the answer."""
        self.close_when_flushed = False
        self.lingering = True
        self.since = time.monotonic()
        try:
            self.socket.shutdown(socket.SHUT_WR)
        except OSError:
            self.handle_close()

    def send(self, data: bytes, do_close: bool = True) -> int:
        """Send some of the data; return how many bytes."""
        sent: int = super().send(data, do_close=do_close)
        self.sent += sent
        return sent

    def service(self) -> None:
        """Answer a request, in a thread of its own."""
        self.serving, self.sent = True, 0
        try:
            super().service()
        finally:
            self.since = time.monotonic()
            self.serving = False
            if self.parked and self.connected:
                self.server.pull_trigger()
