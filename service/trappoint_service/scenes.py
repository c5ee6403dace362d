"""Scenes: with points and arms as chosen, which other arms may be off, which not, and why.

It is the check itself that says so: for every arm a scene is written into the plan in which it is
off too, and what is found of that scene alone is the reason why it may not.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import trappoint

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from trappoint import Finding, Report

NOW, WITH = "now", "with-"
"""The ids of the scenes: what was chosen, and that with one more arm, by number."""

MAX_ARMS = 400


def tell_scene(content: bytes, wish: Mapping[str, Any]) -> dict[str, Any]:
    """Return for every arm its ``state`` (off, wrong, may, must-not) and why.

    ``wish``: ``points`` (id -> lie or word), ``off`` (arms), ``trains`` (tracks and yards with a
    train). A plan that can not be judged, or that has no such points or arms, comes back with
    ``report`` instead.
    """
    plan = json.loads(content)
    scene = {
        "points": dict(wish.get("points") or {}),
        "trains": dict.fromkeys(wish.get("trains", ()), True),
    }
    off = list(dict.fromkeys(wish.get("off", ())))
    before = _check(plan, {NOW: {**scene, "off": off}})
    if before.layout is None or before.table is None:
        return _unjudged(before)
    arms = [arm.id for arm in before.layout.arms()]
    if len(arms) > MAX_ARMS:
        return {"why": f"has more than {MAX_ARMS} arms: too many to try each.", "report": None}
    others = [arm for arm in arms if arm not in off]
    trials = {f"{WITH}{number}": {**scene, "off": [*off, arm]} for number, arm in enumerate(others)}
    found = _by_scene(_check(plan, {NOW: {**scene, "off": off}, **trials}))
    now = found.get(NOW, [])
    said = {finding.message for finding in now}
    told = [_off(arm, now) for arm in off]
    for number, arm in enumerate(others):
        reasons = [f for f in found.get(f"{WITH}{number}", []) if f.message not in said]
        told.append(_entry(arm, "must-not" if reasons else "may", reasons))
    told.sort(key=lambda entry: arms.index(entry["arm"]))
    loose = [f for f in now if not set(f.path) & set(off)]
    return {"arms": told, "points": [{"message": f.message, "fix": f.fix} for f in loose]}


def _check(plan: Mapping[str, Any], scenes: Mapping[str, Any]) -> Report:
    tried = {key: value for key, value in plan.items() if key != "accept"}
    return trappoint.check(json.dumps({**tried, "scenes": scenes}).encode("ascii"), name="-")


def _unjudged(report: Report) -> dict[str, Any]:
    from trappoint.reporting.findings_json import report_to_json
    from trappoint.reporting.wording import verdict_of

    return {"report": report_to_json(report), "why": verdict_of(report)}


def _by_scene(report: Report) -> dict[str, list[Finding]]:
    """Return what is found of each scene, by its id."""
    found: dict[str, list[Finding]] = {}
    for finding in report.findings:
        parts = finding.pointer.split("/")
        if parts[1:2] == ["scenes"] and len(parts) > 2 and finding.rule != "scene-open":
            found.setdefault(parts[2], []).append(finding)
    return found


def _off(arm: str, now: Iterable[Finding]) -> dict[str, Any]:
    reasons = [finding for finding in now if arm in finding.path]
    return _entry(arm, "wrong" if reasons else "off", reasons)


def _entry(arm: str, state: str, reasons: Iterable[Finding]) -> dict[str, Any]:
    because = list(dict.fromkeys(finding.message for finding in reasons))
    return {"arm": arm, "state": state, "because": because}


def mistake_in(wish: object) -> str | None:
    """Return what is wrong with a request for a scene, None where nothing is."""
    if not isinstance(wish, dict) or not isinstance(wish.get("plan"), dict):
        return "The body must be an object with the plan, an object, under `plan`."
    for key in wish:
        if key not in ("plan", "points", "off", "trains"):
            return "The body may hold plan, points, off and trains, and nothing else."
    points = wish.get("points", {})
    if not isinstance(points, dict) or not all(isinstance(lie, str) for lie in points.values()):
        return "`points` must be an object: from ids to lies."
    for key in ("off", "trains"):
        names = wish.get(key, [])
        if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
            return f"`{key}` must be a list of ids."
    return None
