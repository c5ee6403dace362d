"""Stations and lines as the trade lays and signals them, each worked out here by hand.

For each arrangement: it holds; every road of every arm; every lock, and whether the points see to
it or the arms must be locked with each other; how many pairs of arms that makes; and where trains
meet when a signal is taken out. The arrangements are common practice, no source, but where a test
names one. Down trains run from west to east, in the sketches from left to right; on a double line
each train keeps to the left.
"""

from __future__ import annotations

from typing import ClassVar

import pytest

from outside.practice import (
    a_plan,
    by_hand_signal,
    clean,
    compatible,
    counted,
    locks,
    meant,
    pairs_of,
    road,
    roads,
    turned,
    unheld,
    with_signal,
    without,
)
from outside.published import Plan, pairs, table_of


class TestTerminusWithScissorsCrossover:
    """Two platforms at the end of a double line, with a scissors crossover before them.

    A train may run in to either platform and leave from either: one of the two crosses over.
    Common practice, no source. `a1` with `b2` is one crossover, `b1` with `a2` the other.

        down >--- H --- a1 ----top---- a2 --- S1 one |
                          `-.      .-'
                             diamond
                          .-'      `-.
        up   <--------- b1 --bottom--- b2 --- S2 two |
    """

    PLAN = a_plan(
        {
            "down": "edge:down a1.toe down",
            "up": "edge:up b1.toe up",
            "top": "a1.left a2.right",
            "bottom": "b1.right b2.left",
            "nw": "a1.right x.a1",
            "se": "x.a2 b2.right",
            "sw": "b1.left x.b1",
            "ne": "x.b2 a2.left",
            "one": "a2.toe buffer",
            "two": "b2.toe buffer",
        },
        {
            "H": "down down; H1 > one; H2 > two",
            "S1": "one up",
            "S2": "two up",
        },
        points="a1 left, a2 right, b1 right, b2 left",
        together="a1 b2, b1 a2",
        diamonds="x",
        platforms="1 one, 2 two",
    )

    def test_it_holds(self) -> None:
        clean(self.PLAN)

    def test_roads(self) -> None:
        """A starter has one arm, for the up line: no train runs out on the down line."""
        assert roads(table_of(self.PLAN)) == {
            "H1": [road("top one to one: a1 left, a2 right")],
            "H2": [road("nw se two to two: a1 right, b2 right")],
            "S1": [road("ne sw up to up: a2 left, b1 left")],
            "S2": [road("bottom up to up: b2 left, b1 right")],
        }

    def test_locks(self) -> None:
        """Five of six pairs. In to one and out of two run side by side. In to two and out of one
        need both crossovers reversed, and cross in the diamond: no points tell them apart."""
        found = locks(table_of(self.PLAN))
        assert found == meant(points="H1-H2, H1-S1, H2-S2, S1-S2", direct="H2-S1")
        assert compatible(self.PLAN, found) == pairs("H1-S2")
        assert pairs_of(self.PLAN) == (6, 5)

    @pytest.mark.parametrize(
        ("signal", "where"), [("H", "down down"), ("S1", "one up"), ("S2", "two up")]
    )
    def test_without_any_of_its_signals_trains_meet(self, signal: str, where: str) -> None:
        assert unheld(without(self.PLAN, signal)) == {where}


class TestTwoDoubleLinesOnTheLevel:
    """Two double lines that cross on the level, in four diamonds, with a home on each line.

    One line runs from west (a down train) to east, the other from north (a down train) to south.
    Common practice, no source. That a route has all of a diamond: as in the junction of 1873.
    """

    PLAN = a_plan(
        {
            "wd1": "edge:wd dd.a1 down",
            "wd2": "dd.a2 du.a1 down",
            "wd3": "du.a2 edge:wd-out down",
            "wu1": "edge:wu-out ud.a1 up",
            "wu2": "ud.a2 uu.a1 up",
            "wu3": "uu.a2 edge:wu up",
            "nd1": "edge:nd dd.b1 down",
            "nd2": "dd.b2 ud.b1 down",
            "nd3": "ud.b2 edge:nd-out down",
            "nu1": "edge:nu-out du.b1 up",
            "nu2": "du.b2 uu.b1 up",
            "nu3": "uu.b2 edge:nu up",
        },
        {"WD": "wd1 down", "WU": "wu3 up", "ND": "nd1 down", "NU": "nu3 up"},
        diamonds="dd du ud uu",
    )

    def test_it_holds(self) -> None:
        clean(self.PLAN)

    def test_roads(self) -> None:
        """A diamond has no lies: no arm needs any."""
        assert roads(table_of(self.PLAN)) == {
            "WD": [road("wd2 wd3 to wd3")],
            "WU": [road("wu2 wu1 to wu1")],
            "ND": [road("nd2 nd3 to nd3")],
            "NU": [road("nu2 nu1 to nu1")],
        }

    def test_locks(self) -> None:
        """Each line locks both lines that it crosses, directly, and not its own neighbour."""
        found = locks(table_of(self.PLAN))
        assert found == meant(direct="WD-ND, WD-NU, WU-ND, WU-NU")
        assert compatible(self.PLAN, found) == pairs("WD-WU, ND-NU")
        assert pairs_of(self.PLAN) == (6, 4)

    @pytest.mark.parametrize(
        ("signal", "where"),
        [("WD", "wd1 down"), ("WU", "wu3 up"), ("ND", "nd1 down"), ("NU", "nu3 up")],
    )
    def test_without_any_of_its_signals_trains_meet(self, signal: str, where: str) -> None:
        assert unheld(without(self.PLAN, signal)) == {where}


class TestFacingGoodsLoop:
    """A goods loop off the down line of a double line, entered over facing points.

    Common practice, no source; trap points at a loop's exit, worked with the points that they
    `2` is the starter of the down line, `3` that of the loop, `4` the advanced starter.

                   .---- loop ---- 3 - t -.
                   |                   |  `exit-.
        down >- 1 pf -------- main ------- 2 - pt -- ahead - 4 -- out >
        up   <--- up-out ------- U - up-in --------------------------<
    """

    TRACKS: ClassVar = {
        "in": "edge:down-in pf.toe down",
        "main": "pf.right pt.left down",
        "ahead": "pt.toe joint:adv down",
        "out": "joint:adv edge:down-out down",
        "up-out": "edge:up-out joint:up up",
        "up-in": "joint:up edge:up-in up",
    }
    SIGNALS: ClassVar = {
        "1": "in down; 1L > loop; 1R > main",
        "2": "main down",
        "4": "ahead down",
        "U": "up-in up",
    }
    TRAPPED = a_plan(
        {
            **TRACKS,
            "loop": "pf.left t.toe down stand",
            "exit": "t.right pt.right down",
            "drag": "t.left buffer pass",
        },
        {**SIGNALS, "3": "loop down"},
        points="pf right, pt left, t left trap",
        together="t pt",
    )
    WITH_DISC = a_plan(
        {**TRACKS, "loop": "pf.left pt.right down stand"},
        {**SIGNALS, "1": "in down; 1R > main; 1L shunt > loop", "3": "loop down shunt"},
        points="pf right, pt left",
    )

    MAIN_ROADS: ClassVar = {
        "1L": [road("loop to 3: pf left")],
        "1R": [road("main to 2: pf right")],
        "2": [road("ahead to 4: pt left")],
        "4": [road("out to out")],
        "U": [road("up-out to up-out")],
    }

    @pytest.mark.parametrize("plan", [TRAPPED, WITH_DISC], ids=["trapped", "with-disc"])
    def test_it_holds(self, plan: Plan) -> None:
        clean(plan)

    def test_roads(self) -> None:
        """Out of the loop the trap must be closed, which lies open else; all other arms alike. The
        starter has one arm: none is needed for the way into the drag."""
        trapped = {**self.MAIN_ROADS, "3": [road("exit ahead to 4: t right, pt right")]}
        assert roads(table_of(self.TRAPPED)) == trapped
        disc = {**self.MAIN_ROADS, "3": [road("ahead to 4: pt right")]}
        assert roads(table_of(self.WITH_DISC)) == disc

    @pytest.mark.parametrize("plan", [TRAPPED, WITH_DISC], ids=["trapped", "with-disc"])
    def test_locks(self, plan: Plan) -> None:
        """Two pairs, by the points that they need differently. A goods train runs in to the loop
        while another leaves it ahead, and one follows the other from signal to signal."""
        assert locks(table_of(plan)) == meant(points="1L-1R, 2-3")

    def test_pairs_of_stop_arms(self) -> None:
        """With shunt arms alone for the loop, two of the six stop arms are shunt arms instead."""
        assert pairs_of(self.TRAPPED) == (15, 2)
        assert pairs_of(self.WITH_DISC) == (6, 0)

    def test_a_full_arm_into_the_loop_reads_on_past_the_disc(self) -> None:
        """To the next stop signal, with the disc off too: so it locks the starter beside the loop
        as the disc does."""
        plan = with_signal(self.WITH_DISC, "1", "in down; 1L > loop; 1R > main")
        clean(plan)
        assert roads(table_of(plan))["1L"] == [road("loop ahead to 4: pf left, pt right")]
        assert locks(table_of(plan)) == meant(points="1L-1R, 1L-2, 2-3")
        assert pairs_of(plan) == (10, 2)

    def test_without_its_home_the_next_train_runs_into_the_first(self) -> None:
        assert unheld(without(self.TRAPPED, "1")) == {"in down"}

    def test_without_disc_or_trap_a_train_in_the_loop_runs_out(self) -> None:
        assert unheld(without(self.WITH_DISC, "3")) == {"loop down"}

    def test_the_trap_alone_keeps_the_loop_and_turned_it_does_not(self) -> None:
        """Without the starter trains leave the loop by hand signal; a stray stops in the drag,
        unless the trap lies for the line."""
        unsignalled = without(self.TRAPPED, "3")
        (said,) = by_hand_signal(unsignalled)
        assert "loop" in said
        assert by_hand_signal(self.TRAPPED) == []
        assert unheld(turned(unsignalled, "t")) == {"loop down"}

    def test_the_starter_of_the_down_line_is_not_needed_for_the_verdict(self) -> None:
        """Without it the home reads past the loop's exit, and so locks its starter."""
        plan = without(self.TRAPPED, "2")
        clean(plan)
        assert locks(table_of(plan)) == meant(points="1L-1R, 1R-3")


class TestCrossingStationWithSiding:
    """A passing loop on a single line, with a siding off the loop, shunted by discs.

    Fourteen locks are those of the passing loop of `test_published_tables`, common practice, no
    source: W1 and W2 let trains in from the west, 1W and 2W out to it. `S` reads into the siding,
    `X` out of it.

                     .- 2W --- loop --- 2E/S - s - loop-east -.
                     |                         `- X siding |  |
        west >- W - pw - 1W -------- main ------------ 1E -- pe - E -< east
    """

    TRACKS: ClassVar = {
        "west": "edge:west pw.toe",
        "main": "pw.right pe.left",
        "loop": "pw.left s.toe",
        "loop-east": "s.right pe.right",
        "east": "pe.toe edge:east",
    }
    SIGNALS: ClassVar = {
        "W": "west down; W2 > loop; W1 > main",
        "E": "east up; E1 > main; E2 > loop",
        "1W": "main up",
        "1E": "main down",
        "2W": "loop up",
        "2E": "loop down; 2E > east; S shunt > siding",
    }
    MORE: ClassVar = {"platforms": "A main, B loop"}
    WITH_DISC = a_plan(
        {**TRACKS, "siding": "s.left buffer"},
        {**SIGNALS, "X": "siding up shunt"},
        points="pw right, pe left, s right",
        **MORE,
    )
    TRAPPED = a_plan(
        {
            **TRACKS,
            "exit": "s.left t.left",
            "siding": "t.toe buffer",
            "drag": "buffer t.right pass",
        },
        SIGNALS,
        points="pw right, pe left, s right, t right trap",
        together="s t",
        **MORE,
    )

    ROADS: ClassVar = {
        "W2": [road("loop to 2E: pw left")],
        "W1": [road("main to 1E: pw right")],
        "E1": [road("main to 1W: pe left")],
        "E2": [road("loop-east loop to 2W: pe right, s right")],
        "1W": [road("west to west: pw right")],
        "1E": [road("east to east: pe left")],
        "2W": [road("west to west: pw left")],
        "2E": [road("loop-east east to east: s right, pe right")],
    }
    LOOP = meant(
        points="W1-W2, W1-2W, W2-1W, 1W-2W, E1-E2, E1-2E, E2-1E, 1E-2E",
        direct="W1-1W, W2-2W, E1-1E, E2-2E, W1-E1, W2-E2",
    )

    @pytest.mark.parametrize("plan", [WITH_DISC, TRAPPED], ids=["with-disc", "trapped"])
    def test_it_holds(self, plan: Plan) -> None:
        clean(plan)

    def test_roads(self) -> None:
        assert roads(table_of(self.WITH_DISC)) == {
            **self.ROADS,
            "S": [road("siding to siding: s left")],
            "X": [road("loop to 2W: s left")],
        }
        assert roads(table_of(self.TRAPPED)) == {
            **self.ROADS,
            "S": [road("exit siding to siding: s left, t left")],
        }

    def test_locks_with_a_disc_at_the_siding(self) -> None:
        """Out of the siding: not while a train runs in to the loop from either side, or out of it
        to the east, or into the siding. In: not while one runs over `s` along the loop."""
        siding = meant(points="X-E2, X-2E, S-E2, S-2E", direct="X-W2, X-S")
        found = locks(table_of(self.WITH_DISC))
        assert found == self.LOOP | siding
        assert counted(found.values()) == {"points": 12, "direct": 8}
        assert len(found) + len(compatible(self.WITH_DISC, found)) == 45
        assert pairs_of(self.WITH_DISC) == (28, 14)

    def test_locks_with_trap_points_alone(self) -> None:
        assert locks(table_of(self.TRAPPED)) == self.LOOP | meant(points="S-E2, S-2E")
        assert pairs_of(self.TRAPPED) == (28, 14)

    @pytest.mark.parametrize(
        ("signal", "where"),
        [
            ("W", "west down"),
            ("E", "east up"),
            ("1W", "main up"),
            ("1E", "main down"),
            ("2W", "loop up"),
            ("2E", "loop down"),
            ("X", "siding up"),
        ],
    )
    def test_without_any_of_its_signals_trains_meet(self, signal: str, where: str) -> None:
        assert unheld(without(self.WITH_DISC, signal)) == {where}

    def test_a_trap_the_wrong_way_round_lets_the_siding_out(self) -> None:
        assert unheld(turned(self.TRAPPED, "t")) == {"siding up"}
