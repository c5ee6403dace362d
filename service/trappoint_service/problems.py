"""Answers to errors: problem documents (RFC 9457) for programs, pages for people."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from flask import Response, render_template, request
from werkzeug.exceptions import HTTPException

from trappoint.app.open_folder import FolderTrouble
from trappoint.core.findings import CAUTION
from trappoint_service.answers import (
    CannotMake,
    NoSuchPlace,
    NothingToPropose,
    PartsNotUsable,
    StepRefused,
)
from trappoint_service.jobs import UnusableWish
from trappoint_service.pool import Busy, ClientGone, JobFault, JobLost, JobTooLong, TooMuch
from trappoint_service.problem_documents import MIMETYPE, problem_document, title_of
from trappoint_service.security_headers import LOG

if TYPE_CHECKING:
    from collections.abc import Mapping

    from flask import Flask
    from werkzeug.wrappers import Response as AnyResponse

    from trappoint.core.findings import CAUTION
from trappoint_service.answers import Refusal

RETRY_SECONDS = 5
"""Seconds after which a client should try again if its job was lost."""

SENTENCES = {
    400: "The request is malformed.",
    404: "This page does not exist.",
    405: "This address does not accept this method.",
    413: "The request is too large: it may have at most 8 MiB and 1,000 fields.",
    415: "Send a plan as application/json, or as a file in multipart/form-data.",
    500: "Internal error, not a fault of your plan. Please report it.",
}

FOR_PROGRAMS = ("api/", "openapi.json", "healthz", "readyz", "metrics", "queue/", "folder/")
"""Paths that begin with one of these answer errors with problem documents."""

_LIMITS: Mapping[type[Exception], tuple[int, str, str]] = {
    JobLost: (
        503,
        "process-lost",
        "The process that checked your plan was killed, perhaps for lack of memory. "
        "Please try again.",
    ),
    ClientGone: (499, "client-gone", "The client closed the connection."),
    JobTooLong: (
        422,
        "takes-too-long",
        "The plan needs more time than this service allows. Run `trappoint check` on your own "
        "computer: it has no time limit.",
    ),
    TooMuch: (
        422,
        "needs-too-much-memory",
        "The plan needs more memory than this service allows. Run `trappoint check` on your own "
        "computer: it has no memory limit.",
    ),
}
"""The status, kind and sentence for each reason why a job can end without an answer."""


class Problem(Exception):  # noqa: N818 - RFC 9457 calls it so
    """An error with a status, a kind and a sentence for the user."""

    def __init__(
        self,
        status: int,
        kind: str,
        detail: str,
        *,
        headers: Mapping[str, str] | None = None,
        **more: object,
    ) -> None:
        super().__init__(detail)
        self.status, self.kind, self.detail, self.more = status, kind, detail, more
        self.headers = dict(headers or {})

    @property
    def title(self) -> str:
        """The kind as a heading."""
        return title_of(self.kind)


def refused(refusal: Refusal) -> Problem:
    """Return the problem to raise for a job that has no result."""
    match refusal:
        case NothingToPropose(why):
            return Problem(422, "nothing-to-propose", why)
        case CannotMake(why):
            return Problem(501, "cannot-make", why)
        case NoSuchPlace(why):
            return Problem(422, "no-such-place", why)
        case PartsNotUsable(why):
            return Problem(422, "parts-not-usable", why)
        case StepRefused(step, why, fix):
            return Problem(422, "step-refused", why, step=step, fix=fix)
    more: dict[str, Any] = {}
    if refusal.report:
        more = {"report": refusal.report, "caution": CAUTION}
    return Problem(422, "plan-not-usable", f"This plan {refusal.why}", **more)


def answer_errors(app: Flask) -> None:
    """Answer every error of the application with a page or a problem document."""
    app.register_error_handler(Exception, _answer)


def _answer(error: Exception) -> AnyResponse:
    if isinstance(error, HTTPException) and 300 <= (error.code or 0) < 400:
        return error.get_response()
    problem = problem_of(error)
    path = request.path.lstrip("/")
    if path == "api" or path.startswith(FOR_PROGRAMS):
        return _details(problem)
    return page_of_problem(problem, "problem.html")


def page_of_problem(problem: Problem, template: str, **shown: object) -> Response:
    """Return a page that explains a problem to people."""
    page = render_template(template, problem=problem, **shown)
    return Response(page, problem.status, problem.headers, mimetype="text/html")


def _details(problem: Problem) -> Response:
    text = problem_document(problem.status, problem.kind, problem.detail, **problem.more)
    return Response(text, problem.status, problem.headers, mimetype=MIMETYPE)


def problem_of(error: Exception) -> Problem:
    """Return the problem that answers an error; log an internal error."""
    if isinstance(error, Problem):
        return error
    if isinstance(error, UnusableWish | FolderTrouble):
        status, kind = 400, "bad-request"
        if isinstance(error, FolderTrouble):
            status, kind = error.status, error.kind
        return Problem(status, kind, str(error))
    if isinstance(error, Busy):
        detail = "The service is busy. Please try again soon."
        headers = {"Retry-After": str(error.seconds)}
        return Problem(503, "busy", detail, headers=headers, waiting=error.waiting)
    if type(error) in _LIMITS:
        status, kind, detail = _LIMITS[type(error)]
        headers = {"Retry-After": str(RETRY_SECONDS)} if status == 503 else {}
        return Problem(status, kind, detail, headers=headers)
    if isinstance(error, HTTPException) and error.code is not None:
        kind = (error.name or "error").lower().replace(" ", "-")
        detail = SENTENCES.get(error.code, error.description or error.name)
        allow = error.get_response().headers.get("Allow")
        return Problem(error.code, kind, detail, headers={"Allow": allow} if allow else {})
    LOG.error("Internal error: %s.", _where(error))
    return Problem(500, "fault", SENTENCES[500])


def _where(error: Exception) -> str:
    """Return the error's type and place, without its message: that could quote the plan."""
    if isinstance(error, JobFault):
        return str(error)
    trace = error.__traceback__
    while trace is not None and trace.tb_next is not None:
        trace = trace.tb_next
    if trace is None:
        return type(error).__name__
    module = trace.tb_frame.f_globals.get("__name__")
    return f"{type(error).__name__} in {module}, line {trace.tb_lineno}"
