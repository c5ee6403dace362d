"""The OpenAPI 3.1 description of the interface."""

from __future__ import annotations

import json
import re
from functools import cache
from typing import Any

from trappoint import __version__
from trappoint.core.findings import CAUTION
from trappoint.core.resources import read_resource
from trappoint.proposing.levels import LEVELS
from trappoint_service.openapi_examples import REPORT, SCENE, STORE, TABLE, problem
from trappoint_service.openapi_folder import paths_of_folder
from trappoint_service.openapi_lay import EXAMPLE as LAID
from trappoint_service.openapi_lay import body_of_lay
from trappoint_service.openapi_pages import paths_of_pages
from trappoint_service.openapi_probes import paths_of_probes
from trappoint_service.openapi_schemas import schemas
from trappoint_service.openapi_values import ref

_PLAN = {
    "description": "The plan, the same JSON as in its file. The answer lists all mistakes in it.",
}
_TAGS = ["programs"]
_SCHEMA = {"type": "object", "required": ["$schema", "$id", "type", "properties", "$defs"]}
_OPENAPI = {"type": "object", "required": ["openapi", "info", "paths", "components"]}


def path_of(rule: str) -> str:
    """Return a URL rule of Flask, such as ``/rules/<name>``, as an OpenAPI path."""
    return re.sub(r"<(?:\w+:)?(\w+)>", r"{\1}", rule)


@cache
def describe(*, folder: bool = False) -> dict[str, Any]:
    """Return the description; with ``folder``, of a service that has the pages of a folder too."""
    paths = {**_paths(), **paths_of_probes(), **paths_of_pages()}
    if folder:
        paths = {**paths, "/form": paths["/"], **paths_of_folder()}
    kept = "The service stores nothing that you send"
    kept += ", except what you save into the folder." if folder else "."
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "Trappoint",
            "version": __version__,
            "summary": "Checks the signalling plans of model railways.",
            "description": f"{CAUTION} {kept}",
            "license": {"name": "MIT", "identifier": "MIT"},
        },
        "servers": [{"url": "/"}],
        "tags": [
            {"name": "programs", "description": "The interface for programs."},
            {"name": "people", "description": "The pages."},
            *([{"name": "folder", "description": "The files of the folder."}] if folder else ()),
        ],
        "paths": paths,
        "components": {"schemas": schemas(), "responses": _problems()},
    }


def _paths() -> dict[str, Any]:
    """Return the paths for programs."""
    return {
        "/api/v1/check": {"post": _check()},
        "/api/v1/table": {"post": _table()},
        "/api/v1/draw": {"post": _draw()},
        "/api/v1/scene": {"post": _scene()},
        "/api/v1/lay": {"post": _lay()},
        "/api/v1/road": {"post": _road()},
        "/api/v1/propose": {"post": _propose()},
        "/api/v1/parts": {"post": _parts()},
        "/api/v1/fitting": {"post": _fitting()},
        "/api/v1/shapes": {"get": _shapes()},
        "/api/v1/schema/layout": {"get": _schema()},
        "/api/v1/schema/store": {"get": _schema_of_stores()},
        "/openapi.json": {"get": _itself()},
    }


def _sent(*, many: bool) -> dict[str, Any]:
    files = {"type": "string", "contentMediaType": "application/json"}
    several = {"type": "array", "items": files, "minItems": 1}
    plan: dict[str, Any] = {"anyOf": [files, several]} if many else files
    form = {
        "type": "object",
        "required": ["plan"],
        "properties": {"plan": plan},
        "additionalProperties": False,
    }
    example = json.loads(read_resource("kelpie-quay.layout.json"))
    return {
        "required": True,
        "content": {
            "application/json": {"schema": _PLAN, "example": example},
            "multipart/form-data": {"schema": form},
        },
    }


def _named() -> list[dict[str, Any]]:
    return [
        {
            "name": "name",
            "in": "query",
            "description": "The name of the plan in the answer, if it is sent as JSON.",
            "schema": {"type": "string", "minLength": 1, "maxLength": 200, "pattern": "^[!-~]+$"},
            "example": "kelpie-quay.layout.json",
        }
    ]


def _answers(ok: dict[str, Any], *problems: int) -> dict[str, Any]:
    told = {str(code): {"$ref": f"#/components/responses/{code}"} for code in problems}
    return {"200": ok, **told, "406": {"$ref": "#/components/responses/406"}}


def _json(description: str, schema: dict[str, Any], example: object = None) -> dict[str, Any]:
    media = {"schema": schema} if example is None else {"schema": schema, "example": example}
    return {"description": description, "content": {"application/json": media}}


_USUAL = (400, 413, 415, 422, 503)


def _check() -> dict[str, Any]:
    return {
        "tags": _TAGS,
        "operationId": "check",
        "summary": "Check plans",
        "description": "The same JSON as from `trappoint check --format json`. The status is 200 "
        "for a plan that does not hold or cannot be read, too.",
        "parameters": _named(),
        "requestBody": _sent(many=True),
        "responses": _answers(_json("The findings.", ref("Report"), REPORT), *_USUAL),
    }


def _table() -> dict[str, Any]:
    return {
        "tags": _TAGS,
        "operationId": "table",
        "summary": "Derive the locking table of a plan",
        "description": "The same JSON as from `trappoint table --format json`.",
        "parameters": _named(),
        "requestBody": _sent(many=False),
        "responses": _answers(_json("The locking table.", ref("Table"), TABLE), *_USUAL),
    }


def _draw() -> dict[str, Any]:
    svg = {"image/svg+xml": {"schema": {"type": "string"}}}
    return {
        "tags": _TAGS,
        "operationId": "draw",
        "summary": "Draw a plan",
        "parameters": _named(),
        "requestBody": _sent(many=False),
        "responses": _answers({"description": "The diagram.", "content": svg}, *_USUAL),
    }


def _scene() -> dict[str, Any]:
    ids = {"type": "array", "items": {"type": "string"}}
    wish = {
        "type": "object",
        "required": ["plan"],
        "additionalProperties": False,
        "properties": {
            "plan": {"type": "object", "description": "The plan."},
            "points": {
                "type": "object",
                "description": "From ids of points and slips to lies; all others lie normal.",
                "additionalProperties": {"type": "string"},
            },
            "off": {**ids, "description": "The arms that are off."},
            "trains": {**ids, "description": "The tracks and yards in which trains stand."},
        },
    }
    plan = json.loads(read_resource("kelpie-quay.layout.json"))
    example = {"plan": plan, "points": {"p1": "left"}, "off": ["1L"], "trains": ["main"]}
    content = {"application/json": {"schema": wish, "example": example}}
    return {
        "tags": _TAGS,
        "operationId": "scene",
        "summary": "Find the arms that may be off, for a choice of points and arms",
        "requestBody": {"required": True, "content": content},
        "responses": _answers(_json("Every arm.", ref("Scene"), SCENE), *_USUAL),
    }


def _lay() -> dict[str, Any]:
    return {
        "tags": _TAGS,
        "operationId": "lay",
        "summary": "Build a plan: take steps, and check and draw the result",
        "description": "A text that is no plan is no error: the report has its findings. A step "
        "that cannot be taken is one: its problem has the keys `step`, its number from 0, and "
        "`fix`.",
        "requestBody": body_of_lay(),
        "responses": _answers(_json("The plan.", ref("Laid"), LAID), *_USUAL),
    }


def _asked(name: str, description: str, **more: Any) -> dict[str, Any]:
    schema = {"type": "string", "minLength": 1, "maxLength": 200}
    return {"name": name, "in": "query", "description": description, "schema": schema} | more


def _road() -> dict[str, Any]:
    names = {"type": "array", "items": {"type": "string"}, "maxItems": 200}
    heading = {"enum": ["up", "down"]}
    return {
        "tags": _TAGS,
        "operationId": "road",
        "summary": "Set a road for a train",
        "description": "The signalman's work for a road: the same JSON as from "
        "`trappoint road --format json`.",
        "parameters": [
            *_named(),
            _asked(
                "from",
                "Where the train stands.",
                required=True,
                example="town-line",
            ),
            _asked("to", "Where the train goes.", required=True, example="siding"),
            _asked("scene", "The scene of the plan that gives the trains' places."),
            _asked("standing", "Where other trains stand.", schema=names),
            _asked("via", "Tracks that the train must pass.", schema=names),
            _asked("leaving", "The heading in which the train sets off.", schema=heading),
            _asked("arriving", "The heading in which the train arrives.", schema=heading),
        ],
        "requestBody": _sent(many=False),
        "responses": _answers(_json("The road.", ref("Road")), *_USUAL),
    }


def _with_store(*, needed: bool) -> dict[str, Any]:
    file = {"type": "string", "contentMediaType": "application/json"}
    required = ["plan", "store"] if needed else ["plan"]
    form = {
        "type": "object",
        "required": required,
        "properties": {"plan": file, "store": file},
        "additionalProperties": False,
    }
    plan = _sent(many=False)["content"]["application/json"]
    example = {"plan": json.dumps(plan["example"]), "store": json.dumps(STORE)}
    content: dict[str, Any] = {"multipart/form-data": {"schema": form, "example": example}}
    if not needed:
        content["application/json"] = plan
    return {"required": True, "content": content}


def _parts() -> dict[str, Any]:
    names = {"type": "array", "items": {"type": "string"}, "maxItems": 200}
    return {
        "tags": _TAGS,
        "operationId": "parts",
        "summary": "Plan the parts for a plan from a store, at the least cost",
        "description": "The same JSON as from `trappoint parts --format json`. The search ends "
        "after half of the time limit of a request, with the best plan so far.",
        "parameters": [
            *_named(),
            _asked("without", "Signals to leave out.", schema=names),
            _asked(
                "at_most",
                "Spending limit, in the store's currency.",
                schema={"type": "string", "pattern": "^[0-9]{1,7}([.][0-9]{1,2})?$"},
                example="25.50",
            ),
        ],
        "requestBody": _with_store(needed=True),
        "responses": _answers(_json("The parts.", ref("Parts")), *_USUAL),
    }


def _fitting() -> dict[str, Any]:
    return {
        "tags": _TAGS,
        "operationId": "fitting",
        "summary": "Make the fitting sheet of a plan, with the order of work",
        "description": "The same JSON as from `trappoint fitting --format json`. With a store, "
        "also the signals that can be fitted today.",
        "parameters": _named(),
        "requestBody": _with_store(needed=False),
        "responses": _answers(_json("The sheet.", ref("FittingSheet")), *_USUAL),
    }


def _schema_of_stores() -> dict[str, Any]:
    return {**_schema(), "operationId": "storeSchema", "summary": "The schema of stores"}


def _propose() -> dict[str, Any]:
    level = {
        "name": "level",
        "in": "query",
        "description": "; ".join(f"{level}: {what}" for level, what in LEVELS.items()),
        "schema": {"enum": list(LEVELS), "default": "least"},
    }
    repair = {
        "name": "repair",
        "in": "query",
        "description": "Whether the signals of the plan may be removed or moved.",
        "schema": {"enum": ["yes", "no"], "default": "no"},
    }
    return {
        "tags": _TAGS,
        "operationId": "propose",
        "summary": "Propose the signals of a plan",
        "description": "The same JSON as from `trappoint propose --best 1 --format json`. The "
        "search ends after half of the time limit of a request, with the best proposal so far; "
        "`bound` gives a number that no proposal can beat. With a store, only signals that it can "
        "provide are proposed, the cheapest first.",
        "parameters": [*_named(), level, repair],
        "requestBody": _with_store(needed=False),
        "responses": _answers(_json("The proposals.", ref("Proposals")), *_USUAL),
    }


def _shapes() -> dict[str, Any]:
    return {
        "tags": _TAGS,
        "operationId": "shapes",
        "summary": "List the shapes and the examples with which a plan can begin",
        "description": "A shape is a step `lay-shape` of `/api/v1/lay`; its options are keys of "
        "the step. The text of an example is at `/examples/NAME.layout.json`.",
        "responses": _answers(_json("The shapes.", ref("Beginnings")), 400),
    }


def _schema() -> dict[str, Any]:
    content = {"application/schema+json": {"schema": _SCHEMA}}
    return {
        "tags": _TAGS,
        "operationId": "layoutSchema",
        "summary": "The schema of the format (JSON Schema, draft 2020-12)",
        "responses": _answers({"description": "The schema.", "content": content}, 400),
    }


def _itself() -> dict[str, Any]:
    return {
        "tags": _TAGS,
        "operationId": "openapi",
        "summary": "This description",
        "responses": _answers(_json("OpenAPI 3.1.", _OPENAPI), 400),
    }


def _problems() -> dict[str, Any]:
    told = {
        400: "The request is malformed.",
        406: "The client accepts neither plain nor gzip answers.",
        413: "More than 8 MiB, or more than 1,000 fields.",
        415: "The body is neither JSON in UTF-8 nor multipart/form-data, or is compressed.",
        422: "The plan is unusable, or exceeds the limits of the service.",
        503: "The service is busy. Try again after the seconds in Retry-After.",
    }
    found: dict[str, Any] = {}
    for code, description in told.items():
        content = {"application/problem+json": {"schema": ref("Problem"), "example": problem(code)}}
        found[str(code)] = {"description": description, "content": content}
    found["503"]["headers"] = {"Retry-After": {"required": True, "schema": {"type": "integer"}}}
    return found
