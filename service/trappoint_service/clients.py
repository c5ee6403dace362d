"""The client of a request: its address, its connection, its ticket."""

from __future__ import annotations

import re
import socket
from dataclasses import dataclass
from ipaddress import IPv6Address, IPv6Network, ip_address
from typing import TYPE_CHECKING

from flask import has_request_context, request

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from typing import Any

TICKET = re.compile(r"[A-Za-z0-9-]{16,64}")
"""A random text with which a page asks for its place in the queue."""


def _never() -> bool:
    return False


@dataclass(frozen=True, slots=True)
class Client:
    """A client that waits for an answer."""

    address: str = ""
    """The address; for IPv6 the network, because one client may have all of it."""
    gone: Callable[[], bool] = _never
    """Whether the client has hung up."""
    ticket: str = ""
    """The ticket of its page; empty if it has none."""
    sent: int = 0
    """The bytes of its request; 0 if unknown."""


def client_of_request() -> Client:
    """Return the client of the request that this thread answers."""
    if not has_request_context():
        return Client()
    ticket = ""
    if request.mimetype == "multipart/form-data":
        ticket = request.form.get("ticket", "")
    return Client(
        network_of(request.remote_addr or ""),
        _gone_of(request.environ),
        ticket if TICKET.fullmatch(ticket) else "",
        request.content_length or 0,
    )


def network_of(address: str) -> str:
    """Return the address to count for a client; for IPv6 its network."""
    try:
        found = ip_address(address)
    except ValueError:
        return address
    if isinstance(found, IPv6Address):
        return str(found.ipv4_mapped or IPv6Network((int(found), 64), strict=False))
    return address


def _gone_of(environ: Mapping[str, Any]) -> Callable[[], bool]:
    """Return a function that reports, from the server, whether the client has hung up."""
    disconnected: Callable[[], bool] | None = environ.get("waitress.client_disconnected")
    if disconnected is not None:
        return disconnected
    connection = environ.get("gunicorn.socket")
    if isinstance(connection, socket.socket) and hasattr(socket, "MSG_DONTWAIT"):
        return lambda: _closed(connection)
    return _never


def _closed(connection: socket.socket) -> bool:
    """Return whether the other side has closed a connection, without reading from it."""
    try:
        return not connection.recv(1, socket.MSG_PEEK | socket.MSG_DONTWAIT)
    except (BlockingIOError, ValueError):  # nothing to read, or TLS
        return False
    except OSError:
        return True
