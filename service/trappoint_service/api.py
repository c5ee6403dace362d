"""The interface for programs, version 1. Its answers equal the output of the command line."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import TYPE_CHECKING

from flask import Blueprint, Response, request

from trappoint.core.findings import CAUTION
from trappoint.core.resources import read_resource
from trappoint_service.answers import SceneStates, Text
from trappoint_service.examples import examples
from trappoint_service.jobs import (
    CheckPlans,
    DeriveTable,
    DrawPlan,
    LayPlan,
    MakeFittingSheet,
    PlanParts,
    ProposeSignals,
    SetRoad,
    TryScene,
)
from trappoint_service.openapi import describe
from trappoint_service.problems import Problem, refused
from trappoint_service.request_options import wish_for_parts, wish_for_road, wish_for_signals
from trappoint_service.uploads import one_plan, plans_of_request, store_of_request

if TYPE_CHECKING:
    from trappoint_service.answers import Refusal
    from trappoint_service.pool import Pool


def make_api(pool: Pool, *, folder: bool = False) -> Blueprint:
    """Make the part of the application that answers programs.

    ``folder``: whether the service has the pages of a folder too.
    """
    api = Blueprint("api", __name__)

    @api.post("/api/v1/check")
    def check() -> Response:
        return _json(pool.run(CheckPlans(tuple(plans_of_request()))).text)

    @api.post("/api/v1/table")
    def table() -> Response:
        return _json(_text_of(pool.run(DeriveTable(one_plan()))))

    @api.post("/api/v1/draw")
    def draw() -> Response:
        text = _text_of(pool.run(DrawPlan(one_plan())))
        return Response(text, mimetype="image/svg+xml")

    @api.post("/api/v1/scene")
    def scene() -> Response:
        if request.mimetype != "application/json":
            raise Problem(415, "unsupported-media-type", "Send a scene as application/json.")
        answer = pool.run(TryScene(request.get_data(cache=False)))
        if isinstance(answer, SceneStates):
            return _dumped({**asdict(answer), "caution": CAUTION})
        raise refused(answer)

    @api.post("/api/v1/lay")
    def lay() -> Response:
        if request.mimetype != "application/json":
            raise Problem(415, "unsupported-media-type", "Send the plan as application/json.")
        return _json(_text_of(pool.run(LayPlan(request.get_data(cache=False)))))

    @api.post("/api/v1/road")
    def road() -> Response:
        return _json(_text_of(pool.run(SetRoad(one_plan(), wish_for_road(request.args)))))

    @api.post("/api/v1/propose")
    def propose() -> Response:
        plan, store = one_plan(), store_of_request()
        wish = wish_for_signals(request.args, pool.seconds_to_search)
        return _json(_text_of(pool.run(ProposeSignals(plan, wish, store or None))))

    @api.post("/api/v1/parts")
    def parts() -> Response:
        plan, store = one_plan(), store_of_request()
        if store is None:
            raise Problem(
                400, "no-store", "The form has no part `store`. Send the store beside `plan`."
            )
        wish = wish_for_parts(request.args, pool.seconds_to_search)
        return _json(_text_of(pool.run(PlanParts(plan, store, wish))))

    @api.post("/api/v1/fitting")
    def fitting() -> Response:
        plan, store = one_plan(), store_of_request()
        job = MakeFittingSheet(plan, store or None, pool.seconds_to_search)
        return _json(_text_of(pool.run(job)))

    @api.get("/api/v1/shapes")
    def shapes() -> Response:
        from trappoint.shapes.listing import shapes_as_data

        shown = [{"name": e.name, "title": e.title, "about": e.about} for e in examples()]
        return _dumped({"shapes": shapes_as_data(), "examples": shown})

    @api.get("/api/v1/schema/store")
    def schema_of_stores() -> Response:
        return Response(read_resource("store.schema.json"), mimetype="application/schema+json")

    @api.get("/api/v1/schema/layout")
    def schema() -> Response:
        return Response(read_resource("layout.schema.json"), mimetype="application/schema+json")

    @api.get("/openapi.json")
    def openapi() -> Response:
        # Behind a proxy, all addresses may begin with a prefix.
        return _dumped(
            {**describe(folder=folder), "servers": [{"url": request.script_root or "/"}]}
        )

    return api


def _text_of(answer: Text | Refusal) -> str:
    """Return the text of an answer. Raises Problem for a refusal."""
    if isinstance(answer, Text):
        return answer.text
    raise refused(answer)


def _json(text: str) -> Response:
    return Response(text, mimetype="application/json")


def _dumped(value: object) -> Response:
    return _json(json.dumps(value, indent=2) + "\n")
