"""Judges a slip: did the check catch it, stay silent rightly, miss it or report something false?

*Caught*: a new finding is in the place of the slip, and its rule counts for slips of this kind.
*Right*: no such finding, but by the search the plan still holds, and the second opinion finds no
fault. *Missed*: neither. *False*: the check reports an error that the definitions contradict (or
such a warning, of a rule that the second opinion knows), or its verdict differs from that of the
search.
"""

from __future__ import annotations

import json
import re
from typing import NamedTuple

from oracle.heads import NotJudgedError
from oracle.sections import Sections
from oracle.two_trains import ReplayError, TooLargeError, holds, replay
from slips.dressing import wrong
from slips.kinds import Slip
from slips.meaning import Meaning, Plan
from slips.opinion import Fault
from slips.rules import COUNTING, ELSEWHERE, FORM, PROVED, SECOND_OPINION, WHOLE
from slips.whole import broken
from trappoint import Report, check
from trappoint.core.findings import Finding

MAX_STATES = 100_000


class Outcome(NamedTuple):
    """The judgement on one slip, and the reason for it."""

    verdict: str
    why: str


class Base(NamedTuple):
    """A plan that holds and has no fault, with the findings of the check on it."""

    name: str
    plan: Plan
    said: frozenset[tuple[str, str, str]]
    over: dict[str, frozenset[str]]
    """The tracks and elements on the roads of each signal and each arm."""


def base_of(name: str, plan: Plan) -> tuple[Base, Outcome]:
    """Prepare a plan without faults, and judge the findings of the check on it."""
    assert holds(plan, 2_000_000), name
    assert wrong(plan) == [], (name, wrong(plan))
    report = check(json.dumps(plan))
    keys = frozenset(_key(finding) for finding in report.findings)
    # Other tests judge other findings, for example those on the lengths of trains.
    known = [each for each in report.findings if each.rule in SECOND_OPINION | PROVED | FORM]
    said = [finding.message for finding in known if finding.level != "note"]
    why = "; ".join(said) if report.holds else f"the verdict {report.holds}"
    outcome = Outcome("false" if why else "right", why)
    return Base(name, plan, keys, _roads_over(Meaning(plan))), outcome


def _roads_over(
    meaning: Meaning, before: dict[str, frozenset[str]] | None = None
) -> dict[str, frozenset[str]]:
    """Return the tracks and elements on the roads of each signal and each arm."""
    over = {name: {*names} for name, names in (before or {}).items()}
    for arm in meaning.arms:
        for road in meaning.of_head(arm.key):
            for place in road.places:
                met = meaning.tracks_at.get(place, [place])
                over.setdefault(arm.signal, set()).update(met)
                over.setdefault(arm.id, set()).update(met)
    return {name: frozenset(found) for name, found in over.items()}


def _key(finding: Finding) -> tuple[str, str, str]:
    return finding.rule, finding.pointer, finding.message


def said_of(slip: Slip) -> Report:
    return check(json.dumps(slip.plan))


def judge(base: Base, kind: str, slip: Slip, report: Report) -> Outcome | None:
    """Judge the findings on one slip; return None if the search reaches its limit."""
    if report.fault is not None:
        return Outcome("false", f"the rule {report.fault} failed")
    new = [finding for finding in report.findings if _key(finding) not in base.said]
    try:
        faults, truly = _second_opinion(slip, report)
    except TooLargeError:
        return None
    said_wrongly = _said_wrongly(slip, report, new, faults, truly)
    if said_wrongly:
        return Outcome("false", said_wrongly)
    beside = _beside(slip) if report.facts is not None else slip
    over = base.over if report.facts is None else _roads_over(Meaning(slip.plan), base.over)
    for finding in new:
        near = in_place(beside, finding) or _roads_changed(over, beside, finding)
        if finding.rule in COUNTING[kind] and near:
            return Outcome("caught", finding.rule)
    if truly and not faults:
        return Outcome("right", "")
    told = ", ".join(f"{each.rule} {' '.join(sorted(each.names))}" for each in faults)
    elsewhere = ", ".join(f"{each.rule} at {each.pointer}" for each in new)
    holding = "holds" if truly else "does not hold"
    return Outcome("missed", f"{holding}; wrong: {told or '-'}; said: {elsewhere or '-'}")


def _beside(slip: Slip) -> Slip:
    """Return the slip with the names of all tracks that share a section with one of its names."""
    sections = Sections(slip.plan).sections.values()
    tracks = [{piece.track for piece in section.pieces} for section in sections]
    more = (each for each in tracks if not slip.names.isdisjoint(each))
    return slip._replace(names=slip.names.union(*more))


def _roads_changed(over: dict[str, frozenset[str]], slip: Slip, finding: Finding) -> bool:
    """Return whether a finding is on arms with a road over a changed thing, before or after.

    A finding on a missing road lists the roads that are left. A finding on two roads in conflict,
    or on a distant with a wrong arm, names the arms; one on a platform without a home, the tracks.
    """
    if finding.rule == "platform-without-home":
        tracks = slip.plan["platforms"][finding.path[0]]["tracks"]
        return any(not over.get(name, frozenset()).isdisjoint(tracks) for name in slip.names)
    named = {
        "arm-needs-to": finding.pointer.split("/")[2:3],
        "scene-arms-conflict": finding.path,
        "distant-repeats-wrong-arm": finding.path,
    }
    return any(
        not slip.names.isdisjoint(over.get(name, ())) for name in named.get(finding.rule, ())
    )


def _second_opinion(slip: Slip, report: Report) -> tuple[list[Fault], bool]:
    """Return all faults, and whether the plan holds (False if it cannot be judged)."""
    if report.layout is None:
        return [], False
    faults = broken(slip.plan)
    if faults:
        return faults, False
    try:
        return wrong(slip.plan), holds(slip.plan, MAX_STATES)
    except NotJudgedError:
        return [], False


def _said_wrongly(
    slip: Slip, report: Report, new: list[Finding], faults: list[Fault], truly: bool
) -> str:
    judged = report.facts is not None
    if judged and report.holds is not truly:
        return f"the verdict {report.holds}, but by the search it {'holds' if truly else 'fails'}"
    if report.layout is not None and judged is any(each.rule in WHOLE for each in faults):
        return f"judged: {judged}, but: {faults}"
    return next((f"{f.rule}: {f.message}" for f in new if _contradicted(slip, f, faults)), "")


def _contradicted(slip: Slip, finding: Finding, faults: list[Fault]) -> bool:
    """Return whether the definitions contradict a finding."""
    if finding.rule in PROVED:
        return finding.level == "error" and not _replays(slip.plan, finding)
    if finding.rule in FORM:
        return not in_place(slip, finding)
    if finding.rule in ELSEWHERE:
        return False
    if finding.rule in SECOND_OPINION:
        return not any(_tells(finding, each) for each in faults)
    return finding.level == "error"  # There is no second opinion on other errors.


def _replays(plan: Plan, finding: Finding) -> bool:
    if finding.movement is None:
        return False
    try:
        replay(plan, finding.movement.to_json())
    except ReplayError:
        return False
    return True


def _tells(finding: Finding, fault: Fault) -> bool:
    return finding.rule == fault.rule and fault.names <= _named(finding)


def _named(finding: Finding) -> frozenset[str]:
    """Return the ids in the path of a finding; for a section, its track too."""
    tracks = [name.rpartition(".")[0] for name in finding.path if "." in name]
    return frozenset((*finding.path, *tracks, *finding.pointer.split("/")[2:3]))


def in_place(slip: Slip, finding: Finding) -> bool:
    """Return whether a finding is at, above or below the wrong value, or names its thing.

    "Above" stays on the same thing: the signal or the track, never all tracks.
    """
    pointer = finding.pointer
    for at in slip.at:
        if pointer == at or pointer.startswith(f"{at}/"):
            return True
        if at.startswith(f"{pointer}/") and pointer.count("/") >= 2:
            return True
    told = f"{finding.message} {finding.fix}"
    words = set(re.findall(r"[\w-]+", told))
    if any(name in told if " " in name or ":" in name else name in words
           for name in slip.names if not name.isdigit()):  # fmt: skip
        return True
    return not slip.names.isdisjoint(_named(finding))
