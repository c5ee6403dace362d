"""The pages for people: the form, the answer, examples, rules."""

from __future__ import annotations

import json
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from flask import Blueprint, Response, redirect, render_template, request, url_for

from trappoint import __version__
from trappoint.core.findings import CAUTION, CAUTION_SHORT
from trappoint.proposing.levels import LEVELS
from trappoint_service.api import wish_for_signals
from trappoint_service.downloads import DOWNLOADS
from trappoint_service.examples import Example, examples
from trappoint_service.guarding import FILE_POLICY
from trappoint_service.problems import Problem
from trappoint_service.roads import wish_for_road
from trappoint_service.rule_pages import about_rule, rules_by_stage
from trappoint_service.uploads import Plan, plan_of_form, store_of_form

if TYPE_CHECKING:
    from werkzeug.wrappers import Response as AnyResponse

    from trappoint_service.pool import Pool

MAX_ECHO = 1_000_000
"""Bytes up to which the text of a plan goes back into the form."""

POINTS, OFF, BEGIN = "points:", "off", "begin"
"""The fields of the scene: the position of each lever, the arms off, a scene to begin with."""


def make_pages(pool: Pool) -> Blueprint:
    """Make the part of the application that people look at."""
    pages = Blueprint("pages", __name__)

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

    @pages.get("/")
    def form() -> str:
        return render_template("form.html", plan=None, text="")

    @pages.get("/bench")
    @pages.get("/check")
    @pages.get("/draft")
    @pages.get("/road")
    def back() -> AnyResponse:
        """Nothing is kept of a check, so that there is nothing to come back to."""
        return redirect(url_for("pages.form"), 303)

    @pages.post("/check")
    def check() -> str:
        return _check(pool, plan_of_form(), _scene_of_form())

    @pages.post("/draft")
    def draft() -> str:
        return _draft(pool, plan_of_form())

    @pages.post("/road")
    def road() -> str:
        plan = plan_of_form()
        if not plan.content.strip():
            return _check(pool, plan, None)
        job = {"job": "road-page", "name": plan.name, "wish": wish_for_road(request.form)}
        return _page(plan, pool.run(job, plan.content), None)

    @pages.post("/bench")
    def bench() -> str:
        plan = plan_of_form()
        if not plan.content.strip():
            return _check(pool, plan, None)
        store = store_of_form()
        job = {"job": "bench-page", "name": plan.name, **_beside(plan, pool)}
        answer = pool.run(job, plan.content + store)
        return _page(plan, answer, None, _shown(store))

    @pages.post("/download/<kind>")
    def download(kind: str) -> Response:
        return _download(pool, kind, plan_of_form())

    @pages.get("/examples/<path:name>")
    def example(name: str) -> str:
        return _example(pool, name)

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

    @pages.get("/healthz")
    def healthz() -> Response:
        return Response("ok\n", mimetype="text/plain")

    return pages


def _check(pool: Pool, plan: Plan, scene: dict[str, Any] | None) -> str:
    if not plan.content.strip():
        message = "There is no plan here yet: choose a file, or type or paste one."
        return render_template("form.html", plan=plan, text="", message=message)
    job = {"job": "page", "name": plan.name, "scene": scene}
    return _page(plan, pool.run(job, plan.content), scene)


def _draft(pool: Pool, plan: Plan) -> str:
    """Have signals proposed, and show the plan with them as if it had been handed in."""
    if not plan.content.strip():
        return _check(pool, plan, None)
    wish = wish_for_signals(request.form, pool.seconds_to_search)
    answer = pool.run({"job": "draft", "name": plan.name, **wish}, plan.content)
    if "cannot" in answer:
        raise Problem(422, "nothing-to-propose", answer["cannot"])
    if "draft" not in answer:
        raise Problem(422, "plan-not-usable", f"This plan {answer['why']}")
    return _page(Plan(plan.name, answer["draft"]["text"].encode("utf-8")), answer, None)


def _beside(plan: Plan, pool: Pool) -> dict[str, Any]:
    """Return what is said of a payload in which a store may follow the plan."""
    return {"size": len(plan.content), "seconds": pool.seconds_to_search}


def _shown(store: bytes) -> str:
    """Return the text of a store as it goes back into the form; empty where it can not."""
    if len(store) > MAX_ECHO:
        return ""
    try:
        return store.decode("utf-8")
    except UnicodeDecodeError:
        return ""


def _page(plan: Plan, answer: dict[str, Any], scene: dict[str, Any] | None, store: str = "") -> str:
    text = None
    if len(plan.content) <= MAX_ECHO and answer["text_shown"]:
        text = plan.content.decode("utf-8")
    data = {"table": answer["table"]["json"] if answer["table"] else None}
    return render_template(
        "answer.html",
        plan=plan,
        text=text,
        answer=answer,
        store=store,
        scene=scene or {"points": {}, "off": []},
        states={entry["arm"]: entry for entry in answer.get("scene", {}).get("arms", ())},
        asked=scene is not None,
        data=json.dumps(data),
    )


def _scene_of_form() -> dict[str, Any] | None:
    """Return the scene that was chosen in the form, None where none was."""
    if request.form.get("ask") != "scene" and BEGIN not in request.form:
        return None
    if request.form.get(BEGIN):
        try:
            scene = json.loads(request.form[BEGIN])
            return {
                "points": {str(key): str(lie) for key, lie in scene["points"].items()},
                "off": [str(arm) for arm in scene["off"]],
            }
        except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
            raise Problem(400, "bad-request", "This scene could not be understood.") from None
    points = {}
    for key, word in request.form.items():
        if key.startswith(POINTS) and word != "normal":
            for name in key.removeprefix(POINTS).split(" "):
                points[name] = word
    return {"points": points, "off": request.form.getlist(OFF)}


def _download(pool: Pool, kind: str, plan: Plan) -> Response:
    wanted = next((entry for entry in DOWNLOADS if entry.kind == kind), None)
    if wanted is None:
        raise Problem(404, "not-found", "There is no such file to be had.")
    if wanted.job == "check":
        files = [(plan.name, len(plan.content))]
        text = pool.run({"job": "check", "files": files, "format": wanted.format}, plan.content)
    else:
        job = {"job": wanted.job, "name": plan.name, "format": wanted.format}
        content = plan.content
        if wanted.job == "fitting":
            job |= _beside(plan, pool)
            content += store_of_form()
        found = pool.run(job, content)
        if "bad" in found:
            raise Problem(422, "parts-not-usable", found["bad"])
        if "text" not in found:
            raise Problem(422, "plan-not-usable", f"This plan {found['why']}")
        text = found["text"]
    response = Response(text, mimetype=wanted.mimetype)
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
def _answer_of(pool: Pool, example: Example) -> dict[str, Any]:
    """Return what there is to say of an example: the same each time, so worked out once."""
    job = {"job": "page", "name": example.file}
    answer: dict[str, Any] = pool.run(job, example.text.encode("utf-8"))
    return answer
