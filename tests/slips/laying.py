"""Random lines and stations with the signals that hold trains, for ``dressing``."""

from __future__ import annotations

import random
from typing import Any

from oracle.shapes import lay_line
from oracle.stations import station_plan
from slips.meaning import Plan
from slips.opinion import lies_of
from slips.track_lines import OTHER, links, senses


def signalled_line(rng: random.Random) -> Plan:
    """Return a line with some points, with up and down in order and signals at its stands."""
    plan = lay_line(rng, rng.randint(2, 7))
    _turn_round(plan)
    _one_way(rng, plan)
    _yard(rng, plan)
    _heads(rng, plan)
    return plan


def signalled_station(rng: random.Random) -> Plan:
    """Return a station of ``oracle.stations`` with its signals, with up and down in order."""
    plan = station_plan(rng, flaws=0)
    _turn_round(plan)
    return plan


def _turn_round(plan: Plan) -> None:
    """Turn tracks so that down is one way along the line, as far as reversing loops allow."""
    for sense, _ in senses(plan):
        for track_id, kept in sense.items():
            if not kept:
                turn_track(plan, track_id)


def turn_track(plan: Plan, track_id: str) -> None:
    """Turn one track round, with the signals beside it."""
    track = plan["tracks"][track_id]
    track["up"], track["down"] = track["down"], track["up"]
    if track.get("running", "both") != "both":
        track["running"] = OTHER[track["running"]]
    for signal in plan.get("signals", {}).values():
        own = signal["track"] == track_id
        for arm in signal["arms"]:
            # An arm without a heading or an at_mm has those of its signal.
            if arm.get("track", signal["track"]) == track_id:
                if "for" in arm:
                    arm["for"] = OTHER[arm["for"]]
                elif not own:
                    arm["for"] = OTHER[signal["for"]]
                _measure_from_other_end(track, arm)
            elif own and "for" not in arm:
                arm["for"] = signal["for"]
        if own:
            signal["for"] = OTHER[signal["for"]]
            _measure_from_other_end(track, signal)


def _measure_from_other_end(track: dict[str, Any], value: dict[str, Any]) -> None:
    if "at_mm" in value and track.get("length_mm") is not None:
        value["at_mm"] = track["length_mm"] - value["at_mm"]
    elif value.get("at_mm") == 0:
        del value["at_mm"]  # at the end of the track


def _one_way(rng: random.Random, plan: Plan) -> None:
    """Make some tracks one-way, mostly those at an edge, as on a double line."""
    for track in plan["tracks"].values():
        likely = 0.3 if "edge:" in track["up"] + track["down"] else 0.05
        if not track.get("stand") and rng.random() < likely:
            track["running"] = rng.choice(("down", "up"))


def _yard(rng: random.Random, plan: Plan) -> None:
    """Make a yard of the sidings beyond some points and the track that leads to them."""
    if rng.random() < 0.4:
        return
    meets = {track[e]: (t, e) for t, track in plan["tracks"].items() for e in ("up", "down")}
    served = {t for platform in plan.get("platforms", {}).values() for t in platform["tracks"]}
    for name in rng.sample(list(plan["points"]), len(plan["points"])):
        lead, end = meets[f"{name}.toe"]
        tracks, points = [lead], [name]
        if not _all_sidings(plan, meets, name, tracks, points):
            continue
        far = plan["tracks"][lead][OTHER[end]]
        if "." in far and not served & set(tracks) and far.partition(".")[0] not in points:
            plan["yards"] = {"yard": {"tracks": tracks, "points": points}}
            return


def _all_sidings(
    plan: Plan, meets: dict[str, tuple[str, str]], name: str, tracks: list[str], points: list[str]
) -> bool:
    for leg in lies_of(plan, name)[1]:
        track_id, end = meets[f"{name}.{leg}"]
        far = plan["tracks"][track_id][OTHER[end]]
        tracks.append(track_id)
        onward, _, onward_leg = far.partition(".")
        if far != "buffer":
            if onward_leg != "toe" or onward in points:
                return False
            points.append(onward)
            if not _all_sidings(plan, meets, onward, tracks, points):
                return False
    return True


def _heads(rng: random.Random, plan: Plan) -> None:
    signals: dict[str, Any] = {}
    in_yard = {t for yard in plan.get("yards", {}).values() for t in yard["tracks"]}
    served = {t for platform in plan.get("platforms", {}).values() for t in platform["tracks"]}
    likely = rng.choice((0.3, 0.6, 1.0))
    for track_id, track in plan["tracks"].items():
        if _is_crossover(plan, track_id):
            continue
        ends = track["up"] + track["down"]
        at_limit = "buffer" in ends or "edge:" in ends
        stand = track.get("stand", track_id in served or at_limit)
        for heading in ("down", "up"):
            text = track[heading]
            if text == "buffer" or text.startswith("edge:"):
                continue
            if track.get("running", "both") == OTHER[heading]:
                continue
            if _is_before_trap(plan, text):
                continue
            border = track_id in in_yard and _leads_out(plan, in_yard, text)
            if track_id in in_yard and not border:
                continue
            chance = likely if text.endswith(".toe") else 0.25 * likely
            if not (stand or border or rng.random() < chance):
                continue
            number = len(signals) + 1
            signal: dict[str, Any] = {"track": track_id, "for": heading}
            siding = "buffer" in ends or border
            shunt = siding and track_id not in served and rng.random() < 0.3
            arm = {"id": f"s{number}", "kind": "shunt"} if shunt else {"id": f"s{number}"}
            signals[f"s{number}"] = signal | ({"form": "disc"} if shunt else {}) | {"arms": [arm]}
            if not border and track.get("length_mm", 0) > 1500 and rng.random() < 0.15:
                number += 1
                at = round(track["length_mm"] * rng.choice((0.3, 0.6)))
                signals[f"s{number}"] = signal | {"at_mm": at, "arms": [{"id": f"s{number}"}]}
    plan["signals"] = signals


def _is_crossover(plan: Plan, track_id: str) -> bool:
    """Return whether a track is part of a crossover, and so has no signal."""
    groups = [set(group) for group in plan.get("worked_together", [])]
    return any(
        track_id in line and {one, other} in groups for line, (one, _), (other, _) in links(plan)
    )


def _is_before_trap(plan: Plan, text: str) -> bool:
    """Return whether a leg of trap points is there; no route ends right before one."""
    name, _, leg = text.partition(".")
    return leg != "toe" and bool(plan["points"].get(name, {}).get("trap"))


def _leads_out(plan: Plan, in_yard: set[str], text: str) -> bool:
    name = text.partition(".")[0]
    return name not in plan.get("yards", {})["yard"]["points"] and bool(in_yard)
