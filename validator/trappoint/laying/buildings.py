"""Verbs for platforms, yards, and points that work together."""

from __future__ import annotations

from string import ascii_uppercase
from typing import TYPE_CHECKING, Any

from trappoint.core.quoting import listed
from trappoint.laying.describing import Described, as_keys, id_from, put_into
from trappoint.laying.measures import LENGTH, Thing
from trappoint.laying.naming import fresh, taken
from trappoint.laying.reference_measures import (
    A_SWITCH,
    A_TRACK,
    Named,
    Several,
)
from trappoint.laying.refusing import Refused
from trappoint.laying.verb import Verb, verb
from trappoint.model.renaming import ids_in

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from trappoint.laying.describing import Given
    from trappoint.laying.draft import Draft
    from trappoint.laying.measures import Measure


# --- platforms


def _platform_id(draft: Draft, given: Given) -> str:
    """Return the next letter, or the next number if the platforms have numbers."""
    used = taken(draft, "platforms")
    rest: Iterator[str]
    numbers = [int(key) for key in draft.things("platforms") if key.isdecimal()]
    if numbers and len(str(max(numbers) + 1)) < 4:
        rest = (str(number) for number in range(max(numbers) + 1, 10_000))
    else:
        rest = iter(ascii_uppercase)
    free = next((name for name in rest if name not in used), None)
    return free or fresh(draft, "platforms", "platform")


_PLATFORM = Described(
    "platforms",
    {"tracks": Several(A_TRACK), "length_mm": LENGTH},
    ("tracks",),
    _platform_id,
)

# --- yards


_YARD_PARTS: Mapping[str, Measure] = {
    "tracks": Several(A_TRACK, True),
    "points": Several(Named(("points",)), True),
    "crossings": Several(Named(("crossings",)), True),
    "turntables": Several(Named(("turntables",)), True),
}


def _yard_ready(_: Draft, given: Given) -> None:
    for key in _YARD_PARTS:
        if given.get(key) == ():
            given[key] = None


_YARD = Described("yards", _YARD_PARTS, (), id_from("yards", "yard"), _yard_ready)


def _yard_parts(given: Given) -> tuple[tuple[str, str], ...]:
    return tuple((key, each) for key in _YARD_PARTS for each in given.get(key) or ())


def _make_yard(draft: Draft, **measures: Any) -> str:
    given = {key: value for key, value in measures.items() if value != ()}
    if not _yard_parts(given):
        raise Refused("The yard has neither tracks nor points.", "Give the tracks of the yard.")
    return _YARD.added(draft, **given)


def _join_yard(draft: Draft, **measures: Any) -> str:
    given = as_keys(measures)
    key = given.pop("yard")
    yard = draft.thing("yards", key)
    parts = _yard_parts(given)
    new = [(kind, each) for kind, each in parts if each not in yard.get(kind, ())]
    if not new:
        raise Refused(f"Yard {key} has all that already.", "Give what it does not have.")
    whole = {kind: (*yard.get(kind, ()), *(e for k, e in new if k == kind)) for kind, _ in new}
    put_into(yard, whole)
    draft.touch("yards", key)
    return f"{listed([each for _, each in new], 'and')} {_are(new)} in yard {key}."


def _leave_yard(draft: Draft, **measures: Any) -> str:
    given = as_keys(measures)
    key = given.pop("yard")
    yard = draft.thing("yards", key)
    parts = _yard_parts(given)
    absent = [each for kind, each in parts if each not in yard.get(kind, ())]
    if absent or not parts:
        what = listed(absent, "and") or "nothing"
        raise Refused(f"Yard {key} does not have {what}.", "Give what belongs to the yard.")
    left = {
        kind: tuple(each for each in yard[kind] if (kind, each) not in parts) or None
        for kind, _ in parts
    }
    put_into(yard, left)
    if not _yard_parts(yard):
        raise Refused(f"Nothing would be left of yard {key}.", "Take the yard out.")
    draft.touch("yards", key)
    return f"{listed([each for _, each in parts], 'and')} {_are(parts)} no longer in yard {key}."


def _are(several: Any) -> str:
    return "are" if len(several) > 1 else "is"


_YARD_MEASURES: Mapping[str, Measure] = {"yard": Thing(("yards",)), **_YARD_PARTS}

# --- worked together


def _work_together(draft: Draft, **measures: Any) -> str:
    points: tuple[str, ...] = (*measures["points"], *measures.get("with_", ()))
    if len(points) < 2:
        raise Refused("One lever already works these alone.", "Name two or more.")
    groups = draft.list_of("worked_together")
    if any(set(points) <= set(group) for group in groups):
        raise Refused(f"{listed(points, 'and')} work together already.", "Name others.")
    groups.append(list(points))
    _touch_switches(draft, points)
    return f"One lever works {listed(points, 'and')}."


def _work_apart(draft: Draft, *, points: tuple[str, ...]) -> str:
    groups = draft.list_of("worked_together")
    if not any(set(points) & set(group) for group in groups):
        draft.drop_empty("worked_together")
        raise Refused(f"{listed(points, 'and')} work alone already.", "Name others.")
    left = [[name for name in group if name not in points] for group in groups]
    groups[:] = [group for group in left if len(group) > 1]
    draft.drop_empty("worked_together")
    _touch_switches(draft, points)
    return f"{listed(points, 'and')} {'work' if len(points) > 1 else 'works'} alone."


def _touch_switches(draft: Draft, points: tuple[str, ...]) -> None:
    known = ids_in(draft.tree)
    for name in points:
        for kind in ("points", "crossings"):
            if (kind, name) in known:
                draft.touch(kind, name)


_SWITCHES: Mapping[str, Measure] = {"points": Several(A_SWITCH)}

VERBS = (
    _PLATFORM.add("build-platform", "Builds a platform beside one or more tracks."),
    _PLATFORM.change("change-platform", "Changes a platform."),
    _PLATFORM.gone("take-out-platform", "Takes out a platform."),
    Verb(
        "make-yard",
        "Makes tracks and points a yard, worked by one engine under hand signals.",
        _YARD.new_measures(),
        (),
        _make_yard,
    ),
    _YARD.change("change-yard", "Changes a yard."),
    Verb("put-in-yard", "Puts tracks or points in a yard.", _YARD_MEASURES, ("yard",), _join_yard),
    Verb(
        "take-from-yard",
        "Takes tracks or points out of a yard, which keep their place.",
        _YARD_MEASURES,
        ("yard",),
        _leave_yard,
    ),
    _YARD.gone("take-out-yard", "Lets signals work the tracks of a yard again."),
    Verb(
        "work-together",
        "Lets one lever work several points or slips.",
        {**_SWITCHES, "with": Several(A_SWITCH)},
        ("points",),
        _work_together,
    ),
    verb("work-apart", "Gives points or slips that work together their own levers.", **_SWITCHES)(
        _work_apart
    ),
)
