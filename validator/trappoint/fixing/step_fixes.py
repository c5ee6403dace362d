"""Quick fixes that are steps of laying, by rule.

A rule has one if its finding leaves no doubt about what to do, or little: then the label says it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from trappoint.core.quoting import number
from trappoint.laying.catalogue import VERBS

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

    from trappoint.core.findings import Finding
    from trappoint.model.layout import Layout

    Maker = Callable[["Spot"], Iterator["StepFix"]]


class StepFix(NamedTuple):
    """A step that mends a finding, and what it does, as an imperative."""

    label: str
    step: dict[str, object]


class Spot(NamedTuple):
    """A finding with the parts of its pointer."""

    layout: Layout
    finding: Finding
    parts: tuple[str, ...]
    """The kind of the thing, its id, then the keys below it."""

    @property
    def key(self) -> str:
        """The id of the thing that the finding is about."""
        return self.parts[1]

    @property
    def last(self) -> int:
        """The last part of the pointer, an index."""
        return int(self.parts[-1])


def steps_for(layout: Layout, finding: Finding) -> Iterator[StepFix]:
    """Yield the steps that each mend a finding, the likeliest first; nothing for most rules.

    Things of boards have none: they are changed in their own plans.
    """
    make = _MAKERS.get(finding.rule)
    parts = tuple(
        part.replace("~1", "/").replace("~0", "~") for part in finding.pointer.split("/")[1:]
    )
    if make is None or len(parts) < 2 or any("/" in name for name in (*parts, *finding.path)):
        return
    yield from (fix for fix in make(Spot(layout, finding, parts)) if fix.step["do"] in VERBS)


def _hold_trains(spot: Spot) -> Iterator[StepFix]:
    """Put a stop signal at the end of a track that the pointer names."""
    if spot.parts[0] == "tracks":
        track, heading = spot.parts[1:3]
        yield StepFix(
            f"Put a stop signal at the {heading} end of {track}",
            {"do": "put-signal", "track": track, "for": heading},
        )


def _arm_again(spot: Spot) -> Iterator[StepFix]:
    yield StepFix(
        f"Give signal {spot.key} an arm for each of its roads",
        {"do": "arm-signal", "signal": spot.key},
    )


def _exchange_arms(spot: Spot) -> Iterator[StepFix]:
    right, left = spot.finding.path[:2]
    yield StepFix(
        f"Put arm {left} to the left of arm {right}",
        {"do": "change-arm", "arm": left, "left_of": right},
    )


def _take_out_signal(spot: Spot) -> Iterator[StepFix]:
    yield StepFix(f"Take signal {spot.key} out", {"do": "take-out-signal", "signal": spot.key})


def _take_out_arm(spot: Spot) -> Iterator[StepFix]:
    arm = spot.finding.path[0]
    yield StepFix(f"Take arm {arm} out", {"do": "take-out-arm", "arm": arm})


def _bracket(spot: Spot) -> Iterator[StepFix]:
    yield StepFix(
        f"Put signal {spot.key} on a bracket",
        {"do": "change-signal", "signal": spot.key, "mount": "bracket"},
    )


def _drop_duty(spot: Spot) -> Iterator[StepFix]:
    duties = spot.layout.signals[spot.key].duties
    yield StepFix(
        f"Take the duty {duties[spot.last]} out of signal {spot.key}",
        {"do": "change-signal", "signal": spot.key, "duties": _without(duties, spot.last)},
    )


def _drop_expected(spot: Spot) -> Iterator[StepFix]:
    arm = spot.layout.signals[spot.key].arms[int(spot.parts[3])]
    points = spot.parts[-1]
    rest: dict[str, object] = {name: lie for name, lie in arm.expects.items() if name != points}
    yield StepFix(
        f"Take {points} out of what arm {arm.id} expects",
        {"do": "change-arm", "arm": arm.id, "expects": rest or None},
    )


def _drop_never(spot: Spot) -> Iterator[StepFix]:
    arm = spot.layout.signals[spot.key].arms[int(spot.parts[3])]
    yield StepFix(
        f"Take arm {arm.never_with[spot.last]} out of `never_with` of arm {arm.id}",
        {"do": "change-arm", "arm": arm.id, "never_with": _without(arm.never_with, spot.last)},
    )


def _work_together(spot: Spot) -> Iterator[StepFix]:
    first, second = [name for name in spot.finding.path if spot.layout.switch(name)][:2]
    yield StepFix(
        f"Work {first} and {second} together",
        {"do": "work-together", "points": [first, second]},
    )


def _shorten_platform(spot: Spot) -> Iterator[StepFix]:
    length = spot.layout.tracks[spot.finding.path[1]].length_mm
    if length is not None:
        yield StepFix(
            f"Shorten platform {spot.key} to {number(length)} mm",
            {"do": "change-platform", "platform": spot.key, "length_mm": length},
        )


def _take_out_lever(spot: Spot) -> Iterator[StepFix]:
    yield StepFix(f"Take lever {spot.key} out", {"do": "take-out-lever", "lever": spot.key})


def _put_on_lever(spot: Spot) -> Iterator[StepFix]:
    key = "points" if spot.parts[0] in ("points", "crossings") else "arms"
    name = spot.finding.path[0]
    yield StepFix(f"Put {name} on a lever of its own", {"do": "put-lever", key: [name]})


def _take_off_lever(spot: Spot) -> Iterator[StepFix]:
    key = spot.parts[2]
    names: tuple[str, ...] = getattr(spot.layout.levers[spot.key], key)
    yield StepFix(
        f"Take {names[spot.last]} off lever {spot.key}",
        {"do": "change-lever", "lever": spot.key, key: _without(names, spot.last)},
    )


def _leave_on(spot: Spot) -> Iterator[StepFix]:
    off = spot.layout.scenes[spot.key].off
    yield StepFix(
        f"Leave arm {off[spot.last]} on in scene {spot.key}",
        {"do": "change-scene", "scene": spot.key, "off": _without(off, spot.last)},
    )


def _take_train_away(spot: Spot) -> Iterator[StepFix]:
    trains = {k: v for k, v in spot.layout.scenes[spot.key].trains.items() if k != spot.parts[-1]}
    yield StepFix(
        f"Take the train in {spot.parts[-1]} out of scene {spot.key}",
        {"do": "change-scene", "scene": spot.key, "trains": trains},
    )


def _accept_no_more(spot: Spot) -> Iterator[StepFix]:
    entry = spot.layout.accept[int(spot.parts[1])]
    yield StepFix(
        f"Stop accepting {entry.rule} at {entry.at}",
        {"do": "accept-no-more", "rule": entry.rule, "at": entry.at},
    )


def _turn_round(spot: Spot) -> Iterator[StepFix]:
    yield StepFix(f"Turn {spot.key} round", {"do": "turn-round", "track": spot.key})


def _without(names: Sequence[str], index: int) -> list[str] | None:
    """Return a list without one entry; None if none is left."""
    return [name for at, name in enumerate(names) if at != index] or None


_MAKERS: Mapping[str, Maker] = {
    "unheld-exit": _hold_trains,
    "platform-without-starter": _hold_trains,
    "signal-without-route": _take_out_signal,
    "unreachable-signal": _take_out_signal,
    **dict.fromkeys(
        ("route-without-arm", "arm-needs-to", "arm-names-no-route", "two-arms-for-one-route"),
        _arm_again,
    ),
    "arm-speaks-for-two-roads": _arm_again,
    "arms-out-of-order": _exchange_arms,
    **dict.fromkeys(("distant-without-stop-ahead", "calling-on-alone"), _take_out_arm),
    "mount-too-small": _bracket,
    "duty-mismatch": _drop_duty,
    "expectation-mismatch": _drop_expected,
    "never-with-mismatch": _drop_never,
    "crossover-not-worked-together": _work_together,
    "trap-not-worked-together": _work_together,
    "platform-longer-than-track": _shorten_platform,
    "lever-unused": _take_out_lever,
    "not-on-a-lever": _put_on_lever,
    "on-two-levers": _take_off_lever,
    **dict.fromkeys(
        ("scene-arm-against-points", "scene-road-occupied", "scene-arms-conflict"), _leave_on
    ),
    **dict.fromkeys(("scene-shunt-signal-on", "scene-distant-too-soon"), _leave_on),
    "scene-trains-not-parted": _take_train_away,
    "accept-without-match": _accept_no_more,
    "up-meets-up": _turn_round,
}
"""From each rule to the function that yields its steps."""
