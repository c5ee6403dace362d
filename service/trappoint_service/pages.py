"""The pages for people: the form, the answer, examples, rules."""

from __future__ import annotations

import json
import re
from dataclasses import asdict, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from flask import Blueprint, Response, redirect, render_template, request, url_for

from trappoint import __version__
from trappoint.core.findings import CAUTION, CAUTION_DRILLING, CAUTION_SHORT
from trappoint.drawing.working_page import SCRIPTS, STYLE
from trappoint.proposing.levels import LEVELS
from trappoint_service.answers import DraftPage, File, SceneStates, Text
from trappoint_service.config import LIMIT_BYTES
from trappoint_service.downloads import DOWNLOADS
from trappoint_service.examples import Example, examples
from trappoint_service.format_page import format_page as explained
from trappoint_service.jobs import (
    FindTop,
    Plan,
    SceneWish,
    ShowDraft,
    ShowPartsAndFitting,
    ShowPlan,
    ShowRoad,
    UnusableWish,
)
from trappoint_service.openapi_pages import PAGE_SCRIPTS
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
from trappoint_service.uploads import HandedIn, TwoPlans, handed_in, mark_of

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


ENDING = ".layout.json"
"""The end of the address of an example as a file."""


def make_pages(pool: Pool, form_at: str = "/") -> Blueprint:
    """Make the part of the application that answers people. ``form_at``: the path of the form."""
    pages = Blueprint("pages", __name__)
    _add_work(pages, pool, form_at)
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
            "mark_of": mark_of,
            "page_scripts": PAGE_SCRIPTS,
        }

    return pages


def _add_work(pages: Blueprint, pool: Pool, form_at: str) -> None:
    """Add the form and the pages that it leads to."""

    @pages.get(form_at)
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
        return _check(pool, _sent(pool))

    @pages.post("/draft")
    def draft() -> str:
        return _draft(pool, _sent(pool))

    @pages.post("/road")
    def road() -> str:
        handed = _sent(pool)
        if not handed.plan.content.strip():
            return _check(pool, handed)
        wish = wish_for_road(handed.chosen)
        return _page(handed, pool.run(ShowRoad(handed.plan, wish, _strip(handed))))

    @pages.post("/parts-and-fitting")
    def parts_and_fitting() -> str:
        handed = _sent(pool)
        if not handed.plan.content.strip():
            return _check(pool, handed)
        job = ShowPartsAndFitting(handed.plan, handed.store or None, pool.seconds_to_search)
        return _page(handed, pool.run(job))

    @pages.post("/download/<kind>")
    def download(kind: str) -> Response:
        return _download(pool, kind, _sent(pool))

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
    def example(name: str) -> str | Response:
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

    @pages.get("/format")
    def format_page() -> str:
        return render_template("format.html", page=explained(request.script_root + "/"))

    @pages.get("/interface")
    def interface() -> str:
        return render_template("interface.html")


class ManyPlans(Exception):  # noqa: N818 - it describes the request
    """Raised if several plans were sent and none is put together from the others."""

    def __init__(self, handed: HandedIn, names: tuple[str, ...]) -> None:
        super().__init__("several plans")
        self.handed, self.names = handed, names


def _sent(pool: Pool) -> HandedIn:
    """Return everything sent, with the plan that is meant. Raises TwoPlans and ManyPlans."""
    handed = handed_in()
    if handed.plan.content.strip() or not handed.plan.boards:
        return handed
    names = pool.run(FindTop(handed.plan.boards)).names
    if len(names) != 1:
        raise ManyPlans(handed, names)
    return handed.led_by(names[0])


def _check(pool: Pool, handed: HandedIn) -> str:
    if not handed.plan.content.strip():
        message = "There is no plan yet: choose a file, or type or paste its text."
        return render_template("form.html", handed=handed, message=message)
    scene = wish_for_scene(handed.chosen)
    return _page(handed, pool.run(ShowPlan(handed.plan, scene, _strip(handed))), scene)


def _strip(handed: HandedIn) -> bool:
    """Return whether the user wants the diagram as one strip: the last choice counts."""
    return handed.chosen.getlist("view")[-1:] == ["strip"]


def _draft(pool: Pool, handed: HandedIn) -> str:
    """Propose signals, and show the proposed plan as if it had been sent."""
    if not handed.plan.content.strip():
        return _check(pool, handed)
    wish = wish_for_signals(handed.chosen, pool.seconds_to_search)
    answer = pool.run(ShowDraft(handed.plan, wish, handed.store or None))
    if not isinstance(answer, DraftPage):
        raise refused(answer)
    drafted = replace(handed.plan, content=answer.text.encode("utf-8"))
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
    job = wanted.job(handed.plan, handed.store or None, pool.seconds_to_search)
    answer = File(handed.plan.content) if job is None else pool.run(job)
    if not isinstance(answer, Text | File):
        raise refused(answer)
    content = answer.content if isinstance(answer, File) else answer.text
    return _file(content, wanted.mimetype, wanted.file.replace("NAME", _plain(handed.plan.name)))


def _plain(name: str) -> str:
    """Return the name of a plan without its ending, as one word of a header."""
    stem = re.sub(r"(\.layout)?\.json$", "", name)
    return re.sub(r"[^A-Za-z0-9_-]+", "-", stem).strip("-")[:60] or "plan"


def _file(content: str | bytes, mimetype: str, name: str) -> Response:
    response = Response(content, mimetype=mimetype)
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    response.headers["Content-Security-Policy"] = FILE_POLICY
    return response


def _refuse(pool: Pool, error: Exception) -> Response:
    """Answer a refused request with a form that still has everything the user sent."""
    if isinstance(error, TwoPlans | ManyPlans):
        return Response(_ask(error), 409, mimetype="text/html")
    problem = problem_of(error)
    if request.method != "POST" or problem.kind == "same-name" or problem.status in _UNREAD:
        return page_of_problem(problem, "problem.html", sent=request.method == "POST")
    try:
        handed = _sent(pool)
    except (TwoPlans, ManyPlans) as several:
        return Response(_ask(several), 409, mimetype="text/html")
    except Unanswered:
        handed = handed_in()
    if isinstance(error, Problem | UnusableWish) and handed.plan.content.strip():
        # The plan may be correct; if not, its page explains best what is wrong.
        try:
            answer = pool.run(ShowPlan(handed.plan, strip=_strip(handed)))
        except Unanswered:
            pass
        else:
            page = _page(handed, answer, message=problem.detail)
            return Response(page, problem.status, problem.headers, mimetype="text/html")
    again, pressed = _again(handed)
    shown = {"handed": handed, "again": again, "pressed": pressed}
    return page_of_problem(problem, "refused.html", **shown)


_UNREAD = (406, 413, 415)
"""Statuses of requests whose form could not be read."""


def _ask(several: TwoPlans | ManyPlans) -> str:
    """Return the page that asks which plan is meant. It has everything that was sent."""
    handed = several.typed if isinstance(several, TwoPlans) else several.handed
    again, pressed = _again(handed)
    return render_template("which.html", several=several, again=again, pressed=pressed)


def _again(handed: HandedIn) -> tuple[str, tuple[str, str]]:
    """Return the address for another try, and the name and value of the pressed button."""
    button = next((name for name in BUTTONS if name in handed.chosen), "")
    place = PLACES.get(button) or PLACES.get(request.path, "")
    return request.script_root + request.path + place, (button, handed.chosen.get(button, ""))


def _example(pool: Pool, name: str) -> str | Response:
    bare = name.removesuffix(ENDING)
    chosen = next((example for example in examples() if example.name == bare), None)
    if chosen is None:
        raise Problem(404, "not-found", "This example does not exist.")
    if name != bare:
        return _file(chosen.text, "application/json", chosen.file)
    handed = HandedIn(Plan(chosen.file, chosen.text.encode("utf-8")))
    return _page(handed, _answer_of(pool, chosen))


@lru_cache(maxsize=32)
def _answer_of(pool: Pool, example: Example) -> PlanPage:
    """Return the page of an example. It is always the same, so it is made once."""
    return pool.run(ShowPlan(Plan(example.file, example.text.encode("utf-8"))))
