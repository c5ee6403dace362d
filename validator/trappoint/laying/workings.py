"""Verbs for trains, scenes and running sessions."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trappoint.laying.describing import Described, as_keys, changed, id_from
from trappoint.laying.draft import as_tree
from trappoint.laying.measures import LENGTH, Quantity, Thing
from trappoint.laying.naming import fresh
from trappoint.laying.reference_measures import (
    AN_ARM,
    NOTE,
    ROAD,
    Lies,
    Named,
    OneOrMore,
    OrNone,
    Several,
    Trains,
    Whereabouts,
    lies_not_normal,
)
from trappoint.laying.refusing import Refused
from trappoint.laying.verb import Verb

if TYPE_CHECKING:
    from collections.abc import Mapping

    from trappoint.laying.describing import Given
    from trappoint.laying.draft import Draft
    from trappoint.laying.measures import Measure


_TRAIN = Described(
    "trains",
    {"length_mm": LENGTH, "longest_coach_mm": LENGTH, "engine_mm": LENGTH},
    (),
    id_from("trains", "train"),
)


def _scene_ready(draft: Draft, given: Given) -> None:
    """Keep the points that do not lie normal, as the format has them."""
    if given.get("points"):
        given["points"] = lies_not_normal(draft, given["points"])
    for key in ("points", "off", "trains"):
        if key in given and not given[key]:
            given[key] = None


_SCENE = Described(
    "scenes",
    {"points": Lies(), "off": Several(AN_ARM, True), "trains": Trains()},
    (),
    id_from("scenes", "scene"),
    _scene_ready,
)

_SESSION = Described("sessions", {"trains": Trains()}, (), id_from("sessions", "session"))


def _plan_session(draft: Draft, **measures: Any) -> str:
    given = as_keys(measures)
    key = given.pop("id", None) or fresh(draft, "sessions", "session", given.get("name"))
    draft.add("sessions", key, {**{k: as_tree(v) for k, v in given.items()}, "moves": []})
    return f"The plan has session {key} now, with {_trains(given.get('trains', {}))}."


def _trains(trains: dict[str, Any]) -> str:
    return f"{len(trains)} train{'' if len(trains) == 1 else 's'}"


_MOVE: Mapping[str, Measure] = {
    "train": Named(("trains",)),
    "from": Whereabouts(),
    "to": Whereabouts(),
    "via": OneOrMore(ROAD),
    "arm": AN_ARM,
    "note": NOTE,
}
_NUMBER = Quantity(1, 10_000, "the number of a movement, from 1", whole=True)


def _add_movement(draft: Draft, **measures: Any) -> str:
    given = as_keys(measures)
    key, number = given.pop("session"), given.pop("number", None)
    moves = draft.thing("sessions", key)["moves"]
    at = len(moves) if number is None else min(int(number) - 1, len(moves))
    moves.insert(at, {name: as_tree(value) for name, value in given.items()})
    draft.touch("sessions", key)
    return f"Movement {at + 1} of session {key}: {given['train']} runs to {given['to']}."


def _movement(draft: Draft, given: Given) -> tuple[str, int, Any]:
    key, number = given.pop("session"), int(given.pop("number"))
    moves = draft.thing("sessions", key)["moves"]
    if number > len(moves):
        raise Refused(
            f"Session {key} has {len(moves)} movements, so that there is no movement {number}.",
            "Give the number of a movement, counted from 1.",
        )
    return key, number, moves


def _change_movement(draft: Draft, **measures: Any) -> str:
    given = as_keys(measures)
    key, number, moves = _movement(draft, given)
    changed(draft, ("sessions", key), moves[number - 1], given)
    return f"Movement {number} of session {key} is changed."


def _drop_movement(draft: Draft, **measures: Any) -> str:
    key, number, moves = _movement(draft, as_keys(measures))
    del moves[number - 1]
    draft.touch("sessions", key)
    return f"Movement {number} of session {key} is taken out."


_WHICH: Mapping[str, Measure] = {"session": Thing(("sessions",)), "number": _NUMBER}


VERBS = (
    _TRAIN.add("add-train", "Notes a train that the club runs."),
    _TRAIN.change("change-train", "Changes a train."),
    _TRAIN.gone("take-out-train", "Takes out a train."),
    _SCENE.add("set-scene", "Sets a scene: points not normal, arms off, trains where they stand."),
    _SCENE.change("change-scene", "Changes a scene."),
    _SCENE.gone("take-out-scene", "Takes out a scene."),
    Verb(
        "plan-session",
        "Begins a running session with the trains that stand at first.",
        _SESSION.new_measures(),
        (),
        _plan_session,
    ),
    _SESSION.change("change-session", "Changes a session."),
    _SESSION.gone("take-out-session", "Takes out a session."),
    Verb(
        "add-movement",
        "Adds a movement to a session, at the end or as the one with a number.",
        {"session": Thing(("sessions",)), **_MOVE, "number": _NUMBER},
        ("session", "train", "to"),
        _add_movement,
    ),
    Verb(
        "change-movement",
        "Changes a movement of a session.",
        {
            **_WHICH,
            **{k: m if k in ("train", "to") else OrNone(m) for k, m in _MOVE.items()},
        },
        ("session", "number"),
        _change_movement,
    ),
    Verb(
        "take-out-movement",
        "Takes a movement out of a session.",
        _WHICH,
        ("session", "number"),
        _drop_movement,
    ),
)
