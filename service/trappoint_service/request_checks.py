"""What every request must keep to before its plan is read.

The description of the interface says which words a query and which fields a form may have, so
nothing can be served that is not described.
"""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING, Any

from flask import request
from werkzeug.exceptions import RequestEntityTooLarge

from trappoint.core.quoting import quoted
from trappoint.core.spelling import nearest
from trappoint_service.config import LIMIT_BYTES
from trappoint_service.openapi import describe, path_of
from trappoint_service.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from flask import Flask

UTF_8 = ("utf-8", "utf8", "us-ascii")
"""The names under which JSON may say that it is UTF-8."""

LONGEST_WORD = 40
"""Characters up to which a word that is not known is compared with those that are."""


def check_requests(app: Flask, *, folder: bool = False) -> None:
    """Refuse requests that cannot be understood, or not wholly.

    ``folder``: whether the service has the pages of a folder too.
    """

    @app.before_request
    def check() -> None:
        if request.method in ("POST", "PUT"):
            _check_coding()
        if request.method == "POST":
            _gather_chunks()
        if request.blueprint in ("api", "folder") and request.method != "OPTIONS":
            _check_charset()
            _check_words(describe(folder=folder))


def _check_coding() -> None:
    """Refuse a compressed body (RFC 9110, 15.5.16)."""
    codings = request.headers.get("Content-Encoding", "").lower().split(",")
    if any(coding.strip() not in ("", "identity") for coding in codings):
        raise Problem(
            415,
            "unsupported-content-encoding",
            "A body is sent plain here, without Content-Encoding.",
            headers={"Accept-Encoding": "identity"},
        )


def _gather_chunks() -> None:
    """Read a body that comes in chunks, of no known length, up to the limit.

    Flask would cut it off at the limit, and the rest would be taken for the whole.
    """
    environ = request.environ
    if request.content_length is None and environ.get("wsgi.input_terminated"):
        body = environ["wsgi.input"].read(LIMIT_BYTES + 1)
        if len(body) > LIMIT_BYTES:
            raise RequestEntityTooLarge
        environ["wsgi.input"] = BytesIO(body)
        environ["CONTENT_LENGTH"] = str(len(body))
        environ.pop("HTTP_TRANSFER_ENCODING", None)


def _check_charset() -> None:
    charset = request.mimetype_params.get("charset", "utf-8").lower()
    if request.mimetype == "application/json" and charset not in UTF_8:
        raise Problem(415, "unsupported-charset", "JSON must be in UTF-8 (RFC 8259, section 8.1).")


def _check_words(description: Mapping[str, Any]) -> None:
    """Refuse query parameters and form fields that the OpenAPI description does not list."""
    rule = request.url_rule.rule if request.url_rule is not None else ""
    method = "get" if request.method == "HEAD" else request.method.lower()
    operation = description["paths"].get(path_of(rule), {}).get(method, {})
    words = {one["name"]: one["schema"] for one in operation.get("parameters", ())}
    _compare("query parameter", request.args.keys(), words)
    for name, schema in words.items():
        if schema.get("type") != "array" and len(request.args.getlist(name)) > 1:
            raise Problem(400, "repeated-query-parameter", f"`{name}` may be given only once.")
    form = operation.get("requestBody", {}).get("content", {}).get("multipart/form-data")
    if form is not None and request.mimetype == "multipart/form-data":
        _compare("field", [*request.form, *request.files], form["schema"]["properties"])
        if len(request.form.getlist("store")) + len(request.files.getlist("store")) > 1:
            raise Problem(400, "repeated-field", "`store` may be given only once.")


def _compare(kind: str, given: Iterable[str], known: Mapping[str, Any]) -> None:
    for name in given:
        if name in known:
            continue
        near = nearest(name, known) if len(name) <= LONGEST_WORD else None
        hint = f"Is {near} meant?" if near else f"Known: {', '.join(known) or 'none'}."
        code = f"unknown-{kind.replace(' ', '-')}"
        raise Problem(400, code, f"The {kind} {quoted(name)} is unknown. {hint}")
