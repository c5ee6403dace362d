"""Everything that goes wrong, answered: problem details (RFC 9457) or a page for people."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flask import Response, render_template, request
from werkzeug.exceptions import HTTPException

from trappoint_service.answers import NoSuchPlace, NothingToPropose, PartsNotUsable
from trappoint_service.jobs import UnusableWish
from trappoint_service.pool import Busy, ClientGone, JobFault, JobLost, JobTooLong, TooMuch
from trappoint_service.problem_documents import MIMETYPE, problem_document, title_of
from trappoint_service.security_headers import LOG

if TYPE_CHECKING:
    from collections.abc import Mapping

    from flask import Flask
    from werkzeug.wrappers import Response as AnyResponse

    from trappoint_service.answers import Refusal

RETRY_SECONDS = 5
"""After how long a client should ask again whose job was lost."""

SENTENCES = {
    400: "The request could not be understood.",
    404: "There is no such page.",
    405: "This address does not take this method.",
    413: "This is too large: a request may have 8 MiB and 1,000 fields.",
    415: "A plan is sent as application/json, or as a file in multipart/form-data.",
    500: "This is a fault of the program, not of your plan. Please report it.",
}

FOR_PROGRAMS = ("api/", "openapi.json", "healthz", "readyz", "metrics", "queue/")
"""What the paths begin with whose errors are problem details."""

_LIMITS: Mapping[type[Exception], tuple[int, str, str]] = {
    JobLost: (
        503,
        "process-lost",
        "The process that worked on this was killed, perhaps for want of memory. Please try again.",
    ),
    ClientGone: (499, "client-gone", "The client has hung up."),
    JobTooLong: (
        422,
        "takes-too-long",
        "This plan took longer to check than a check may take here. On your own computer, "
        "`trappoint check` sets no such limit.",
    ),
    TooMuch: (
        422,
        "needs-too-much-memory",
        "This plan needs more memory than a check may have here. On your own computer, "
        "`trappoint check` sets no such limit.",
    ),
}
"""The status, kind and sentence for each limit that a job can meet."""


class Problem(Exception):  # noqa: N818 - RFC 9457 calls it so
    """Something that is answered with a status other than 200."""

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
        """The kind in words."""
        return title_of(self.kind)


def refused(refusal: Refusal) -> Problem:
    """Return the problem to raise for the answer of a job that has no result."""
    match refusal:
        case NothingToPropose(why):
            return Problem(422, "nothing-to-propose", why)
        case NoSuchPlace(why):
            return Problem(422, "no-such-place", why)
        case PartsNotUsable(why):
            return Problem(422, "parts-not-usable", why)
    more = {"report": refusal.report} if refusal.report else {}
    return Problem(422, "plan-not-usable", f"This plan {refusal.why}", **more)


def answer_errors(app: Flask) -> None:
    """Have every error answered in words."""
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
    """Return a page that tells people of a problem."""
    page = render_template(template, problem=problem, **shown)
    return Response(page, problem.status, problem.headers, mimetype="text/html")


def _details(problem: Problem) -> Response:
    text = problem_document(problem.status, problem.kind, problem.detail, **problem.more)
    return Response(text, problem.status, problem.headers, mimetype=MIMETYPE)


def problem_of(error: Exception) -> Problem:
    """Return what is answered for an error; a fault of the program is logged."""
    if isinstance(error, Problem):
        return error
    if isinstance(error, UnusableWish):
        return Problem(400, "bad-request", str(error))
    if isinstance(error, Busy):
        told = "All places are taken just now. Please try again soon."
        headers = {"Retry-After": str(error.seconds)}
        return Problem(503, "busy", told, headers=headers, waiting=error.waiting)
    if type(error) in _LIMITS:
        status, kind, detail = _LIMITS[type(error)]
        headers = {"Retry-After": str(RETRY_SECONDS)} if status == 503 else {}
        return Problem(status, kind, detail, headers=headers)
    if isinstance(error, HTTPException) and error.code is not None:
        kind = (error.name or "error").lower().replace(" ", "-")
        detail = SENTENCES.get(error.code, error.description or error.name)
        allow = error.get_response().headers.get("Allow")
        return Problem(error.code, kind, detail, headers={"Allow": allow} if allow else {})
    LOG.error("A fault of the program: %s.", _where(error))
    return Problem(500, "fault", SENTENCES[500])


def _where(error: Exception) -> str:
    """Say what failed where, and nothing of what was sent: not even the error's own message."""
    if isinstance(error, JobFault):
        return str(error)
    trace = error.__traceback__
    while trace is not None and trace.tb_next is not None:
        trace = trace.tb_next
    if trace is None:
        return type(error).__name__
    module = trace.tb_frame.f_globals.get("__name__")
    return f"{type(error).__name__} in {module}, line {trace.tb_lineno}"
