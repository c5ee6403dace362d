"""Where signals stand in practice: back to back, face to face, set back a little, at a joint.

Worked out by hand; common practice, no source, unless a test names one. In all these plans the
signal does not stand exactly where the track changes, and a joint is no signal.
"""

from __future__ import annotations

from typing import ClassVar

import pytest

from outside.practice import (
    a_plan,
    clean,
    compatible,
    counted,
    locks,
    meant,
    pairs_of,
    road,
    roads,
    unheld,
    with_signal,
    without,
)
from outside.published import Plan, pairs, table_of


class TestBackToBack:
    """Two arms on one post, one for each direction of a single line.

    Sources: Board of Trade requirements, 1892, rule 7b (no two signals that can lead to a
    collision may be shown at once); for *direct opposing* locking, of two routes in opposite
    directions over the same lie of all points, common practice, no source. Each route leads to the
    place of the other's train.
    """

    AT_A_JOINT = a_plan(
        {"west": "edge:west joint:post", "east": "joint:post edge:east"},
        {"W": "west down", "E": "east up"},
    )
    ALONG_A_TRACK = a_plan(
        {"line": "edge:west edge:east 3000"}, {"W": "line down 1400", "E": "line up 1400"}
    )
    ONE_POST: ClassVar[Plan] = {
        **AT_A_JOINT,
        "signals": {
            "post": {
                "track": "west",
                "for": "down",
                "arms": [{"id": "W"}, {"id": "E", "track": "east", "for": "up", "doll": 1}],
            }
        },
    }
    EVERY = pytest.mark.parametrize(
        "plan", [AT_A_JOINT, ALONG_A_TRACK, ONE_POST], ids=["at-a-joint", "along", "one-post"]
    )

    @EVERY
    def test_it_holds_and_they_lock_each_other(self, plan: Plan) -> None:
        clean(plan)
        assert locks(table_of(plan)) == meant(direct="W-E")
        assert pairs_of(plan) == (1, 1)

    @pytest.mark.parametrize(("signal", "where"), [("W", "west down"), ("E", "east up")])
    def test_without_either_a_train_runs_past_the_other_one(self, signal: str, where: str) -> None:
        assert unheld(without(self.AT_A_JOINT, signal)) == {where}

    @pytest.mark.parametrize(("signal", "where"), [("W", "line down"), ("E", "line up")])
    def test_without_either_along_a_track(self, signal: str, where: str) -> None:
        assert unheld(without(self.ALONG_A_TRACK, signal)) == {where}

    def test_without_both_the_line_has_one_train_at_a_time(self) -> None:
        """A single line without signals, one engine in steam: that holds."""
        assert clean(without(self.AT_A_JOINT, "W", "E")).holds
        assert clean(without(self.ALONG_A_TRACK, "W", "E")).holds


class TestFaceToFace:
    """A halt on a single line, between a home and a starter on each side. The two homes read
    towards each other, over a joint of the halt at which no signal stands.

    Sources as for two signals back to back.

        west >- W|SW --- near --(joint)-- far --- SE|E -< east
    """

    PLAN = a_plan(
        {
            "west": "edge:west joint:w",
            "near": "joint:w joint:middle",
            "far": "joint:middle joint:e",
            "east": "joint:e edge:east",
        },
        {"W": "west down", "SW": "near up", "SE": "far down", "E": "east up"},
        platforms="H near far",
    )

    def test_it_holds(self) -> None:
        clean(self.PLAN)

    def test_roads(self) -> None:
        assert roads(table_of(self.PLAN)) == {
            "W": [road("near far to SE")],
            "E": [road("far near to SW")],
            "SW": [road("west to west")],
            "SE": [road("east to east")],
        }

    def test_locks(self) -> None:
        """The homes face to face, and each home with the starter at its back. A train follows from
        home to starter, and the starters send trains apart."""
        found = locks(table_of(self.PLAN))
        assert found == meant(direct="W-E, W-SW, E-SE")
        assert compatible(self.PLAN, found) == pairs("W-SE, E-SW, SW-SE")
        assert pairs_of(self.PLAN) == (6, 3)

    @pytest.mark.parametrize(
        ("signal", "where"),
        [("W", "west down"), ("E", "east up"), ("SW", "near up"), ("SE", "far down")],
    )
    def test_without_any_of_them_trains_meet(self, signal: str, where: str) -> None:
        """The halt is one place of two tracks, which trains leave at its two outer ends."""
        assert unheld(without(self.PLAN, signal)) == {where}


class TestSetBack:
    """Signals a little back from what they protect, as drivers can see them from the train.

    Each holds without an error. In front of the signal is room for no train.
    """

    STARTER = a_plan(
        {"line": "edge:out joint:home", "platform": "joint:home buffer 1000"},
        {"1": "line down", "2": "platform up 60"},
        platforms="A platform",
    )
    LOOP = a_plan(
        {
            "west": "edge:west pw.toe",
            "one": "pw.right pe.left 1200",
            "two": "pw.left pe.right 1250",
            "east": "pe.toe edge:east",
        },
        {
            "W": "west down; W2 > two; W1 > one",
            "E": "east up; E1 > one; E2 > two",
            "1W": "one up 50",
            "1E": "one down 1150",
            "2W": "two up 50",
            "2E": "two down 1200",
        },
        points="pw right, pe left",
        platforms="A one, B two",
    )
    TWO_HOMES = a_plan(
        {"line": "edge:out p.toe 3000", "one": "p.left buffer", "two": "p.right buffer"},
        {
            "O": "line down 1500",
            "I": "line down; I1 > one; I2 > two",
            "S1": "one up",
            "S2": "two up",
        },
        points="p left",
        platforms="A one, B two",
    )
    TURNTABLE = a_plan(
        {"line": "edge:out t.1 400", "shed": "t.2 buffer", "spare": "t.3 buffer"},
        {"H": "line down 300", "X": "shed up shunt", "Y": "spare up shunt"},
        turntables={"t": {"roads": ["1", "2", "3"]}},
    )
    YARD = a_plan(
        {
            "west": "edge:west p.toe",
            "east": "p.right edge:east",
            "neck": "p.left q.toe 600",
            "y1": "q.left buffer",
            "y2": "q.right buffer",
        },
        {"1": "west down; 1Y > neck; 1M > east", "2": "east up", "X": "neck up 80 shunt"},
        points="p right, q left",
        yards={"goods": {"tracks": ["neck", "y1", "y2"], "points": ["q"]}},
    )

    @pytest.mark.parametrize(
        "plan",
        [STARTER, LOOP, TWO_HOMES, TURNTABLE, YARD],
        ids=["starter", "loop", "two-homes", "turntable", "yard"],
    )
    def test_it_holds(self, plan: Plan) -> None:
        clean(plan)

    @pytest.mark.parametrize(
        ("plan", "signal", "where"),
        [
            (STARTER, "1", "platform down"),
            (STARTER, "2", "platform up"),
            (LOOP, "1E", "one down"),
            (LOOP, "2W", "two up"),
            (TWO_HOMES, "S1", "one up"),
            (TURNTABLE, "H", "line down"),
            (TURNTABLE, "X", "shed up"),
            (YARD, "1", "west down"),
            (YARD, "X", "goods"),
        ],
    )
    def test_taken_out_trains_meet(self, plan: Plan, signal: str, where: str) -> None:
        """Without home 1 the line and the platform up to its starter are one place, and a train
        leaves it there."""
        assert unheld(without(plan, signal)) == {where}

    def test_locks_of_home_and_starter(self) -> None:
        """In and out of one platform, in opposite directions, with no points."""
        assert locks(table_of(self.STARTER)) == meant(direct="1-2")
        assert roads(table_of(self.STARTER)) == {
            "1": [road("platform to platform")],
            "2": [road("platform line to line")],
        }

    def test_locks_of_a_loop_are_those_with_starters_at_its_ends(self) -> None:
        """The same fourteen of twenty-eight pairs as of the loop of `test_published_tables`."""
        found = locks(table_of(self.LOOP))
        assert found == meant(
            points="W1-W2, W1-2W, W2-1W, 1W-2W, E1-E2, E1-2E, E2-1E, 1E-2E",
            direct="W1-1W, W2-2W, E1-1E, E2-2E, W1-E1, W2-E2",
        )
        assert pairs_of(self.LOOP) == (28, 14)

    def test_locks_of_outer_and_inner_home(self) -> None:
        """The inner home follows the outer one. A starter reads out past both: it locks the outer
        home directly, and of the inner home's arms its own road's, which needs the points alike.
        """
        found = locks(table_of(self.TWO_HOMES))
        assert found == meant(
            points="I1-I2, I1-S2, I2-S1, S1-S2", direct="O-S1, O-S2, I1-S1, I2-S2"
        )
        assert compatible(self.TWO_HOMES, found) == pairs("O-I1, O-I2")
        assert pairs_of(self.TWO_HOMES) == (10, 8)

    def test_one_of_two_homes_will_do(self) -> None:
        """The outer one is for a second train to come near; with neither, it runs in."""
        inner = without(self.TWO_HOMES, "O")
        clean(inner)
        outer = with_signal(without(self.TWO_HOMES, "I"), "O", "line down 1500; O1 > one; O2 > two")
        clean(outer)
        assert locks(table_of(outer)) == meant(
            points="O1-O2, O1-S2, O2-S1, S1-S2", direct="O1-S1, O2-S2"
        )
        assert unheld(without(self.TWO_HOMES, "O", "I")) == {"line down"}

    def test_locks_at_a_turntable(self) -> None:
        """One train at a time on the table: every signal at it locks every other one."""
        assert locks(table_of(self.TURNTABLE)) == meant(direct="H-X, H-Y, X-Y")

    def test_locks_at_a_yard(self) -> None:
        """In and out of the yard, and past it on the single line: no two at once."""
        found = locks(table_of(self.YARD))
        assert found == meant(points="1M-1Y, 1M-X, 1Y-2, 2-X", direct="1M-2, 1Y-X")
        assert counted(found.values()) == {"points": 4, "direct": 2}
        assert pairs_of(self.YARD) == (3, 3)
        assert roads(table_of(self.YARD)) == {
            "1Y": [road("neck to goods: p left")],
            "1M": [road("east to east: p right")],
            "2": [road("west to west: p right")],
            "X": [road("neck west to west: p left")],
        }

    @pytest.mark.parametrize(
        ("length", "fits"), [(59, True), (60, True), (61, False), (400, False)]
    )
    def test_a_train_that_fits_in_front_of_the_starter_may_stand_there(
        self, length: int, fits: bool
    ) -> None:
        """A railcar 60 mm long has room before a starter 60 mm from the end: nothing holds it."""
        plan = {**self.STARTER, "trains": {"railcar": {"length_mm": length}}}
        if fits:
            assert unheld(plan) <= {"platform up", "platform down"}
        else:
            clean(plan)
