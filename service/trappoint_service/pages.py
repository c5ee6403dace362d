"""The pages for people: the form, the answer, examples, rules."""

from __future__ import annotations

import json
from dataclasses import asdict, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from flask import Blueprint, Response, redirect, render_template, request, url_for

from trappoint import __version__
from trappoint.core.findings import CAUTION, CAUTION_DRILLING, CAUTION_SHORT
from trappoint.drawing.working_page import SCRIPTS, STYLE
from trappoint.proposing.levels import LEVELS
from trappoint_service.answers import DraftPage, SceneStates, Text
from trappoint_service.config import LIMIT_BYTES
from trappoint_service.downloads import DOWNLOADS
from trappoint_service.examples import Example, examples
from trappoint_service.jobs import (
    Plan,
    SceneWish,
    ShowDraft,
    ShowPartsAndFitting,
    ShowPlan,
    ShowRoad,
    UnusableWish,
)
from trappoint_service.problems import Problem, page_of_problem, problem_of, refused
from trappoint_service.queues import Unanswered
from trappoint_service.request_options import (
    scene_chosen,
    wish_for_road,
    wish_for_scene,
    wish_for_signals,
)
from trappoint_service.rule_pages import about_rule, rules_by_stage
from trappoint_service.security_headers import FILE_POLICY
from trappoint_service.uploads import HandedIn, handed_in

if TYPE_CHECKING:
    from werkzeug.wrappers import Response as AnyResponse

    from trappoint_service.answers import PlanPage
    from trappoint_service.pool import Pool

BUTTONS = ("begin", "ask", "repair")
"""The names of the form's buttons; a button without a name checks the plan."""

PLACES = {
    "begin": "#scene",
    "ask": "#scene",
    "/draft": "#proposed",
    "/road": "#road",
    "/parts-and-fitting": "#parts-and-fitting",
}
"""From each button or address to the section of the page that has its answer."""


def make_pages(pool: Pool) -> Blueprint:
    """Make the part of the application that answers people."""
    pages = Blueprint("pages", __name__)
    _add_work(pages, pool)
    _add_reading(pages)

    @pages.app_context_processor
    def common() -> dict[str, Any]:
        return {
            "caution": CAUTION,
            "caution_short": CAUTION_SHORT,
            "caution_drilling": CAUTION_DRILLING,
            "version": __version__,
            "examples": examples(),
            "downloads": DOWNLOADS,
            "levels": LEVELS,
            "buttons": BUTTONS,
            "limit_bytes": LIMIT_BYTES,
            "diagram_scripts": SCRIPTS,
            "diagram_style": STYLE,
        }

    return pages


def _add_work(pages: Blueprint, pool: Pool) -> None:
    """Add the form and the pages that it leads to."""

    @pages.get("/")
    def form() -> str:
        return render_template("form.html")

    @pages.get("/check")
    @pages.get("/draft")
    @pages.get("/parts-and-fitting")
    @pages.get("/road")
    def back() -> AnyResponse:
        """Go back to the form: the service keeps nothing of a check."""
        return redirect(url_for("pages.form"), 303)

    @pages.post("/check")
    def check() -> str:
        return _check(pool, handed_in())

    @pages.post("/draft")
    def draft() -> str:
        return _draft(pool, handed_in())

    @pages.post("/road")
    def road() -> str:
        handed = handed_in()
        if not handed.plan.content.strip():
            return _check(pool, handed)
        wish = wish_for_road(handed.chosen)
        return _page(handed, pool.run(ShowRoad(handed.plan, wish)))

    @pages.post("/parts-and-fitting")
    def parts_and_fitting() -> str:
        handed = handed_in()
        if not handed.plan.content.strip():
            return _check(pool, handed)
        job = ShowPartsAndFitting(handed.plan, handed.store or None, pool.seconds_to_search)
        return _page(handed, pool.run(job))

    @pages.post("/download/<kind>")
    def download(kind: str) -> Response:
        return _download(pool, kind, handed_in())

    @pages.errorhandler(Exception)
    def refuse(error: Exception) -> Response:
        return _refuse(pool, error)

    @pages.get("/queue/<ticket>")
    def queue(ticket: str) -> Response:
        """Return the place of a ticket in the queue as JSON, `null` if it does not wait."""
        found = pool.place_of(ticket)
        body = json.dumps(found and asdict(found)) + "\n"
        return Response(body, mimetype="application/json")

    @pages.get("/examples/<path:name>")
    def example(name: str) -> str:
        return _example(pool, name)


def _add_reading(pages: Blueprint) -> None:
    """Add the pages that do not depend on a plan."""

    @pages.get("/rules")
    def rules() -> str:
        return render_template("rules.html", stages=rules_by_stage())

    @pages.get("/rules/<name>")
    def rule(name: str) -> str:
        about = about_rule(name)
        if about is None:
            raise Problem(404, "not-found", "There is no rule with this name.")
        return render_template("rule.html", rule=about)

    @pages.get("/interface")
    def interface() -> str:
        return render_template("interface.html")


def _check(pool: Pool, handed: HandedIn) -> str:
    if not handed.plan.content.strip():
        message = "There is no plan yet: choose a file, or type or paste its text."
        return render_template("form.html", handed=handed, message=message)
    scene = wish_for_scene(handed.chosen)
    return _page(handed, pool.run(ShowPlan(handed.plan, scene)), scene)


def _draft(pool: Pool, handed: HandedIn) -> str:
    """Propose signals, and show the proposed plan as if it had been sent."""
    if not handed.plan.content.strip():
        return _check(pool, handed)
    wish = wish_for_signals(handed.chosen, pool.seconds_to_search)
    answer = pool.run(ShowDraft(handed.plan, wish))
    if not isinstance(answer, DraftPage):
        raise refused(answer)
    drafted = Plan(handed.plan.name, answer.text.encode("utf-8"))
    return _page(replace(handed, plan=drafted, from_file=False), answer.page)


def _page(
    handed: HandedIn, answer: PlanPage, scene: SceneWish | None = None, message: str = ""
) -> str:
    data = {key: answer.table[key] for key in ("by", "conflicts")} if answer.table else {}
    states = answer.scene.arms if isinstance(answer.scene, SceneStates) else ()
    return render_template(
        "answer.html",
        handed=handed,
        answer=answer,
        message=message,
        scene=scene or scene_chosen(handed.chosen),
        states={state.arm: state for state in states},
        asked=scene is not None,
        data=json.dumps(data),
    )


def _download(pool: Pool, kind: str, handed: HandedIn) -> Response:
    wanted = next((entry for entry in DOWNLOADS if entry.kind == kind), None)
    if wanted is None:
        raise Problem(404, "not-found", "This file does not exist.")
    answer = pool.run(wanted.job(handed.plan, handed.store or None, pool.seconds_to_search))
    if not isinstance(answer, Text):
        raise refused(answer)
    response = Response(answer.text, mimetype=wanted.mimetype)
    # A fixed name: a name from the plan could contain anything.
    response.headers["Content-Disposition"] = f'attachment; filename="{wanted.file}"'
    response.headers["Content-Security-Policy"] = FILE_POLICY
    return response


def _refuse(pool: Pool, error: Exception) -> Response:
    """Answer a refused request with a form that still has everything the user sent."""
    problem = problem_of(error)
    if request.method != "POST" or problem.status in (406, 413, 415):
        return page_of_problem(problem, "problem.html", sent=request.method == "POST")
    handed = handed_in()
    if isinstance(error, Problem | UnusableWish) and handed.plan.content.strip():
        # The plan may be correct; if not, its page explains best what is wrong.
        try:
            answer = pool.run(ShowPlan(handed.plan))
        except Unanswered:
            pass
        else:
            page = _page(handed, answer, message=problem.detail)
            return Response(page, problem.status, problem.headers, mimetype="text/html")
    again, pressed = _again(handed)
    shown = {"handed": handed, "again": again, "pressed": pressed}
    return page_of_problem(problem, "refused.html", **shown)


def _again(handed: HandedIn) -> tuple[str, tuple[str, str]]:
    """Return the address for another try, and the name and value of the pressed button."""
    button = next((name for name in BUTTONS if name in handed.chosen), "")
    place = PLACES.get(button) or PLACES.get(request.path, "")
    return request.script_root + request.path + place, (button, handed.chosen.get(button, ""))


def _example(pool: Pool, name: str) -> str:
    chosen = next((example for example in examples() if example.name == name), None)
    if chosen is None:
        raise Problem(404, "not-found", "This example does not exist.")
    handed = HandedIn(Plan(chosen.file, chosen.text.encode("utf-8")))
    return _page(handed, _answer_of(pool, chosen))


@lru_cache(maxsize=32)
def _answer_of(pool: Pool, example: Example) -> PlanPage:
    """Return the page of an example. It is always the same, so it is made once."""
    return pool.run(ShowPlan(Plan(example.file, example.text.encode("utf-8"))))
