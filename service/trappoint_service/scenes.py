"""Scenes: for a choice of points and arms, which other arms may be off, and why others may not.

The check answers this. For every arm the plan gets a scene in which this arm is off too; the
findings of that scene are the reasons why the arm must stay on.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from trappoint.model.settings import DEFAULTS
from trappoint_service.answers import (
    ArmState,
    PlanNotUsable,
    SceneMistake,
    SceneStates,
    not_usable,
)
from trappoint_service.jobs import Plan, SceneWish, UnusableWish
from trappoint_service.sent_plans import check_sent

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from trappoint import Finding, Report
    from trappoint.model.settings import Settings
    from trappoint_service.jobs import TryScene

NOW, WITH = "now", "with-"
"""The ids of the scenes: the choice, and the choice with one more arm, by number."""

MAX_ARMS = 400


def try_scene(job: TryScene, settings: Settings) -> SceneStates | PlanNotUsable:
    """Return every arm with its state. Raises UnusableWish.

    The club's settings do not apply to scenes.
    """
    try:
        body = json.loads(job.body)
    except (ValueError, RecursionError):
        raise UnusableWish("The body is not valid JSON (RFC 8259) in UTF-8.") from None
    mistake = _mistake_in(body)
    if mistake:
        raise UnusableWish(mistake)
    off, trains = tuple(body.get("off", ())), tuple(body.get("trains", ()))
    return _states(body["plan"], (), SceneWish(body.get("points", {}), off, trains))


def try_scene_of_page(plan: Plan, wish: SceneWish) -> SceneStates | PlanNotUsable:
    """Return every arm of a plan with its state; the plan must be readable."""
    return _states(json.loads(plan.content), plan.boards, wish)


def _states(
    plan: Mapping[str, Any], boards: tuple[Plan, ...], wish: SceneWish
) -> SceneStates | PlanNotUsable:
    scene = {"points": dict(wish.points), "trains": dict.fromkeys(wish.trains, True)}
    off = list(dict.fromkeys(wish.off))
    before = _check(plan, boards, {NOW: {**scene, "off": off}})
    if before.layout is None or before.table is None:
        return not_usable(before)
    arms = [arm.id for arm in before.layout.arms()]
    if len(arms) > MAX_ARMS:
        return PlanNotUsable(f"has more than {MAX_ARMS} arms, too many to try each.")
    others = [arm for arm in arms if arm not in off]
    trials = {f"{WITH}{number}": {**scene, "off": [*off, arm]} for number, arm in enumerate(others)}
    found = _by_scene(_check(plan, boards, {NOW: {**scene, "off": off}, **trials}))
    now = found.get(NOW, [])
    known = {finding.message for finding in now}
    states = [_off(arm, now) for arm in off]
    for number, arm in enumerate(others):
        reasons = [f for f in found.get(f"{WITH}{number}", []) if f.message not in known]
        states.append(ArmState(arm, "must-not" if reasons else "may", _because(reasons)))
    states.sort(key=lambda state: arms.index(state.arm))
    rest = [f for f in now if not set(f.path) & set(off)]
    return SceneStates(tuple(states), tuple(SceneMistake(f.message, f.fix) for f in rest))


def _check(plan: Mapping[str, Any], boards: tuple[Plan, ...], scenes: Mapping[str, Any]) -> Report:
    tried = {key: value for key, value in plan.items() if key != "accept"}
    content = json.dumps({**tried, "scenes": scenes}).encode("ascii")
    return check_sent(Plan("-", content, boards), DEFAULTS)


def _by_scene(report: Report) -> dict[str, list[Finding]]:
    """Return the findings of each scene, by its id."""
    found: dict[str, list[Finding]] = {}
    for finding in report.findings:
        parts = finding.pointer.split("/")
        if parts[1:2] == ["scenes"] and len(parts) > 2 and finding.rule != "scene-open":
            found.setdefault(parts[2], []).append(finding)
    return found


def _off(arm: str, now: Iterable[Finding]) -> ArmState:
    reasons = [finding for finding in now if arm in finding.path]
    return ArmState(arm, "wrong" if reasons else "off", _because(reasons))


def _because(reasons: Iterable[Finding]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(finding.message for finding in reasons))


def _mistake_in(body: object) -> str | None:
    """Return the mistake in a request for a scene; None if there is none."""
    if not isinstance(body, dict) or not isinstance(body.get("plan"), dict):
        return "The body must be an object, and its key `plan` must hold the plan as an object."
    for key in body:
        if key not in ("plan", "points", "off", "trains"):
            return "The body may have the keys `plan`, `points`, `off` and `trains` only."
    points = body.get("points", {})
    if not isinstance(points, dict) or not all(isinstance(lie, str) for lie in points.values()):
        return "`points` must be an object from ids to lies."
    for key in ("off", "trains"):
        names = body.get(key, [])
        if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
            return f"`{key}` must be a list of ids."
    return None
