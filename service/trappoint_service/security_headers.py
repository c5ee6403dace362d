"""The security headers of every answer."""

from __future__ import annotations

import logging
from typing import TYPE_CHECKING

from flask import request

if TYPE_CHECKING:
    from flask import Flask, Response

    from trappoint_service.config import Config

LOG = logging.getLogger("trappoint_service")

POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self'",
        "connect-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
"""Content Security Policy (W3C, level 3): no inline code, no other hosts."""

FILE_POLICY = "default-src 'none'; style-src 'unsafe-inline'; sandbox"
"""The policy of downloads, if a browser opens them: a picture may have inline style."""

HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "X-Frame-Options": "DENY",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
}

STATIC = ("static", "diagram.static")
"""The endpoints of files, which caches may keep for a while."""

OPEN_PATHS = ("/api/", "/openapi.json")
"""Paths that pages of other origins may be allowed to use."""


def guard(app: Flask, config: Config) -> None:
    """Add the headers to every answer."""

    @app.after_request
    def finish(response: Response) -> Response:
        response.headers.setdefault("Content-Security-Policy", POLICY)
        for name, value in HEADERS.items():
            response.headers.setdefault(name, value)
        if request.endpoint not in STATIC:
            # Not `no-store`: it would make the back button lose the typed text.
            response.headers.setdefault("Cache-Control", "private, no-cache")
        _allow_origin(response, config)
        return response


def _allow_origin(response: Response, config: Config) -> None:
    """Let pages of the configured origins use the API (the Fetch standard, 3.2)."""
    shared = request.path.startswith(OPEN_PATHS)
    if not config.cors_origins or not shared:
        response.headers["Cross-Origin-Resource-Policy"] = "same-origin"
        return
    response.headers["Cross-Origin-Resource-Policy"] = "cross-origin"
    origin = request.headers.get("Origin", "")
    anyone = "*" in config.cors_origins
    if not anyone:
        response.vary.add("Origin")
    if anyone or origin in config.cors_origins:
        response.headers["Access-Control-Allow-Origin"] = "*" if anyone else origin
        response.headers["Access-Control-Expose-Headers"] = "Retry-After"
        if request.method == "OPTIONS":
            response.headers["Access-Control-Allow-Methods"] = "GET, POST"
            response.headers["Access-Control-Allow-Headers"] = "Content-Type"
            response.headers["Access-Control-Max-Age"] = "600"
