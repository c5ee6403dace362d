"""Rules on running sessions: each movement is tried after those before it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import pointer_to
from trappoint.core.quoting import listed
from trappoint.rules.route_phrases import MAX_NAMES
from trappoint.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from trappoint.core.findings import Finding
    from trappoint.facts.facts import Facts
    from trappoint.model.layout import SessionMove
    from trappoint.operation.sessions import SessionResult, Stuck

BELIEFS = ("nowhere", "elsewhere", "there-already", "no-stand")
"""Why a movement is not made: its author is wrong about where the train is or may stand."""


def _sessions(facts: Facts) -> list[SessionResult]:
    """Return how each session goes, as far as its movements can be made."""
    return facts.sessions if facts.layout.sessions else []


def _mend(worked: SessionResult, stuck: Stuck, move: SessionMove) -> str:
    """Say what to do about a movement that cannot be made."""
    if stuck.why == "no-road":
        if move.via or move.arm:
            return "Take out `via` or `arm`, or name others; `trappoint road` tells the roads."
        return "Choose another way round; `trappoint road` tells where trains can come to."
    if stuck.why == "too-long":
        return "Send it elsewhere, over another road (`via`), or shorten the train."
    if worked.order is not None:
        order = [str(made.number + 1) for made in worked.order]
        return f"In this order all movements can be made: {', '.join(order)}."
    if not worked.decided:
        return (
            "Whether there is an order in which all can be made was not found out: there are too "
            "many. Move what is in the way first."
        )
    return (
        "In no order can all these movements be made. Move what is in the way first, or send one "
        "of the trains elsewhere; `trappoint road` tells how."
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
    why="One train at a time has a place; a yard is one place.",
    source="absolute block: one train in one section at a time",
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
                f"{_begin(one)} and {other} stand in one place before anything moves.",
                "Let each stand in a track of its own.",
                path=(worked.session.id,),
            )


def _begin(text: str) -> str:
    return text[:1].upper() + text[1:] if text.startswith("the train") else text


ASTRAY = Rule(
    id="session-train-elsewhere",
    level="error",
    stage="facts",
    summary=(
        "a movement of a train that is not where it is said to be, or to nowhere that it may stand"
    ),
    why="Each movement begins where the one before left the train.",
    source="follows from the movements before it",
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
            f"Movement {stuck.number + 1}: {tell_stuck(stuck, move)}",
            fix,
            path=(worked.session.id, move.train),
        )


def _belief(stuck: Stuck) -> tuple[str, tuple[str, ...]]:
    """Return what to do about a train that is not where it is believed, and the wrong key."""
    if stuck.why == "nowhere":
        fix = "Say where it stands at first (`trains`), or at which edge it comes in (`from`)."
        return fix, ("train",)
    if stuck.why == "elsewhere":
        fix = f"Write {stuck.where}, leave `from` out, or mend the movements before."
        return fix, ("from",)
    if stuck.why == "there-already":
        return "Leave the movement out.", ("to",)
    return "Choose a track, platform or yard in which a train may stand.", ("to",)


CANNOT = Rule(
    id="session-cannot-be-made",
    level="error",
    stage="facts",
    summary="a movement that locking and trains do not allow",
    why="A movement needs a road that is free from end to end, each arm on it off in its turn.",
    source=(
        "Board of Trade requirements 1892, rule 7; absolute block: one train in one section at a "
        "time"
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
            f"Movement {stuck.number + 1}: {tell_stuck(stuck, move)}",
            _mend(worked, stuck, move),
            path=(worked.session.id, move.train, *(train for train, _ in stuck.trains)),
        )


STANDSTILL = Rule(
    id="session-standstill",
    level="warning",
    stage="facts",
    summary="a session in which no train can make its next movement",
    why="Trains that wait for one another wait for ever.",
    source=(
        "common practice, no source: trains are not sent towards each other without a loop between"
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
            f"Before movement {worked.stuck.number + 1} the session comes to a standstill: none of "
            f"{listed(waiting[:MAX_NAMES], 'and')} can make its next movement.",
            _mend(worked, worked.stuck, worked.session.moves[worked.stuck.number]),
            path=(worked.session.id, *waiting),
        )


def _many_sessions() -> str:
    """Sessions of so many movements that not all of them are tried."""
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
    summary="sessions that are too long for all of them to be tried",
    why="What was not tried is not known.",
    source="the bounds of this program",
    fails=_many_sessions,
    passes=_session(_TWO, {"train": "goods", "to": "quarry-line"}, {"train": "local", "to": "A"}),
)


@NOT_TRIED.checked_by
def _unknown(facts: Facts) -> Iterator[Finding]:
    for worked in _sessions(facts):
        if worked.stuck is not None and worked.stuck.why == "given-up":
            yield NOT_TRIED.finding(
                pointer_to("sessions", worked.session.id, "moves", worked.stuck.number),
                f"Whether movement {worked.stuck.number + 1} and those after it can be made was "
                "not found out: all sessions together are too long.",
                "Make the sessions shorter, or let fewer trains take part.",
                path=(worked.session.id,),
            )
