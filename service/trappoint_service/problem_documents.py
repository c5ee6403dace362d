"""Problem documents (RFC 9457) as text."""

from __future__ import annotations

import json

MIMETYPE = "application/problem+json"


def title_of(kind: str) -> str:
    """Return the kind of a problem as a heading."""
    return kind.replace("-", " ").capitalize()


def problem_document(status: int, kind: str, detail: str, **more: object) -> str:
    """Return a problem document as JSON text."""
    document = {
        "type": f"urn:trappoint:problem:{kind}",
        "title": title_of(kind),
        "status": status,
        "detail": detail,
        **more,
    }
    return json.dumps(document, indent=2) + "\n"
