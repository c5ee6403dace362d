"""Rules on arms that go with stop arms: distants, and calling-on arms."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import pointer_to
from trappoint.core.quoting import listed
from trappoint.rules.route_phrases import (
    MAX_NAMES,
    at_start,
    names_in_words,
    of_signal,
    some_names,
    thing,
)
from trappoint.rules.rule import BOARD_OF_TRADE, Rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.core.findings import Finding
    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Arm

WRONG_ARM = Rule(
    id="distant-repeats-wrong-arm",
    level="error",
    stage="facts",
    summary="a distant that repeats an arm that is not next on its road",
    why=("A driver who passes a distant at off expects every stop signal on his road to be off."),
    source=(
        f"{BOARD_OF_TRADE}, rules 3 and 7f; that a distant repeats every stop signal of its box "
        "for the line: common practice, no source"
    ),
    fails={
        "signals": {
            "8": {
                "track": "town-line",
                "for": "down",
                "at_mm": 10,
                "arms": [{"id": "8", "kind": "distant", "repeats": ["7L"]}],
            }
        }
    },
    passes={
        "signals": {
            "8": {
                "track": "town-line",
                "for": "down",
                "at_mm": 10,
                "arms": [{"id": "8", "kind": "distant", "repeats": ["1R", "2"]}],
            }
        }
    },
)


@WRONG_ARM.checked_by
def _wrong_arm(facts: Facts) -> Iterator[Finding]:
    from trappoint.interlocking.distants import tracks_ahead

    for distant in facts.distants:
        arm = distant.arm
        here = ("signals", arm.signal, "arms", arm.position)
        over = some_names(tracks_ahead(facts, distant)) if distant.stray else []
        for index, reason in distant.stray:
            ahead = [facts.network.heads[head].signal for head in distant.first]
            next_ = f": those of signal {listed(ahead, 'and')}" if ahead else ""
            yield WRONG_ARM.finding(
                pointer_to(*here, "repeats", index),
                f"{at_start(thing(facts, 'arms', arm.id, 'distant'))} cannot repeat "
                f"{facts.names.called('arms', arm.repeats[index])}: {reason}. Its roads lead over "
                f"{names_in_words(over)}.",
                f"Name the stop arms that a train meets next beyond it, in order{next_}.",
                path=(arm.id, arm.repeats[index], *over, *ahead[:MAX_NAMES]),
            )


NOTHING_AHEAD = Rule(
    id="distant-without-stop-ahead",
    level="warning",
    stage="facts",
    summary="a distant with no stop signal ahead of it",
    why="A distant warns of stop signals, and ahead of this one there are none.",
    source=f"{BOARD_OF_TRADE}, rule 7f",
    fails={
        "signals": {
            "8": {"track": "quarry-line", "for": "down", "arms": [{"id": "8", "kind": "distant"}]}
        }
    },
    passes={
        "signals": {
            "8": {
                "track": "quarry-line",
                "for": "up",
                "at_mm": 900,
                "arms": [{"id": "8", "kind": "distant"}],
            }
        }
    },
)


@NOTHING_AHEAD.checked_by
def _nothing_ahead(facts: Facts) -> Iterator[Finding]:
    from trappoint.interlocking.distants import tracks_ahead

    for distant in facts.distants:
        if not distant.first:
            arm = distant.arm
            over = some_names(tracks_ahead(facts, distant))
            yield NOTHING_AHEAD.finding(
                pointer_to("signals", arm.signal, "arms", arm.position),
                f"{at_start(thing(facts, 'arms', arm.id, 'distant'))} has no stop signal ahead of "
                f"it, over {names_in_words(over)}.",
                "Take it out, or correct its track or the way that it faces (`for`).",
                path=(arm.id, *over),
            )


ABOVE_STOP_ARM = Rule(
    id="distant-above-stop-arm",
    level="warning",
    stage="facts",
    summary="a distant above a stop arm on the same doll",
    why="A driver reads the upper arm first, so that must be the arm at which he stops.",
    source=(
        f"{BOARD_OF_TRADE}, rule 3: a distant arm must not be above a home or "
        "starting arm on the same post"
    ),
    fails={
        "signals": {
            "1": {
                "arms": [
                    {"id": "1L", "to": "loop-west"},
                    {"id": "1D", "kind": "distant", "doll": 2, "repeats": ["2"]},
                    {"id": "1R", "to": "main", "doll": 2},
                ]
            }
        }
    },
    passes={
        "signals": {
            "1": {
                "arms": [
                    {"id": "1L", "to": "loop-west"},
                    {"id": "1R", "to": "main"},
                    {"id": "1D", "kind": "distant", "under": "1R", "repeats": ["2"]},
                ]
            }
        }
    },
)


@ABOVE_STOP_ARM.checked_by
def _above_stop_arm(facts: Facts) -> Iterator[Finding]:
    for signal in facts.layout.signals.values():
        for arm in signal.arms:
            if arm.kind != "distant":
                continue
            below = [
                other
                for other in signal.arms
                if other.kind == "stop"
                and other.doll == arm.doll
                and (other.under == arm.id or (arm.under is None and other.position > arm.position))
            ]
            if below:
                yield ABOVE_STOP_ARM.finding(
                    pointer_to("signals", signal.id, "arms", arm.position),
                    f"Distant {arm.id}{of_signal(facts, arm.signal)} is above stop arm "
                    f"{below[0].id} on the same doll.",
                    _below(arm, below[0]),
                    path=(arm.id, below[0].id),
                )


def _below(distant: Arm, stop: Arm) -> str:
    if stop.under == distant.id:
        return f'Take "under" out of {stop.id}, and write "under": "{stop.id}" in {distant.id}.'
    return f'List {distant.id} after {stop.id}, or write "under": "{stop.id}" in it.'


CALLING_ON_ALONE = Rule(
    id="calling-on-alone",
    level="error",
    stage="facts",
    summary="a calling-on arm without a stop arm",
    why=(
        "A calling-on arm lets a train, held at a stop arm, run up to a standing train; alone it "
        "holds no train."
    ),
    source="common practice, no source: in Britain, subsidiary arms are below a stop arm",
    fails={
        "signals": {
            "8": {"track": "siding", "for": "down", "arms": [{"id": "8", "kind": "calling-on"}]}
        }
    },
    passes={
        "signals": {
            "7": {
                "arms": [
                    {"id": "7L", "to": "main"},
                    {"id": "7R", "to": "loop-west"},
                    {"id": "7C", "kind": "calling-on", "under": "7L"},
                ]
            }
        }
    },
)


@CALLING_ON_ALONE.checked_by
def _calling_on_alone(facts: Facts) -> Iterator[Finding]:
    for number, arm in enumerate(facts.assignment.arms):
        head = facts.assignment.head_of[number]
        if arm.kind == "calling-on" and (head < 0 or not facts.network.heads[head].stops):
            yield CALLING_ON_ALONE.finding(
                pointer_to("signals", arm.signal, "arms", arm.position),
                f"{at_start(thing(facts, 'arms', arm.id, 'calling-on arm'))} has no stop arm for "
                "the same trains on its post.",
                "Put it under the stop arm that holds the trains; to let trains out of a siding, "
                "use a shunt arm.",
                path=(arm.id,),
            )


CALLS_ELSEWHERE = Rule(
    id="calling-on-for-another-road",
    level="error",
    stage="facts",
    summary="a calling-on arm for another road than the arm above it",
    why="Drivers take a small arm under a stop arm to be for the same road.",
    source="common practice, no source: in Britain, subsidiary arms are below a stop arm",
    fails={
        "signals": {
            "7": {
                "arms": [
                    {"id": "7L", "to": "main"},
                    {"id": "7R", "to": "loop-west"},
                    {"id": "7C", "kind": "calling-on", "under": "7L", "to": "loop-west"},
                ]
            }
        }
    },
    passes={
        "signals": {
            "7": {
                "arms": [
                    {"id": "7L", "to": "main"},
                    {"id": "7R", "to": "loop-west"},
                    {"id": "7C", "kind": "calling-on", "under": "7L"},
                ]
            }
        }
    },
)


@CALLS_ELSEWHERE.checked_by
def _calls_elsewhere(facts: Facts) -> Iterator[Finding]:
    assignment = facts.assignment
    numbers = {arm.id: number for number, arm in enumerate(assignment.arms)}
    for number, arm in enumerate(assignment.arms):
        above = numbers.get(arm.under or "")
        if arm.kind != "calling-on" or above is None:
            continue
        roads, allowed = assignment.routes_of[number], assignment.routes_of[above]
        if roads and allowed and not set(roads) <= set(allowed):
            yield CALLS_ELSEWHERE.finding(
                pointer_to(
                    "signals", arm.signal, "arms", arm.position, "to" if arm.to else "under"
                ),
                f"Calling-on arm {arm.id}{of_signal(facts, arm.signal)} is under {arm.under}, but "
                "is for another road.",
                f"Take its `to` out, so that it has the routes of {arm.under}; or put it under the "
                "arm for its road."
                if arm.to
                else "Put it under the stop arm for its road.",
                path=(arm.id, arm.under or ""),
            )
