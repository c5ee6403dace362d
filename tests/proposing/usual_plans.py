"""Twenty plans of the kinds that people build, in invented places, without signals."""

from __future__ import annotations

from typing import Any

from oracle.cases import a_plan
from shapes.asking import laid

Plan = dict[str, Any]


def _of_shapes(title: str, *shapes: str) -> Plan:
    return {**laid(*shapes), "title": title, "scale": "OO"}


def _by_hand(title: str, tracks: dict[str, str], points: str, **more: Any) -> Plan:
    every = {name: {"normal": "left"} for name in points.split()}
    plan = a_plan(tracks, points=every, **more)
    return {**{k: v for k, v in plan.items() if k != "signals"}, "title": title, "scale": "OO"}


def _platforms(**tracks: str) -> dict[str, Any]:
    return {name: {"tracks": names.split()} for name, names in tracks.items()}


PLANS: dict[str, Plan] = {
    "loop": _of_shapes("Willow Halt", "passing-loop"),
    "branch terminus": _of_shapes("Bramble End", "terminus:roads=2,release=1"),
    "terminus of five": _of_shapes("Great Fernley", "terminus:roads=5,platforms=3"),
    "double terminus": _of_shapes("Port Amber", "terminus:lines=2,roads=4,platforms=2"),
    "through station": _of_shapes("Moss Junction", "through-station:lines=2,roads=4"),
    "goods station": _of_shapes("Alder Wharf", "goods-station:lines=1,roads=2,sidings=3"),
    "halt before the end": _by_hand(
        "Dock Halt",
        {
            "line": "edge:west a.toe 1900", "one": "a.left b.left 1100",
            "two": "a.right b.right 1100", "on": "b.toe joint:k pass 1400",
            "halt": "joint:k joint:l 900", "shore": "joint:l joint:m pass 1300",
            "pier": "joint:m buffer 900",
        },
        "a b",
        platforms=_platforms(one="one", two="two", H="halt", P="pier"),
    ),
    "two stations": _of_shapes(
        "Rowan Line", "passing-loop", "plain-line:lines=1,length=2000", "terminus:roads=2"
    ),
    "junction": _of_shapes("Three Oaks", "junction:lines=2"),
    "round and round": _of_shapes("Ring of Gorse", "round-and-round:lines=1,roads=2,hidden=3"),
    "yard": _of_shapes("Tansy Sidings", "ladder-yard:lines=1,roads=4"),
    "crossovers": _of_shapes("Broom Crossing", "crossover-pair:platforms=2"),
    "five roads": _by_hand(
        "Nettle Street",
        {
            "line": "edge:west a.toe 2400", "a-b": "a.right b.toe 180", "b-c": "b.right c.toe 180",
            "c-d": "c.right d.toe 180", "one": "a.left buffer 1200", "two": "b.left buffer 1200",
            "three": "c.left buffer 1200", "four": "d.left buffer 1200",
            "five": "d.right buffer 1200",
        },
        "a b c d",
        platforms=_platforms(north="one two", middle="three four", south="five"),
    ),
    "oval": _by_hand(
        "Thistle Round",
        {"station": "joint:a joint:b 1400", "round": "joint:b joint:a pass 4800"},
        "",
        platforms=_platforms(A="station"),
    ),
    "oval with a siding": _by_hand(
        "Clover Ring",
        {"station": "joint:a p.left 1100", "round": "p.toe joint:a pass 4800",
         "siding": "buffer p.right 700"},
        "p",
        platforms=_platforms(A="station"),
    ),
    "round the corner": _by_hand(
        "Foxglove Hill",
        {
            "fiddle": "edge:west joint:a 1500", "bend": "joint:a p.toe pass 1700",
            "main": "p.left q.left 1300", "loop": "p.right q.right 1300",
            "curve": "q.toe joint:b pass 1900", "hill": "joint:b r.toe 1000",
            "shed": "r.left buffer 500", "end": "r.right buffer 450",
        },
        "p q r",
        platforms=_platforms(A="main", B="loop", C="hill"),
    ),
    "one-way lines": _by_hand(
        "Long Meadow",
        {
            "down-in": "edge:west joint:a down 4200", "down-platform": "joint:a joint:b down 1200",
            "down-out": "joint:b edge:east down pass 4200",
            "up-in": "joint:c edge:rear up 4200", "up-platform": "joint:d joint:c up 1200",
            "up-out": "edge:far joint:d up pass 4200",
        },
        "",
        platforms=_platforms(D="down-platform", U="up-platform"),
    ),
    "fiddle roads": _by_hand(
        "Juniper Town",
        {
            "hidden-1": "buffer f.left 1500", "hidden-2": "buffer f.right 1500",
            "line": "f.toe p.toe pass 3000", "bay": "p.left buffer 1200",
            "main": "p.right q.toe 1200", "spur": "q.left buffer 300",
            "coal": "q.right buffer 500",
        },
        "f p q",
        platforms=_platforms(A="main", B="bay"),
    ),
    "shunting": _by_hand(
        "Dock Lane",
        {
            "line": "edge:town p.toe 1200", "quay": "p.left q.toe 600", "lead": "p.right r.toe 200",
            "wharf": "q.left buffer 500", "crane": "q.right buffer 500",
            "oil": "r.left buffer 400", "timber": "r.right buffer 400",
        },
        "p q r",
        platforms=_platforms(Q="quay"),
    ),
    "crossing": _by_hand(
        "Hazel Cross",
        {
            "west": "edge:west p.toe 1600", "main": "p.left x.a1 600",
            "east": "x.a2 edge:east 1600", "branch": "edge:north x.b1 1600",
            "yard": "x.b2 buffer 900",
            "loop": "p.right buffer 800",
        },
        "p",
        crossings={"x": {}},
        platforms=_platforms(A="main"),
    ),
}  # fmt: skip
"""From a short name to the plan."""
