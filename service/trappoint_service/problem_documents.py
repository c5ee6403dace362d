"""Problem documents (RFC 9457) as text: the same shape wherever one is written."""

from __future__ import annotations

import json

MIMETYPE = "application/problem+json"


def title_of(kind: str) -> str:
    """Return the kind of a problem in words."""
    return kind.replace("-", " ").capitalize()


def problem_document(status: int, kind: str, detail: str, **more: object) -> str:
    """Return a problem document."""
    told = {
        "type": f"urn:trappoint:problem:{kind}",
        "title": title_of(kind),
        "status": status,
        "detail": detail,
        **more,
    }
    return json.dumps(told, indent=2) + "\n"
