"""The schemas of the answers, for the OpenAPI description."""

from __future__ import annotations

from trappoint.proposing.levels import LEVELS
from trappoint_service.openapi_lay import lay_schemas
from trappoint_service.openapi_values import (
    COUNT,
    HEADING,
    HOLDS,
    LIES,
    TEXT,
    TEXTS,
    TRUTH,
    Schemas,
    many,
    record,
    ref,
)
from trappoint_service.openapi_work_schemas import work_schemas

_MONEY = {"type": ["string", "null"], "description": "Null if there is no store."}


def schemas() -> Schemas:
    """Return the schemas of all answers."""
    return {
        **_checked(),
        **_tables(),
        **_proposals(),
        **_scenes(),
        **_problem(),
        **work_schemas(),
        **lay_schemas(),
    }


def _checked() -> Schemas:
    return {
        "Report": record(
            {"tool": TEXT, "version": TEXT, "files": many(ref("File")), "caution": TEXT}
        ),
        "File": record(
            {
                "file": TEXT,
                "holds": HOLDS,
                "findings": many(ref("Finding")),
                "longest_train_mm": {
                    "type": ["integer", "null"],
                    "minimum": 0,
                    "description": "The longest train that the verdict covers; null if the "
                    "plan does not hold or gives no lengths.",
                },
                "takes_for_granted": TEXTS,
            }
        ),
        "Finding": record(
            {
                "rule": TEXT,
                "level": {"enum": ["error", "warning", "note"]},
                "pointer": {**TEXT, "description": "A JSON pointer (RFC 6901)."},
                "line": COUNT,
                "column": COUNT,
                "message": TEXT,
                "why": TEXT,
                "fix": TEXT,
                "path": TEXTS,
            },
            {
                "file": {
                    **TEXT,
                    "description": "The file of the board, for a finding about a board.",
                }
            },
        ),
    }


def _tables() -> Schemas:
    return {
        "Table": record(
            {
                "arms": many(ref("Arm")),
                "signals": many(record({"signal": TEXT, "duties": TEXTS})),
                "holds": HOLDS,
                "levers": {
                    "type": "boolean",
                    "description": "Whether a lever frame locks the arms; else the operator must.",
                },
                "pairs": record({"all": COUNT, "conflicting": COUNT}),
                "takes_for_granted": TEXTS,
                "caution": TEXT,
            }
        ),
        "Arm": record(
            {
                "arm": TEXT,
                "signal": TEXT,
                "kind": {"enum": ["stop", "distant", "calling-on", "shunt"]},
                "duties": TEXTS,
                "meaning": TEXT,
                "routes": many(ref("Route")),
                "conflicts": many(ref("Conflict")),
            }
        ),
        "Route": record(
            {"from": TEXT, "over": TEXTS, "ends_at": TEXT, "points": LIES}, {"past": TEXTS}
        ),
        "Conflict": record({"arm": TEXT, "by": {"enum": ["points", "direct"]}}, {"when": LIES}),
    }


def _proposals() -> Schemas:
    return {
        "Proposals": record(
            {
                "level": {"enum": list(LEVELS)},
                "repair": TRUTH,
                "currency": _MONEY,
                "caution": TEXT,
                "proposals": many(ref("Proposal")),
                "not_to_be_had": {
                    **many(record({"signals": COUNT, "arms": COUNT, "short": many(ref("Short"))})),
                    "description": "The proposals for which the store lacks parts.",
                },
            }
        ),
        "Proposal": record(
            {
                "holds": HOLDS,
                "use": {**TEXT, "description": "The use of the proposal, in a sentence."},
                "signals": COUNT,
                "arms": COUNT,
                "worth": {
                    **COUNT,
                    "description": "The number of new signals and arms, or of changed signals.",
                },
                "bound": {**COUNT, "description": "No proposal has a lower `worth`."},
                "least": TRUTH,
                "cost": _MONEY,
                "short_at_home": {
                    **many(ref("Short")),
                    "description": "The parts that the club neither owns nor makes from its own.",
                },
                "short": many(ref("Short")),
                "buy": many(ref("ShopOrder")),
                "reasons": many(ref("Reason")),
                "distants": TEXTS,
                "dropped": TEXTS,
                "findings": many(ref("Finding")),
                "plan": {**TEXT, "description": "The text of the plan."},
            }
        ),
        "Reason": record(
            {
                "signal": TEXT,
                "state": {"enum": ["new", "moved", "kept", "gone"]},
                "track": TEXT,
                "for": HEADING,
                "arms": many(record({"arm": TEXT, "meaning": TEXT})),
                "duties": TEXTS,
                "without": TEXT,
                "done": TEXTS,
            }
        ),
    }


def _scenes() -> Schemas:
    return {
        "Scene": record(
            {
                "arms": many(
                    record(
                        {
                            "arm": TEXT,
                            "state": {"enum": ["off", "wrong", "may", "must-not"]},
                            "because": TEXTS,
                        }
                    )
                ),
                "points": many(record({"message": TEXT, "fix": TEXT})),
                "caution": TEXT,
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
                "title": TEXT,
                "status": {"type": "integer"},
                "detail": TEXT,
                "report": ref("File"),
                "caution": {**TEXT, "description": "Given with a report."},
                "step": {**COUNT, "description": "The number of the step that is refused."},
                "fix": {**TEXT, "description": "What to do about a step that is refused."},
            },
        },
    }
