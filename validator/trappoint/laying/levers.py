"""Verbs for the lever frame.

``number-levers`` numbers the levers along the diagram: the signals for trains one way, the points,
then the signals for trains the other way. The frame of nine levers in the report "Exposition at
Vienna", 1873, pp. 492-495, has this order; that it is the usual one is common practice, no source.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from trappoint.core.quoting import listed
from trappoint.laying.describing import as_keys, changed, taken_out
from trappoint.laying.draft import as_tree
from trappoint.laying.dressing import own_layout
from trappoint.laying.measures import HEADING, YES, Text
from trappoint.laying.mending import rename
from trappoint.laying.reference_measures import (
    A_SWITCH,
    AN_ARM,
    NOTE,
    Lever,
    LeverNumber,
    OrNone,
    Several,
)
from trappoint.laying.refusing import Refused
from trappoint.laying.verb import Verb
from trappoint.laying.wayside import Along, places_along
from trappoint.lever_frame.levers import worked_with

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.laying.draft import Draft
    from trappoint.laying.draft import Thing as Data
    from trappoint.laying.measures import Measure
    from trappoint.model.layout import Layout

MOST_LEVERS = 999

_WORKS: Mapping[str, Measure] = {"points": Several(A_SWITCH), "arms": Several(AN_ARM)}
_PLATE: Mapping[str, Measure] = {"name": Text("the text on its plate"), "note": NOTE}


class _Pull(NamedTuple):
    """What one lever works."""

    key: str
    """``points`` or ``arms``; empty for a spare lever."""
    names: tuple[str, ...]


def _number_levers(draft: Draft, *, first: str = "down") -> str:
    layout = own_layout(draft.layout())
    wanted = list(pulls(layout, first))
    if len(wanted) > MOST_LEVERS:
        raise Refused(
            f"The plan needs {len(wanted):,} levers, and a frame has {MOST_LEVERS} at most.",
            "Number the levers of each box by hand.",
        )
    if not wanted:
        raise Refused("The plan has neither signals nor points.", "Put signals in first.")
    old = list(draft.things("levers").values())
    found: list[Data] = [_lever_for(pull, old) for pull in wanted]
    found += [lever for lever in old if not any(lever is one for one in found)]
    for key in list(draft.things("levers")):
        draft.remove("levers", key)
    for number, lever in enumerate(found, 1):
        draft.add("levers", str(number), lever)
    return f"The frame has {len(found)} levers, with the signals for {first} trains first."


def _lever_for(pull: _Pull, old: list[Data]) -> Data:
    """Return the lever that works this already, or a new one."""
    for lever in old:
        if set(lever.get(pull.key, ())) == set(pull.names):
            return lever
    return {pull.key: list(pull.names)}


def pulls(layout: Layout, first: str) -> list[_Pull]:
    """Return what each lever of a frame works, in the order of the levers.

    Points and slips that are worked together have one lever; three-way points have two. Points in
    yards have none: they are worked by hand. Arms that share a lever now keep it.
    """
    along = places_along(layout)
    shared = {name: lever for lever in layout.levers.values() for name in lever.arms}
    signals: dict[str, list[tuple[tuple[float, ...], _Pull]]] = {"down": [], "up": []}
    done: set[str] = set()
    for number, arm in enumerate(layout.arms()):
        lever = shared.get(arm.id)
        if arm.id in done:
            continue
        names = (arm.id,) if lever is None else lever.arms
        done.update(names)
        at = (*along.arm(arm), float(number))
        signals[arm.heading].append((at, _Pull("arms", names)))
    rows = [signals[first], _points(layout, along), signals["up" if first == "down" else "down"]]
    return [pull for row in rows for _, pull in sorted(row, key=lambda each: each[0])]


def _points(layout: Layout, along: Along) -> list[tuple[tuple[float, ...], _Pull]]:
    in_yards = {name for yard in layout.yards.values() for name in (*yard.points, *yard.crossings)}
    groups = worked_with(layout)
    done: set[str] = set()
    found: list[tuple[tuple[float, ...], _Pull]] = []
    switches = [*layout.points, *(key for key, each in layout.crossings.items() if each.lies)]
    for number, name in enumerate(switches):
        if name in done or name in in_yards:
            continue
        together = tuple(dict.fromkeys(groups.get(name, (name,))))
        names = tuple(key for key in switches if key in together or key == name)
        done.update(names)
        at = (along.element(name), float(number))
        three_way = name in layout.points and layout.points[name].kind == "three-way"
        found += [(at, _Pull("points", names))] * (2 if three_way else 1)
    return found


# --- single levers


def _put_lever(draft: Draft, **measures: Any) -> str:
    given = as_keys(measures)
    number = given.pop("number", None)
    shift = given.pop("shift", False)
    levers = draft.things("levers")
    if number is None:
        number = str(max((int(key) for key in levers), default=0) + 1)
        if int(number) > MOST_LEVERS:
            raise Refused("Every number up to 999 may be taken.", "Give a free number.")
    _one_work(given)
    if number in levers:
        if not shift:
            raise Refused(
                f"There is a lever {number} already.",
                "Give another number, or say `shift` true to move the later levers on by one.",
            )
        _shift(draft, number)
    draft.add("levers", number, {}, _before(draft, number))
    draft.thing("levers", number).update({key: as_tree(value) for key, value in given.items()})
    works = given.get("points") or given.get("arms")
    return f"Lever {number} works {listed(works, 'and')}." if works else f"Lever {number} is spare."


def _one_work(given: dict[str, Any]) -> None:
    if given.get("points") and given.get("arms"):
        raise Refused("A lever works points or arms, not both.", "Give one of the two.")


def _before(draft: Draft, number: str) -> str | None:
    """Return the lever after which a new one is listed; the last one if there is none before."""
    lower = [key for key in draft.things("levers") if int(key) < int(number)]
    return max(lower, key=int, default=None)


def _shift(draft: Draft, number: str) -> None:
    """Move the levers from a number on by one, as far as the numbers have no gap."""
    run = int(number)
    while str(run) in draft.things("levers"):
        run += 1
    if run > MOST_LEVERS:
        raise Refused("There is no number after 999.", "Renumber the levers first.")
    for key in range(run - 1, int(number) - 1, -1):
        rename(draft, "levers", str(key), str(key + 1))


def _change_lever(draft: Draft, **measures: Any) -> str:
    given = as_keys(measures)
    number = given.pop("lever")
    lever = draft.thing("levers", number)
    _one_work(given)
    for key, other in (("points", "arms"), ("arms", "points")):
        if given.get(key) and other in lever:
            given.setdefault(other, None)
    return changed(draft, ("levers", number), lever, given)


def _move_lever(draft: Draft, *, lever: str, to: str) -> str:
    if lever == to:
        raise Refused(f"The lever has number {to} already.", "Give another number.")
    if to not in draft.things("levers"):
        rename(draft, "levers", lever, to)
        return f"Lever {lever} is number {to} now."
    spare = next(str(n) for n in range(1, 1001) if str(n) not in draft.things("levers"))
    rename(draft, "levers", lever, spare)
    rename(draft, "levers", to, lever)
    rename(draft, "levers", spare, to)
    return f"Levers {lever} and {to} have changed places."


def _take_out_lever(draft: Draft, *, lever: str, close_up: bool = False) -> str:
    said = taken_out(draft, "levers", lever)
    if not close_up:
        return said
    number = int(lever) + 1
    while str(number) in draft.things("levers"):
        rename(draft, "levers", str(number), str(number - 1))
        number += 1
    return f"{said} The levers after it have closed up."


VERBS = (
    Verb(
        "number-levers",
        "Gives points and arms levers, numbered along the diagram.",
        {"first": HEADING},
        (),
        _number_levers,
    ),
    Verb(
        "put-lever",
        "Puts a lever in the frame, for points or arms, or a spare one.",
        {"number": LeverNumber(), **_WORKS, **_PLATE, "shift": YES},
        (),
        _put_lever,
    ),
    Verb(
        "change-lever",
        "Changes what a lever works, or the text on its plate.",
        {
            "lever": Lever(),
            **{key: OrNone(measure) for key, measure in {**_WORKS, **_PLATE}.items()},
        },
        ("lever",),
        _change_lever,
    ),
    Verb(
        "move-lever",
        "Gives a lever another number; if that is taken, the two change places.",
        {"lever": Lever(), "to": LeverNumber()},
        ("lever", "to"),
        _move_lever,
    ),
    Verb(
        "take-out-lever",
        "Takes out a lever; those after it may close up.",
        {"lever": Lever(), "close_up": YES},
        ("lever",),
        _take_out_lever,
    ),
)
