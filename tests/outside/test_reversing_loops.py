"""The parity test for reversing loops against cases worked by hand and against balanced graphs.

On a reversing loop the right-hand rail meets the left-hand rail. The customary test is to push a
block of wood with two colours round the track. As a graph: each track has a direction, each meeting
of two ends keeps or reverses it, and a reversing loop is a way round that reverses it. A signed
graph has no such way if and only if it is balanced: if each connected part falls into two parts in
its double cover, which has each track once for each direction.

Source: F. Harary, On the notion of balance of a signed graph, Michigan Mathematical Journal 2,
1953. The five cases are worked by hand.
"""

from __future__ import annotations

import json
import random
from collections.abc import Iterator
from functools import cache
from itertools import pairwise
from typing import Any

import networkx
import pytest

from oracle.plans import large_plan, random_plan
from outside.published import checked
from trappoint import load
from trappoint.topology.orientation import Parity, derive_parity

Plan = dict[str, Any]
Graph = networkx.Graph


def ring(tracks: dict[str, str], *points: str) -> Plan:
    """A plan of tracks, each written `UP DOWN`, and points that lie left as a rule."""
    ends = {
        name: dict(zip(("up", "down"), text.split(), strict=True)) for name, text in tracks.items()
    }
    return {
        "format": "trappoint-layout/1",
        "tracks": ends,
        "points": {name: {"normal": "left"} for name in points},
    }


OVAL = {"north": "joint:east joint:west", "south": "joint:west joint:east"}

CASES = {
    "oval": (ring(OVAL), 0),
    "oval of one track": (ring({"round": "joint:j joint:j"}), 0),
    "oval with a chord that merges forward": (
        ring(
            {"round": "m.toe d.toe", "main": "d.left m.left", "chord": "d.right m.right"},
            "d", "m",
        ),
        0,
    ),
    "balloon loop": (ring({"stem": "edge:e p.toe", "loop": "p.left p.right"}, "p"), 1),
    "wye": (
        ring(
            {
                "west": "edge:w a.toe", "east": "edge:e b.toe", "north": "edge:n c.toe",
                "a-b": "a.left b.right", "b-c": "b.left c.right", "c-a": "c.left a.right",
            },
            "a", "b", "c",
        ),
        1,
    ),
    "diagonal to points that face the other way": (
        ring(
            {"one": "d.left f.toe", "other": "f.left d.toe", "diagonal": "d.right f.right"},
            "d", "f",
        ),
        1,
    ),
}  # fmt: skip


@pytest.mark.parametrize(("plan", "loops"), CASES.values(), ids=CASES.keys())
def test_cases_worked_by_hand(plan: Plan, loops: int) -> None:
    """Oval none, oval with a chord that merges forward none; balloon loop, wye and diagonal one."""
    found = [f for f in checked(plan).findings if f.rule == "reversing-loop"]
    assert len(found) == loops
    assert len(parity_of(plan).loops) == loops
    assert bool(loops) is unbalanced(signed_graph(plan), set(plan["tracks"]))


@pytest.mark.parametrize(
    ("kind", "loops"), [("diamond", 0), ("single-slip", 1), ("double-slip", 1)]
)
def test_a_slip_joins_what_a_diamond_only_crosses(kind: str, loops: int) -> None:
    """A line over itself: its two tracks on a diamond are separate pieces, with no joint between
    them; on a slip a train turns on to the same track from the other side."""
    plan = ring({"in": "edge:a x.a1", "round": "x.a2 x.b2", "out": "x.b1 edge:b"})
    plan["crossings"] = {"x": {"kind": kind}}
    del plan["points"]
    assert len(parity_of(plan).loops) == loops
    assert unbalanced(signed_graph(plan), set(plan["tracks"])) is bool(loops)


def parity_of(plan: Plan) -> Parity:
    return derive_parity(load(json.dumps(plan)))


Meeting = tuple[str, str, int]


def meetings(plan: Plan) -> list[Meeting]:
    """Every two track ends between which a train may run: their tracks, and the sign of it.

    1 where a down end meets an up end, so that down stays down; -1 where like ends meet.
    """
    at: dict[str, list[tuple[str, str]]] = {}
    for name, track in plan["tracks"].items():
        for end in ("up", "down"):
            at.setdefault(track[end], []).append((name, end))
    links = [("joint", text) for text in at if text.startswith("joint:")]
    for name, points in plan.get("points", {}).items():
        legs = (
            ("left", "middle", "right") if points.get("kind") == "three-way" else ("left", "right")
        )
        links += [(f"{name}.toe", f"{name}.{leg}") for leg in legs]
    for name, crossing in plan.get("crossings", {}).items():
        ways = {"diamond": "", "single-slip": "a1b2", "double-slip": "a1b2 b1a2"}
        for way in ("a1a2", "b1b2", *ways[crossing.get("kind", "diamond")].split()):
            links.append((f"{name}.{way[:2]}", f"{name}.{way[2:]}"))
    found = []
    for one, other in links:
        (first, end), (second, far) = at[other] if one == "joint" else (at[one][0], at[other][0])
        found.append((first, second, 1 if end != far else -1))
    return found


def signed_graph(plan: Plan) -> Graph[tuple[str, int]]:
    """The double cover: each track once for each direction."""
    cover: Graph[tuple[str, int]] = networkx.Graph()
    cover.add_nodes_from((track, sign) for track in plan["tracks"] for sign in (1, -1))
    for one, other, sign in meetings(plan):
        for way in (1, -1):
            cover.add_edge((one, way), (other, way * sign))
    return cover


def unbalanced(cover: Graph[tuple[str, int]], tracks: set[str]) -> bool:
    return any(networkx.has_path(cover, (track, 1), (track, -1)) for track in tracks)


def parts(cover: Graph[tuple[str, int]]) -> list[set[str]]:
    """The tracks of each connected part of the plan."""
    plain: Graph[str] = networkx.Graph()
    plain.add_nodes_from(track for track, _ in cover)
    plain.add_edges_from((one[0], other[0]) for one, other in cover.edges)
    return list(networkx.connected_components(plain))


@cache
def plans() -> list[Plan]:
    drawn = [random_plan(random.Random(seed)) for seed in range(300)]
    return drawn + [large_plan(random.Random(seed), points=12, flaws=0) for seed in range(20)]


def each() -> Iterator[tuple[Plan, Parity, Graph[tuple[str, int]]]]:
    for plan in plans():
        yield plan, parity_of(plan), signed_graph(plan)


def test_a_part_has_loops_if_and_only_if_it_is_unbalanced() -> None:
    seen = {True: 0, False: 0}
    for _, parity, cover in each():
        for tracks in parts(cover):
            turned = unbalanced(cover, tracks)
            seen[turned] += 1
            assert any(set(loop) <= tracks for loop in parity.loops) is turned
    assert min(seen.values()) > 50


def test_every_loop_shown_is_a_way_round_that_reverses() -> None:
    """From track to track by meetings of the plan, and back with up and down exchanged."""
    loops = 0
    for plan, parity, _ in each():
        signs: dict[tuple[str, str], set[int]] = {}
        for one, other, sign in meetings(plan):
            signs.setdefault((one, other), set()).add(sign)
            signs.setdefault((other, one), set()).add(sign)
        for loop in parity.loops:
            loops += 1
            products = {1}
            for step in pairwise((*loop, loop[0])):
                assert step in signs
                products = {product * sign for product in products for sign in signs[step]}
            assert -1 in products, loop
    assert loops > 50


def test_what_is_to_be_turned_round_puts_up_and_down_right() -> None:
    """In each balanced part, and with as few tracks turned as can be."""
    put_right = 0
    for plan, parity, cover in each():
        given = [set(names) for names in parity.to_turn]
        for tracks in parts(cover):
            if unbalanced(cover, tracks):
                assert not any(names & tracks for names in given)
                continue
            turn = set().union(*(names for names in given if names <= tracks))
            for one, other, sign in meetings(plan):
                if one in tracks:
                    assert ((one in turn) != (other in turn)) is (sign == -1)
            assert len(turn) * 2 <= len(tracks)
            put_right += bool(turn)
    assert put_right > 50


def test_with_the_sections_isolated_that_are_named_nothing_meets_its_other_rail() -> None:
    """The tracks at which the findings stand, taken out, leave no reversing loop."""
    isolated = 0
    for plan in plans():
        found = [f for f in checked(plan).findings if f.rule == "reversing-loop"]
        sections = {finding.pointer.split("/")[2] for finding in found}
        cover = signed_graph(plan)
        cover.remove_nodes_from([(track, sign) for track in sections for sign in (1, -1)])
        assert not unbalanced(cover, set(plan["tracks"]) - sections), sections
        isolated += len(sections)
    assert isolated > 50
