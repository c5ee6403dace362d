"""Sidings and shunting as the trade signals them: by discs, to a limit, by hand behind a trap.

Worked out here by hand, as in `test_common_practice`: every road, every lock, the conditional ones
too, and where trains meet when a signal is taken out.
"""

from __future__ import annotations

import pytest

from outside.practice import (
    a_plan,
    by_hand_signal,
    clean,
    compatible,
    locks,
    meant,
    pairs_of,
    road,
    roads,
    turned,
    unheld,
    with_signal,
    with_track,
    without,
)
from outside.published import table_of


class TestDoubleLineWithCrossoverAndSiding:
    """A trailing crossover between the lines of a double line, and a trapped siding off the up
    line, within the home and the starter of each line.

    Common practice, no source. Disc 6 has one arm and reads either way: into the siding, or over
    the crossover to the down line (shunt signals need not say which). What it locks depends on
    that: conditional locks, as in "1 is released by 3 when 2 is normal", Indian Railway Signal
    Engineering Manual, chapter 12, p. 267. Disc 9 lets an engine back inside the down starter.

        in-d >------ D - 3d ------ down ----- S|9 ---- far ----- A - out-d >
                       .-'
        out-u <- US - up -6 5u -- mid -- 3u -- U --- in-u <
                             `- exit - t - 7 siding |
    """

    PLAN = a_plan(
        {
            "in-d": "edge:in-d 3d.right down",
            "down": "3d.toe joint:start stand",
            "far": "joint:start joint:adv stand",
            "out-d": "joint:adv edge:out-d down",
            "crossover": "3u.left 3d.left",
            "in-u": "3u.right edge:in-u up",
            "mid": "5u.left 3u.toe",
            "up": "joint:us 5u.toe stand",
            "out-u": "edge:out-u joint:us up",
            "exit": "5u.right t.right",
            "siding": "t.toe buffer",
            "drag": "buffer t.left pass",
        },
        {
            "D": "in-d down",
            "S": "down down",
            "A": "far down",
            "U": "in-u up",
            "US": "up up",
            "6": "up down shunt",
            "7": "siding up shunt",
            "8": "down up shunt",
            "9": "far up shunt",
        },
        points="3d right, 3u right, 5u left, t left trap",
        together="3d 3u, 5u t",
    )

    def test_it_holds(self) -> None:
        clean(self.PLAN)

    def test_roads(self) -> None:
        """No road leads from the crossover against the lines: they run one way only."""
        found = roads(table_of(self.PLAN))
        by_end = {each.ends_at: each for each in found.pop("6")}
        assert by_end == {
            "S": road("mid crossover down to S: 5u left, 3u left, 3d left"),
            "siding": road("exit siding to siding: 5u right, t right"),
        }
        assert found == {
            "D": [road("down to S: 3d right")],
            "S": [road("far to A")],
            "A": [road("out-d to out-d")],
            "U": [road("mid up to US: 3u right, 5u left")],
            "US": [road("out-u to out-u")],
            "7": [road("exit up to US: t right, 5u right")],
            "8": [road("crossover mid up to US: 3d left, 3u left, 5u left")],
            "9": [road("down to 8")],
        }

    def test_locks(self) -> None:
        """Disc 6 locks D and 9 where it reads over the crossover, with 5 normal, alone: D by the
        crossover, 9 directly, for both run to the same place from two sides. U and 7 and 8 it
        always locks: U by 5 or by 3; 7 and 8 by 5, or by reading the other way along their roads.
        """
        found = locks(table_of(self.PLAN))
        sometimes = {
            frozenset("6D"): {"points when 5u left"},
            frozenset("69"): {"direct when 5u left"},
        }
        always = meant(points="D-8, U-6, U-7, U-8, 7-8", direct="D-9, S-9, 6-7, 6-8")
        assert found == sometimes | always
        assert len(found) + len(compatible(self.PLAN, found)) == 36

    def test_pairs_of_stop_arms(self) -> None:
        """The five stop arms are those of two lines side by side: each two can be off at once."""
        assert pairs_of(self.PLAN) == (10, 0)

    @pytest.mark.parametrize(
        ("signal", "where"),
        [
            ("D", "in-d down"),
            ("S", "down down"),
            ("A", "far down"),
            ("U", "in-u up"),
            ("US", "up up"),
            ("6", "up down"),
            ("8", "down up"),
            ("9", "far up"),
        ],
    )
    def test_without_any_signal_but_that_of_the_siding_trains_meet(
        self, signal: str, where: str
    ) -> None:
        assert unheld(without(self.PLAN, signal)) == {where}

    def test_the_siding_is_kept_by_its_trap_too(self) -> None:
        """Without disc 7 a stray runs into the drag, unless the trap lies for the line."""
        assert by_hand_signal(self.PLAN) == []
        unsignalled = without(self.PLAN, "7")
        (said,) = by_hand_signal(unsignalled)
        assert "siding" in said
        assert unheld(turned(unsignalled, "t")) == {"siding up"}


class TestShuntToALimit:
    """A station on the up line of a double line, shunted along the line in the wrong direction as
    far as a limit of shunt, inside the home.

    Common practice, no source. Beyond the limit the track is for up trains only. Disc 4 reads
    from the platform and disc 5 from the siding to the limit; the inner home 2 lets trains in
    again, arm 2S into the siding.

        out <-- 3 -- station -4 ---- p - 2 --- neck ---|limit 1 --- in <
                    | siding -5 ---'
        d-in >----------- D ------------------------ d-out >
    """

    PLAN = a_plan(
        {
            "out": "edge:out joint:start up",
            "station": "joint:start p.right",
            "siding": "buffer p.left",
            "neck": "p.toe joint:limit stand",
            "in": "joint:limit edge:in up",
            "d-in": "edge:d-in joint:d down",
            "d-out": "joint:d edge:d-out down",
        },
        {
            "1": "in up",
            "2": "neck up; 2 > station; 2S shunt > siding",
            "3": "station up",
            "4": "station down shunt",
            "5": "siding down shunt",
            "D": "d-in down",
        },
        points="p right",
        platforms="A station",
    )

    def test_it_holds(self) -> None:
        clean(self.PLAN)

    def test_roads(self) -> None:
        """The shunts end at the limit, with no signal there."""
        assert roads(table_of(self.PLAN)) == {
            "1": [road("neck to 2")],
            "2": [road("station to 3: p right")],
            "2S": [road("siding to siding: p left")],
            "3": [road("out to out")],
            "4": [road("neck to neck: p right")],
            "5": [road("neck to neck: p left")],
            "D": [road("d-out to d-out")],
        }

    def test_locks(self) -> None:
        """The home is locked with both shunts towards it, and no points help."""
        found = locks(table_of(self.PLAN))
        assert found == meant(points="2-2S, 2-5, 2S-4, 4-5", direct="1-4, 1-5, 2-4, 2S-5")
        assert len(found) + len(compatible(self.PLAN, found)) == 21
        assert pairs_of(self.PLAN) == (6, 0)

    @pytest.mark.parametrize(
        ("signal", "where"),
        [
            ("1", "in up"),
            ("2", "neck up"),
            ("3", "station up"),
            ("4", "station down"),
            ("5", "siding down"),
        ],
    )
    def test_without_any_signal_of_the_up_line_trains_meet(self, signal: str, where: str) -> None:
        assert unheld(without(self.PLAN, signal)) == {where}

    def test_without_the_limit_a_shunt_meets_a_train_at_the_home(self) -> None:
        plan = with_track(self.PLAN, "in", "joint:limit edge:in")
        assert unheld(plan) == {"neck down"}


class TestTrappedSiding:
    """A siding off a single line, kept by trap points worked with the points that it joins at.

    Common practice, no source. Its exit has no signal: a train leaves by hand signal.

        west >- 1 -- p -------------- 2 -< east
                     `- exit - t - siding |
                              drag
    """

    PLAN = a_plan(
        {
            "west": "edge:west p.toe",
            "east": "p.left edge:east",
            "exit": "p.right t.right",
            "siding": "t.toe buffer",
            "drag": "buffer t.left pass",
        },
        {"1": "west down; 1M > east; 1S shunt > siding", "2": "east up"},
        points="p left, t left trap",
        together="p t",
    )

    def test_it_holds(self) -> None:
        clean(self.PLAN)

    def test_the_report_states_the_hand_signal(self) -> None:
        """The note names the siding alone, and goes if a disc lets trains out of it."""
        (said,) = by_hand_signal(self.PLAN)
        assert "siding" in said
        assert "east" not in said
        assert "west" not in said
        assert "strays stop in the drag" in said
        assert by_hand_signal(with_signal(self.PLAN, "3", "siding up shunt")) == []

    def test_roads_and_locks(self) -> None:
        """Nothing leads out of the siding, so only three arms are left, which lock each other."""
        table = table_of(self.PLAN)
        assert roads(table) == {
            "1M": [road("east to east: p left")],
            "1S": [road("exit siding to siding: p right, t right")],
            "2": [road("west to west: p left")],
        }
        assert locks(table) == meant(points="1M-1S, 1S-2", direct="1M-2")
        assert pairs_of(self.PLAN) == (1, 1)

    def test_the_trap_turned_lets_a_stray_out(self) -> None:
        assert unheld(turned(self.PLAN, "t")) == {"siding up"}

    def test_without_the_trap_a_train_runs_out(self) -> None:
        plan = a_plan(
            {
                "west": "edge:west p.toe",
                "east": "p.left edge:east",
                "siding": "p.right buffer",
            },
            {"1": "west down; 1M > east; 1S shunt > siding", "2": "east up"},
            points="p left",
        )
        assert unheld(plan) == {"siding up"}
        clean(with_signal(plan, "3", "siding up shunt"))
