"""Documents built to blow up: each one is the worst case for one part of the check.

Each is a function that returns a text, with the rule that must stop it. The rule is ``None`` for
plans that are only large: any findings will do.
"""

from __future__ import annotations

import json
from itertools import pairwise
from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Callable

    Plan = dict[str, Any]

MIB = 1024 * 1024


class BlowUp(NamedTuple):
    """A document and the rule that must find something; None if any report will do."""

    write: Callable[[], str]
    rule: str | None
    seconds: float = 2.0
    """Time limit in seconds; more for plans that are only large, just below a limit."""


def plan(tracks: dict[str, Any], **more: Any) -> str:
    """Return the JSON text of a plan without spaces, so that much fits into 8 MiB."""
    whole = {"format": "trappoint-layout/1", "tracks": tracks, **more}
    return json.dumps(whole, separators=(",", ":"))


def signal(track: str, heading: str, *arms: str, at: float | None = None, **more: Any) -> Plan:
    """Return a signal whose arms have these ids."""
    found: Plan = {"track": track, "for": heading, "arms": [{"id": arm} for arm in arms], **more}
    return found if at is None else found | {"at_mm": at}


# --- too many roads


def slip_ladder(count: int = 40) -> str:
    """Return two lines with ``count`` double slips between them: 2^``count`` roads."""
    tracks: Plan = {}
    for number in range(count + 1):
        for road in "ab":
            up = f"x{number - 1}.{road}2" if number else f"edge:{road}"
            down = f"x{number}.{road}1" if number < count else f"edge:{road}{road}"
            tracks[f"{road}{number}"] = {"up": up, "down": down}
    crossings = {f"x{number}": {"kind": "double-slip"} for number in range(count)}
    return plan(tracks, crossings=crossings, signals={"1": signal("a0", "down", "1")})


def loops(count: int, last: str = "edge:east", **more: Any) -> tuple[Plan, Plan]:
    """Return the tracks and the points of a chain of loops: two roads through each loop."""
    tracks: Plan = {"west": {"up": "edge:west", "down": "p0.toe"}}
    points: Plan = {}
    for number in range(count):
        one, other = f"p{number}", f"q{number}"
        points |= {one: {"normal": "left"}, other: {"normal": "right"}}
        tracks |= {
            f"l{number}": {"up": f"{one}.left", "down": f"{other}.right"},
            f"r{number}": {"up": f"{one}.right", "down": f"{other}.left"},
            f"m{number}": {
                "up": f"{other}.toe",
                "down": f"p{number + 1}.toe" if number < count - 1 else last,
                **(more if number == count - 1 else {}),
            },
        }
    return tracks, points


def loop_ladder(count: int = 40) -> str:
    tracks, points = loops(count)
    return plan(tracks, points=points, signals={"1": signal("west", "down", "1")})


def dead_end_ladder(count: int = 60) -> str:
    """Return loops that end at a track where trains may only run up: 2^60 roads lead there."""
    tracks, points = loops(count, "joint:last")
    tracks["east"] = {"up": "joint:last", "down": "edge:east", "running": "up"}
    return plan(tracks, points=points, signals={"1": signal("west", "down", "1")})


def clash_ladder(count: int = 40, signals: int = 1) -> str:
    """Return loops before a crossover that no road can pass: 2^40 tries.

    The two ends of the crossover are worked together and never agree. With many signals on the way
    in, the search starts again at each.
    """
    tracks, points = loops(count, "joint:last")
    tracks["mid"] = {"up": "joint:last", "down": "y1.left"}
    tracks["side"] = {"up": "buffer", "down": "y1.right"}
    tracks["link"] = {"up": "y1.toe", "down": "y2.toe"}
    tracks["good"] = {"up": "y2.left", "down": "joint:no"}
    tracks["bad"] = {"up": "y2.right", "down": "edge:east"}
    tracks["no"] = {"up": "joint:no", "down": "edge:no", "running": "up"}
    points |= {"y1": {"normal": "left"}, "y2": {"normal": "left"}}
    tracks["west"] |= {"length_mm": 10 * signals + 10}
    here = {f"{n}": signal("west", "down", f"{n}", at=10 * n + 1) for n in range(1, signals)}
    here["0"] = signal("west", "down", "0")
    return plan(tracks, points=points, signals=here, worked_together=[["y1", "y2"]])


def fans(depth: int, *, signals: bool = True) -> str:
    """Return a tree of points that narrows to one track and widens again."""
    tracks: Plan = {}
    points: Plan = {}
    heads: Plan = {}
    for side, way in (("w", "down"), ("e", "up")):
        for level in range(depth):
            for number in range(2**level):
                points[f"{side}{level}-{number}"] = {"normal": "left"}
        for level in range(1, depth + 1):
            for number in range(2**level):
                leg = f"{side}{level - 1}-{number // 2}.{'left' if number % 2 else 'right'}"
                last = level == depth
                far = f"edge:{side}{number}" if last else f"{side}{level}-{number}.toe"
                up, down = (far, leg) if side == "w" else (leg, far)
                tracks[f"{side}{level}-{number}t"] = {"up": up, "down": down}
                if last and signals:
                    heads[f"{side}{number}"] = signal(
                        f"{side}{level}-{number}t", way, f"{side}{number}", form="disc"
                    )
    tracks["neck"] = {"up": "w0-0.toe", "down": "e0-0.toe"}
    return plan(tracks, points=points, signals=heads)


def turntable(roads: int, signals: int) -> str:
    tracks = {f"r{n}": {"up": "buffer", "down": f"t.{n}"} for n in range(roads)}
    heads = {f"s{n}": signal(f"r{n}", "down", f"s{n}") for n in range(signals)}
    return plan(tracks, turntables={"t": {"roads": [str(n) for n in range(roads)]}}, signals=heads)


def yards(count: int) -> str:
    """Return yards that are all linked with each other, with a signal at every border."""
    tracks: Plan = {}
    heads: Plan = {}
    lists: dict[str, list[str]] = {f"y{n}": [] for n in range(count)}
    for one in range(count):
        for other in range(one):
            tracks |= {
                f"a{one}-{other}": {"up": "buffer", "down": f"joint:a{one}-{other}"},
                f"m{one}-{other}": {"up": f"joint:a{one}-{other}", "down": f"joint:b{one}-{other}"},
                f"b{one}-{other}": {"up": f"joint:b{one}-{other}", "down": "buffer"},
            }
            lists[f"y{one}"].append(f"a{one}-{other}")
            lists[f"y{other}"].append(f"b{one}-{other}")
            for name, way in (("a", "down"), ("b", "up")):
                id_ = f"{name}{one}-{other}"
                heads[id_] = signal(id_, way, id_)
    return plan(tracks, signals=heads, yards={y: {"tracks": own} for y, own in lists.items()})


# --- many signals


def signals_on_one_spot(count: int = 100_000) -> str:
    heads = {f"{n}": signal("t", "down", f"{n}") for n in range(count)}
    return plan({"t": {"up": "edge:a", "down": "edge:b"}}, signals=heads)


def signals_along(count: int = 50_000) -> str:
    """Return one track with ``count`` signals, half of them for each direction."""
    heads: Plan = {}
    for n in range(1, count // 2 + 1):
        heads[f"d{n}"] = signal("t", "down", f"d{n}", at=n)
        heads[f"u{n}"] = signal("t", "up", f"u{n}", at=n)
    return plan({"t": {"up": "edge:a", "down": "edge:b"}}, signals=heads)


def arms_for_one_track(count: int = 60_000) -> str:
    """Return ``count`` opposing arms for one track: each conflicts with all opposing ones."""
    half = count // 2
    down: Plan = signal("t", "down", *(f"d{n}" for n in range(half)))
    up: Plan = signal("u", "up", *(f"u{n}" for n in range(half)))
    for arm in (*down["arms"], *up["arms"]):
        arm["to"] = "m"
    return plan(
        {
            "t": {"up": "edge:a", "down": "joint:1"},
            "m": {"up": "joint:1", "down": "joint:2"},
            "u": {"up": "joint:2", "down": "edge:b"},
        },
        signals={"down": down, "up": up},
    )


def opposing_signals(count: int = 3_000) -> str:
    """Return signals that all lead over one track: each conflicts with all others."""
    tracks: Plan = {}
    points: Plan = {}
    heads: Plan = {}
    for n in range(count):
        points[f"p{n}"] = {"normal": "left"}
        tracks[f"s{n}"] = {"up": f"edge:s{n}", "down": f"p{n}.left"}
        onward = f"p{n + 1}.right" if n + 1 < count else "edge:out"
        tracks[f"m{n}"] = {"up": f"p{n}.toe", "down": onward}
        heads[f"s{n}"] = signal(f"s{n}", "down", f"s{n}")
    tracks["m"] = {"up": "edge:in", "down": "p0.right"}
    return plan(tracks, points=points, signals=heads)


def distants(count: int = 2_000) -> str:
    """Return a line of signals, each with a distant that repeats up to 299 signals ahead."""
    tracks: Plan = {}
    heads: Plan = {}
    for n in range(count):
        up = f"joint:{n}" if n else "edge:a"
        down = f"joint:{n + 1}" if n < count - 1 else "edge:b"
        tracks[f"t{n}"] = {"up": up, "down": down}
        ahead = [f"s{m}" for m in range(n + 1, min(count, n + 300))]
        heads[f"s{n}"] = signal(f"t{n}", "down", f"s{n}")
        if ahead:
            distant = {"id": f"d{n}", "kind": "distant", "under": f"s{n}", "repeats": ahead}
            heads[f"s{n}"]["arms"].append(distant)
    return plan(tracks, signals=heads)


def plain_distants(count: int = 15_000) -> str:
    """Return ``count`` distants on posts of their own, then as many stop signals."""
    tracks = {"t": {"up": "edge:a", "down": "joint:1"}, "u": {"up": "joint:1", "down": "edge:b"}}
    heads = {
        f"d{n}": {
            "track": "t", "for": "down", "at_mm": n + 1,
            "arms": [{"id": f"d{n}", "kind": "distant"}],
        }
        for n in range(count)
    }  # fmt: skip
    heads |= {f"s{n}": signal("t", "down", f"s{n}", at=count + n + 1) for n in range(count)}
    return plan(tracks, signals=heads)


def face_to_face(count: int = 3_000) -> str:
    """Return a line of stands with a signal for each direction on each."""
    tracks: Plan = {}
    heads: Plan = {}
    for n in range(count):
        up = f"joint:{n}" if n else "edge:a"
        down = f"joint:{n + 1}" if n < count - 1 else "edge:b"
        tracks[f"t{n}"] = {"up": up, "down": down, "stand": True}
        heads[f"d{n}"] = signal(f"t{n}", "down", f"d{n}")
        heads[f"u{n}"] = signal(f"t{n}", "up", f"u{n}")
    return plan(tracks, signals=heads)


def single_lines(count: int = 4_000) -> str:
    """Return a long line of short tracks, each with a signal for each direction."""
    tracks: Plan = {}
    heads: Plan = {}
    for n in range(count):
        up = f"joint:{n}" if n else "edge:a"
        down = f"joint:{n + 1}" if n < count - 1 else "edge:b"
        tracks[f"t{n}"] = {"up": up, "down": down}
        heads[f"d{n}"] = signal(f"t{n}", "down", f"d{n}")
        heads[f"u{n}"] = signal(f"t{n}", "up", f"u{n}")
    return plan(tracks, signals=heads)


# --- long lines, and trains that nothing stops


def joints(count: int = 50_000, *, stand: bool = False, turned: bool = False) -> str:
    """Return a line of ``count`` tracks; every second one turned round, or all of them stands."""
    tracks: Plan = {}
    for n in range(count):
        up = f"joint:{n}" if n else "edge:a"
        down = f"joint:{n + 1}" if n < count - 1 else "edge:b"
        if turned and n % 2:
            up, down = down, up
        tracks[f"t{n}"] = {"up": up, "down": down}
        if stand:
            tracks[f"t{n}"]["stand"] = True
    return plan(tracks)


def ring(count: int = 20_000) -> str:
    tracks = {
        f"t{n}": {"up": f"joint:{n}", "down": f"joint:{(n + 1) % count}", "stand": n % 10 == 0}
        for n in range(count)
    }
    return plan(tracks)


def unheld(count: int = 10_000) -> str:
    """Return a long ladder of sidings without a signal: nothing stops any train."""
    tracks: Plan = {}
    points: Plan = {}
    for n in range(count):
        points[f"p{n}"] = {"normal": "left"}
        tracks[f"s{n}"] = {"up": f"p{n}.right", "down": "buffer"}
        onward = f"p{n + 1}.toe" if n + 1 < count else "edge:out"
        tracks[f"m{n}"] = {"up": f"p{n}.left", "down": onward}
    tracks["m"] = {"up": "edge:in", "down": "p0.toe"}
    return plan(tracks, points=points)


def routes_past_sidings(count: int = 4_000) -> str:
    """Return sidings without a signal along a line whose routes all run past them."""
    text: Plan = json.loads(unheld(count))
    text["signals"] = {
        **{f"d{n}": signal(f"m{n}", "down", f"d{n}") for n in range(0, count - 1)},
        **{f"u{n}": signal(f"m{n}", "up", f"u{n}") for n in range(0, count - 1)},
    }
    return json.dumps(text)


def far_pairs(count: int = 250) -> str:
    """Return ``count`` equal stations, each with a loop that trains may only run through down.

    The quick searches for a movement fail, so the check must search pairs of positions.
    """
    tracks: Plan = {}
    points: Plan = {}
    heads: Plan = {}
    for n in range(count):
        up = f"joint:{n}" if n else "edge:a"
        down = f"joint:{n + 1}" if n < count - 1 else "edge:b"
        points |= {f"a{n}": {"normal": "left"}, f"b{n}": {"normal": "left"}}
        tracks |= {
            f"w{n}": {"up": up, "down": f"a{n}.toe"},
            f"m{n}": {"up": f"a{n}.left", "down": f"b{n}.left", "stand": True},
            f"l{n}": {"up": f"a{n}.right", "down": f"b{n}.right", "stand": True},
            f"e{n}": {"up": f"b{n}.toe", "down": down},
        }
        heads |= {
            f"w{n}": signal(f"w{n}", "down", f"wl{n}", f"wr{n}"),
            f"e{n}": signal(f"e{n}", "up", f"el{n}", f"er{n}"),
            f"md{n}": signal(f"m{n}", "down", f"md{n}"),
            f"mu{n}": signal(f"m{n}", "up", f"mu{n}"),
            f"ld{n}": signal(f"l{n}", "down", f"ld{n}"),
        }
        # The up end of each loop has no signal; no train needs one there.
        tracks[f"l{n}"]["running"] = "down"
    tracks |= {"x": {"up": "z.left", "down": "buffer"}, "y": {"up": "z.toe", "down": "joint:y"}}
    tracks |= {"v": {"up": "joint:y", "down": "edge:v", "running": "up"}}
    tracks |= {"u": {"up": "edge:u", "down": "z.right", "running": "up"}}
    points["z"] = {"normal": "left"}
    return plan(tracks, points=points, signals=heads)


def loops_of_wire(count: int = 4_000) -> str:
    """Return ``count`` reversing loops along one line."""
    tracks: Plan = {"m": {"up": "edge:in", "down": "p0.toe"}}
    points: Plan = {}
    for n in range(count):
        points |= {f"p{n}": {"normal": "left"}, f"q{n}": {"normal": "left"}}
        onward = f"p{n + 1}.toe" if n + 1 < count else "edge:out"
        tracks |= {
            f"m{n}": {"up": f"p{n}.left", "down": onward},
            f"s{n}": {"up": f"p{n}.right", "down": f"q{n}.toe"},
            f"r{n}": {"up": f"q{n}.left", "down": f"q{n}.right", "stand": False},
        }
    return plan(tracks, points=points)


# --- long lists


def platforms(count: int = 10_000) -> str:
    found = {f"P{n}": {"tracks": ["t"]} for n in range(count)}
    tracks = {"t": {"up": "buffer", "down": "joint:1"}, "u": {"up": "joint:1", "down": "edge:b"}}
    heads = {
        "1": signal("t", "down", "1"),
        "2": signal("u", "up", *(f"2-{n}" for n in range(2_000))),
    }
    for arm in heads["2"]["arms"]:
        arm["to"] = "t"
    return plan(tracks, platforms=found, signals=heads)


def platform_tracks(count: int = 10_000) -> str:
    """Return platforms beside 50 tracks each, with a signal on every track."""
    tracks = {f"t{n}": {"up": "buffer", "down": "edge:b"} for n in range(count)}
    found = {f"P{n}": {"tracks": [f"t{m}" for m in range(n, n + 50)]} for n in range(count - 50)}
    heads = {f"{n}": signal(f"t{n}", "down", f"{n}") for n in range(count)}
    return plan(tracks, platforms=found, signals=heads)


def worked_together(count: int = 10_000, *, chained: bool, levers: bool = False) -> str:
    """Return points that are all worked together, in one list or in a chain of pairs."""
    names = [f"p{n}" for n in range(count)]
    tracks: Plan = {"m": {"up": "edge:in", "down": "p0.toe"}}
    for n in range(count):
        onward = f"p{n + 1}.toe" if n + 1 < count else "edge:out"
        tracks |= {
            f"s{n}": {"up": f"p{n}.right", "down": "buffer", "stand": False},
            f"m{n}": {"up": f"p{n}.left", "down": onward},
        }
    points: Plan = {name: {"normal": "left"} for name in names}
    groups = [list(pair) for pair in pairwise(names)] if chained else [names]
    frame = {f"{n + 1}": {"points": [f"p{n}"]} for n in range(min(count, 999))}
    more: Plan = {"levers": frame} if levers else {}
    heads = {"1": signal("m", "down", "1")}
    return plan(tracks, points=points, worked_together=groups, signals=heads, **more)


def beliefs(count: int = 40_000) -> str:
    """Return a plan that lists all tracks and all other arms as beliefs at one signal."""
    tracks = {f"t{n}": {"up": "edge:a", "down": "edge:b"} for n in range(count)}
    heads = {f"{n}": signal(f"t{n}", "down", f"{n}") for n in range(count)}
    others = [f"{n}" for n in range(1, count)]
    heads["0"]["arms"] = [
        {"id": "0", "never_with": others, "to": [f"t{n}" for n in range(count)]},
        {"id": "0D", "kind": "distant", "repeats": others},
    ]
    return plan(tracks, signals=heads)


def scene_of_arms(count: int = 100_000) -> str:
    """Return a plan with a scene in which ``count`` unknown arms are off."""
    tracks = {"t": {"up": "edge:a", "down": "edge:b"}}
    scenes = {"s": {"off": [f"no{n}" for n in range(count)]}}
    return plan(tracks, signals={"1": signal("t", "down", "1")}, scenes=scenes)


def scene_of_all(count: int = 3_000) -> str:
    """Return a large plan with a scene in which every arm is off."""
    found: Plan = json.loads(opposing_signals(count))
    return plan(**{k: v for k, v in found.items() if k != "format"}, scenes={
        "s": {"off": list(found["signals"]), "trains": dict.fromkeys(found["tracks"], True)}
    })  # fmt: skip


def scenes(count: int = 2_000) -> str:
    """Return a large plan with many scenes."""
    found: Plan = json.loads(single_lines(count))
    all_ = {
        f"s{n}": {"trains": {f"t{n}": True}} if n % 2 else {"off": [f"d{n}"]} for n in range(count)
    }
    return plan(found["tracks"], signals=found["signals"], scenes=all_)


def accepted(count: int = 100_000) -> str:
    entries = [{"rule": "unheld-exit", "at": f"s{n}", "because": "x"} for n in range(count)]
    return plan({"t": {"up": "edge:a", "down": "edge:b"}}, accept=entries)


def accepted_findings(count: int = 10_000) -> str:
    """Return a plan that accepts each of its many findings."""
    tracks = {f"t{n}": {"up": "edge:a", "down": f"p{n}.left"} for n in range(count)}
    entries = [
        {"rule": "unknown-reference", "at": f"/tracks/t{n}/down", "because": "x"}
        for n in range(count)
    ]
    return plan(tracks, accept=entries)


def misspelt(count: int = 20_000) -> str:
    """Return a plan with many misspelt ids, each close to a right one."""
    tracks = {f"track-number-{n}": {"up": "edge:a", "down": f"joint:j{n}x"} for n in range(count)}
    heads = {f"{n}": signal(f"track-numbr-{n}", "down", f"{n}") for n in range(count)}
    return plan(tracks, signals=heads)


def misspelt_legs(count: int = 15_000) -> str:
    roads = [f"road-{n}" for n in range(count)]
    tracks = {f"t{n}": {"up": "edge:a", "down": f"table.raod-{n}"} for n in range(count)}
    return plan(tracks, turntables={"table": {"roads": roads}})


def numbers() -> str:
    tracks = {"t": {"up": "edge:a", "down": "joint:1"}, "u": {"up": "joint:1", "down": "edge:b"}}
    heads = {
        "1": signal("t", "down", "1"),
        "9" * 40: signal("u", "up", "2"),
    }
    return plan(tracks, signals=heads)


def lever_numbers() -> str:
    tracks = {"t": {"up": "edge:a", "down": "edge:b"}}
    return plan(tracks, levers={"9" * 300_000: {}, "8" * 300_000: {}})


def levers(count: int = 499) -> str:
    found: Plan = json.loads(opposing_signals(count))
    numbers_: Plan = {f"{n + 1}": {"points": [f"p{n}"]} for n in range(count)}
    numbers_ |= {f"{count + n + 1}": {"arms": [f"s{n}"]} for n in range(count)}
    return plan(**{k: v for k, v in found.items() if k != "format"}, levers=numbers_)


def one_lever(count: int = 998) -> str:
    """Return a plan in which every lever works the same points."""
    return plan(
        {leg: {"up": f"p.{leg}", "down": "buffer"} for leg in ("toe", "left", "right")},
        points={"p": {"normal": "left"}},
        levers={f"{n + 1}": {"points": ["p"]} for n in range(count)},
    )


# --- texts


def brackets(text: str) -> str:
    return text * (8 * MIB // len(text))


def pairs_of_brackets() -> str:
    return f'{{"x":[{"[]," * ((8 * MIB - 20) // 3)}[]]}}'


def one_string() -> str:
    return plan({"t": {"up": "edge:a", "down": "edge:b"}}, note="x" * (8 * MIB - 200))


def one_id() -> str:
    return plan({"x" * (8 * MIB - 200): {"up": "edge:a", "down": "edge:b"}})


def one_end() -> str:
    return plan({"t": {"up": "a" * (8 * MIB - 200), "down": "edge:b"}})


def unknown_keys(count: int = 400_000) -> str:
    return plan({}, **{f"k{n}": 1 for n in range(count)})


def wrong_entries(count: int = 150_000) -> str:
    return plan({f"t{n}": {"up": 1, "down": "edge:b"} for n in range(count)})


def same_key(count: int = 1_000_000) -> str:
    return "{" + ",".join('"a":1' for _ in range(count)) + "}"


def long_number() -> str:
    return f'{{"format":{"9" * (8 * MIB - 100)}}}'


def backslashes() -> str:
    return '{"note":"' + "\\ud800" * (8 * MIB // 6 - 10) + '"}'


def lines() -> str:
    return "\r" * (8 * MIB - 100) + "{]"


BLOW_UPS: dict[str, BlowUp] = {
    "slips, 2^40 roads": BlowUp(slip_ladder, "too-many-routes"),
    "loops, 2^40 roads": BlowUp(loop_ladder, "too-many-routes"),
    "loops, 2^60 roads to a limit": BlowUp(dead_end_ladder, "too-many-routes"),
    "loops, 2^40 tries to a clash": BlowUp(clash_ladder, "too-many-routes"),
    "the same from 10,000 signals": BlowUp(lambda: clash_ladder(40, 10_000), "too-much-to-follow"),
    "fans of 64 roads": BlowUp(lambda: fans(6), "too-much-to-follow"),
    "fans of 1,024 roads": BlowUp(lambda: fans(10), "too-many-routes"),
    "fans of 4,096 roads": BlowUp(lambda: fans(12), "too-many-routes"),
    "fans of 4,096 roads, no signal": BlowUp(lambda: fans(12, signals=False), "unheld-exit"),
    "turntable, 10,000 roads": BlowUp(lambda: turntable(10_000, 0), "too-large"),
    "the same with 10,000 signals": BlowUp(lambda: turntable(10_000, 10_000), "too-large"),
    "turntable, 1,000 roads and signals": BlowUp(lambda: turntable(1_000, 1_000), "too-large"),
    "80 yards, each linked with each": BlowUp(lambda: yards(80), None),
    "100,000 signals on one spot": BlowUp(signals_on_one_spot, "too-large"),
    "50,000 signals along one track": BlowUp(signals_along, "too-large"),
    "100,000 signals along one track": BlowUp(lambda: signals_along(100_000), "too-large"),
    "40,000 signals along one track": BlowUp(lambda: signals_along(40_000), None, 5.0),
    "4,000 arms for one track": BlowUp(lambda: arms_for_one_track(4_000), "too-much-to-follow"),
    "60,000 arms for one track": BlowUp(arms_for_one_track, "too-large"),
    "3,000 signals each against each": BlowUp(opposing_signals, "too-much-to-follow"),
    "2,000 distants, 300 repeated by each": BlowUp(distants, "too-large"),
    "15,000 distants alone": BlowUp(plain_distants, "too-much-to-follow"),
    "3,000 stands face to face": BlowUp(face_to_face, None),
    "single line of 4,000 tracks": BlowUp(single_lines, "standstill"),
    "50,000 joints": BlowUp(joints, "too-large"),
    "50,000 joints, every other turned": BlowUp(lambda: joints(turned=True), "too-large"),
    "50,000 stands in a line": BlowUp(lambda: joints(stand=True), "too-large"),
    "39,000 joints, every other turned": BlowUp(
        lambda: joints(39_000, turned=True), "unheld-exit", 5.0
    ),
    "39,000 stands in a line": BlowUp(lambda: joints(39_000, stand=True), "unheld-exit", 5.0),
    "ring of 20,000 tracks": BlowUp(ring, "unheld-exit"),
    "10,000 sidings, no signal": BlowUp(unheld, "unheld-exit"),
    "4,000 unheld sidings": BlowUp(routes_past_sidings, "unheld-exit"),
    "250 stations for the pair search": BlowUp(far_pairs, None),
    "4,000 reversing loops": BlowUp(loops_of_wire, "reversing-loop"),
    "10,000 platforms beside one track": BlowUp(platforms, "too-large"),
    "10,000 platforms of 50 tracks": BlowUp(platform_tracks, "too-large"),
    "10,000 points in one list": BlowUp(lambda: worked_together(chained=False), "road-never-set"),
    "10,000 points in pairs": BlowUp(lambda: worked_together(chained=True), "road-never-set"),
    "the same with levers": BlowUp(lambda: worked_together(chained=True, levers=True), None),
    "never_with, to, repeats of 10,000": BlowUp(lambda: beliefs(10_000), None),
    "never_with, to, repeats of 40,000": BlowUp(beliefs, "too-large"),
    "100,000 unknown arms off": BlowUp(scene_of_arms, "unknown-reference"),
    "3,000 arms off": BlowUp(scene_of_all, "too-much-to-follow"),
    "2,000 scenes": BlowUp(scenes, "scene-open"),
    "100,000 accepted": BlowUp(accepted, "accept-without-match"),
    "10,000 accepted, 10,000 findings": BlowUp(accepted_findings, "findings-truncated"),
    "4,000 scenes": BlowUp(lambda: scenes(4_000), "scene-open"),
    "20,000 ids misspelt": BlowUp(misspelt, "unknown-reference"),
    "15,000 legs misspelt": BlowUp(misspelt_legs, "too-large"),
    "signals 1 and 9...9": BlowUp(numbers, None),
    "levers 8...8 and 9...9": BlowUp(lever_numbers, "bad-form"),
    "998 levers": BlowUp(levers, "too-much-to-follow"),
    "998 levers for one": BlowUp(one_lever, "on-two-levers"),
    "8 MiB of [": BlowUp(lambda: brackets("["), "too-deep"),
    '8 MiB of {"a":': BlowUp(lambda: brackets('{"a":'), "too-deep"),
    "8 MiB of ]": BlowUp(lambda: brackets("]"), "not-json"),
    "8 MiB of []": BlowUp(pairs_of_brackets, "missing-key"),
    "8 MiB in a note": BlowUp(one_string, None),
    "8 MiB in an id": BlowUp(one_id, "bad-id"),
    "8 MiB in an end": BlowUp(one_end, "bad-track-end"),
    "400,000 unknown keys": BlowUp(unknown_keys, "unknown-key"),
    "150,000 wrong tracks": BlowUp(wrong_entries, "too-large"),
    "1,000,000 times one key": BlowUp(same_key, "duplicate-key"),
    "a number of 8 MiB": BlowUp(long_number, "number-out-of-range"),
    "8 MiB of halves of characters": BlowUp(backslashes, "not-json"),
    "8 MiB of CR": BlowUp(lines, "not-json"),
}
