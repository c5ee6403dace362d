"""The public address of the service: trusted proxies and known host names."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flask import Response, request
from werkzeug.middleware.proxy_fix import ProxyFix
from werkzeug.sansio.utils import host_is_trusted

from trappoint_service.monitoring import PROBES
from trappoint_service.problem_documents import MIMETYPE, problem_document

if TYPE_CHECKING:
    from flask import Flask

    from trappoint_service.config import Config


def believe(app: Flask, config: Config) -> None:
    """Trust the configured number of proxies, and refuse unknown host names."""
    if config.proxies:
        number = config.proxies
        app.wsgi_app = ProxyFix(  # type: ignore[method-assign] # as Flask's page has it
            app.wsgi_app, x_for=number, x_proto=number, x_host=number, x_prefix=number
        )

    @app.before_request
    def know_host() -> Response | None:
        known = config.hosts
        if not known or request.path in PROBES or host_is_trusted(request.host, known):
            return None
        detail = "This service does not answer under this host name."
        return Response(problem_document(421, "unknown-host", detail), 421, mimetype=MIMETYPE)
