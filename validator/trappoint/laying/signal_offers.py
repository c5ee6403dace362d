"""Offers for signals: at track ends, along tracks, at signals and at arms."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.quoting import number
from trappoint.laying.dressing import lacks_arms
from trappoint.laying.offering import NO_NAME, Ask, Offer, choice, offering
from trappoint.model.layout import HOLDING, cut_at, opposite

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from trappoint.laying.offering import Spot
    from trappoint.model.layout import Arm, Head, Heading, Layout, Signal, Track


def heads_at(layout: Layout, track: Track, heading: Heading, at_mm: float | None) -> list[Head]:
    """Return the heads at a place of a track, for trains with one heading."""
    here = [
        head
        for signal in layout.signals.values()
        for head in signal.heads
        if (head.track, head.heading) == (track.id, heading)
    ]
    if not here:
        return []
    spot = cut_at(here[0]._replace(at_mm=at_mm), track)
    return [head for head in here if cut_at(head, track) == spot]


# --- at the end of a track


@offering("tracks", 5, part=True)
def at_end(spot: Spot) -> Iterator[Offer]:
    """Offer a signal, or a disc, right at the end that its trains run to."""
    track = spot.layout.tracks[spot.key]
    heading: Heading = "down" if spot.part == "down" else "up"
    if not track.allows(heading):
        return
    there = heads_at(spot.layout, track, heading, None)
    step: dict[str, object] = {"do": "put-signal", "track": track.id, "for": heading}
    if not any(head.stops for head in there):
        yield Offer(f"Put a signal here for {heading} trains", step, (FORM, NO_NAME))
        disc: dict[str, object] = {**step, "form": "disc"}
        if not any(head.shunts for head in there):
            yield Offer(f"Put a disc here for {heading} trains", disc, (NO_NAME,))
    elif not any(head.shunts for head in there):
        foot: dict[str, object] = {**step, "form": "disc", "kind": "shunt"}
        yield Offer("Put a shunting disc at the foot of the signal", foot, (NO_NAME,))
    if not any(head.stops or head.arms_of("distant") for head in there):
        yield Offer(
            f"Put a distant here for {heading} trains", {**step, "kind": "distant"}, (NO_NAME,)
        )


FORM = choice(
    "form",
    "Form",
    ("upper-quadrant", "an arm that rises"),
    ("lower-quadrant", "an arm that falls"),
    ("colour-light", "lights"),
)

# --- along a track


@offering("tracks", 30)
def along(spot: Spot) -> Iterator[Offer]:
    """Offer a signal or a distant at a distance along a track with a length."""
    layout, track = spot.layout, spot.layout.tracks[spot.key]
    if track.length_mm is None or any(track.id in yard.tracks for yard in layout.yards.values()):
        return
    for heading in track.headings:
        at_mm = _free_place(layout, track, heading)
        if at_mm is None:
            continue
        ask = (_from_up_end(track, at_mm), NO_NAME)
        early = round(at_mm / 4) if heading == "down" else round((track.length_mm + at_mm) / 2)
        far = early if 0 < early < track.length_mm else at_mm
        step: dict[str, object] = {"do": "put-signal", "track": track.id, "for": heading}
        yield Offer(f"Put a signal along it for {heading} trains", step, ask)
        yield Offer(
            f"Put a distant along it for {heading} trains",
            {**step, "kind": "distant"},
            (_from_up_end(track, far), NO_NAME),
        )


def _from_up_end(track: Track, at_mm: float) -> Ask:
    label = f"From the up end, at most {number(track.length_mm or 0)}"
    return Ask("at_mm", label, "number", at_mm, unit="mm")


def _free_place(layout: Layout, track: Track, heading: Heading) -> float | None:
    """Return a free place along a track, without a signal for these trains."""
    for part in (2, 3, 4, 5, 6, 7):
        at_mm = round((track.length_mm or 0) / part)
        if 0 < at_mm < (track.length_mm or 0) and not heads_at(layout, track, heading, at_mm):
            return at_mm
    return None


# --- at a signal


@offering("signals", 10)
def at_signal(spot: Spot) -> Iterator[Offer]:
    """Offer arms for all roads, another place, another side, mount or form, and taking out."""
    layout, signal = spot.layout, spot.layout.signals[spot.key]
    own: dict[str, object] = {"signal": signal.id}
    if any(lacks_arms(layout, signal.id)):
        yield Offer("Give it an arm for each of its roads", {"do": "arm-signal", **own})
    if signal.track in layout.tracks:
        yield from _moves(layout, signal)
    yield from _more_arms(layout, signal)
    yield from _looks(signal)


def _moves(layout: Layout, signal: Signal) -> Iterator[Offer]:
    track = layout.tracks[signal.track]
    own: dict[str, object] = {"signal": signal.id}
    step: dict[str, object] = {"do": "move-signal", **own}
    if len({(arm.track, arm.heading, arm.at_mm) for arm in signal.arms}) > 1:
        return
    holds = {arm.kind for arm in signal.arms if arm.kind in HOLDING}
    if signal.at_mm is not None and _free_for(layout, track, signal.heading, None, holds):
        yield Offer("Move it to the end of the track", {**step, "at_mm": None})
    in_yard = any(track.id in yard.tracks for yard in layout.yards.values())
    at_mm = _free_place(layout, track, signal.heading) if track.length_mm else None
    if at_mm is not None and not in_yard:
        yield Offer("Move it along the track", step, (_from_up_end(track, at_mm),))
    other = opposite(signal.heading)
    there = signal.at_mm
    if track.length_mm is not None and there is not None and there >= track.length_mm:
        there = None
    if there == 0:
        there = None
    if track.allows(other) and not in_yard and _free_for(layout, track, other, there, holds):
        yield Offer(f"Turn it round, for {other} trains", {"do": "turn-signal", **own})


def _free_for(
    layout: Layout, track: Track, heading: Heading, at_mm: float | None, kinds: Collection[str]
) -> bool:
    """Return whether a place has no arms of these kinds yet."""
    there = heads_at(layout, track, heading, at_mm)
    return not any(arm.kind in kinds for head in there for arm in head.arms)


def _more_arms(layout: Layout, signal: Signal) -> Iterator[Offer]:
    step: dict[str, object] = {"do": "add-arm", "signal": signal.id}
    if any(arm.kind == "stop" for arm in signal.arms):
        roads = roads_to_name(layout, ())
        ask = Ask("to", "Its road leads over", "choice", None, roads, optional=True)
        yield Offer("Add an arm at the right", step, (ask,))
        yield Offer("Add an arm at the left", {**step, "left_of": signal.arms[0].id}, (ask,))
    free = [
        (track.id, track.name or track.id)
        for track in layout.tracks.values()
        if track.id not in {arm.track for arm in signal.arms}
        and track.allows(signal.heading)
        and not heads_at(layout, track, signal.heading, None)
    ]
    if free:
        ask = choice("track", "The other track", *free)
        yield Offer("Let its post carry an arm for another track", step, (ask,))


def _looks(signal: Signal) -> Iterator[Offer]:
    step: dict[str, object] = {"do": "change-signal", "signal": signal.id}
    for side in ("left", "right"):
        if signal.side != side:
            yield Offer(f"Put it at the driver's {side}", {**step, "side": side})
    dolls = len({arm.doll for arm in signal.arms})
    mounts = [each for each in _MOUNTS if each[0] != signal.mount]
    fit = [each for each in mounts if dolls == 1 or each[0] in ("bracket", "gantry")]
    if fit:
        yield Offer("Change what it stands on", step, (choice("mount", "It stands on", *fit),))
    forms = [each for each in _FORMS if each[0] != signal.form]
    yield Offer("Change its form", step, (choice("form", "Form", *forms),))


_MOUNTS = (
    ("post", "a post"),
    ("bracket", "a bracket"),
    ("gantry", "a gantry"),
    ("ground", "the ground"),
)
_FORMS = (
    ("upper-quadrant", "arms that rise"),
    ("lower-quadrant", "arms that fall"),
    ("colour-light", "lights"),
    ("disc", "a disc"),
)

# --- at an arm


@offering("arms", 10)
def at_arm(spot: Spot) -> Iterator[Offer]:
    """Offer arms beneath an arm, another road or kind, another place on the post, taking out."""
    layout = spot.layout
    arm = next(each for each in layout.arms() if each.id == spot.key)
    signal = layout.signals[arm.signal]
    yield from _beneath(signal, arm)
    roads = roads_to_name(layout, arm.to)
    if arm.kind != "distant" and roads:
        step: dict[str, object] = {"do": "change-arm", "arm": arm.id}
        yield Offer("Give it another road", step, (choice("to", "The road leads over", *roads),))
    if arm.kind == "distant":
        yield from _repeating(layout, arm)
    yield from _places_on_post(signal, arm)


@offering("arms", 95)
def arm_off(spot: Spot) -> Iterator[Offer]:
    """Offer to take an arm off, if no calling-on arm stands beneath it."""
    arms = list(spot.layout.arms())
    if not any(each.under == spot.key and each.kind == "calling-on" for each in arms):
        yield Offer("Take the arm off", {"do": "take-out-arm", "arm": spot.key})


def _beneath(signal: Signal, arm: Arm) -> Iterator[Offer]:
    if arm.kind != "stop" or signal.form == "disc":
        return
    kinds = {each.kind for each in signal.arms if each.under == arm.id}
    for kind, label in (("calling-on", "a calling-on arm"), ("distant", "a distant")):
        if kind not in kinds:
            step: dict[str, object] = {"do": "add-arm", "signal": signal.id, "kind": kind}
            yield Offer(f"Add {label} beneath it", {**step, "under": arm.id})


def roads_to_name(layout: Layout, without: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
    """Return the platforms, yards and tracks that an arm may name, as choices."""
    found: dict[str, str] = {}
    for kind, noun in (("platforms", "platform "), ("yards", "yard "), ("tracks", "")):
        for key, thing in getattr(layout, kind).items():
            if (key,) != without:
                found.setdefault(key, f"{noun}{thing.name or key}")
    return tuple(found.items())


def _repeating(layout: Layout, arm: Arm) -> Iterator[Offer]:
    stops = [
        (each.id, f"arm {each.id}")
        for each in layout.arms()
        if each.kind == "stop" and (each.id,) != arm.repeats
    ]
    step: dict[str, object] = {"do": "change-arm", "arm": arm.id}
    if stops:
        yield Offer("Let it repeat one arm", step, (choice("repeats", "It repeats", *stops),))
    if arm.repeats:
        yield Offer("Let it repeat the next signal", {**step, "repeats": None})


def _places_on_post(signal: Signal, arm: Arm) -> Iterator[Offer]:
    if arm.position and arm.under is None:
        before = signal.arms[arm.position - 1]
        if before.under is None and before.doll < arm.doll:
            step: dict[str, object] = {"do": "change-arm", "arm": arm.id, "left_of": before.id}
            yield Offer(f"Move it left of arm {before.id}", step)


OFFERINGS = (at_end, along, at_signal, at_arm, arm_off)
