"""Building a plan, for the OpenAPI description: the request, the answer and their schemas."""

from __future__ import annotations

from typing import Any

from trappoint.core.findings import CAUTION
from trappoint.core.resources import read_resource
from trappoint_service.lay_requests import (
    MAX_BOARDS,
    MAX_PLACES,
    MAX_STEPS,
    PARTS,
    USUAL_PARTS,
)
from trappoint_service.openapi_values import (
    COUNT,
    TEXT,
    TEXT_OR_NULL,
    TEXTS,
    TRUTH,
    Schema,
    Schemas,
    many,
    or_null,
    record,
    ref,
    table_of,
)

_NUMBER: Schema = {"type": "integer"}
_NUMBERS = many(_NUMBER)
_STEP: Schema = {
    "type": "object",
    "required": ["do"],
    "properties": {"do": {**TEXT, "description": "What to do, a verb."}},
    "description": "One step. Its other keys depend on the verb: `offers` has whole steps.",
}
_PLACE: Schema = {
    **TEXT,
    "description": "`plan`, or a kind and an id: `tracks/ID`, `tracks/ID/up`, `points/ID/toe`, "
    "`signals/ID`, `arms/ID`, `platforms/ID`.",
}


def body_of_lay() -> Schema:
    """Return the description of the request."""
    wish = {
        "type": "object",
        "required": ["plan", "steps"],
        "additionalProperties": False,
        "properties": {
            "plan": {**TEXT_OR_NULL, "description": "The text of a plan; null for a new plan."},
            "steps": {
                **many(_STEP),
                "maxItems": MAX_STEPS,
                "description": "The steps to take, in this order. If one is refused, none is "
                "taken.",
            },
            "at": {
                **many(_PLACE),
                "maxItems": MAX_PLACES,
                "description": "The places for which the answer offers steps.",
            },
            "before": {
                "description": "The `memory` of the diagram before, so that the new one moves "
                "little; null for none.",
            },
            "want": {
                **many({"enum": list(PARTS)}),
                "default": list(USUAL_PARTS),
                "description": "The parts of the answer.",
            },
            "boards": {
                **table_of(TEXT),
                "maxProperties": MAX_BOARDS,
                "description": "The texts of the plans of boards, under the names of their files.",
            },
        },
    }
    example = {
        "plan": read_resource("kelpie-quay.layout.json"),
        "steps": [],
        "at": ["plan"],
        "before": None,
        "want": list(PARTS),
    }
    return {"required": True, "content": {"application/json": {"schema": wish, "example": example}}}


EXAMPLE: dict[str, Any] = {
    "plan": "",
    "said": [],
    "touched": [],
    "diagram": None,
    "offers": [],
    "caution": CAUTION,
}
"""An answer to a request that begins with nothing."""


def lay_schemas() -> Schemas:
    """Return the schemas of the answer, by name."""
    parts = {
        "report": ref("File"),
        "diagram": or_null(ref("Diagram")),
        "work": or_null(ref("WorkData")),
        "outline": {**TEXTS, "description": "What leads where, as sentences."},
        "offers": many(ref("Offers")),
        "fixes": many(ref("QuickFix")),
    }
    laid = {
        "plan": {**TEXT, "description": "The text of the plan after all steps."},
        "said": {**TEXTS, "description": "A sentence for each step."},
        "touched": {**many(_PLACE), "description": "The places that are new or changed."},
        "caution": TEXT,
    }
    return {
        "Laid": {**record(laid, parts), "description": "It has the parts that `want` names."},
        "Diagram": record(
            {
                "svg": TEXT,
                "memory": {"description": "Send it as `before` with the next request."},
            }
        ),
        **_offers(),
        **_beginnings(),
        **_work(),
    }


def _beginnings() -> Schemas:
    """Return the schemas of what a plan can begin with."""
    option = {"key": TEXT, "label": TEXT, "told": TEXT, "usual": {"type": ["string", "number"]}}
    number: Schema = {"type": "number"}
    return {
        "Beginnings": record(
            {
                "shapes": many(ref("Shape")),
                "examples": many(record({"name": TEXT, "title": TEXT, "about": TEXT})),
            }
        ),
        "Shape": record(
            {
                **{"shape": TEXT, "called": TEXT, "told": TEXT},
                "ends": {**TRUTH, "description": "Whether the line ends there."},
                "closed": {**TRUTH, "description": "Whether it is a circuit."},
                "options": many(ref("ShapeOption")),
            }
        ),
        "ShapeOption": {
            "description": "An option with its default, and its choices or its range.",
            "oneOf": [
                record({**option, "choices": TEXTS}),
                record({**option, "least": number, "most": number, "unit": TEXT}),
            ],
        },
    }


def _offers() -> Schemas:
    value: Schema = {"type": ["string", "number", "boolean", "null"]}
    return {
        "Offers": {
            **record({"at": _PLACE, "called": TEXT, "can": many(ref("Offer"))}),
            "description": "The steps that can be taken at one place, and its name.",
        },
        "Offer": {
            **record(
                {
                    "label": TEXT,
                    "group": {
                        **TEXT,
                        "description": "The heading under which a list folds it; empty for one of "
                        "the acts that people do first.",
                    },
                    "step": _STEP,
                    "asks": many(ref("Ask")),
                }
            ),
            "description": "A step. Put the answer to each question into it, under its key.",
        },
        "Ask": record(
            {
                "key": TEXT,
                "label": TEXT,
                "kind": {"enum": ["choice", "number", "text", "yes"]},
                "value": {**value, "description": "The default."},
                "choices": many(record({"value": value, "label": TEXT})),
                "unit": TEXT,
                "optional": TRUTH,
            }
        ),
        "QuickFix": {
            **record(
                {
                    "finding": {**COUNT, "description": "The index of the finding in the report."},
                    "label": TEXT,
                    "step": or_null(_STEP),
                    "text": {**TEXT_OR_NULL, "description": "The text of the mended plan."},
                }
            ),
            "description": "A step, or a text, with which one finding is gone.",
        },
    }


def _work() -> Schemas:
    """Return the schemas of the data for the diagram that works. Numbers are indexes of lists."""
    data = {
        "title": TEXT,
        "switches": many(ref("WorkSwitch")),
        "groups": many(
            record({"switches": _NUMBERS, "settings": many(record({"word": TEXT, "lies": TEXTS}))})
        ),
        "places": many(ref("WorkPlace")),
        "heads": many(record({"signal": TEXT, "stop": _NUMBERS, "shunt": _NUMBERS})),
        "routes": many(ref("WorkRoute")),
        "arms": many(ref("WorkArm")),
        "frame": or_null(ref("WorkFrame")),
        "roads": ref("WorkRoads"),
        "trains": TEXTS,
        "train_ids": TEXTS,
        "plays": many(record({"title": TEXT, "frames": many(ref("WorkMoment"))})),
    }
    pair = {**many({"type": ["integer", "boolean"]}), "minItems": 2, "maxItems": 2}
    lies = many({"type": "array", "minItems": 2, "maxItems": 2})
    return {
        "WorkData": {
            **record(data),
            "description": "Points, arms, levers and trains for the diagram that works, all by "
            "their index in these lists.",
        },
        "WorkSwitch": record(
            {"id": TEXT, "called": TEXT, "kind": TEXT, "normal": TEXT_OR_NULL, "place": _NUMBER}
        ),
        "WorkPlace": record(
            {
                **{"name": TEXT, "called": TEXT, "kind": TEXT, "id": TEXT},
                **{"part": COUNT, "parts": COUNT, "stand": TRUTH},
            }
        ),
        "WorkRoute": record(
            {
                **{"head": COUNT, "states": _NUMBERS, "needs": lies},
                **{"faces": _NUMBER, "past": many(many(_NUMBERS))},
            }
        ),
        "WorkArm": record(
            {"id": TEXT, "called": TEXT, "kind": TEXT, "routes": _NUMBERS, "never": lies},
            {
                **{"elsewhere": TRUTH, "above": {}, "first": {"type": "array"}},
                **{"repeats": {"type": "array"}, "beside": {}},
            },
        ),
        "WorkFrame": record(
            {
                "levers": many(
                    record(
                        {"number": TEXT, "plate": TEXT, "colour": TEXT, "works": {}, "arms": TEXTS}
                    )
                ),
                "lies": lies,
                "entries": many(
                    record(
                        {
                            **{"lever": COUNT, "relation": TEXT, "others": many(pair)},
                            **{"when": many(pair), "text": TEXT},
                        }
                    )
                ),
            }
        ),
        "WorkRoads": record(
            {
                **{"place_of": _NUMBERS, "facing": _NUMBERS, "may_stop": _NUMBERS},
                **{"stands": lies, "free": many(many({"type": "array"}))},
                **{"leave": many({"type": "array"}), "to_edge": table_of(_NUMBERS)},
            }
        ),
        "WorkMoment": record(
            {
                **{"title": TEXT, "points": table_of(TEXT), "off": TEXTS},
                **{"trains": many(TEXTS), "lines": TEXTS},
            }
        ),
    }
