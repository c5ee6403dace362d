"""Compression of answers (RFC 9110, 8.4 and 12.5.3): gzip, if the client accepts it.

No page holds a secret: there are no cookies, no sessions and no tokens, and an answer repeats only
what its own request brought. So the length of a compressed answer tells nothing to a listener
(the attack known as BREACH).
"""

from __future__ import annotations

import gzip
from typing import TYPE_CHECKING, Literal

from flask import request

from trappoint_service.problems import Problem

if TYPE_CHECKING:
    from flask import Flask, Response
    from werkzeug.datastructures import Accept

LEAST_BYTES = 1024
"""Bytes; shorter answers fit into one packet uncompressed."""

LEVEL = 6

_KINDS = ("text/", "image/svg+xml", "application/json", "application/javascript")


def compress(app: Flask) -> None:
    """Compress the answers of the application."""

    @app.before_request
    def begin() -> None:
        # No ranges (RFC 9110, 14.2): a plain part does not match a compressed one.
        request.environ.pop("HTTP_RANGE", None)
        if coding_for(request.accept_encodings) is None:
            raise Problem(
                406, "not-acceptable", "The client accepts neither plain nor gzip answers."
            )

    @app.after_request
    def finish(response: Response) -> Response:
        if _is_text(response):
            response.vary.add("Accept-Encoding")
            response.headers.pop("Accept-Ranges", None)
            _weaken(response)
            if _wants_gzip(response):
                _pack(response)
        return response


def coding_for(accepted: Accept) -> Literal["gzip", "identity"] | None:
    """Return the coding that the client prefers; None if it accepts neither."""
    gzip_quality = accepted.quality("gzip")
    # A coding that is not named is accepted with the lowest rank.
    named = accepted.find("identity") >= 0
    identity_quality = accepted.quality("identity") if named else 0.0001
    if gzip_quality > 0 and gzip_quality >= identity_quality:
        return "gzip"
    return "identity" if identity_quality > 0 else None


def _is_text(response: Response) -> bool:
    kind = response.mimetype or ""
    return kind.startswith(_KINDS) or kind.endswith("+json")


def _weaken(response: Response) -> None:
    """Make the tag of a file weak: it means both the plain and the compressed file."""
    tag, weak = response.get_etag()
    if tag is not None and not weak:
        response.set_etag(tag, weak=True)


def _wants_gzip(response: Response) -> bool:
    if response.status_code in (204, 304) or "Content-Encoding" in response.headers:
        return False
    accepted = request.accept_encodings
    if coding_for(accepted) != "gzip":
        return False
    refuses_plain = accepted.find("identity") >= 0 and not accepted.quality("identity")
    return refuses_plain or (response.content_length or LEAST_BYTES) >= LEAST_BYTES


def _pack(response: Response) -> None:
    response.direct_passthrough = False  # a static file is read here
    response.set_data(gzip.compress(response.get_data(), LEVEL, mtime=0))
    response.headers["Content-Encoding"] = "gzip"
