"""Monitoring: health, readiness, counters, and a log line for each request."""

from __future__ import annotations

import logging
import sys
import time
from ipaddress import ip_address
from typing import TYPE_CHECKING

from flask import Blueprint, Response, g, request

from trappoint_service.counters import MIMETYPE, NO_ROUTE, Counters, Family
from trappoint_service.problem_documents import MIMETYPE as PROBLEM
from trappoint_service.problem_documents import problem_document
from trappoint_service.security_headers import LOG

if TYPE_CHECKING:
    from collections.abc import Iterator

    from flask import Flask

    from trappoint_service.config import Config
    from trappoint_service.pool import Pool

PROBES = ("/healthz", "/readyz", "/metrics")
"""Paths for programs on the same computer, answered under any host name."""

RETRY_SECONDS = 1
"""Seconds after which to ask again whether the service is ready."""

FORWARDED = ("X-Forwarded-For", "X-Real-IP", "Forwarded", "Via")
"""Headers that show that a request came through a proxy."""


def watch(app: Flask, config: Config, pool: Pool, counters: Counters) -> None:
    """Count and log requests, and add the routes for monitoring."""
    counters.sources.append(lambda: _of_pool(pool))
    if config.log_requests:
        log_to_stderr()

    @app.before_request
    def begin() -> None:
        g.begun = time.monotonic()

    @app.after_request
    def finish(response: Response) -> Response:
        route = request.url_rule.rule if request.url_rule is not None else NO_ROUTE
        seconds = time.monotonic() - g.get("begun", time.monotonic())
        counters.count(route, request.method, response.status_code, seconds)
        if config.log_requests:
            _log(route, response.status_code, seconds)
        return response

    app.register_blueprint(_routes(config, pool, counters))


def _routes(config: Config, pool: Pool, counters: Counters) -> Blueprint:
    routes = Blueprint("monitoring", __name__)

    @routes.get("/healthz")
    def healthz() -> Response:
        return Response("ok\n", mimetype="text/plain")

    @routes.get("/readyz")
    def readyz() -> Response:
        state = pool.state()
        if not state.ready:
            return _refusal(503, "starting", "The processes are still starting.")
        if state.quick.waiting >= state.quick.places:
            return _refusal(503, "busy", "The service is busy.")
        return Response("ready\n", mimetype="text/plain")

    @routes.get("/metrics")
    def metrics() -> Response:
        if not _may_read(config.metrics):
            return _refusal(404, "not-found", "This page does not exist.")
        return Response(counters.text(), content_type=MIMETYPE)

    return routes


def _refusal(status: int, kind: str, detail: str) -> Response:
    headers = {"Retry-After": str(RETRY_SECONDS)} if status == 503 else {}
    return Response(problem_document(status, kind, detail), status, headers, mimetype=PROBLEM)


def _may_read(readers: str) -> bool:
    """Return whether this client may read the counters."""
    if readers != "local":
        return readers == "anyone"
    address = request.environ.get("werkzeug.proxy_fix.orig", request.environ).get("REMOTE_ADDR")
    try:
        near = ip_address(address or "").is_loopback
    except ValueError:  # a socket in the file system has no address
        near = not address
    return near and not any(header in request.headers for header in FORWARDED)


def _of_pool(pool: Pool) -> Iterator[Family]:
    state = pool.state()
    queues = (({"queue": "quick"}, state.quick), ({"queue": "long"}, state.long))
    yield Family(
        "trappoint_jobs_running",
        "gauge",
        "Running jobs.",
        [(labels, queue.running) for labels, queue in queues],
    )
    yield Family(
        "trappoint_jobs_waiting",
        "gauge",
        "Waiting jobs.",
        [(labels, queue.waiting) for labels, queue in queues],
    )
    yield Family(
        "trappoint_jobs_places",
        "gauge",
        "Length of the queue.",
        [(labels, queue.places) for labels, queue in queues],
    )
    yield Family(
        "trappoint_jobs",
        "counter",
        "Jobs by outcome.",
        [
            ({**labels, "outcome": outcome}, number)
            for labels, queue in queues
            for outcome, number in sorted(queue.counts.items())
        ],
    )
    yield Family(
        "trappoint_processes",
        "gauge",
        "Worker processes.",
        [({"state": "idle"}, state.idle), ({"state": "starting"}, state.starting)],
    )


def log_to_stderr() -> None:
    """Log requests to standard error, unless the surrounding server has a log."""
    LOG.setLevel(logging.INFO)
    if not LOG.hasHandlers():
        handler = logging.StreamHandler(sys.stderr)
        handler.setFormatter(logging.Formatter("%(message)s"))
        LOG.addHandler(handler)


def _log(route: str, status: int, seconds: float) -> None:
    """Log method, page, status and time; never the query or the body."""
    method = request.method if request.method.isalpha() else "-"
    LOG.info("%s %s %d %.0f ms", method[:10], route, status, seconds * 1000)
