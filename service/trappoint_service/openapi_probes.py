"""The OpenAPI 3.1 description of the addresses for monitoring."""

from __future__ import annotations

from trappoint_service.openapi_values import COUNT, TEXT, Schema, or_null, record, ref

_PLACE = record({"place": COUNT, "waiting": COUNT, "seconds": COUNT})


def paths_of_probes() -> Schema:
    """Return the paths for monitoring and for places in the queue."""
    ready: Schema = {"text/plain": {"schema": {"type": "string", "const": "ready\n"}}}
    health: Schema = {"text/plain": {"schema": {"type": "string", "const": "ok\n"}}}
    metrics: Schema = {"application/openmetrics-text": {"schema": TEXT}}
    place: Schema = {"application/json": {"schema": or_null(_PLACE)}}
    hidden = _problem("This client may not read the counters.")
    ticket = {"name": "ticket", "in": "path", "required": True, "schema": TEXT}
    return {
        "/healthz": {"get": _get("health", "Report that the service runs", health)},
        "/readyz": {
            "get": _get("ready", "Report whether the service accepts a plan", ready)
            | {"responses": _answers(ready) | {"503": {"$ref": "#/components/responses/503"}}}
        },
        "/metrics": {
            "get": _get("metrics", "Return the counters, as OpenMetrics 1.0", metrics)
            | {"responses": _answers(metrics) | {"404": hidden}}
        },
        "/queue/{ticket}": {
            "parameters": [ticket],
            "get": _get("place", "Return the place of a request in the queue, or null", place),
        },
    }


def _get(name: str, summary: str, content: Schema) -> Schema:
    return {
        "tags": ["programs"],
        "operationId": name,
        "summary": summary,
        "responses": _answers(content),
    }


def _answers(content: Schema) -> Schema:
    return {
        "200": {"description": "The answer.", "content": content},
        "406": {"$ref": "#/components/responses/406"},
    }


def _problem(description: str) -> Schema:
    content = {"application/problem+json": {"schema": ref("Problem")}}
    return {"description": description, "content": content}
