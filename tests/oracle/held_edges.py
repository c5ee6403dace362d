"""A plan with held edges, rewritten as a plan without them.

By definition, a held edge means a track beyond the edge and a stop signal at its end. This module
adds both, so that the searches need no rule for held edges.
"""

from __future__ import annotations

import copy
from typing import Any

Plan = dict[str, Any]

ONWARD = {"up": "down", "down": "up"}
"""From an end of a track to the heading of the trains that come on there."""


def spell_out(plan: Plan) -> tuple[Plan, dict[str, str]]:
    """Return the plan with tracks and signals for its held edges.

    Also returns a map from the library's name of each to its name here, which is new to the plan.
    """
    found = copy.deepcopy(plan)
    said = found.pop("edges", {})
    names: dict[str, str] = {}
    met: dict[str, int] = {}
    for track in list(found["tracks"].values()):
        running = track.get("running", "both")
        for end in ("down", "up"):
            edge = track[ONWARD[end]]
            if not edge.startswith("edge:") or not said.get(edge[5:], {}).get("held"):
                continue
            if running not in ("both", end):
                continue
            met[edge] = met.get(edge, 0) + 1
            name = _unused(plan, edge[5:].replace("/", "-"))
            while name in names.values():
                name += "x"
            names[edge if met[edge] == 1 else f"{edge}.{met[edge]}"] = name
            track[ONWARD[end]] = f"joint:{name}"
            _add(found, name, edge, end, running)
    return found, names


def _add(plan: Plan, name: str, edge: str, heading: str, running: str) -> None:
    ends = {ONWARD[heading]: edge, heading: f"joint:{name}"}
    plan["tracks"][name] = {**ends, "running": running}
    arms = [{"id": name}]
    plan.setdefault("signals", {})[name] = {"track": name, "for": heading, "arms": arms}


def _unused(plan: Plan, name: str) -> str:
    """Return a name that the plan has nowhere, neither as an id nor in one of its texts."""
    text = repr(plan)
    name = f"beyond-{name}"
    while name in text:
        name += "x"
    return name


def renamed(value: Any, names: dict[str, str]) -> Any:
    """Return a movement as the library shows it with the names that `spell_out` gave."""
    if isinstance(value, dict):
        # The edge at which a train comes on keeps its name.
        return {k: v if k == "edge" else renamed(v, names) for k, v in value.items()}
    if isinstance(value, list):
        return [renamed(each, names) for each in value]
    return names.get(value, value) if isinstance(value, str) else value
