"""The door of a folder's pages: only who knows the secret of this start comes in.

The secret is the first part of every address, so that no other page, program or user of this
computer can guess one. Everything else gets the same answer, which tells nothing.
"""

from __future__ import annotations

from hmac import compare_digest
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable
    from wsgiref.types import StartResponse, WSGIApplication, WSGIEnvironment

HOSTS = ("127.0.0.1", "localhost", "[::1]")
"""The names under which this computer reaches itself."""

READING = ("GET", "HEAD", "OPTIONS")
"""Methods that change nothing."""


class Door:
    """Lets requests with the secret in, and takes the secret out of the path."""

    def __init__(self, inner: WSGIApplication, secret: str) -> None:
        self._inner = inner
        self._start = f"/{secret}"

    def answer(self, environ: WSGIEnvironment, start_response: StartResponse) -> Iterable[bytes]:
        """Answer a request (PEP 3333)."""
        path = str(environ.get("PATH_INFO", ""))
        size = len(self._start)
        knows = compare_digest(path[:size].encode("latin-1"), self._start.encode("ascii"))
        if not knows or path[size : size + 1] not in ("", "/") or not _is_near(environ):
            return _refuse(start_response, "404 Not Found", b"Not found\n")
        if environ.get("REQUEST_METHOD") not in READING and not _is_from_here(environ):
            return _refuse(
                start_response, "403 Forbidden", b"This request comes from another page.\n"
            )
        environ["SCRIPT_NAME"] = environ.get("SCRIPT_NAME", "") + self._start
        environ["PATH_INFO"] = path[size:]
        return self._inner(environ, start_response)


def _refuse(start: StartResponse, status: str, said: bytes) -> list[bytes]:
    start(
        status,
        [
            ("Content-Type", "text/plain; charset=utf-8"),
            ("Content-Length", str(len(said))),
            ("Cache-Control", "no-store"),
            ("X-Content-Type-Options", "nosniff"),
            ("Content-Security-Policy", "default-src 'none'; frame-ancestors 'none'"),
            ("Referrer-Policy", "no-referrer"),
            ("Cross-Origin-Resource-Policy", "same-origin"),
        ],
    )
    return [said]


def _is_near(environ: WSGIEnvironment) -> bool:
    """Return whether a request names this computer as its host.

    A page of another site can let its own name lead to this computer (DNS rebinding).
    """
    host, port = _host_of(environ.get("HTTP_HOST", ""))
    return host in HOSTS and port == str(environ.get("SERVER_PORT", ""))


def _host_of(header: str) -> tuple[str, str]:
    host, colon, port = header.lower().rpartition(":")
    return (host, port) if colon and not port.endswith("]") else (header.lower(), "80")


def _is_from_here(environ: WSGIEnvironment) -> bool:
    """Return whether a request that may change something comes from a page of this service.

    Browsers name the origin of a form as ``null`` if its page sends no referrer; then they say in
    another header that it is the same.
    """
    site = environ.get("HTTP_SEC_FETCH_SITE", "")
    origin = environ.get("HTTP_ORIGIN", "")
    if site not in ("", "same-origin"):
        return False
    own = f"http://{environ.get('HTTP_HOST', '')}".lower()
    return origin.lower() in ("", own) or (origin == "null" and site == "same-origin")
