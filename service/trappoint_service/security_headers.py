"""What goes with every answer: the headers that keep a page from doing anything but its own."""

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
"""Content Security Policy (W3C, level 3): nothing inline, nothing from anywhere else."""

FILE_POLICY = "default-src 'none'; style-src 'unsafe-inline'; sandbox"
"""For what is downloaded, should someone open it in place: a picture may have its own style."""

HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "X-Frame-Options": "DENY",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
}

OPEN_PATHS = ("/api/", "/openapi.json")
"""What pages of other origins may be let use."""


def guard(app: Flask, config: Config) -> None:
    """Put the headers on every answer."""

    @app.after_request
    def finish(response: Response) -> Response:
        response.headers.setdefault("Content-Security-Policy", POLICY)
        for name, value in HEADERS.items():
            response.headers.setdefault(name, value)
        if request.endpoint != "static":
            # Not `no-store`: with it a browser that goes back has lost what was typed.
            response.headers.setdefault("Cache-Control", "private, no-cache")
        _allow_origin(response, config)
        return response


def _allow_origin(response: Response, config: Config) -> None:
    """Let pages of the origins that are set use the interface (the Fetch standard, 3.2)."""
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
