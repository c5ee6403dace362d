"""The OpenAPI 3.1 description of the pages."""

from __future__ import annotations

import json

from trappoint.core.resources import read_resource
from trappoint.drawing.working_page import SCRIPTS, STYLE
from trappoint.proposing.levels import LEVELS
from trappoint_service import build_files
from trappoint_service.downloads import DOWNLOADS
from trappoint_service.examples import examples
from trappoint_service.openapi_values import TEXT, TEXTS, Schema

PAGE_SCRIPTS = ("kept.js", "drafts.js", "editor.js", "page.js")
"""The scripts of the pages, in the order in which a page loads them."""

_NOT_ACCEPTABLE = "The client accepts neither plain nor gzip answers."
_HTML: Schema = {"text/html": {"schema": TEXT}}
_TAGS = ["people"]


def paths_of_pages() -> Schema:
    """Return the paths of the pages."""
    names = {"enum": [example.name + end for example in examples() for end in ("", ".layout.json")]}
    kinds = {"enum": [entry.kind for entry in DOWNLOADS]}
    built = [f"build/{file}" for file in (*build_files.SCRIPTS, build_files.STYLE)]
    name = {"type": "string", "minLength": 1}
    road = {"from": name, "to": name, "standing": TEXTS}
    scene = {"ask": TEXT, "off": TEXTS, "view": TEXTS}
    draft = {"level": {"enum": list(LEVELS)}, "repair": {"enum": ["yes", "no"]}}
    return {
        "/": {"get": _page("form", "The form")},
        "/check": _form("check", "Check a plan, and try a scene", scene),
        "/draft": _form("draft", "Propose signals for a plan", draft),
        "/road": _form("road", "Set a road", road, {"from": "town-line", "to": "siding"}),
        "/parts-and-fitting": _form(
            "partsAndFitting", "Plan the parts, make the fitting sheet", {}
        ),
        "/download/{kind}": {"parameters": [_in_path("kind", kinds)], "post": _download()},
        "/examples/{name}": {
            "parameters": [_in_path("name", names)],
            "get": _example(),
        },
        "/build": {
            "get": _page("build", "The page to build a plan on"),
            "post": _build(),
        },
        "/format": {"get": _page("format", "The format of plans, explained")},
        "/rules": {"get": _page("rules", "All rules")},
        "/rules/{name}": {
            "parameters": [_in_path("name", TEXT, "unheld-exit")],
            "get": _page("rule", "A rule, explained", missing=True),
        },
        "/interface": {"get": _page("interface", "The interface for programs")},
        "/static/{filename}": {
            "parameters": [
                _in_path(
                    "filename",
                    {"enum": ["folder.js", "mark.svg", "notice.css", *PAGE_SCRIPTS, *built]},
                )
            ],
            "get": _static("static", "Script, style and picture of the pages"),
        },
        "/diagram/{filename}": {
            "parameters": [_in_path("filename", {"enum": [*SCRIPTS, STYLE]})],
            "get": _static("diagram", "Scripts and style of the diagram"),
        },
    }


def _in_path(name: str, schema: Schema, example: str = "") -> Schema:
    shown = {"example": example} if example else {}
    return {"name": name, "in": "path", "required": True, "schema": schema, **shown}


def _html(description: str) -> Schema:
    return {"description": description, "content": _HTML}


def _page(name: str, summary: str, *, missing: bool = False, work: bool = False) -> Schema:
    answers = {
        "200": _html("The page."),
        "406": _html(_NOT_ACCEPTABLE),
    }
    if missing:
        answers["404"] = _html("There is nothing with this name.")
    if work:
        answers["503"] = _busy()
    return {"tags": _TAGS, "operationId": f"{name}Page", "summary": summary, "responses": answers}


def _example() -> Schema:
    page = _page("example", "An example, checked, or its file", missing=True, work=True)
    page["responses"]["200"] = {
        "description": "The page, or the plan if the address ends in `.layout.json`.",
        "content": {**_HTML, "application/json": {"schema": {"type": "object"}}},
    }
    return page


def _busy() -> Schema:
    seconds = {"required": True, "schema": {"type": "integer"}}
    return {**_html("The service is busy."), "headers": {"Retry-After": seconds}}


def _refusals() -> Schema:
    """Return the answers of a form that is refused."""
    return {
        "400": _html("A choice is malformed; the form keeps its content."),
        "406": _html(_NOT_ACCEPTABLE),
        "409": _html("There are several plans: the page asks which one is meant."),
        "413": _html("More than 8 MiB, or too many fields."),
        "415": _html("The form is not multipart/form-data, or is compressed."),
        "422": _html("The plan is unusable; the form keeps its content."),
        "503": {**_busy(), "description": "The service is busy; the form keeps its content."},
    }


def _sent(fields: Schema, chosen: Schema | None = None) -> Schema:
    file = {"type": "string", "contentMediaType": "application/json"}
    files = {"anyOf": [file, {"type": "array", "items": file}]}
    typed = {"text": TEXT, "name": TEXT, "plan": files, "store-text": TEXT, "store": file}
    typed |= {"served": TEXT, "top": TEXT}
    typed |= dict.fromkeys(("board-name", "board-text", "board-served"), TEXTS)
    schema = {
        "type": "object",
        "required": list(chosen or ()),
        "properties": {**typed, **fields},
        "additionalProperties": TEXT,
    }
    plan = json.loads(read_resource("kelpie-quay.layout.json"))
    example = {"text": json.dumps(plan), **(chosen or {})}
    content = {"multipart/form-data": {"schema": schema, "example": example}}
    return {"required": True, "content": content}


def _form(name: str, summary: str, fields: Schema, chosen: Schema | None = None) -> Schema:
    """Return the description of an address that accepts the form."""
    back = {
        "description": "Back to the form: the service keeps no answers.",
        "headers": {"Location": {"required": True, "schema": TEXT}},
    }
    told = {"303": back, "406": _html(_NOT_ACCEPTABLE)}
    return {
        "get": {
            "tags": _TAGS,
            "operationId": f"{name}Back",
            "summary": "Go back to the form",
            "responses": told,
        },
        "post": {
            "tags": _TAGS,
            "operationId": f"{name}Form",
            "summary": summary,
            "requestBody": _sent(fields, chosen),
            "responses": {"200": _html("The page of the plan."), **_refusals()},
        },
    }


def _build() -> Schema:
    """Return the description of the form that brings a plan to the page to build on."""
    page = _html("The page with the plan.")
    refusals = {key: answer for key, answer in _refusals().items() if key in ("406", "413", "415")}
    return {
        "tags": _TAGS,
        "operationId": "buildForm",
        "summary": "Bring a plan to the page to build on",
        "requestBody": _sent({}),
        "responses": {"200": page, **refusals},
    }


def _download() -> Schema:
    kinds = sorted({entry.mimetype for entry in DOWNLOADS})
    file = {"description": "The file.", "content": {kind: {"schema": {}} for kind in kinds}}
    missing = _html("There is no such file.")
    return {
        "tags": _TAGS,
        "operationId": "download",
        "summary": "Make a file of a plan",
        "requestBody": _sent({}),
        "responses": {
            "200": file,
            **_refusals(),
            "404": missing,
            "501": _html("The library for such files is missing."),
        },
    }


def _static(name: str, summary: str) -> Schema:
    kinds = ("text/css", "text/javascript", "image/svg+xml")
    content = {kind: {"schema": TEXT} for kind in kinds}
    return {
        "tags": _TAGS,
        "operationId": name,
        "summary": summary,
        "responses": {
            "200": {"description": "The file.", "content": content},
            "304": {"description": "It has not changed."},
            "404": _html("There is no such file."),
            "406": _html(_NOT_ACCEPTABLE),
        },
    }
