"""Rules on running sessions: the check makes their movements one after another."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import pointer_to
from trappoint.core.quoting import listed
from trappoint.rules.route_phrases import MAX_NAMES
from trappoint.rules.rule import BOARD_OF_TRADE, Rule

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from trappoint.core.findings import Finding
    from trappoint.facts.facts import Facts
    from trappoint.model.layout import SessionMove
    from trappoint.operation.sessions import SessionResult, Stuck

BELIEFS = ("nowhere", "elsewhere", "there-already", "no-stand")
"""The reasons for which the author is wrong about where a train is or may stand."""


def _sessions(facts: Facts) -> list[SessionResult]:
    """Return the result of each session, as far as its movements can be made."""
    return facts.sessions if facts.layout.sessions else []


def _fix_of(worked: SessionResult, stuck: Stuck, move: SessionMove) -> str:
    """Return the fix for a movement that cannot be made."""
    if stuck.why == "no-road":
        if move.via or move.arm:
            return "Change `via` or `arm`, or take them out; `trappoint road` lists the roads."
        return "Choose another goal or another road; `trappoint road` lists the roads."
    if stuck.why == "too-long":
        return "Choose another goal, choose another road (`via`), or shorten the train."
    if worked.order is not None:
        order = [str(made.number + 1) for made in worked.order]
        return f"Make the movements in this order, which works: {', '.join(order)}."
    if not worked.decided:
        return (
            "Move the trains that are in the way first. (The check does not know an order that "
            "works: there are too many orders to try.)"
        )
    return (
        "Move the trains that are in the way first, or send one of them elsewhere: no order of "
        "these movements works."
    )


def _session(trains: Mapping[str, object], *moves: dict[str, str]) -> dict[str, object]:
    """Return a merge patch with one session of two trains: an example."""
    return {
        "trains": {"local": {}, "goods": {}},
        "sessions": {"evening": {"trains": trains, "moves": list(moves)}},
    }


_TWO = {"town-line": "local", "main": "goods"}

TOGETHER = Rule(
    id="session-trains-together",
    level="error",
    stage="facts",
    summary="a session that begins with two trains in one place",
    why="One place holds one train at a time, and a yard is one place.",
    source="common practice, no source: absolute block, one train in one section at a time",
    fails=_session({"main": "local", "siding": "local"})
    | {
        "yards": {"all": {"tracks": ["siding"]}},
        "sessions": {
            "evening": {
                "trains": {"siding": "local", "all": "goods"},
                "moves": [{"train": "local", "to": "B"}],
            }
        },
    },
    passes=_session({"siding": "local", "main": "goods"}, {"train": "local", "to": "B"}),
)


@TOGETHER.checked_by
def _together(facts: Facts) -> Iterator[Finding]:
    for worked in _sessions(facts):
        if worked.shared is not None:
            one, other = worked.shared
            yield TOGETHER.finding(
                pointer_to("sessions", worked.session.id, "trains"),
                f"In session {facts.names.called('sessions', worked.session.id)}, {one} and "
                f"{other} begin in one place.",
                "Begin the session with each train on a track of its own.",
                path=(worked.session.id,),
            )


ASTRAY = Rule(
    id="session-train-elsewhere",
    level="error",
    stage="facts",
    summary="a movement of a train that is elsewhere, or to a place where it may not stand",
    why="Each movement of a train begins where its last movement ended.",
    source="the format: sessions",
    fails=_session(
        _TWO,
        {"train": "goods", "to": "quarry-line"},
        {"train": "goods", "from": "main", "to": "B"},
    ),
    passes=_session(
        _TWO,
        {"train": "goods", "to": "quarry-line"},
        {"train": "goods", "from": "quarry-line", "to": "B"},
    ),
)


@ASTRAY.checked_by
def _astray(facts: Facts) -> Iterator[Finding]:
    if not facts.layout.sessions:
        return
    from trappoint.operation.journey_words import tell_stuck

    for worked in facts.sessions:
        stuck = worked.stuck
        if stuck is None or stuck.why not in BELIEFS:
            continue
        move = worked.session.moves[stuck.number]
        fix, key = _belief(stuck)
        yield ASTRAY.finding(
            pointer_to("sessions", worked.session.id, "moves", stuck.number, *key),
            f"Movement {stuck.number + 1}: {tell_stuck(stuck, move, facts.names)}",
            fix,
            path=(worked.session.id, move.train),
        )


def _belief(stuck: Stuck) -> tuple[str, tuple[str, ...]]:
    """Return the fix for a train that is not where its author believes, and the wrong key."""
    if stuck.why == "nowhere":
        fix = "Add its place at first to `trains`, or add the edge at which it comes on as `from`."
        return fix, ("train",)
    if stuck.why == "elsewhere":
        fix = f"Write {stuck.where}, take `from` out, or correct the movements before."
        return fix, ("from",)
    if stuck.why == "there-already":
        return "Take the movement out.", ("to",)
    return "Write a track, platform or yard in which a train may stand.", ("to",)


CANNOT = Rule(
    id="session-cannot-be-made",
    level="error",
    stage="facts",
    summary="a movement that the locking or other trains prevent",
    why="A movement needs a road that is free from end to end, with each arm on it off in turn.",
    source=(
        f"{BOARD_OF_TRADE}, rule 7; common practice, no source: absolute block, one train in one "
        "section at a time"
    ),
    fails=_session(_TWO, {"train": "local", "to": "A"}, {"train": "goods", "to": "quarry-line"}),
    passes=_session(_TWO, {"train": "goods", "to": "quarry-line"}, {"train": "local", "to": "A"}),
)


@CANNOT.checked_by
def _cannot(facts: Facts) -> Iterator[Finding]:
    if not facts.layout.sessions:
        return
    from trappoint.operation.journey_words import tell_stuck

    for worked in facts.sessions:
        stuck = worked.stuck
        if stuck is None or stuck.why in (*BELIEFS, "given-up"):
            continue
        move = worked.session.moves[stuck.number]
        yield CANNOT.finding(
            pointer_to("sessions", worked.session.id, "moves", stuck.number),
            f"Movement {stuck.number + 1}: {tell_stuck(stuck, move, facts.names)}",
            _fix_of(worked, stuck, move),
            path=(worked.session.id, move.train, *(train for train, _ in stuck.trains)),
        )


STANDSTILL = Rule(
    id="session-standstill",
    level="warning",
    stage="facts",
    summary="a session in which no train can make its next movement",
    why="Trains that wait for each other wait for ever.",
    source=(
        "common practice, no source: trains may run towards each other only with a loop between "
        "them"
    ),
    fails=_session(_TWO, {"train": "local", "to": "A"}, {"train": "goods", "to": "town-line"}),
    passes=_session(_TWO, {"train": "local", "to": "B"}, {"train": "goods", "to": "town-line"}),
)


@STANDSTILL.checked_by
def _standstills(facts: Facts) -> Iterator[Finding]:
    for worked in _sessions(facts):
        if worked.stuck is None or not worked.standstill:
            continue
        waiting = sorted({move.train for move in worked.session.moves[worked.stuck.number :]})
        if len(waiting) < 2:
            continue
        yield STANDSTILL.finding(
            pointer_to("sessions", worked.session.id, "moves", worked.stuck.number),
            f"Session {facts.names.called('sessions', worked.session.id)} comes to a standstill "
            f"before movement {worked.stuck.number + 1}: none of "
            f"{listed(waiting[:MAX_NAMES], 'and')} can make its next movement.",
            _fix_of(worked, worked.stuck, worked.session.moves[worked.stuck.number]),
            path=(worked.session.id, *waiting),
        )


def _many_sessions() -> str:
    """Return a plan with a session too long to check."""
    import json

    from trappoint.core.resources import read_resource

    plan = json.loads(read_resource("kelpie-quay.layout.json"))
    there, back = {"train": "local", "to": "B"}, {"train": "local", "to": "town-line"}
    session = {"trains": {"town-line": "local"}, "moves": [there, back] * 6_000}
    plan |= {"trains": {"local": {}}, "sessions": {"evening": session}}
    return json.dumps(plan)


NOT_TRIED = Rule(
    id="session-not-checked",
    level="note",
    stage="facts",
    summary="sessions that are too long to check",
    why="A check must end soon, so it makes only a limited number of movements.",
    source="a limit of this version, on the sessions of a plan together",
    fails=_many_sessions,
    passes=_session(_TWO, {"train": "goods", "to": "quarry-line"}, {"train": "local", "to": "A"}),
)


@NOT_TRIED.checked_by
def _unknown(facts: Facts) -> Iterator[Finding]:
    for worked in _sessions(facts):
        if worked.stuck is not None and worked.stuck.why == "given-up":
            yield NOT_TRIED.finding(
                pointer_to("sessions", worked.session.id, "moves", worked.stuck.number),
                f"Movements from {worked.stuck.number + 1} on were not checked: the sessions are "
                "too long.",
                "Shorten the sessions, or use fewer trains.",
                path=(worked.session.id,),
            )
