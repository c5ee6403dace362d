"""Which trap groups guard, on small plans worked out by hand."""

from __future__ import annotations

import random
from functools import cache, partial
from typing import Any

import pytest

from amount import amount
from oracle.cases import FOLLOWED, HELD_REVERSE, a_plan, movement, runs, trapped, without
from oracle.game import OUTSIDE, Train, claims, start_of, steps_of
from oracle.ground import Ground
from oracle.guards import free_runs, places_before
from oracle.plans import random_plan
from oracle.two_trains import ReplayError, holds, meeting, replay, routes_of

DRAGGED = {"normal": "left", "trap": True}
"""Trap points with the drag at their left leg."""


def guards(plan: Any) -> set[str]:
    return set(Ground(plan).guards)


def changed(plan: Any, tracks: dict[str, str], **more: Any) -> Any:
    """A plan with some of its tracks laid differently."""
    return {**plan, "tracks": plan["tracks"] | a_plan(tracks)["tracks"], **more}


# ---- routes that end before the trap -----------------------------------------------------------


@pytest.mark.parametrize("together", [False, True])
def test_the_trap_of_a_siding_guards_if_all_routes_over_it_end_in_the_siding(
    together: bool,
) -> None:
    plan = trapped(together=together)
    assert guards(plan) == {"p" if together else "q"}
    assert holds(plan)


def test_a_group_without_trap_points_guards_nothing() -> None:
    plan = trapped(trap=False, together=True)
    assert guards(plan) == set()
    assert not holds(plan)


def test_a_trap_whose_lever_works_points_of_another_road_does_not_guard() -> None:
    # The way from the line to the right has s reverse, and with it the trap; a train may be in
    # the siding meanwhile.
    assert guards(HELD_REVERSE) == set()
    assert not holds(HELD_REVERSE)
    apart = {key: value for key, value in HELD_REVERSE.items() if key != "worked_together"}
    assert guards(apart) == {"q"}
    assert holds(apart)
    # If no way needs s reverse, the way over the trap into the siding remains.
    one_way = changed(HELD_REVERSE, {"right": "s.right buffer pass up"})
    assert routes_of(one_way)["L"] == [["s", "left"]]
    assert guards(one_way) == {"q"}
    assert holds(one_way)


def test_a_group_that_no_train_comes_to_freely_guards() -> None:
    # A signal in the siding: no train runs onto the trap freely, and so nothing is asked of it.
    plan = HELD_REVERSE
    held = a_plan({}, {"S": "siding down"})["signals"]
    assert guards({**plan, "signals": plan["signals"] | held}) == {"q"}


def test_a_place_before_a_leg_is_not_asked_about() -> None:
    # Trains run freely out of the siding onto the trap by its reverse leg: they run through it.
    plan = changed(HELD_REVERSE, {"siding": "buffer q.right", "bay": "q.toe buffer"})
    assert routes_of(plan)["L"] == [["s", "left"], ["s", "right"]]
    assert guards(plan) == {"q"}
    assert not holds(plan)
    onto = ["A set-off down", *runs("A", "q", "bay")]
    replay(plan, movement("siding", "bay", *onto))
    assert free_runs(Ground(plan), {"q"}).run_into == {"q", "bay"}


def test_a_train_that_could_not_go_on_over_the_reverse_leg_is_not_asked_about() -> None:
    plan = changed(HELD_REVERSE, {"bay": "q.right buffer up"})
    assert routes_of(plan)["B"] == [["q", "siding"]]
    assert guards(plan) == {"q"}
    assert holds(plan)


def test_the_points_worked_with_a_trap_are_asked_about_too() -> None:
    # No train comes to the trap q, but one comes freely to the toe of s.
    plan = changed(without(HELD_REVERSE, "L"), {"siding": "buffer q.toe pass"})
    assert routes_of(plan) == {"B": [["q", "siding"]]}
    assert guards(plan) == set()
    assert guards({**plan, "worked_together": []}) == {"q"}
    # To a leg of s it does not matter.
    legs = {"line": "buffer s.toe pass", "right": "s.right buffer"}
    assert guards(changed(plan, legs)) == {"q"}


def slip_with(siding: str, kind: str) -> Any:
    """Points s on one lever with a slip, and with trap points z that nobody comes to.

    A siding without a signal meets one leg of the slip, tracks that are no stands the others.
    """
    legs = ("a1", "a2", "b1", "b2")
    tracks = {leg: f"buffer x.{leg} pass" for leg in legs if leg != siding}
    tracks |= {"siding": f"buffer x.{siding}", "line": "buffer s.toe"}
    tracks |= {leg: f"s.{leg} buffer pass" for leg in ("left", "right")}
    tracks |= {"in": "buffer z.toe pass"}
    tracks |= {"drag": "z.left buffer pass", "end": "z.right buffer pass"}
    return a_plan(
        tracks,
        {"L": "line down"},
        points={"s": {"normal": "left"}, "z": DRAGGED},
        crossings={"x": {"kind": kind}},
        worked_together=[["s", "x", "z"]],
    )


@pytest.mark.parametrize(
    ("kind", "facing"),
    [("single-slip", {"a1", "b2"}), ("double-slip", {"a1", "a2", "b1", "b2"})],
)
@pytest.mark.parametrize("siding", ["a1", "a2", "b1", "b2"])
def test_a_slip_is_met_facing_at_a_leg_with_two_ways(
    kind: str, facing: set[str], siding: str
) -> None:
    # The way of L to the right has the group reverse; the siding is none of its places.
    plan = slip_with(siding, kind)
    assert guards(plan) == (set() if siding in facing else {"s"})


def test_a_guard_that_lies_reverse_for_the_other_is_not_met_facing() -> None:
    # A runs out of the bay through the trap by its reverse leg; B has it facing, and waits.
    plan = without(changed(trapped(), {"lead": "q.right buffer", "r": "p.right buffer pass"}), "E")
    assert guards(plan) == {"q"}
    into = ["A set-off up", "A run q", "B set-off down", "B run q"]
    with pytest.raises(ReplayError, match="step 4, train B: the other train needs q otherwise"):
        replay(plan, movement("lead", "siding", *into))
    # Nothing keeps A from running into B.
    replay(plan, movement("lead", "siding", *into[:2], "A run siding"))


# ---- edges and yards ---------------------------------------------------------------------------


def test_a_trap_at_an_edge_guards_if_all_routes_over_it_end_at_the_edge() -> None:
    for stand in ("", " pass"):
        plan = changed(trapped(), {"siding": f"edge:s q.toe{stand}"})
        assert routes_of(plan)["E"] == [["p", "lead", "q", "siding"], ["p", "w"]]
        assert guards(plan) == {"q"}
        # Yet nothing keeps the next train from the edge off the trap while one is on it.
        onto = ["A come-on s siding", "A run q", "B come-on s siding", "B run q"]
        assert meeting(plan) == movement(None, None, *onto)
        # None comes on: those that leave by the edge meet nobody.
        assert holds(changed(plan, {"siding": "edge:s q.toe pass up"}))


def test_a_trap_at_an_edge_does_not_guard_where_another_road_has_it_reverse() -> None:
    # No stand before the trap, but trains come on there.
    plan = changed(HELD_REVERSE, {"siding": "edge:s q.toe pass"})
    assert guards(plan) == set()
    assert not holds(plan)
    # Trains no longer come on there, and none is there freely.
    assert guards(changed(plan, {"siding": "edge:s q.toe pass up"})) == {"q"}


def test_a_yard_is_a_place_before_a_trap_too() -> None:
    plan = {**trapped(), "yards": {"y": {"tracks": ["siding"]}}}
    assert routes_of(plan)["E"] == [["p", "lead", "q", "y"], ["p", "w"]]
    assert guards(plan) == {"q"}
    assert holds(plan)
    assert guards({**HELD_REVERSE, "yards": {"y": {"tracks": ["siding"]}}}) == set()


# ---- routes that lead on -----------------------------------------------------------------------


def test_a_way_through_a_stand_alone_lets_its_trap_guard() -> None:
    roads = {"turntables": {"t": {"roads": ["1", "2"]}}}
    tracks = {key: value for key, value in FOLLOWED["tracks"].items() if key != "spur"}
    plan = {**FOLLOWED, "tracks": tracks, **roads}
    # The way into the drag has s too, but needs q to lie differently.
    assert routes_of(plan)["X"] == [["s", "q", "drag"], ["s", "q", "lead", "t", "far", "end"]]
    assert guards(plan) == {"q"}
    assert holds(plan)


def test_a_second_way_through_the_stand_that_ends_elsewhere_does_not() -> None:
    assert guards(FOLLOWED) == set()
    assert not holds(FOLLOWED)


def test_a_second_way_that_has_the_last_place_too_does() -> None:
    # By either of two tracks between two turntables to the same end: while that is promised, no
    # second train has a way.
    plan = changed(
        FOLLOWED,
        {"far": "u.3 joint:f", "spur": "t.3 u.2 down", "mid": "t.2 u.1 down"},
        turntables={"t": {"roads": ["1", "2", "3"]}, "u": {"roads": ["1", "2", "3"]}},
    )
    ends = {route[-1] for route in routes_of(plan)["X"]}
    assert ends == {"drag", "end"}
    assert len(routes_of(plan)["X"]) == 3
    assert guards(plan) == {"q"}


def test_a_place_that_trains_run_into_freely_does_not() -> None:
    # Out of n trains run over the turntable into s, behind one that has its way over q.
    tracks = {
        "shed": "edge:x t.1 down",
        "n": "buffer t.2 down",
        "s": "t.3 q.toe pass down",
        "drag": "q.left buffer pass",
        "far": "q.right edge:f",
    }
    more = {"points": {"q": DRAGGED}, "turntables": {"t": {"roads": ["1", "2", "3"]}}}
    plan = a_plan(tracks, {"X": "shed down"}, **more)
    assert routes_of(plan) == {"X": [["t", "s", "q", "drag"], ["t", "s", "q", "far"]]}
    assert guards(plan) == set()
    # With a signal at n nobody is in s freely; with s a stand somebody is, but came by a route.
    held = {**plan, "signals": a_plan({}, {"X": "shed down", "N": "n down"})["signals"]}
    assert guards(held) == {"q"}
    stand = changed(plan, {"s": "t.3 q.toe stand down", "n": "buffer t.2 down pass"})
    assert guards(stand) == {"q"}


# ---- trapped at both ends ----------------------------------------------------------------------


def between_two_lines(siding: str) -> Any:
    """A siding without signals between two lines, with a trap and a drag at each of its ends."""
    return a_plan(
        {
            "w": "edge:w p.left",
            "e": "p.toe edge:e",
            "lead": "p.right q.right",
            "drag": "q.left buffer pass",
            "siding": f"q.toe r.toe {siding}",
            "drag2": "r.left buffer pass",
            "lead2": "r.right s.right",
            "w2": "edge:w2 s.left",
            "e2": "s.toe edge:e2",
        },
        {"W": "w down", "E": "e up", "W2": "w2 down", "E2": "e2 up"},
        points={
            "p": {"normal": "left"},
            "q": DRAGGED,
            "r": DRAGGED,
            "s": {"normal": "left"},
        },
    )


def test_the_traps_of_a_siding_with_ways_through_it_in_both_directions_do_not_guard() -> None:
    # The way through from e to e2 and the one back need all points to lie alike, both have the
    # siding, and neither has the last place of the other.
    plan = between_two_lines("stand")
    assert routes_of(plan)["E"] == [
        ["p", "lead", "q", "siding", "r", "drag2"],
        ["p", "lead", "q", "siding", "r", "lead2", "s", "e2"],
        ["p", "w"],
    ]
    assert guards(plan) == set()
    assert not holds(plan)


def test_they_guard_with_ways_through_in_one_direction() -> None:
    plan = between_two_lines("stand down")
    assert routes_of(plan)["E2"] == [["s", "lead2"], ["s", "w2"]]  # to a limit
    assert guards(plan) == {"q", "r"}
    assert holds(plan)


def test_they_guard_where_no_way_leads_through() -> None:
    # A signal at one end: the ways of E end there, and the ways of E2 lead through q. The train
    # in the siding comes freely to q only.
    plan = between_two_lines("stand")
    held = {**plan, "signals": plan["signals"] | a_plan({}, {"D": "siding down"})["signals"]}
    assert routes_of(held)["E"] == [["p", "lead", "q", "siding"], ["p", "w"]]
    assert guards(held) == {"r"}
    # Where E2 has no way to the siding, none leads through.
    beyond = changed(held, {"lead2": "r.right s.right down"})
    assert guards(beyond) == {"q", "r"}
    assert holds(beyond)


# ---- again, until nothing changes --------------------------------------------------------------

BEHIND = a_plan(
    {
        "line": "buffer s.toe",
        "left": "s.left buffer pass",
        "right": "s.right buffer pass",
        "siding": "buffer q.toe",
        "drag": "q.left buffer pass",
        "mid": "q.right z.toe pass",
        "drag2": "z.left buffer pass",
        "bay": "z.right buffer",
    },
    {"L": "line down", "B": "bay up"},
    points={"s": {"normal": "left"}, "q": DRAGGED, "z": DRAGGED},
)


def test_a_group_that_guards_no_more_takes_another_with_it() -> None:
    # While q guards, no train is freely in mid, before z. Worked with s it does not guard: then
    # trains run out of the siding into mid, through which the way of B leads.
    assert routes_of(BEHIND)["B"] == [["z", "mid", "q", "siding"]]
    assert guards(BEHIND) == {"q", "z"}
    assert holds(BEHIND)
    together = {**BEHIND, "worked_together": [["s", "q"]]}
    assert guards(together) == set()
    assert not holds(together)
    # With a signal in mid the other one guards.
    held = {**together, "signals": together["signals"] | a_plan({}, {"M": "mid down"})["signals"]}
    assert guards(held) == {"z"}


def test_free_runs_go_as_the_guards_let_them() -> None:
    ground = Ground(BEHIND)
    into = {
        frozenset("qz"): {"q"},
        frozenset("q"): {"q"},
        frozenset("z"): {"q", "mid", "z"},
        frozenset(): {"q", "mid", "z", "bay"},
    }
    for groups, places in into.items():
        assert free_runs(ground, groups).run_into == places


def test_no_train_is_before_a_group_that_guards_while_another_has_it_reverse() -> None:
    # In plans that hold. Where one fails, a train may run freely into what is promised to another.
    looked_at = reversed_at = 0
    for seed in range(amount(600, long=20_000)):
        plan = random_plan(random.Random(seed), elements=(1, 3))
        ground = Ground(plan)
        runs = free_runs(ground, ground.guards)
        before = {group: places_before(ground, runs, group) for group in ground.guards}
        if not any(before.values()) or not is_small(plan) or not holds(plan):
            continue
        looked_at += 1
        for pair in pairs_reached(ground):
            for one, other in (pair, pair[::-1]):
                for group in lies_reverse(ground, one) & before.keys():
                    reversed_at += 1
                    assert other.place not in before[group], (seed, group, pair)
    assert looked_at > 12
    assert reversed_at > 300


def is_small(plan: Any) -> bool:
    return len({place for place, _ in Ground(plan).ways_out}) <= 12


def pairs_reached(ground: Ground) -> list[tuple[Train, Train]]:
    """All that two trains come to be on a plan that holds."""
    kept = cache(partial(claims, ground))
    following = cache(lambda train: list(steps_of(ground, train)))
    starts = [OUTSIDE, *(start_of(place) for place in ground.stands)]
    reached = [(a, b) for a in starts for b in starts if a != b or a == OUTSIDE]
    known = set(reached)
    for a, b in reached:
        for act in following(a):
            for after in ((act.after, b), (b, act.after)):
                if act.allowed(kept(b)) and after not in known:
                    known.add(after)
                    reached.append(after)
    return reached


def lies_reverse(ground: Ground, train: Train) -> set[str]:
    """The groups that what a train was promised needs not normal."""
    words = {} if train.route is None else ground.all_routes[train.route].words
    return {group for group, word in words.items() if not ground.elements.is_normal(group, word)}
