"""The interface, described in OpenAPI 3.1."""

from __future__ import annotations

import json
from functools import cache
from typing import Any

from trappoint import __version__
from trappoint.core.findings import CAUTION
from trappoint.core.resources import read_resource
from trappoint.proposing.levels import LEVELS
from trappoint_service.openapi_schemas import ref, schemas

_PLAN = {
    "description": "The plan itself, as it stands in its file. Whatever is wrong with it is told "
    "in the answer.",
}


@cache
def describe() -> dict[str, Any]:
    """Return the description."""
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "Trappoint",
            "version": __version__,
            "summary": "Checks the signalling plans of model railways.",
            "description": CAUTION + " Nothing that is sent is stored.",
            "license": {"name": "MIT", "identifier": "MIT"},
        },
        "servers": [{"url": "/"}],
        "paths": {
            "/api/v1/check": {"post": _check()},
            "/api/v1/table": {"post": _table()},
            "/api/v1/draw": {"post": _draw()},
            "/api/v1/scene": {"post": _scene()},
            "/api/v1/road": {"post": _road()},
            "/api/v1/propose": {"post": _propose()},
            "/api/v1/parts": {"post": _parts()},
            "/api/v1/fitting": {"post": _fitting()},
            "/api/v1/schema/layout": {"get": _schema()},
            "/api/v1/schema/store": {"get": _schema_of_stores()},
            "/openapi.json": {"get": _itself()},
            "/healthz": {"get": _health()},
        },
        "components": {"schemas": schemas(), "responses": _problems()},
    }


def _sent(*, many: bool) -> dict[str, Any]:
    files = {"type": "string", "contentMediaType": "application/json"}
    several = {"type": "array", "items": files, "minItems": 1}
    plan: dict[str, Any] = {"anyOf": [files, several]} if many else files
    form = {"type": "object", "required": ["plan"], "properties": {"plan": plan}}
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
            "description": "What the answer calls a plan that is sent as JSON.",
            "schema": {"type": "string", "minLength": 1, "maxLength": 200, "pattern": "^[!-~]+$"},
            "example": "kelpie-quay.layout.json",
        }
    ]


def _answers(ok: dict[str, Any], *problems: int) -> dict[str, Any]:
    told = {str(code): {"$ref": f"#/components/responses/{code}"} for code in problems}
    return {"200": ok, **told}


def _json(description: str, schema: dict[str, Any]) -> dict[str, Any]:
    return {"description": description, "content": {"application/json": {"schema": schema}}}


_USUAL = (400, 413, 415, 422, 503)


def _check() -> dict[str, Any]:
    return {
        "operationId": "check",
        "summary": "Check plans",
        "description": "Answers exactly as `trappoint check --format json` prints. A plan that "
        "does not hold, or that can not be read, is an answer too, and no error.",
        "parameters": _named(),
        "requestBody": _sent(many=True),
        "responses": _answers(_json("What there is to say.", ref("Report")), *_USUAL),
    }


def _table() -> dict[str, Any]:
    return {
        "operationId": "table",
        "summary": "Derive the locking table of a plan",
        "description": "Answers exactly as `trappoint table --format json` prints.",
        "parameters": _named(),
        "requestBody": _sent(many=False),
        "responses": _answers(_json("The locking table.", ref("Table")), *_USUAL),
    }


def _draw() -> dict[str, Any]:
    svg = {"image/svg+xml": {"schema": {"type": "string"}}}
    return {
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
                "description": "From the ids of points and slips to lies; all others lie normal.",
                "additionalProperties": {"type": "string"},
            },
            "off": {**ids, "description": "The arms that are off."},
            "trains": {**ids, "description": "The tracks and yards on which trains stand."},
        },
    }
    content = {"application/json": {"schema": wish}}
    return {
        "operationId": "scene",
        "summary": "With points and arms as chosen, say which arms may be off",
        "requestBody": {"required": True, "content": content},
        "responses": _answers(_json("Every arm.", ref("Scene")), *_USUAL),
    }


def _asked(name: str, description: str, **more: Any) -> dict[str, Any]:
    schema = {"type": "string", "minLength": 1, "maxLength": 200}
    return {"name": name, "in": "query", "description": description, "schema": schema} | more


def _road() -> dict[str, Any]:
    names = {"type": "array", "items": {"type": "string"}, "maxItems": 200}
    heading = {"enum": ["up", "down"]}
    return {
        "operationId": "road",
        "summary": "Set a road for a train, like a signalman",
        "description": "Answers as `trappoint road --format json` prints.",
        "parameters": [
            *_named(),
            _asked("from", "Where the train stands.", required=True, example="town-line"),
            _asked("to", "Where it is to stand.", required=True, example="siding"),
            _asked("scene", "The scene that says which trains stand where."),
            _asked("standing", "Where other trains stand.", schema=names),
            _asked("via", "What the train must run over.", schema=names),
            _asked("leaving", "The heading in which it is to set off.", schema=heading),
            _asked("arriving", "The heading in which it is to come in.", schema=heading),
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
    }
    content: dict[str, Any] = {"multipart/form-data": {"schema": form}}
    if not needed:
        content["application/json"] = _sent(many=False)["content"]["application/json"]
    return {"required": True, "content": content}


def _parts() -> dict[str, Any]:
    names = {"type": "array", "items": {"type": "string"}, "maxItems": 200}
    return {
        "operationId": "parts",
        "summary": "Plan the parts for a plan from a store, at the least cost",
        "description": "Answers as `trappoint parts --format json` prints. Where half of the time "
        "that a request may take is over, it answers with the best found so far.",
        "parameters": [
            *_named(),
            _asked("without", "Signals to leave out.", schema=names),
            _asked(
                "at_most",
                "The most money, in the store's currency.",
                schema={"type": "string", "pattern": "^[0-9]{1,7}([.][0-9]{1,2})?$"},
                example="25.50",
            ),
        ],
        "requestBody": _with_store(needed=True),
        "responses": _answers(_json("The parts.", {"type": "object"}), *_USUAL),
    }


def _fitting() -> dict[str, Any]:
    return {
        "operationId": "fitting",
        "summary": "Make the fitting sheet of a plan, with the order of work",
        "description": "Answers as `trappoint fitting --format json` prints; with a store it tells "
        "what can be fitted today.",
        "parameters": _named(),
        "requestBody": _with_store(needed=False),
        "responses": _answers(_json("The sheet.", {"type": "object"}), *_USUAL),
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
        "description": "Whether the signals that the plan has may go or be put elsewhere.",
        "schema": {"enum": ["yes", "no"], "default": "no"},
    }
    return {
        "operationId": "propose",
        "summary": "Propose the signals of a plan",
        "description": "Answers as `trappoint propose --best 1 --format json` prints. Where half "
        "of the time that a request may take is over, it answers with the best found so far, and "
        "`bound` tells how far that may be off.",
        "parameters": [*_named(), level, repair],
        "requestBody": _sent(many=False),
        "responses": _answers(_json("The proposals.", ref("Proposals")), *_USUAL),
    }


def _schema() -> dict[str, Any]:
    content = {"application/schema+json": {"schema": {"type": "object"}}}
    return {
        "operationId": "layoutSchema",
        "summary": "The schema of the format (JSON Schema, draft 2020-12)",
        "responses": _answers({"description": "The schema.", "content": content}),
    }


def _itself() -> dict[str, Any]:
    return {
        "operationId": "openapi",
        "summary": "This description",
        "responses": _answers(_json("OpenAPI 3.1.", {"type": "object"})),
    }


def _health() -> dict[str, Any]:
    content = {"text/plain": {"schema": {"type": "string", "const": "ok\n"}}}
    return {
        "operationId": "health",
        "summary": "Tells that the service is there",
        "responses": _answers({"description": "It is there.", "content": content}),
    }


def _problems() -> dict[str, Any]:
    told = {
        400: "The request could not be understood.",
        413: "More than 8 MiB, or too many parts.",
        415: "Neither application/json nor multipart/form-data.",
        422: "The plan can not be used for this, or not within the limits of the service.",
        503: "All places are taken. Try again after as many seconds as Retry-After says.",
    }
    found: dict[str, Any] = {}
    for code, description in told.items():
        content = {"application/problem+json": {"schema": ref("Problem")}}
        found[str(code)] = {"description": description, "content": content}
    found["503"]["headers"] = {"Retry-After": {"required": True, "schema": {"type": "integer"}}}
    return found
