"""The schemas of roads, parts plans and fitting sheets."""

from __future__ import annotations

from trappoint_service.openapi_values import (
    AMOUNT,
    COUNT,
    COUNTS,
    HEADING,
    HOLDS,
    LENGTH,
    LIES,
    TEXT,
    TEXT_OR_NULL,
    TEXTS,
    TRUTH,
    Schemas,
    many,
    or_null,
    record,
    ref,
    table_of,
)

_BY = {"enum": ["points", "direct"]}


def work_schemas() -> Schemas:
    """Return the schemas by name."""
    return {**_roads(), **_orders(), **_parts(), **_schemes(), **_sheets(), **_work_orders()}


def _roads() -> Schemas:
    outcomes = ["free", "clear-first", "no-road", "too-long", "locked-up", "given-up"]
    return {
        "Road": record(
            {
                "caution": TEXT,
                "from": TEXT,
                "to": TEXT,
                "outcome": {"enum": outcomes},
                "move_first": {**TEXTS, "description": "The trains to move first."},
                "least": {**TRUTH, "description": "Whether this is the fewest moves."},
                "standing": many(record({"train": TEXT, "in": TEXT})),
                "in_the_way": many(ref("InTheWay")),
                "orders": many(ref("Order")),
                "others": many(ref("OtherRoad")),
                "comes_to": TEXTS,
                "otherwise": TRUTH,
                "too_long": or_null(ref("TooLong")),
                "steps": many(ref("Step")),
            }
        ),
        "InTheWay": record({"train": TEXT, "places": TEXTS}),
        "OtherRoad": record(
            {
                "over": TEXTS,
                "arms": TEXTS,
                "stops": COUNT,
                "places": COUNT,
                "blocked": many(ref("InTheWay")),
                "too_long": or_null(ref("TooLong")),
            }
        ),
        "TooLong": record({"train": TEXT, "length_mm": LENGTH, "place": TEXT, "takes_mm": LENGTH}),
        "Step": {
            "description": "One step of one train.",
            "oneOf": [
                record({"train": TEXT, "do": {"const": "set-off"}, "heading": or_null(HEADING)}),
                record({"train": TEXT, "do": {"const": "take"}, "signal": TEXT, "over": TEXTS}),
                record({"train": TEXT, "do": {"const": "run"}, "to": TEXT}),
            ],
        },
    }


def _orders() -> Schemas:
    return {
        "Order": {
            **record(
                {
                    "train": TEXT,
                    "from": TEXT,
                    "to": TEXT,
                    "stops": COUNT,
                    "places": COUNT,
                    "stages": many(ref("Stage")),
                    "restore": many(ref("LeverWork")),
                }
            ),
            "description": "The signalman's work for one train.",
        },
        "Stage": record(
            {
                "sets_off": TRUTH,
                "heading": or_null(HEADING),
                "do": many(ref("LeverWork")),
                "arms": TEXTS,
                "over": TEXTS,
                "at_danger": many(record({"arm": TEXT, "by": _BY, "until": TEXT})),
                "locked": many(record({"switch": TEXT, "lie": TEXT, "word": TEXT, "until": TEXT})),
                "after": many(ref("LeverWork")),
            }
        ),
        "LeverWork": {
            "oneOf": [
                record({"do": {"const": "set"}, "points": LIES}, _lever()),
                record({"do": {"enum": ["off", "on"]}, "arms": TEXTS}, _lever()),
            ]
        },
    }


def _lever() -> Schemas:
    return {
        "lever": TEXT,
        "pull": TRUTH,
        "refused": {**TEXT, "description": "Why the frame does not allow it."},
    }


def _parts() -> Schemas:
    want = {"form": TEXT, "height_mm": LENGTH}
    return {
        "Parts": record(
            {
                "tool": TEXT,
                "version": TEXT,
                "caution": TEXT,
                "currency": TEXT,
                "met": {**TRUTH, "description": "Whether the store can provide all parts."},
                "undecided": TRUTH,
                "time_was_up": TRUTH,
                "without": many(ref("SignalOfPlan")),
                "needs": many(ref("Need")),
                "scheme": or_null(ref("Scheme")),
                "short": many(ref("Short")),
                "least_money": or_null(AMOUNT),
                "reasons": many(ref("PartsReason")),
                "leave_out": many(ref("SignalOfPlan")),
                "scheme_for_the_rest": or_null(ref("Scheme")),
            }
        ),
        "Short": record({"want": ref("Want"), "by": COUNT}),
        "SignalOfPlan": record({"plan": TEXT, "signal": TEXT}),
        "Need": record(
            {
                "plan": TEXT,
                "signal": TEXT,
                "arm": TEXT_OR_NULL,
                "doll": COUNT,
                "want": ref("Want"),
            }
        ),
        "PartsReason": {
            **record(
                {
                    "part": TEXT,
                    "text": TEXT,
                    "more_money": or_null(AMOUNT),
                    "more_minutes": {"type": ["integer", "null"]},
                }
            ),
            "description": "Why the scheme is best where it is surprising: the extra cost "
            "and work of the other way; null without another way.",
        },
        "Want": {
            "oneOf": [
                record({"mount": TEXT, "dolls": COUNT, **want}),
                record({"arm": TEXT, **want}),
            ]
        },
    }


def _schemes() -> Schemas:
    fitted = {
        "plan": TEXT,
        "signal": TEXT,
        "arm": TEXT_OR_NULL,
        "part": TEXT,
        "ready_made": {**TRUTH, "description": "Whether one piece serves as the whole signal."},
    }
    least = {"type": ["integer", "string", "null"]}
    return {
        "Scheme": {
            **record(
                {
                    "fit": many(record(fitted)),
                    "use_as_it_is": COUNTS,
                    "make": many(ref("Make")),
                    "buy": many(ref("ShopOrder")),
                    "bench": many(ref("BenchJob")),
                    "left_over": COUNTS,
                    "minutes": COUNT,
                    "totals": table_of(AMOUNT),
                    "counted_together": AMOUNT,
                    "proven": TRUTH,
                    "at_best": or_null(record({"of": TEXT, "least": least})),
                }
            ),
            "description": "Parts to use, make and buy. Amounts are strings with two decimals.",
        },
        "Make": record(
            {
                "recipe": TEXT,
                "times": COUNT,
                "at_hand": COUNTS,
                "uses": COUNTS,
                "yields": COUNTS,
                "minutes": COUNT,
            }
        ),
        "BenchJob": {
            **record(
                {
                    "plan": TEXT_OR_NULL,
                    "signal": TEXT_OR_NULL,
                    "take": many(
                        record(
                            {
                                "part": TEXT,
                                "count": COUNT,
                                "from": {"enum": ["drawer", "spare", "shop"]},
                                "shop": TEXT_OR_NULL,
                            }
                        )
                    ),
                    "make": many(record({"recipe": TEXT, "times": COUNT, "minutes": COUNT})),
                    "fit": many(record({"part": TEXT, "as": many(TEXT_OR_NULL)})),
                    "ready_made": TRUTH,
                    "minutes": COUNT,
                }
            ),
            "description": "The work for one signal, in order; without a signal, the work before "
            "all of them. The null in `as` stands for the mount.",
        },
        "Packs": record(
            {
                "offer": TEXT,
                "packs": COUNT,
                "contains": COUNTS,
                "each": AMOUNT,
                "cost": AMOUNT,
                "priced_on": TEXT_OR_NULL,
            }
        ),
        "ShopOrder": record(
            {
                "shop": TEXT,
                "name": TEXT,
                "currency": TEXT,
                "packs": many(ref("Packs")),
                "goods": AMOUNT,
                "postage": AMOUNT,
                "total": AMOUNT,
            }
        ),
    }


def _sheets() -> Schemas:
    today = {"work": ref("WorkOrder"), "make_first": table_of(TEXTS), "waiting": table_of(COUNTS)}
    return {
        "FittingSheet": record(
            {
                "title": TEXT,
                "holds": HOLDS,
                "posts": many(ref("Post")),
                "work": ref("WorkOrder"),
                "today": or_null(record(today)),
                "levers": many(
                    record({"number": TEXT, "points": TEXTS, "arms": TEXTS, "name": TEXT})
                ),
                "longest_train": or_null(record({"mm": COUNT, "place": TEXT})),
                "caution": TEXT,
            }
        ),
        "Post": record(
            {
                "signal": TEXT,
                "place": record(
                    {
                        "track": TEXT,
                        "datum": {
                            **TEXT,
                            "description": "The end of the track to measure from.",
                        },
                        "along_mm": LENGTH,
                        "side": {"enum": ["left", "right", None]},
                        "from_centre_mm": LENGTH,
                    }
                ),
                "facing": TEXT,
                "mount": TEXT,
                "form": TEXT,
                "dolls": COUNT,
                "arms": many(ref("PostArm")),
                "duties": TEXTS,
                "name": TEXT,
                "openings": record(
                    {
                        "taken": many(
                            record(
                                {
                                    "key": {"enum": ["side", "from_centre_mm"]},
                                    "value": {"type": ["string", "number", "null"]},
                                    "source": TEXT,
                                }
                            )
                        ),
                        "moved": or_null(
                            record(
                                {
                                    "by_mm": LENGTH,
                                    "from_leg_mm": LENGTH,
                                    "leg": TEXT,
                                    "surely": TRUTH,
                                    "because": {"enum": ["train", "post"]},
                                    "at_mm": LENGTH,
                                }
                            )
                        ),
                        "wanted": TEXTS,
                    }
                ),
            }
        ),
        "PostArm": record(
            {
                "id": TEXT,
                "doll": COUNT,
                "kind": TEXT,
                "speaks_to": TEXT_OR_NULL,
                "height_mm": LENGTH,
                "height_feet": LENGTH,
                "height_metres": LENGTH,
                "lever": TEXT_OR_NULL,
                "controls": TEXT,
            }
        ),
    }


def _work_orders() -> Schemas:
    return {
        "WorkOrder": record(
            {
                "barred": many(ref("OpenExit")),
                "decided": TRUTH,
                "stages": many(
                    record(
                        {
                            "signal": TEXT,
                            "holds": TRUTH,
                            "barred": many(ref("OpenExit")),
                            "decided": TRUTH,
                            "freed": many(ref("OpenExit")),
                            "name": TEXT,
                        }
                    )
                ),
            }
        ),
        "OpenExit": {
            **record({"stand": TEXT, "running": or_null(HEADING), "name": TEXT}),
            "description": "A stand, and the heading in which no train may leave it yet.",
        },
    }
