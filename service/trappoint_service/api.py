"""The interface for programs, version 1. It answers as the command line prints."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flask import Blueprint, Response, request

from trappoint.core.resources import read_resource
from trappoint_service.openapi import describe
from trappoint_service.problems import Problem
from trappoint_service.roads import wish_for_road
from trappoint_service.uploads import one_plan, plans_of_request, store_of_request

if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import Any

    from werkzeug.datastructures import MultiDict

    from trappoint_service.pool import Pool
    from trappoint_service.uploads import Plan


def make_api(pool: Pool) -> Blueprint:
    """Make the part of the application that programs talk to."""
    api = Blueprint("api", __name__)

    @api.post("/api/v1/check")
    def check() -> Response:
        plans = plans_of_request()
        files = [(plan.name, len(plan.content)) for plan in plans]
        content = b"".join(plan.content for plan in plans)
        return _json(pool.run({"job": "check", "files": files}, content))

    @api.post("/api/v1/table")
    def table() -> Response:
        plan = one_plan()
        return _json(_text_of(pool.run({"job": "table", "name": plan.name}, plan.content)))

    @api.post("/api/v1/draw")
    def draw() -> Response:
        plan = one_plan()
        text = _text_of(pool.run({"job": "draw", "name": plan.name}, plan.content))
        return Response(text, mimetype="image/svg+xml")

    @api.post("/api/v1/scene")
    def scene() -> Response:
        if request.mimetype != "application/json":
            raise Problem(415, "unsupported-media-type", "This is asked as application/json.")
        found = pool.run({"job": "scene"}, request.get_data(cache=False))
        if "bad" in found:
            raise Problem(400, "bad-request", found["bad"])
        if "arms" not in found:
            raise _underivable(found)
        return _dumped(found)

    @api.post("/api/v1/road")
    def road() -> Response:
        plan = one_plan()
        job = {"job": "road", "name": plan.name, "wish": wish_for_road(request.args)}
        found = pool.run(job, plan.content)
        if "bad" in found:
            raise Problem(422, "no-such-place", found["bad"])
        return _json(_text_of(found))

    @api.post("/api/v1/propose")
    def propose() -> Response:
        plan = one_plan()
        wish = wish_for_signals(request.args, pool.seconds_to_search)
        return _json(
            _text_of(pool.run({"job": "propose", "name": plan.name, **wish}, plan.content))
        )

    @api.post("/api/v1/parts")
    def parts() -> Response:
        plan, store = one_plan(), store_of_request()
        if store is None:
            raise Problem(400, "no-store", "A store is sent as a part `store`, beside `plan`.")
        wish = wish_for_parts(request.args, pool.seconds_to_search)
        return _json(_of_bench(_run_bench(pool, "parts", plan, store, wish)))

    @api.post("/api/v1/fitting")
    def fitting() -> Response:
        plan, store = one_plan(), store_of_request()
        wish = {"seconds": pool.seconds_to_search}
        return _json(_of_bench(_run_bench(pool, "fitting", plan, store or b"", wish)))

    @api.get("/api/v1/schema/store")
    def schema_of_stores() -> Response:
        return Response(read_resource("store.schema.json"), mimetype="application/schema+json")

    @api.get("/api/v1/schema/layout")
    def schema() -> Response:
        return Response(read_resource("layout.schema.json"), mimetype="application/schema+json")

    @api.get("/openapi.json")
    def openapi() -> Response:
        return _dumped(describe())

    return api


def wish_for_signals(given: Mapping[str, str], seconds: float) -> dict[str, Any]:
    """Return what is asked of proposals: their level, whether the plan's signals may go."""
    from trappoint.proposing.levels import LEVELS

    level, repair = given.get("level", "least"), given.get("repair", "no")
    if level not in LEVELS:
        raise Problem(400, "bad-request", f"`level` must be one of {', '.join(LEVELS)}.")
    if repair not in ("yes", "no"):
        raise Problem(400, "bad-request", "`repair` must be yes or no.")
    return {"level": level, "repair": repair == "yes", "seconds": seconds}


def wish_for_parts(given: MultiDict[str, str], seconds: float) -> dict[str, Any]:
    """Return what is asked of the parts: signals to leave out, and the most money."""
    from trappoint.parts.money import parse_amount

    try:
        at_most = parse_amount(given["at_most"]) if "at_most" in given else None
    except ValueError:
        raise Problem(400, "bad-request", "`at_most` must be an amount such as 25.50.") from None
    return {"without": given.getlist("without"), "at_most": at_most, "seconds": seconds}


def _run_bench(
    pool: Pool, job: str, plan: Plan, store: bytes, wish: dict[str, Any]
) -> dict[str, Any]:
    asked = {"job": job, "name": plan.name, "size": len(plan.content), **wish}
    found: dict[str, Any] = pool.run(asked, plan.content + store)
    return found


def _of_bench(found: dict[str, Any]) -> str:
    if "bad" in found:
        raise Problem(422, "parts-not-usable", found["bad"])
    return _text_of(found)


def _text_of(found: dict[str, Any]) -> str:
    if "cannot" in found:
        raise Problem(422, "nothing-to-propose", found["cannot"])
    if "text" not in found:
        raise _underivable(found)
    text: str = found["text"]
    return text


def _underivable(found: dict[str, Any]) -> Problem:
    more = {"report": found["report"]} if found.get("report") else {}
    return Problem(422, "plan-not-usable", f"This plan {found['why']}", **more)


def _json(text: str) -> Response:
    return Response(text, mimetype="application/json")


def _dumped(value: object) -> Response:
    import json

    return _json(json.dumps(value, indent=2) + "\n")
