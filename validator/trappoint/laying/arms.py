"""Verbs for arms: one more on a signal, another kind, another road, beneath another arm."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trappoint.core.quoting import listed
from trappoint.laying.describing import as_keys, called, changed, put_into
from trappoint.laying.draft import measure_of
from trappoint.laying.dressing import let_it_be_a_bracket
from trappoint.laying.measures import HEADING, LENGTH, POSITION, TRACK, Quantity
from trappoint.laying.mending import take_out
from trappoint.laying.naming import fresh
from trappoint.laying.reference_measures import (
    AN_ARM,
    ARM,
    LONG_NAME,
    NOTE,
    ROAD,
    SIGNAL,
    FreshArm,
    Lies,
    OneOrMore,
    OrNone,
    Several,
)
from trappoint.laying.refusing import Refused
from trappoint.laying.signals import KINDS, checked_place
from trappoint.laying.verb import Verb

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.laying.describing import Given
    from trappoint.laying.draft import Draft
    from trappoint.laying.draft import Thing as Data
    from trappoint.laying.measures import Measure

_MEASURES: Mapping[str, Measure] = {
    "kind": KINDS,
    "to": OneOrMore(ROAD),
    "doll": Quantity(1, 100, "the number of a doll, from 1 at the left", whole=True),
    "under": AN_ARM,
    "repeats": OneOrMore(AN_ARM),
    "height_mm": LENGTH,
    "track": TRACK,
    "for": HEADING,
    "at_mm": POSITION,
    "expects": Lies(),
    "never_with": Several(AN_ARM),
    "name": LONG_NAME,
    "note": NOTE,
}
_LEFT_OF: Mapping[str, Measure] = {"left_of": ARM}

_LETTERS = {"distant": "D", "calling-on": "C", "shunt": "S"}
"""The letter that follows the id of the arm above, for each kind of arm beneath it."""


def _add_arm(draft: Draft, **measures: Any) -> str:
    given = as_keys(measures)
    key = given.pop("signal")
    signal = draft.thing("signals", key)
    before = given.pop("left_of", None)
    kind = given.get("kind", "stop")
    if kind == "stop":
        given.pop("kind", None)
    if kind == "calling-on" and "under" not in given and "doll" not in given:
        given["under"] = _stop_arm(draft, key)
    _on_this_signal(draft, key, given.get("under"))
    _checked(draft, signal, given)
    name = given.pop("id", None) or _arm_id(draft, key, given)
    arm: Data = {"id": name}
    put_into(arm, given)
    signal["arms"].insert(_place_of(draft, key, before or None, given), arm)
    _give_dolls_room(signal)
    draft.touch("arms", name)
    draft.touch("signals", key)
    what = {"stop": "an arm"}.get(kind, f"a {kind} arm")
    return f"{called(draft, 'signals', key, begin=True)} has {what} more: {name}."


def _stop_arm(draft: Draft, key: str) -> str:
    arms = draft.thing("signals", key)["arms"]
    stops = [arm["id"] for arm in arms if arm.get("kind", "stop") == "stop"]
    if len(stops) != 1:
        raise Refused(
            "A calling-on arm stands beneath the stop arm whose road it is for.",
            f"Say `under`: {listed(stops)}." if stops else "Give the signal a stop arm first.",
        )
    return str(stops[0])


def _on_this_signal(draft: Draft, key: str, arm: str | None) -> None:
    arms = [each["id"] for each in draft.thing("signals", key)["arms"]]
    if arm is not None and arm not in arms:
        raise Refused(
            f"Arm {arm} is not on {called(draft, 'signals', key)}.", f"Write {listed(arms)}."
        )


def _checked(draft: Draft, signal: Data, given: Given) -> None:
    """Refuse an arm for trains that never come there, or with the measures of another kind."""
    if any(given.get(key) is not None for key in ("track", "for", "at_mm")):
        track = given.get("track") or signal["track"]
        inherited = measure_of(signal, "at_mm") if track == signal["track"] else None
        at_mm = given["at_mm"] if given.get("at_mm") is not None else inherited
        checked_place(draft, track, given.get("for") or signal["for"], at_mm)


def _arm_id(draft: Draft, key: str, given: Given) -> str:
    letter = _LETTERS.get(given.get("kind", "stop"))
    if letter:
        stem = f"{given.get('under') or key}{letter}"
        return fresh(draft, "arms", stem)
    return fresh(draft, "arms", f"{key}-2")


def _place_of(draft: Draft, key: str, before: str | None, given: Given) -> int:
    """Return where an arm comes in the list of its signal: beneath another, or at the right."""
    arms = [arm["id"] for arm in draft.thing("signals", key)["arms"]]
    if before is not None:
        _on_this_signal(draft, key, before)
        return arms.index(before)
    if given.get("under"):
        return arms.index(given["under"]) + 1
    return len(arms)


def _give_dolls_room(signal: Data) -> None:
    """Let a post or a disc on the ground be a bracket if it has arms side by side."""
    if sum("under" not in arm and "doll" not in arm for arm in signal["arms"]) > 1:
        let_it_be_a_bracket(signal)


def _change_arm(draft: Draft, **measures: Any) -> str:
    given = as_keys(measures)
    name = given.pop("arm")
    arm = draft.arms()[name]
    key = signal_of(draft, name)
    signal = draft.thing("signals", key)
    before = given.pop("left_of", None)
    _on_this_signal(draft, key, given.get("under"))
    if given.get("under") == name:
        raise Refused("An arm cannot stand beneath itself.", "Name another arm of the signal.")
    _checked(draft, signal, {**arm, **given, **_own(arm, given)})
    if given.get("kind") == "stop":
        given["kind"] = None
    if before is not None:
        _on_this_signal(draft, key, before)
        if before == name:
            raise Refused("An arm cannot stand left of itself.", "Name another arm.")
        signal["arms"] = [each for each in signal["arms"] if each["id"] != name]
        signal["arms"].insert([each["id"] for each in signal["arms"]].index(before), arm)
        draft.touch("signals", key)
        if not given:
            return f"Arm {name} is left of {before}."
    said = changed(draft, ("arms", name), arm, given)
    _give_dolls_room(signal)
    return said


def _own(arm: Data, given: Given) -> Given:
    """Return the place of an arm, if a step does not give it."""
    if any(key in given for key in ("track", "for", "at_mm")):
        at_mm = given.get("at_mm", measure_of(arm, "at_mm"))
        return {"at_mm": at_mm}
    return {"track": None, "for": None, "at_mm": None}


def signal_of(draft: Draft, arm: str) -> str:
    """Return the signal of an arm of the plan."""
    return next(
        key
        for key, signal in draft.things("signals").items()
        if any(each["id"] == arm for each in signal["arms"])
    )


def _take_out_arm(draft: Draft, *, arm: str) -> str:
    key = signal_of(draft, arm)
    name = called(draft, "arms", arm, begin=True)
    rest = [each for each in draft.thing("signals", key)["arms"] if each["id"] != arm]
    for each in rest:
        if each.get("under") == arm and each.get("kind") == "calling-on":
            raise Refused(
                f"The calling-on arm {each['id']} stands beneath arm {arm}.",
                f"Take out {each['id']} first.",
            )
    more = take_out(draft, ("arms", arm))
    if rest:
        draft.touch("signals", key)
        return f"{name} is taken out."
    words = [f"signal {key}", *more]
    return f"{name} is taken out, and with it {listed(words, 'and')}."


_ADD: Mapping[str, Measure] = {"signal": SIGNAL, "id": FreshArm(), **_MEASURES, **_LEFT_OF}
_CHANGE: Mapping[str, Measure] = {
    "arm": ARM,
    **{key: m if key == "kind" else OrNone(m) for key, m in _MEASURES.items()},
    **_LEFT_OF,
}

VERBS = (
    Verb(
        "add-arm",
        "Adds an arm to a signal: at the right, left of another, or beneath one.",
        _ADD,
        ("signal",),
        _add_arm,
    ),
    Verb(
        "change-arm",
        "Changes an arm: its kind, its road, its place, or what you believe of it.",
        _CHANGE,
        ("arm",),
        _change_arm,
    ),
    Verb("take-out-arm", "Takes an arm off its signal.", {"arm": ARM}, ("arm",), _take_out_arm),
)
