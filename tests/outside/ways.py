"""The lies that a way over tracks needs, from the plan's JSON.

Written from the format's page alone, without the library, to test the library's tables.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

Plan = Mapping[str, Any]

FAR_END = {"up": "down", "down": "up"}


Lies = dict[str, str]


def lies_of_ways(
    plan: Plan, start: str, heading: str, over: Sequence[str], yard: str | None = None
) -> list[Lies]:
    """The lies that a way needs which leaves `start` with this heading; mostly one answer.

    `over`: the tracks that it runs over, in order, one that it comes back on to at once (over a
    turntable, or round a loop) named once for both times, and `start` only where it begins along
    that track; `yard`: the yard into which it runs at last. There are several answers where
    several ways run over the same tracks.
    """
    found: list[Lies] = []
    named = (start, *over[1:]) if over[:1] == [start] else ("", *over)
    for first in {named, ("", *over)}:
        for lies in _walk(plan, (start, heading), first, yard, frozenset()):
            if lies not in found:
                found.append(lies)
    return found


def _walk(
    plan: Plan,
    at: tuple[str, str],
    named: Sequence[str],
    yard: str | None,
    met: frozenset[tuple[str, str]],
) -> Iterator[Lies]:
    """Go on from a track (with a heading), the first of those that are named."""
    if len(named) == 1 and (yard is None or _leads_in(plan, *at, yard)):
        yield {}
    for other, heading, lies in _onward(plan, *at):
        to = (other, heading)
        if len(named) == 1 and yard is not None and _is_in(plan, other, yard):
            yield lies
            continue
        for rest in (named[1:], named):
            if to not in met and rest and other == rest[0]:
                for more in _walk(plan, to, rest, yard, met | {to}):
                    if all(more.get(name, lie) == lie for name, lie in lies.items()):
                        yield {**lies, **more}


def _is_in(plan: Plan, track: str, yard: str) -> bool:
    return track in plan["yards"][yard].get("tracks", [])


def _leads_in(plan: Plan, track: str, heading: str, yard: str) -> bool:
    """Return whether a track leads into a yard: by an element at its end, or being partly in it."""
    if _is_in(plan, track, yard):
        return True
    name = plan["tracks"][track][heading].partition(".")[0]
    kinds = ("points", "crossings", "turntables")
    return any(name in plan["yards"][yard].get(kind, []) for kind in kinds)


def _onward(plan: Plan, track: str, heading: str) -> Iterator[tuple[str, str, Lies]]:
    """The tracks beyond the end of one, each with the new heading and the lies that it needs."""
    met = plan["tracks"][track][heading]
    if met == "buffer" or met.startswith("edge:"):
        return
    legs = [(met, dict[str, str]())] if met.startswith("joint:") else list(_ways_out(plan, met))
    for leg, lies in legs:
        for other, ends in plan["tracks"].items():
            for end in ("up", "down"):
                back = met.startswith("joint:") and (other, end) == (track, heading)
                allowed = ends.get("running", "both") in ("both", FAR_END[end])
                if ends[end] == leg and allowed and not back:
                    yield other, FAR_END[end], lies


def _ways_out(plan: Plan, met: str) -> Iterator[tuple[str, Lies]]:
    """From a leg of an element: the legs that it leads to, each with the lie that it needs."""
    name, _, leg = met.partition(".")
    if name in plan.get("points", {}):
        three = plan["points"][name].get("kind") == "three-way"
        if leg == "toe":
            for lie in ("left", "middle", "right") if three else ("left", "right"):
                yield f"{name}.{lie}", {name: lie}
        else:
            yield f"{name}.toe", {name: leg}
    elif name in plan.get("crossings", {}):
        kind = plan["crossings"][name].get("kind", "diamond")
        across = {"a1": "a2", "a2": "a1", "b1": "b2", "b2": "b1"}[leg]
        yield f"{name}.{across}", {} if kind == "diamond" else {name: "straight"}
        slips = {"diamond": [], "single-slip": ["a1b2"], "double-slip": ["a1b2", "a2b1"]}[kind]
        for slip in slips:
            if leg in (slip[:2], slip[2:]):
                other = slip.replace(leg, "")
                yield f"{name}.{other}", {name: "slip"}
    else:
        for road in plan["turntables"][name]["roads"]:
            yield f"{name}.{road}", {}


def levers(plan: Plan) -> dict[str, str]:
    """For each points and slip the name of its lever: switches worked together share one."""
    lever = {name: name for kind in ("points", "crossings") for name in plan.get(kind, {})}
    for group in plan.get("worked_together", []):
        joined = {lever[name] for name in group}
        first = min(joined)
        lever = {name: first if each in joined else each for name, each in lever.items()}
    return lever


def lever_words(plan: Plan, lies: Mapping[str, str]) -> dict[str, set[str]]:
    """What these lies ask of each lever: one word, or several where they cannot be set."""
    lever = levers(plan)
    shared = [name for group in plan.get("worked_together", []) for name in group]
    words: dict[str, set[str]] = {}
    for name, lie in lies.items():
        word = lie
        if name in shared:
            normal = plan.get("points", {}).get(name, {}).get("normal", "straight")
            word = "normal" if lie == normal else "reverse"
        words.setdefault(lever[name], set()).add(word)
    return words
