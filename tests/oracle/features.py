"""The features of a plan, to count how often the generators draw each of them."""

from __future__ import annotations

from typing import Any

from oracle.ground import Ground
from oracle.heads import Plan
from oracle.sections import HEADINGS, OTHER, Piece, TrackEnd, leads_nowhere

__all__ = ["ALL", "features"]

ALL = frozenset(
    {
        "turnout", "three-way", "diamond", "single-slip", "double-slip", "turntable",
        "trap points", "drag", "trap worked together", "worked together",
        "yard", "yard exit along a track", "listed train", "platform", "edge", "buffer", "joint",
        "merged section", "like ends meet", "ring", "ring without a signal", "limit", "stub",
        "one-way track", "stand true", "stand false",
        "stop arm", "shunt arm", "shunt arm alone", "shunt arm along a track", "bracket",
        "stop and shunt arm", "disc on the spot of a post", "past a shunt arm",
        "head along a track", "back-to-back heads",
    }
)  # fmt: skip


def features(plan: Plan) -> set[str]:
    """The kinds of elements and the features that a plan has; raises NotJudgedError as Ground."""
    ground = Ground(plan)
    found = _elements(plan) | _tracks(plan) | _arms(plan) | _heads(ground)
    found |= _sections(ground) | _rings(ground)
    moves = [move for ways in ground.ways_out.values() for way in ways for move in way.moves]
    found |= {"drag"} if any(move.derails for move in moves) else set()
    return found


def _values(plan: Plan, kind: str) -> list[dict[str, Any]]:
    return list(plan.get(kind, {}).values())


def _elements(plan: Plan) -> set[str]:
    found = {each.get("kind", "turnout") for each in _values(plan, "points")}
    found |= {each.get("kind", "diamond") for each in _values(plan, "crossings")}
    groups = plan.get("worked_together", [])
    traps = {each for each, points in plan.get("points", {}).items() if points.get("trap")}
    said = {
        "turntable": plan.get("turntables"),
        "trap points": traps,
        "yard": plan.get("yards"),
        "platform": plan.get("platforms"),
        "listed train": any("length_mm" in each for each in _values(plan, "trains")),
        "worked together": groups,
        "trap worked together": traps & {each for group in groups for each in group},
    }
    return found | {name for name, there in said.items() if there}


def _tracks(plan: Plan) -> set[str]:
    found = set()
    for track in plan["tracks"].values():
        found |= {"one-way track"} if track.get("running", "both") != "both" else set()
        found |= {f"stand {track['stand']}".lower()} if "stand" in track else set()
        found |= {track[end].partition(":")[0] for end in HEADINGS if "." not in track[end]}
    return found


def _arms(plan: Plan) -> set[str]:
    """The features of single signals, and discs on the spot of another signal."""
    found = set()
    signals: dict[tuple[str, str, float | None, str], str] = {}
    for signal_id, signal in plan["signals"].items():
        found |= {"bracket"} if signal.get("mount") == "bracket" else set()
        for arm in signal["arms"]:
            track, heading = arm.get("track", signal["track"]), arm.get("for", signal["for"])
            at = arm.get("at_mm", None if "track" in arm else signal.get("at_mm"))
            right_end = 0 if heading == "up" else plan["tracks"][track].get("length_mm")
            spot = track, heading, None if at == right_end else at
            signals[*spot, arm.get("kind", "stop")] = signal_id
    for (track, heading, at, kind), signal_id in signals.items():
        if kind == "shunt" and signals.get((track, heading, at, "stop"), signal_id) != signal_id:
            found.add("disc on the spot of a post")
    return found


def _heads(ground: Ground) -> set[str]:
    found = set()
    for (track_id, heading, at), head in ground.heads.items():
        found |= {f"{kind} arm" for kind in head.kinds}
        if head.kinds == {"shunt"}:
            found.add("shunt arm alone")
        found |= {"stop and shunt arm"} if len(head.kinds) == 2 else set()
        if at is not None:
            found.add("head along a track")
            found |= {"shunt arm along a track"} if "shunt" in head.kinds else set()
            if (track_id, OTHER[heading], at) in ground.heads:
                found.add("back-to-back heads")
    if any(route.kind == "stop" and route.heads for route in ground.all_routes):
        found.add("past a shunt arm")
    if any(head.at is not None for head in ground.exits.values()):
        found.add("yard exit along a track")
    return found


# ---- sections ----------------------------------------------------------------------------------


def _sections(ground: Ground) -> set[str]:
    found = set()
    for section in ground.sections.values():
        found |= {"merged section"} if len(section.pieces) > 1 else set()
        found |= set() if section.ends else {"ring without a signal"}
        for heading, (piece, end) in section.ends.items():
            if heading in section.headings and not _is_line_end(ground, piece, end):
                (way,) = ground.ways_out[section.name, heading]
                found |= set() if way.moves else {"limit"}
        found |= {"stub"} if any(_is_stub(ground, piece) for piece in section.pieces) else set()
    for one, other in ground.at_joint.values():
        found |= {"like ends meet"} if one[1] == other[1] else set()
    return found


def _is_line_end(ground: Ground, piece: Piece, end: str) -> bool:
    return piece.reaches(end) and leads_nowhere(ground.tracks[piece.track][end])


def _is_stub(ground: Ground, piece: Piece) -> bool:
    """Whether a stand is none because the piece is a stub."""
    track = ground.tracks[piece.track]
    platforms = ground.plan.get("platforms", {}).values()
    stands = track.get("stand", any(piece.track in each["tracks"] for each in platforms))
    name, _ = ground.spot(piece, "down")
    return bool(stands) and name not in ground.stands


def _rings(ground: Ground) -> set[str]:
    """Circles of tracks that meet at joints alone, with or without signals."""
    for track_id in ground.tracks:
        now: TrackEnd = (track_id, "down")
        while ground.tracks[now[0]][now[1]].startswith("joint:"):
            beyond, end = ground.across(now)
            now = beyond, OTHER[end]
            if now == (track_id, "down"):
                return {"ring"}
    return set()
