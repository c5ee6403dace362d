"""The schemas of what the interface answers, for its description."""

from __future__ import annotations

from typing import Any

from trappoint.proposing.levels import LEVELS

Schemas = dict[str, Any]
"""JSON Schemas, by their names in the description."""


def schemas() -> Schemas:
    """Return the schemas of all answers."""
    return {
        **_checked(), **_tables(), **_proposals(), **_roads(), **_scenes(), **_problem(),
    }  # fmt: skip


def ref(name: str) -> dict[str, str]:
    """Return a reference to one of the schemas."""
    return {"$ref": f"#/components/schemas/{name}"}


def _object(required: dict[str, Any], optional: dict[str, Any] | None = None) -> dict[str, Any]:
    return {
        "type": "object",
        "required": list(required),
        "properties": {**required, **(optional or {})},
        "additionalProperties": False,
    }


def _list(items: dict[str, Any]) -> dict[str, Any]:
    return {"type": "array", "items": items}


_TEXT = {"type": "string"}
_TEXTS = _list(_TEXT)
_LIES = {"type": "object", "additionalProperties": _TEXT}
_HOLDS = {
    "type": ["boolean", "null"],
    "description": "Whether the plan holds; null where that could not be found out.",
}
_COUNT = {"type": "integer", "minimum": 0}
_MONEY = {"type": ["string", "null"], "description": "Null where there is no store."}


def _checked() -> Schemas:
    return {
        "Report": _object(
            {"tool": _TEXT, "version": _TEXT, "files": _list(ref("File")), "caution": _TEXT}
        ),
        "File": _object(
            {
                "file": _TEXT,
                "holds": _HOLDS,
                "findings": _list(ref("Finding")),
                "longest_train_mm": {
                    "type": ["integer", "null"],
                    "minimum": 0,
                    "description": "The longest train for which the verdict stands; null where "
                    "the plan does not hold or no length is known.",
                },
                "takes_for_granted": _TEXTS,
            }
        ),
        "Finding": _object(
            {
                "rule": _TEXT,
                "level": {"enum": ["error", "warning", "note"]},
                "pointer": {**_TEXT, "description": "A JSON pointer (RFC 6901)."},
                "line": _COUNT,
                "column": _COUNT,
                "message": _TEXT,
                "why": _TEXT,
                "fix": _TEXT,
                "path": _TEXTS,
            },
            {"file": {**_TEXT, "description": "The file of a board, where it stands there."}},
        ),
    }


def _tables() -> Schemas:
    return {
        "Table": _object(
            {
                "arms": _list(ref("Arm")),
                "signals": _list(_object({"signal": _TEXT, "duties": _TEXTS})),
                "holds": _HOLDS,
                "pairs": _object({"all": _COUNT, "conflicting": _COUNT}),
                "takes_for_granted": _TEXTS,
                "caution": _TEXT,
            }
        ),
        "Arm": _object(
            {
                "arm": _TEXT,
                "signal": _TEXT,
                "kind": {"enum": ["stop", "distant", "calling-on", "shunt"]},
                "duties": _TEXTS,
                "meaning": _TEXT,
                "routes": _list(ref("Route")),
                "conflicts": _list(ref("Conflict")),
            }
        ),
        "Route": _object(
            {"from": _TEXT, "over": _TEXTS, "ends_at": _TEXT, "points": _LIES}, {"past": _TEXTS}
        ),
        "Conflict": _object({"arm": _TEXT, "by": {"enum": ["points", "direct"]}}, {"when": _LIES}),
    }


def _proposals() -> Schemas:
    return {
        "Proposals": _object(
            {
                "level": {"enum": list(LEVELS)},
                "repair": {"type": "boolean"},
                "currency": _MONEY,
                "caution": _TEXT,
                "proposals": _list(ref("Proposal")),
            }
        ),
        "Proposal": _object(
            {
                "holds": _HOLDS,
                "signals": _COUNT,
                "arms": _COUNT,
                "worth": {**_COUNT, "description": "New signals and arms; or signals changed."},
                "bound": {**_COUNT, "description": "No plan is worth less than this."},
                "least": {"type": "boolean"},
                "cost": _MONEY,
                "reasons": _list(ref("Reason")),
                "distants": _TEXTS,
                "dropped": _TEXTS,
                "findings": _list(ref("Finding")),
                "plan": {**_TEXT, "description": "The text of the plan."},
            }
        ),
        "Reason": _object(
            {
                "signal": _TEXT,
                "state": {"enum": ["new", "moved", "kept", "gone"]},
                "track": _TEXT,
                "for": {"enum": ["down", "up"]},
                "arms": _list(_object({"arm": _TEXT, "meaning": _TEXT})),
                "duties": _TEXTS,
                "without": _TEXT,
                "done": _TEXTS,
            }
        ),
    }


def _roads() -> Schemas:
    return {
        "Road": _object(
            {
                "caution": _TEXT,
                "from": _TEXT,
                "to": _TEXT,
                "outcome": {
                    "enum": [
                        "free",
                        "clear-first",
                        "no-road",
                        "too-long",
                        "locked-up",
                        "given-up",
                    ],
                },
                "move_first": {**_TEXTS, "description": "The trains to be moved first."},
                "least": {"type": "boolean", "description": "Whether fewer moves will not do."},
                "standing": _list(_object({"train": _TEXT, "in": _TEXT})),
                "in_the_way": _list(_object({"train": _TEXT, "places": _TEXTS})),
                "orders": _list({"type": "object", "description": "What the signalman does."}),
                "others": _list({"type": "object", "description": "A road not chosen, and why."}),
                "comes_to": _TEXTS,
                "otherwise": {"type": "boolean"},
                "too_long": {
                    "type": ["object", "null"],
                    "description": "Where the train does not fit.",
                },
                "steps": _list({"type": "object", "description": "One step of one train."}),
            }
        ),
    }


def _scenes() -> Schemas:
    return {
        "Scene": _object(
            {
                "arms": _list(
                    _object(
                        {
                            "arm": _TEXT,
                            "state": {"enum": ["off", "wrong", "may", "must-not"]},
                            "because": _TEXTS,
                        }
                    )
                ),
                "points": _list(_object({"message": _TEXT, "fix": _TEXT})),
            }
        ),
    }


def _problem() -> Schemas:
    return {
        "Problem": {
            "type": "object",
            "required": ["type", "title", "status", "detail"],
            "properties": {
                "type": {"type": "string", "format": "uri"},
                "title": _TEXT,
                "status": {"type": "integer"},
                "detail": _TEXT,
                "report": ref("File"),
            },
        },
    }
