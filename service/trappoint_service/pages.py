"""The pages for people: the form, the answer, examples, rules."""

from __future__ import annotations

import json
from dataclasses import asdict
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from flask import Blueprint, Response, redirect, render_template, request, url_for

from trappoint import __version__
from trappoint.core.findings import CAUTION, CAUTION_SHORT
from trappoint.proposing.levels import LEVELS
from trappoint_service.answers import DraftPage, SceneStates, Text
from trappoint_service.downloads import DOWNLOADS
from trappoint_service.examples import Example, examples
from trappoint_service.jobs import (
    Plan,
    SceneWish,
    ShowDraft,
    ShowPartsAndFitting,
    ShowPlan,
    ShowRoad,
)
from trappoint_service.problems import Problem, refused
from trappoint_service.request_options import wish_for_road, wish_for_scene, wish_for_signals
from trappoint_service.rule_pages import about_rule, rules_by_stage
from trappoint_service.security_headers import FILE_POLICY
from trappoint_service.uploads import plan_of_form, store_of_form

if TYPE_CHECKING:
    from werkzeug.wrappers import Response as AnyResponse

    from trappoint_service.answers import PlanPage
    from trappoint_service.pool import Pool

MAX_ECHO = 1_000_000
"""Bytes up to which the text of a plan goes back into the form."""


def make_pages(pool: Pool) -> Blueprint:
    """Make the part of the application that people look at."""
    pages = Blueprint("pages", __name__)
    _add_work(pages, pool)
    _add_reading(pages)

    @pages.app_context_processor
    def common() -> dict[str, Any]:
        return {
            "caution": CAUTION,
            "caution_short": CAUTION_SHORT,
            "version": __version__,
            "examples": examples(),
            "downloads": DOWNLOADS,
            "levels": LEVELS,
        }

    return pages


def _add_work(pages: Blueprint, pool: Pool) -> None:
    """Add the form and all that it leads to."""

    @pages.get("/")
    def form() -> str:
        return render_template("form.html", plan=None, text="")

    @pages.get("/check")
    @pages.get("/draft")
    @pages.get("/parts-and-fitting")
    @pages.get("/road")
    def back() -> AnyResponse:
        """Nothing is kept of a check, so that there is nothing to come back to."""
        return redirect(url_for("pages.form"), 303)

    @pages.post("/check")
    def check() -> str:
        return _check(pool, plan_of_form(), wish_for_scene(request.form))

    @pages.post("/draft")
    def draft() -> str:
        return _draft(pool, plan_of_form())

    @pages.post("/road")
    def road() -> str:
        plan = plan_of_form()
        if not plan.content.strip():
            return _check(pool, plan, None)
        return _page(plan, pool.run(ShowRoad(plan, wish_for_road(request.form))), None)

    @pages.post("/parts-and-fitting")
    def parts_and_fitting() -> str:
        plan = plan_of_form()
        if not plan.content.strip():
            return _check(pool, plan, None)
        store = store_of_form()
        job = ShowPartsAndFitting(plan, store or None, pool.seconds_to_search)
        return _page(plan, pool.run(job), None, _shown(store))

    @pages.post("/download/<kind>")
    def download(kind: str) -> Response:
        return _download(pool, kind, plan_of_form())

    @pages.get("/queue/<ticket>")
    def queue(ticket: str) -> Response:
        """Say where the request with a ticket is in the queue, `null` if it is in none."""
        found = pool.place_of(ticket)
        body = json.dumps(found and asdict(found)) + "\n"
        return Response(body, mimetype="application/json")

    @pages.get("/examples/<path:name>")
    def example(name: str) -> str:
        return _example(pool, name)


def _add_reading(pages: Blueprint) -> None:
    """Add the pages that are the same whatever was sent."""

    @pages.get("/rules")
    def rules() -> str:
        return render_template("rules.html", stages=rules_by_stage())

    @pages.get("/rules/<name>")
    def rule(name: str) -> str:
        about = about_rule(name)
        if about is None:
            raise Problem(404, "not-found", "There is no rule of this name.")
        return render_template("rule.html", rule=about)

    @pages.get("/interface")
    def interface() -> str:
        return render_template("interface.html")


def _check(pool: Pool, plan: Plan, scene: SceneWish | None) -> str:
    if not plan.content.strip():
        message = "There is no plan here yet: choose a file, or type or paste one."
        return render_template("form.html", plan=plan, text="", message=message)
    return _page(plan, pool.run(ShowPlan(plan, scene)), scene)


def _draft(pool: Pool, plan: Plan) -> str:
    """Have signals proposed, and show the plan with them as if it had been handed in."""
    if not plan.content.strip():
        return _check(pool, plan, None)
    wish = wish_for_signals(request.form, pool.seconds_to_search)
    answer = pool.run(ShowDraft(plan, wish))
    if not isinstance(answer, DraftPage):
        raise refused(answer)
    return _page(Plan(plan.name, answer.text.encode("utf-8")), answer.page, None)


def _shown(store: bytes) -> str:
    """Return the text of a store as it goes back into the form; empty where it cannot."""
    if len(store) > MAX_ECHO:
        return ""
    try:
        return store.decode("utf-8")
    except UnicodeDecodeError:
        return ""


def _page(plan: Plan, answer: PlanPage, scene: SceneWish | None, store: str = "") -> str:
    text = None
    if len(plan.content) <= MAX_ECHO and answer.text_shown:
        text = plan.content.decode("utf-8")
    data = {"table": answer.table["json"] if answer.table else None}
    states = answer.scene.arms if isinstance(answer.scene, SceneStates) else ()
    return render_template(
        "answer.html",
        plan=plan,
        text=text,
        answer=answer,
        store=store,
        scene=scene or SceneWish(),
        states={state.arm: state for state in states},
        asked=scene is not None,
        data=json.dumps(data),
    )


def _download(pool: Pool, kind: str, plan: Plan) -> Response:
    wanted = next((entry for entry in DOWNLOADS if entry.kind == kind), None)
    if wanted is None:
        raise Problem(404, "not-found", "There is no such file to be had.")
    answer = pool.run(wanted.job(plan, store_of_form() or None, pool.seconds_to_search))
    if not isinstance(answer, Text):
        raise refused(answer)
    response = Response(answer.text, mimetype=wanted.mimetype)
    # A fixed name: one from the document could be anything.
    response.headers["Content-Disposition"] = f'attachment; filename="{wanted.file}"'
    response.headers["Content-Security-Policy"] = FILE_POLICY
    return response


def _example(pool: Pool, name: str) -> str:
    chosen = next((example for example in examples() if example.name == name), None)
    if chosen is None:
        raise Problem(404, "not-found", "There is no such example.")
    plan = Plan(chosen.file, chosen.text.encode("utf-8"))
    return _page(plan, _answer_of(pool, chosen), None)


@lru_cache(maxsize=32)
def _answer_of(pool: Pool, example: Example) -> PlanPage:
    """Return the page of an example: the same each time, so worked out once."""
    return pool.run(ShowPlan(Plan(example.file, example.text.encode("utf-8"))))
