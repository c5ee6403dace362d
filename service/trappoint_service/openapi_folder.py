"""The OpenAPI 3.1 description of the addresses of a folder."""

from __future__ import annotations

from trappoint_service.openapi_values import (
    COUNT,
    HOLDS,
    TEXT,
    TEXT_OR_NULL,
    TEXTS,
    TRUTH,
    Schema,
    many,
    record,
    ref,
)

_NAME: Schema = {
    "name": "name",
    "in": "path",
    "required": True,
    "description": "The name of the file, from the folder, with / between folders.",
    "schema": {"type": "string", "minLength": 1, "maxLength": 1000},
    "example": "kelpie-quay.layout.json",
}
_COMMIT: Schema = {
    "enum": ["same", "changed", "new", None],
    "description": "Compared with the last commit; null outside of git.",
}
_FILE = record(
    {
        "name": TEXT,
        "kind": {"enum": ["plan", "store"]},
        "judged": {**TRUTH, "description": "Whether the verdict is found already."},
        "holds": HOLDS,
        "verdict": TEXT,
        "findings": TEXT,
        "changed": {**TEXT, "format": "date-time"},
        "bytes": COUNT,
        "commit": _COMMIT,
    }
)
_FILES = record({"folder": TEXT, "files": many(_FILE), "cut": TRUTH, "caution": TEXT})
_TEXT = record({"name": TEXT, "text": TEXT, "stamp": TEXT})
_WISH: Schema = {
    "type": "object",
    "required": ["text"],
    "additionalProperties": False,
    "properties": {
        "text": {**TEXT, "description": "The text to save, whether it is a plan or not."},
        "base": {**TEXT, "description": "The text with which the page was opened."},
        "stamp": {**TEXT, "description": "The stamp of that text."},
        "new": {**TRUTH, "description": "Whether to make a file that is not there."},
    },
}
_SAVED = record({"text": TEXT, "stamp": TEXT, "merged": TRUTH, "said": TEXTS})
_CONFLICT = record(
    {"theirs": TEXT_OR_NULL, "stamp": TEXT, "merged": TEXT_OR_NULL, "conflicts": TEXTS}
)
_CHANGES = record({"since": TEXT_OR_NULL, "changes": TEXTS, "text": TEXTS, "caution": TEXT})


def paths_of_folder() -> Schema:
    """Return the paths of a folder."""
    problems = {
        "400": _problem("The name or the request is malformed."),
        "403": _problem("The file cannot be read or written."),
        "404": _problem("There is no such file."),
        "422": _problem("The file is too long, or not UTF-8."),
        "503": _problem("The service is busy."),
    }
    saved = {
        "200": _json("The file as it is now.", _SAVED),
        "409": _json("The page and the file conflict; nothing is written.", _CONFLICT),
        "411": _problem("The request does not give its length."),
        "413": _problem("The text is longer than 8 MiB."),
        "415": _problem("The body is not JSON in UTF-8."),
        "507": _problem("The disk is full."),
    }
    body = {"required": True, "content": {"application/json": {"schema": _WISH}}}
    return {
        "/": {"get": _page("folder", "The files of the folder")},
        "/new": {"post": _form("new", "Make a plan or a store", ("name", "kind"))},
        "/text/{name}": {
            "parameters": [_NAME],
            "get": _page("text", "A file as a text"),
            "post": _form("saveText", "Save a text", ("text", "stamp", "ends", "new")),
        },
        "/folder/plans": {
            "get": _get("folderFiles", "List the plans and stores", _FILES, {}),
        },
        "/folder/plans/{name}": {
            "parameters": [_NAME],
            "get": _get("openFile", "Open a plan or a store", _TEXT, problems),
            "put": {
                "tags": ["folder"],
                "operationId": "saveFile",
                "summary": "Save a plan or a store, merged with the file if that has changed",
                "requestBody": body,
                "responses": {**problems, **saved},
            },
        },
        "/folder/changes/{name}": {
            "parameters": [_NAME],
            "get": _get("fileChanges", "Compare with the last commit", _CHANGES, problems),
        },
    }


def _json(description: str, schema: Schema) -> Schema:
    return {"description": description, "content": {"application/json": {"schema": schema}}}


def _problem(description: str) -> Schema:
    content = {"application/problem+json": {"schema": ref("Problem")}}
    return {"description": description, "content": content}


def _get(name: str, summary: str, schema: Schema, problems: Schema) -> Schema:
    answers = {"200": _json("The answer.", schema), **problems}
    return {"tags": ["folder"], "operationId": name, "summary": summary, "responses": answers}


def _page(name: str, summary: str) -> Schema:
    answers = {code: _html() for code in ("200", "400", "403", "404", "422")}
    told = {"tags": ["people"], "operationId": f"{name}Page", "summary": summary}
    return {**told, "responses": answers}


def _form(name: str, summary: str, fields: tuple[str, ...]) -> Schema:
    form = {"type": "object", "properties": dict.fromkeys(fields, TEXT)}
    codes = ("200", "303", "400", "403", "404", "409", "413", "415", "422", "507")
    return {
        "tags": ["people"],
        "operationId": f"{name}Form",
        "summary": summary,
        "requestBody": {"content": {"multipart/form-data": {"schema": form}}},
        "responses": {code: _html() for code in codes},
    }


def _html() -> Schema:
    return {"description": "A page.", "content": {"text/html": {"schema": TEXT}}}
