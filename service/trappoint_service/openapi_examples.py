"""Examples of what the interface takes and answers, for its description."""

from __future__ import annotations

from typing import Any

from trappoint import __version__
from trappoint.core.findings import CAUTION

GRANTED = "Drivers stop at a signal at danger."

REPORT: dict[str, Any] = {
    "tool": "trappoint",
    "version": __version__,
    "files": [
        {
            "file": "thistle-wharf.layout.json",
            "holds": None,
            "findings": [
                {
                    "rule": "not-json",
                    "level": "error",
                    "pointer": "",
                    "line": 4,
                    "column": 3,
                    "message": "A comma is missing.",
                    "why": "A plan is JSON (RFC 8259).",
                    "fix": "Put a comma in front of this.",
                    "path": [],
                }
            ],
            "longest_train_mm": None,
            "takes_for_granted": [],
        }
    ],
    "caution": CAUTION,
}

TABLE: dict[str, Any] = {
    "arms": [
        {
            "arm": "2",
            "signal": "2",
            "kind": "stop",
            "duties": ["starter platform A"],
            "meaning": "Gives leave to run from main to quarry-line.",
            "routes": [
                {
                    "from": "main",
                    "over": ["quarry-line"],
                    "ends_at": "quarry-line",
                    "points": {"p2": "left"},
                }
            ],
            "conflicts": [{"arm": "7L", "by": "direct"}],
        }
    ],
    "signals": [{"signal": "2", "duties": ["starter platform A"]}],
    "holds": True,
    "levers": False,
    "pairs": {"all": 45, "conflicting": 20},
    "takes_for_granted": [GRANTED],
    "caution": CAUTION,
}

SCENE: dict[str, Any] = {
    "arms": [
        {"arm": "1L", "state": "off", "because": []},
        {"arm": "1R", "state": "must-not", "because": ["1R needs p1 right, and p1 lies left."]},
    ],
    "points": [],
    "caution": CAUTION,
}

STORE: dict[str, Any] = {
    "format": "trappoint-store/1",
    "currency": "GBP",
    "parts": {
        "post": {"owned": 4, "as_mount": {"mounts": ["post"], "forms": ["upper-quadrant"]}},
        "bracket": {"owned": 3, "as_mount": {"mounts": ["bracket"], "dolls": 2}},
        "arm": {"owned": 9, "as_arm": {"kinds": ["stop"], "forms": ["upper-quadrant"]}},
    },
    "shops": {
        "tin-box": {
            "postage": "3.20",
            "offers": {"SA4": {"contains": {"arm": 4}, "price": "5.60"}},
        }
    },
}
"""A store with parts for all signals of Kelpie Quay."""

_PROBLEMS = {
    400: ("unknown-query-parameter", 'The query parameter "nmae" is unknown. Is name meant?'),
    406: ("not-acceptable", "The client accepts neither plain nor gzip answers."),
    413: (
        "request-entity-too-large",
        "The request is too large.",
    ),
    415: (
        "unsupported-media-type",
        "Send a plan as application/json.",
    ),
    422: ("takes-too-long", "The plan needs more time than this service allows."),
    503: ("busy", "The service is busy. Please try again soon."),
}


def problem(status: int) -> dict[str, Any]:
    """Return a problem of this status."""
    kind, detail = _PROBLEMS[status]
    return {
        "type": f"urn:trappoint:problem:{kind}",
        "title": kind.replace("-", " ").capitalize(),
        "status": status,
        "detail": detail,
    }
