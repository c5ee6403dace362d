"""From each job to the function that does it. Only the worker processes import this."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from trappoint.app.folder_work import compare_file, judge_file, merge_file
from trappoint.core.resources import read_resource
from trappoint.model.settings import DEFAULTS
from trappoint.reporting.formats import REPORTERS, TABLE_REPORTERS
from trappoint_service import jobs
from trappoint_service.checks_and_drawings import (
    check_plans,
    derive_table,
    draw_plan,
    make_file,
    show_plan,
    tidy_plan,
    write_sessions,
    write_wall_chart,
)
from trappoint_service.lay_requests import PARTS
from trappoint_service.laying import lay_plan
from trappoint_service.parts_and_fitting import (
    make_fitting_sheet,
    plan_parts_from_store,
    show_parts_and_fitting,
)
from trappoint_service.proposals import propose_signals, show_draft
from trappoint_service.roads import set_one_road, show_road
from trappoint_service.scenes import try_scene
from trappoint_service.sent_plans import find_top

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from trappoint.model.settings import Settings
    from trappoint_service.jobs import A, Job

_WORK: Mapping[type[Job[Any]], Callable[[Any, Settings], Any]] = {
    jobs.CheckPlans: check_plans,
    jobs.FindTop: find_top,
    jobs.DeriveTable: derive_table,
    jobs.DrawPlan: draw_plan,
    jobs.WriteChart: write_wall_chart,
    jobs.WriteSessions: write_sessions,
    jobs.MakeFile: make_file,
    jobs.TidyPlan: tidy_plan,
    jobs.ShowPlan: show_plan,
    jobs.TryScene: try_scene,
    jobs.LayPlan: lay_plan,
    jobs.SetRoad: set_one_road,
    jobs.ShowRoad: show_road,
    jobs.ProposeSignals: propose_signals,
    jobs.ShowDraft: show_draft,
    jobs.PlanParts: plan_parts_from_store,
    jobs.MakeFittingSheet: make_fitting_sheet,
    jobs.JudgeFile: lambda job, settings: judge_file(job.file, settings),
    jobs.MergeFile: lambda job, settings: merge_file(job.file, job.base, job.ours, settings),
    jobs.CompareFile: lambda job, settings: compare_file(job.file, settings),
    jobs.ShowPartsAndFitting: show_parts_and_fitting,
}


def do(job: Job[A], settings: Settings) -> A:
    """Do a job with the club's settings. Raises ``UnusableWish``."""
    answer: A = _WORK[type(job)](job, settings)
    return answer


def _everything(plan: jobs.Plan) -> bytes:
    """Return a request for all parts of an answer about a plan, without a step."""
    body = {"plan": plan.content.decode("ascii"), "steps": [], "at": ["plan"], "want": PARTS}
    return json.dumps(body).encode("ascii")


def warm_up() -> None:
    """Do the usual jobs once, so that their imports are done before the first request."""
    document = json.loads(read_resource("kelpie-quay.layout.json"))
    del document["signals"]["6"]  # makes the check search for a movement
    plan = jobs.Plan("", json.dumps(document).encode("ascii"))
    wish = jobs.SignalsWish("least", repair=True, seconds=1)
    usual: list[Job[Any]] = [
        jobs.ShowPlan(plan, jobs.SceneWish()),
        jobs.ShowPlan(jobs.Plan("", b'{"format": 1}')),  # so that jsonschema is imported
        jobs.WriteChart(plan),
        jobs.LayPlan(_everything(plan)),
        jobs.ShowDraft(plan, wish),
        *(jobs.CheckPlans((plan,), name) for name in REPORTERS),
        *(jobs.DeriveTable(plan, name) for name in TABLE_REPORTERS),
    ]
    for job in usual:
        do(job, DEFAULTS)
