"""Was a slip caught, rightly passed over, missed; or was something false said of it?

*Caught*: a finding that the plan had not before is in the place of the slip, and its rule is one
that counts for slips of the kind. *Right*: nothing of the sort, but the search says that the plan
still holds and the second opinion finds nothing wrong with it. *Missed*: neither. *False*: whatever
else was found, an error was reported that the definitions contradict (or a warning, of the rules
that the second opinion knows); or a verdict that the search does not share.
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
    """What became of one slip, and why it is thought so."""

    verdict: str
    why: str


class Base(NamedTuple):
    """A plan that holds and in which nothing is wrong, with what is said of it all the same."""

    name: str
    plan: Plan
    said: frozenset[tuple[str, str, str]]
    over: dict[str, frozenset[str]]
    """The tracks and elements over which the roads of each signal and each arm lead."""


def base_of(name: str, plan: Plan) -> tuple[Base, Outcome]:
    """Prepare a plan that has no fault, and judge what the check says of it."""
    assert holds(plan, 2_000_000), name
    assert wrong(plan) == [], (name, wrong(plan))
    report = check(json.dumps(plan))
    keys = frozenset(_key(finding) for finding in report.findings)
    # Whether trains fit, for instance, is for others to say.
    known = [each for each in report.findings if each.rule in SECOND_OPINION | PROVED | FORM]
    said = [finding.message for finding in known if finding.level != "note"]
    why = "; ".join(said) if report.holds else f"the verdict {report.holds}"
    outcome = Outcome("false" if why else "right", why)
    return Base(name, plan, keys, _roads_over(Meaning(plan))), outcome


def _roads_over(
    meaning: Meaning, before: dict[str, frozenset[str]] | None = None
) -> dict[str, frozenset[str]]:
    """Over which tracks and elements the roads of each signal and of each arm lead, or led."""
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
    """Judge what is said of one slip; None if the search cannot tell in reasonable time."""
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
    """The slip, its names with those of the tracks that are one section with one of them."""
    sections = Sections(slip.plan).sections.values()
    tracks = [{piece.track for piece in section.pieces} for section in sections]
    more = (each for each in tracks if not slip.names.isdisjoint(each))
    return slip._replace(names=slip.names.union(*more))


def _roads_changed(over: dict[str, frozenset[str]], slip: Slip, finding: Finding) -> bool:
    """Whether a finding is on arms of which a road leads, or led, over what was changed.

    Where a road is missed, the finding lists those that are left; where two roads conflict that
    have become longer, or a distant repeats a wrong arm, it names the arms; of a platform without a
    home it names the tracks.
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
    """All that is wrong, and whether the plan holds (False if that cannot be asked)."""
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
    """Whether the definitions do not say what a finding says."""
    if finding.rule in PROVED:
        return finding.level == "error" and not _replays(slip.plan, finding)
    if finding.rule in FORM:
        return not in_place(slip, finding)
    if finding.rule in ELSEWHERE:
        return False
    if finding.rule in SECOND_OPINION:
        return not any(_tells(finding, each) for each in faults)
    return finding.level == "error"  # on all other errors there is no second opinion


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
    """The ids that a finding bears; of a section the track as well."""
    tracks = [name.rpartition(".")[0] for name in finding.path if "." in name]
    return frozenset((*finding.path, *tracks, *finding.pointer.split("/")[2:3]))


def in_place(slip: Slip, finding: Finding) -> bool:
    """Whether a finding is at, above or below what was written wrongly, or names it.

    A finding above is one on the same thing: the signal, the track; never on all of the tracks.
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
