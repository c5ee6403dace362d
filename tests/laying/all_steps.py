"""The steps that build a plan from nothing, found from the plan.

``steps_for`` reads a plan and returns steps that give the same plan again: the track first, then
all else in the order of the text.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

from .track_steps import steps_of_track

Step = dict[str, Any]
Data = dict[str, Any]


def steps_for(plan: Mapping[str, Any]) -> list[Step]:
    """Return the steps that build a plan from nothing."""
    return [*steps_of_track(plan), *steps_beside_track(plan)]


def steps_beside_track(plan: Mapping[str, Any]) -> list[Step]:
    """Return the steps for all but the track of a plan, on a plan that has its track."""
    return [
        *_of_plan(plan),
        *_simple(plan, "boards", "add-board"),
        *({"do": "join-boards", **join} for join in plan.get("joins", ())),
        *_simple(plan, "platforms", "build-platform"),
        *({"do": "work-together", "points": some} for some in plan.get("worked_together", ())),
        *_simple(plan, "yards", "make-yard"),
        *_simple(plan, "trains", "add-train"),
        *_signals(plan),
        *_beliefs(plan),
        *({"do": "put-lever", "number": key, **own} for key, own in plan.get("levers", {}).items()),
        *_simple(plan, "scenes", "set-scene"),
        *_sessions(plan),
        *(
            {"do": "describe-edge", "edge": key, **own}
            for key, own in plan.get("edges", {}).items()
        ),
        *_accepted(plan),
    ]


def _of_plan(plan: Mapping[str, Any]) -> Iterator[Step]:
    if "scale" in plan:
        standard = {"standard": plan["standard"]} if "standard" in plan else {}
        yield {"do": "set-scale", "scale": plan["scale"], **standard}
    found = {key: plan[key] for key in ("gauge_mm", "spacing_mm") if key in plan}
    if "$schema" in plan:
        found["schema"] = plan["$schema"]
    if found:
        yield {"do": "describe-plan", **found}
    if "title" in plan:
        yield {"do": "call-plan", "title": plan["title"]}
    if "note" in plan:
        yield {"do": "note", "at": "plan", "note": plan["note"]}


def _simple(plan: Mapping[str, Any], kind: str, verb: str) -> Iterator[Step]:
    for key, own in plan.get(kind, {}).items():
        yield {"do": verb, "id": key, **own}


def _signals(plan: Mapping[str, Any]) -> Iterator[Step]:
    """Yield each signal with its first arm, then its other arms."""
    for key, own in plan.get("signals", {}).items():
        first, *rest = own["arms"]
        looks = {name: value for name, value in own.items() if name != "arms"}
        looks.setdefault("mount", None)
        kind = {"kind": first["kind"]} if "kind" in first else {}
        yield {"do": "put-signal", "id": key, "arm": first["id"], "arms": "one", **looks, **kind}
        more = {name: value for name, value in first.items() if name not in (*_LATER, *kind, "id")}
        if more:
            yield {"do": "change-arm", "arm": first["id"], **more}
        for arm in rest:
            own_keys = {name: value for name, value in arm.items() if name not in _LATER}
            yield {"do": "add-arm", "signal": key, **own_keys}
        if rest and own.get("mount") in ("post", "ground"):
            yield {"do": "change-signal", "signal": key, "mount": own["mount"]}


_LATER = ("repeats", "never_with", "expects")
"""What an arm says of other arms and of points: once they are all there."""


def _beliefs(plan: Mapping[str, Any]) -> Iterator[Step]:
    for own in plan.get("signals", {}).values():
        for arm in own["arms"]:
            later = {name: arm[name] for name in _LATER if name in arm}
            if later:
                yield {"do": "change-arm", "arm": arm["id"], **later}


def _sessions(plan: Mapping[str, Any]) -> Iterator[Step]:
    for key, own in plan.get("sessions", {}).items():
        first = {name: value for name, value in own.items() if name != "moves"}
        yield {"do": "plan-session", "id": key, **first}
        yield from ({"do": "add-movement", "session": key, **move} for move in own["moves"])


def _edges(plan: Mapping[str, Any]) -> Iterator[Step]:
    for key, own in plan.get("edges", {}).items():
        yield {"do": "describe-edge", "edge": key, **own}


def _accepted(plan: Mapping[str, Any]) -> Iterator[Step]:
    for entry in plan.get("accept", ()):
        yield {"do": "accept", **entry, "at": entry["at"].removeprefix("/")}
