"""Verbs for signals: put one with arms for all its roads, move it, turn it round, arm it again.

Without a place along the track, a signal stands right at the end that its trains run to. That is
where homes and starters stand: before the points that they protect. More than one doll makes a
bracket; a disc stands on the ground.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from trappoint.core.quoting import listed
from trappoint.laying.describing import as_keys, called, changed, put_into
from trappoint.laying.draft import measure_of
from trappoint.laying.dressing import MOST_ROADS, arm_again, dress, facts_of
from trappoint.laying.measures import HAND, HEADING, LENGTH, POSITION, TRACK, Fresh, Text, Word, mm
from trappoint.laying.mending import take_out
from trappoint.laying.naming import fresh, fresh_numbered
from trappoint.laying.reference_measures import (
    AN_ARM,
    LONG_NAME,
    NOTE,
    SIGNAL,
    FreshArm,
    OneOrMore,
    OrNone,
    Several,
)
from trappoint.laying.refusing import Refused
from trappoint.laying.verb import Verb

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.laying.describing import Given
    from trappoint.laying.draft import Draft
    from trappoint.laying.draft import Thing as Data
    from trappoint.laying.measures import Measure

_LOOKS: Mapping[str, Measure] = {
    "side": HAND,
    "mount": Word(("post", "bracket", "gantry", "ground")),
    "form": Word(("upper-quadrant", "lower-quadrant", "disc", "colour-light")),
    "from_centre_mm": LENGTH,
    "post_mm": LENGTH,
    "spacing_mm": LENGTH,
    "duties": Several(Text('a duty, such as "starter platform A"')),
    "name": LONG_NAME,
    "note": NOTE,
}
"""The measures of a signal apart from its place and arms."""

KINDS = Word(("stop", "distant", "calling-on", "shunt"))

_PUT: Mapping[str, Measure] = {
    "track": TRACK,
    "for": HEADING,
    "at_mm": POSITION,
    "kind": Word(("stop", "distant", "shunt")),
    "repeats": OneOrMore(AN_ARM),
    "arms": Word(("all", "one")),
    "id": Fresh("signals"),
    "arm": FreshArm(),
    **{key: OrNone(m) if key == "mount" else m for key, m in _LOOKS.items()},
}


def _put_signal(draft: Draft, **measures: Any) -> str:
    given = as_keys(measures)
    arms, kind, repeats = (given.pop(key, None) for key in ("arms", "kind", "repeats"))
    key = given.pop("id", None) or _signal_id(draft, given["track"])
    track, heading = given["track"], given["for"]
    given["at_mm"] = checked_place(draft, track, heading, given.get("at_mm"))
    if kind is None:
        kind = _kind_for(draft, given)
    if repeats and kind != "distant":
        raise Refused("Only a distant repeats other arms.", "Leave out `repeats`.")
    if given.get("form") == "upper-quadrant":
        del given["form"]  # the default of the format
    if given.get("form") == "disc" and "mount" not in given:
        given["mount"] = "ground"
    arm = given.pop("arm", None) or _arm_id(draft, key)
    first = {"id": arm, **({} if kind == "stop" else {"kind": kind})}
    put_into(first, {"repeats": repeats})
    signal: Data = {"arms": [first]}
    put_into(signal, given)
    draft.add("signals", key, signal)
    draft.touch("arms", arm)
    said = f"{called(draft, 'signals', key, begin=True)} stands on {track} for {heading} trains"
    if kind == "stop" and arms != "one":
        count = dress(draft, key)
        return f"{said}, {_with_arms(count)}."
    return f"{said}, with one arm." if kind == "stop" else f"{said}: {_ONE_OF[kind]}."


_ONE_OF = {"distant": "a distant", "shunt": "a shunting signal"}


def _with_arms(count: int) -> str:
    if count > MOST_ROADS:
        return f"with one arm; it has {count} roads, so give its arms one by one"
    return "with one arm" if count < 2 else f"with an arm for each of its {count} roads"


def _signal_id(draft: Draft, track: str) -> str:
    """Return the next number, with the letters before the numbers of the signals nearby."""
    begun: list[str] = []
    for key, signal in draft.things("signals").items():
        if counted := re.fullmatch(r"([A-Za-z]*)[1-9][0-9]*", key):
            begun += [counted[1]] * (1000 if signal["track"] == track else 1)
    return fresh_numbered(draft, "signals", max(begun, key=begun.count) if begun else "")


def _arm_id(draft: Draft, signal: str) -> str:
    return signal if signal not in draft.arms() else fresh(draft, "arms", signal)


def _kind_for(draft: Draft, given: Given) -> str:
    """Return the kind of the first arm: a disc at the foot of a stop signal shunts."""
    at_spot = _kinds_at(draft, given["track"], given["for"], given["at_mm"])
    if "stop" not in at_spot:
        return "stop"
    if given.get("form") == "disc" and "shunt" not in at_spot:
        return "shunt"
    signal = at_spot["stop"]
    raise Refused(
        f"{called(draft, 'signals', signal, begin=True)} stands there already.",
        f"Add an arm to signal {signal}, or give another place along the track (`at_mm`).",
    )


def _kinds_at(draft: Draft, track: str, heading: str, at_mm: float | None) -> dict[str, str]:
    """Return the kinds of arms at a place of a track, each with its signal."""
    found: dict[str, str] = {}
    for key, signal in draft.things("signals").items():
        for arm in signal["arms"]:
            own = arm.get("track", signal["track"])
            inherited = measure_of(signal, "at_mm") if own == signal["track"] else None
            at = measure_of(arm, "at_mm") if "at_mm" in arm else inherited
            if (own, arm.get("for", signal["for"]), at) == (track, heading, at_mm):
                found.setdefault(str(arm.get("kind", "stop")), key)
    return found


def checked_place(draft: Draft, track: str, heading: str, at_mm: float | None) -> float | None:
    """Return a place along a track; None for right at the end that the trains run to.

    Raises ``Refused`` if no train meets a signal there.
    """
    thing = draft.thing("tracks", track)
    running = thing.get("running", "both")
    if running not in ("both", heading):
        raise Refused(
            f"Trains run only {running} on {called(draft, 'tracks', track)}.",
            f"Put the signal there for {running} trains, or change the running of the track.",
        )
    length = measure_of(thing, "length_mm")
    if at_mm is None:
        return None
    if length is not None and at_mm > length:
        raise Refused(
            f"{called(draft, 'tracks', track, begin=True)} is only {mm(length)} long.",
            f"Give an `at_mm` of at most {length:g}.",
        )
    if at_mm == (0 if heading == "down" else length):
        raise Refused(
            f"A train that waits there for the signal would no longer be on {track}.",
            "Put the signal on the track on which its trains stop.",
        )
    return None if at_mm == (length if heading == "down" else 0) else at_mm


# --- armed again, moved, turned, changed


def _arm_signal(draft: Draft, *, signal: str) -> str:
    name = called(draft, "signals", signal, begin=True)
    done = arm_again(draft, signal, facts_of(draft))
    if not done:
        return f"{name} has an arm for each of its roads."
    return f"{name} has an arm for each of its roads now: {listed(done, 'and')}."


def _arm_signals(draft: Draft) -> str:
    facts = facts_of(draft)
    done = {key: arm_again(draft, key, facts) for key in list(facts.layout.signals)}
    changed = [key for key, some in done.items() if some]
    if not changed:
        return "Each signal has an arm for each of its roads."
    whose = f"signal{'s' if len(changed) > 1 else ''} {listed(changed, 'and')}"
    return f"Each signal has an arm for each of its roads now; there are changes on {whose}."


def _move_signal(draft: Draft, **measures: Any) -> str:
    given = as_keys(measures)
    key = given.pop("signal")
    signal = draft.thing("signals", key)
    if not given:
        raise Refused("The step moves nothing.", "Give `track`, `for` or `at_mm`.")
    track = given.get("track") or signal["track"]
    heading = given.get("for") or signal["for"]
    elsewhere = (track, heading) != (signal["track"], signal["for"])
    stays = None if elsewhere else measure_of(signal, "at_mm")
    at_mm = checked_place(draft, track, heading, given.get("at_mm", stays))
    if not elsewhere and at_mm == stays:
        raise Refused(f"{called(draft, 'signals', key, begin=True)} stands there.", "Move it on.")
    return _place_anew(draft, key, track, heading, at_mm)


def _turn_signal(draft: Draft, *, signal: str) -> str:
    thing = draft.thing("signals", signal)
    heading = "up" if thing["for"] == "down" else "down"
    at_mm = measure_of(thing, "at_mm")
    try:
        at_mm = checked_place(draft, thing["track"], heading, at_mm)
    except Refused:
        if thing["track"] not in draft.things("tracks") or at_mm is None:
            raise
        at_mm = checked_place(draft, thing["track"], heading, None)
    return _place_anew(draft, signal, thing["track"], heading, at_mm)


def _place_anew(draft: Draft, key: str, track: str, heading: str, at_mm: float | None) -> str:
    """Put a signal elsewhere; if its trains are others, it is armed for their roads."""
    signal = draft.thing("signals", key)
    others = (track, heading) != (signal["track"], signal["for"])
    lost: tuple[str, ...] = ()
    _only_its_own(draft, key)
    put_into(signal, {"track": track, "for": heading, "at_mm": at_mm})
    if others:
        lost = _strip(draft, key)
        if signal["arms"][0].get("kind", "stop") == "stop":
            dress(draft, key)
    draft.touch("signals", key)
    where = "at its end" if at_mm is None else f"{mm(at_mm)} from its up end"
    name = called(draft, "signals", key, begin=True)
    tail = f" Gone with its other roads: {listed(list(lost), 'and')}." if lost else ""
    return f"{name} stands on {track} for {heading} trains, {where}.{tail}"


def _only_its_own(draft: Draft, key: str) -> None:
    for arm in draft.thing("signals", key)["arms"]:
        if "track" in arm or "for" in arm:
            raise Refused(
                f"Arm {arm['id']} of {called(draft, 'signals', key)} is for another track or other "
                "trains.",
                "Take that arm out, or move that arm alone.",
            )


def _strip(draft: Draft, key: str) -> tuple[str, ...]:
    """Leave a signal its first arm alone, without what it says of its roads."""
    signal = draft.thing("signals", key)
    first, *rest = signal["arms"]
    if rest:
        take_out(draft, *(("arms", arm["id"]) for arm in rest))
    signal = draft.thing("signals", key)
    first = signal["arms"][0]
    for name in ("to", "expects", "never_with", "repeats", "under", "doll", "at_mm"):
        first.pop(name, None)
    for name in ("duties", "spacing_mm"):
        signal.pop(name, None)
    return tuple(f"arm {arm['id']}" for arm in rest)


def _change_signal(draft: Draft, **measures: Any) -> str:
    given = as_keys(measures)
    key = given.pop("signal")
    return changed(draft, ("signals", key), draft.thing("signals", key), given)


def _take_out_signal(draft: Draft, *, signal: str) -> str:
    name = called(draft, "signals", signal, begin=True)
    # Its last arm takes the signal with it.
    more = take_out(draft, *(("arms", arm["id"]) for arm in draft.thing("signals", signal)["arms"]))
    return (
        f"{name} is taken out, and with it {listed(list(more), 'and')}."
        if more
        else f"{name} is taken out."
    )


VERBS = (
    Verb(
        "arm-signals",
        "Gives every signal an arm for each of its roads again.",
        {},
        (),
        _arm_signals,
    ),
    Verb(
        "put-signal",
        "Puts a signal on a track, with an arm for each of its roads.",
        _PUT,
        ("track", "for"),
        _put_signal,
    ),
    Verb(
        "move-signal",
        "Moves a signal along its track, to its end, or to other trains or another track.",
        {"signal": SIGNAL, "track": TRACK, "for": HEADING, "at_mm": OrNone(POSITION)},
        ("signal",),
        _move_signal,
    ),
    Verb(
        "turn-signal",
        "Turns a signal round, with arms for the roads of the other trains.",
        {"signal": SIGNAL},
        ("signal",),
        _turn_signal,
    ),
    Verb(
        "change-signal",
        "Changes the side, mount, form or another measure of a signal.",
        {"signal": SIGNAL, **{key: OrNone(measure) for key, measure in _LOOKS.items()}},
        ("signal",),
        _change_signal,
    ),
    Verb(
        "arm-signal",
        "Gives a signal an arm for each of its roads again.",
        {"signal": SIGNAL},
        ("signal",),
        _arm_signal,
    ),
    Verb(
        "take-out-signal", "Takes out a signal.", {"signal": SIGNAL}, ("signal",), _take_out_signal
    ),
)
