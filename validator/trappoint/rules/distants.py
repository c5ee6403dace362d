"""Rules on arms that go with stop arms: distants, and calling-on arms."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import pointer_to
from trappoint.rules.route_phrases import MAX_NAMES, some_names, tell_names
from trappoint.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.core.findings import Finding
    from trappoint.facts.facts import Facts
    from trappoint.model.layout import Arm

WRONG_ARM = Rule(
    id="distant-repeats-wrong-arm",
    level="error",
    stage="facts",
    summary="a distant that speaks for an arm not next on its road",
    why=(
        "A distant that is off tells the driver that all stop signals on his road are off, so that "
        "he need not be ready to stop."
    ),
    source=(
        "Board of Trade requirements 1892, rules 3 and 7f; a distant applies to every stop signal "
        "of its box for the line"
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
            hint = f"Next ahead of it: signal {' and '.join(ahead)}." if ahead else ""
            yield WRONG_ARM.finding(
                pointer_to(*here, "repeats", index),
                f"Distant {arm.id} cannot speak for {arm.repeats[index]}: {reason}. Its roads "
                f"lead over {tell_names(over)}.",
                f"Name the stop arms that a train meets next beyond it, in order. {hint}".strip(),
                path=(arm.id, arm.repeats[index], *over, *ahead[:MAX_NAMES]),
            )


NOTHING_AHEAD = Rule(
    id="distant-without-stop-ahead",
    level="warning",
    stage="facts",
    summary="a distant with no stop signal ahead of it",
    why="There is nothing that it could tell beforehand.",
    source="Board of Trade requirements 1892, rule 7f",
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
                f"Distant {arm.id} has no stop signal ahead of it, over {tell_names(over)}.",
                "Take it out, or look which way it faces; it may belong on another road.",
                path=(arm.id, *over),
            )


ABOVE_STOP_ARM = Rule(
    id="distant-above-stop-arm",
    level="warning",
    stage="facts",
    summary="a distant above a stop arm on the same doll",
    why="The driver reads the upper arm first: it is the one at which he must stop.",
    source=(
        "Board of Trade requirements 1892, rule 3: a distant arm must not be above a home or "
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
                    f"Distant {arm.id} stands above stop arm {below[0].id} on the same doll.",
                    _below(arm, below[0]),
                    path=(arm.id, below[0].id),
                )


def _below(distant: Arm, stop: Arm) -> str:
    if stop.under == distant.id:
        return f'Take "under" out of {stop.id}, and write "under": "{stop.id}" in {distant.id}.'
    return f'List it after {stop.id}, or write "under": "{stop.id}".'


CALLING_ON_ALONE = Rule(
    id="calling-on-alone",
    level="error",
    stage="facts",
    summary="a calling-on arm without a stop arm",
    why=(
        "A calling-on arm lets a train that is held at a stop arm run up to another one; alone it "
        "holds nobody."
    ),
    source="subsidiary arms stand below a stop arm (present-day descriptions of British practice)",
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
                f"Calling-on arm {arm.id} has no stop arm for the same trains on its post.",
                "Put it under the stop arm at which trains are held; to let trains out of a "
                "siding use a shunt arm.",
                path=(arm.id,),
            )


CALLS_ELSEWHERE = Rule(
    id="calling-on-for-another-road",
    level="error",
    stage="facts",
    summary="a calling-on arm that speaks for another road than the arm above it",
    why="A driver takes a small arm under a stop arm for the same road as that arm.",
    source="subsidiary arms stand below a stop arm (present-day descriptions of British practice)",
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
                f"Calling-on arm {arm.id} stands under {arm.under}, but speaks for another road.",
                f"Leave its `to` out: it then speaks for the roads of {arm.under}; or put it "
                "under the arm for its road."
                if arm.to
                else "Put it under the stop arm for its road.",
                path=(arm.id, arm.under or ""),
            )
