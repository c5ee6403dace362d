"""Builds a ``Layout`` from a document that the schema accepts: adds defaults, checks nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal, TypeVar

from trappoint.model.layout import (
    Accepted,
    Arm,
    Crossing,
    Edge,
    End,
    Head,
    Layout,
    LegCurve,
    Lever,
    Platform,
    Points,
    Scene,
    Session,
    SessionMove,
    Signal,
    Track,
    Train,
    Turntable,
    Yard,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Mapping

Built = TypeVar("Built")


def build_layout(data: Mapping[str, Any]) -> Layout:
    """Return the layout of a document that ``schema/layout.schema.json`` accepts."""
    platforms = _all(data, "platforms", _platform)
    served = {track for platform in platforms.values() for track in platform.tracks}
    edges = _all(data, "edges", _edge)
    held = {edge.name for edge in edges.values() if edge.held}
    return Layout(
        title=data.get("title", ""),
        scale=data.get("scale", ""),
        tracks=_all(data, "tracks", lambda key, value: _track(key, value, served, held)),
        points=_all(data, "points", _points),
        crossings=_all(data, "crossings", _crossing),
        turntables=_all(data, "turntables", _turntable),
        platforms=platforms,
        signals=_all(data, "signals", _signal),
        worked_together=tuple(tuple(group) for group in data.get("worked_together", ())),
        yards=_all(data, "yards", _yard),
        trains=_all(data, "trains", _train),
        levers=_all(data, "levers", _lever),
        scenes=_all(data, "scenes", _scene),
        sessions=_all(data, "sessions", _session),
        accept=tuple(
            Accepted(entry["rule"], entry["at"], entry.get("because", ""))
            for entry in data.get("accept", ())
        ),
        boards=tuple(data.get("boards", {})),
        standard=data.get("standard"),
        gauge_mm=data.get("gauge_mm"),
        spacing_mm=data.get("spacing_mm"),
        edges=tuple(edges.values()),
    )


def _all(
    data: Mapping[str, Any], kind: str, build: Callable[[str, Mapping[str, Any]], Built]
) -> dict[str, Built]:
    """Return all things of a kind, by id."""
    return {key: build(key, value) for key, value in data.get(kind, {}).items()}


def _platform(key: str, value: Mapping[str, Any]) -> Platform:
    return Platform(key, tuple(value["tracks"]), value.get("length_mm"), value.get("name", ""))


def _edge(key: str, value: Mapping[str, Any]) -> Edge:
    return Edge(key, value.get("held", False), value.get("name", ""))


def _crossing(key: str, value: Mapping[str, Any]) -> Crossing:
    return Crossing(
        key,
        value.get("kind", "diamond"),
        value.get("crossing_number"),
        value.get("measure", "centre-line"),
        value.get("angle_degrees"),
        value.get("leg_mm"),
        _hint(value, "order"),
        value.get("name", ""),
    )


def _turntable(key: str, value: Mapping[str, Any]) -> Turntable:
    return Turntable(
        key,
        value.get("kind", "turntable"),
        tuple(value["roads"]),
        _hint(value, "order"),
        value.get("name", ""),
    )


def _train(key: str, value: Mapping[str, Any]) -> Train:
    return Train(
        key,
        value.get("length_mm"),
        value.get("longest_coach_mm"),
        value.get("name", ""),
        value.get("engine_mm"),
    )


def _lever(key: str, value: Mapping[str, Any]) -> Lever:
    return Lever(
        key,
        tuple(value.get("points", ())),
        tuple(value.get("arms", ())),
        value.get("name", ""),
    )


def _scene(key: str, value: Mapping[str, Any]) -> Scene:
    return Scene(
        key,
        value.get("points", {}),
        tuple(value.get("off", ())),
        value.get("trains", {}),
        value.get("name", ""),
    )


def _session(key: str, value: Mapping[str, Any]) -> Session:
    moves = tuple(
        SessionMove(
            move["train"],
            move.get("from"),
            move["to"],
            _names(move.get("via")),
            move.get("arm"),
            move.get("note", ""),
        )
        for move in value["moves"]
    )
    return Session(key, value.get("name", ""), value.get("trains", {}), moves)


def parse_end(text: str) -> End:
    """Return what a track's end meets: ``buffer``, ``edge:NAME``, ``joint:NAME`` or ``ID.LEG``."""
    if text == "buffer":
        return End(text, "buffer")
    if text.startswith("edge:"):
        return End(text, "edge", text[5:])
    if text.startswith("joint:"):
        return End(text, "joint", text[6:])
    name, _, leg = text.partition(".")
    return End(text, "leg", name, leg)


def _track(key: str, value: Mapping[str, Any], served: set[str], held: set[str]) -> Track:
    up, down = parse_end(value["up"]), parse_end(value["down"])
    running = value.get("running", "both")
    # An end at a held edge does not make the track a stand: the neighbour holds the trains.
    ends = {
        end.kind
        for end, onward in ((up, "down"), (down, "up"))
        if not (end.kind == "edge" and end.name in held and running in ("both", onward))
    }
    stand_by = _stand_by(value, key in served, ends)
    return Track(
        key,
        up,
        down,
        running,
        bool(stand_by),
        value.get("length_mm"),
        value.get("radius_mm"),
        value.get("gradient_percent"),
        value.get("name", ""),
        value.get("rank"),
        _hint(value, "lane"),
        stand_by,
        value.get("curve"),
    )


def _stand_by(
    value: Mapping[str, Any], served: bool, ends: Collection[str]
) -> Literal["", "said", "platform", "end"]:
    """Return what makes a track a stand; empty if nothing does, or if its ``stand`` is false.

    ``ends`` are the kinds of its ends, without those at which the neighbour holds trains.
    """
    if "stand" in value:
        return "said" if value["stand"] else ""
    if served:
        return "platform"
    return "end" if {"buffer", "edge"}.intersection(ends) else ""


def _points(key: str, value: Mapping[str, Any]) -> Points:
    return Points(
        key,
        value.get("kind", "turnout"),
        value["normal"],
        value.get("trap", False),
        value.get("lock", False),
        value.get("crossing_number"),
        value.get("measure", "centre-line"),
        value.get("angle_degrees"),
        value.get("leg_mm"),
        _hint(value, "order"),
        value.get("name", ""),
        value.get("toe_mm"),
        tuple(
            LegCurve(leg, curve["hand"], curve["radius_mm"])
            for leg, curve in value.get("curves", {}).items()
        ),
    )


def _hint(value: Mapping[str, Any], key: str) -> int | None:
    found: int | None = value.get("draw", {}).get(key)
    return found


def _yard(key: str, value: Mapping[str, Any]) -> Yard:
    return Yard(
        key,
        tuple(value.get("tracks", ())),
        tuple(value.get("points", ())),
        tuple(value.get("crossings", ())),
        tuple(value.get("turntables", ())),
        value.get("name", ""),
    )


def _names(value: str | list[str] | None) -> tuple[str, ...]:
    if value is None:
        return ()
    return (value,) if isinstance(value, str) else tuple(value)


def _signal(key: str, value: Mapping[str, Any]) -> Signal:
    arms: list[Arm] = []
    dolls: dict[str, int] = {}
    last = 0
    for index, given in enumerate(value["arms"]):
        doll = given.get("doll") or dolls.get(given.get("under", "")) or last + 1
        last = max(last, doll)
        dolls[given["id"]] = doll
        arms.append(_arm(key, index, given, value, doll))
    dolls_used = len({arm.doll for arm in arms})
    return Signal(
        key,
        value["track"],
        value["for"],
        value.get("at_mm"),
        value.get("side"),
        value.get("mount", "post" if dolls_used == 1 else "bracket"),
        value.get("form", "upper-quadrant"),
        tuple(arms),
        tuple(value.get("duties", ())),
        _heads(key, arms),
        value.get("from_centre_mm"),
        value.get("post_mm"),
        value.get("spacing_mm"),
        value.get("name", ""),
    )


def _arm(
    key: str, index: int, given: Mapping[str, Any], signal: Mapping[str, Any], doll: int
) -> Arm:
    # A measure applies to one track only, so an arm on another track does not inherit it.
    own_track = given.get("track", signal["track"])
    inherited = signal.get("at_mm") if own_track == signal["track"] else None
    return Arm(
        given["id"],
        key,
        index,
        given.get("kind", "stop"),
        _names(given.get("to")),
        doll,
        given.get("under"),
        _names(given.get("repeats")),
        given.get("expects", {}),
        tuple(given.get("never_with", ())),
        own_track,
        given.get("for", signal["for"]),
        given.get("at_mm", inherited),
        given.get("height_mm"),
        given.get("name", ""),
    )


def _heads(key: str, arms: list[Arm]) -> tuple[Head, ...]:
    grouped: dict[tuple[Any, ...], list[Arm]] = {}
    for arm in arms:
        grouped.setdefault((arm.track, arm.heading, arm.at_mm), []).append(arm)
    # From left to right as the driver sees them; on one doll from the top down, as listed.
    return tuple(
        Head(key, track, heading, at_mm, tuple(sorted(group, key=lambda arm: arm.doll)))
        for (track, heading, at_mm), group in grouped.items()
    )
