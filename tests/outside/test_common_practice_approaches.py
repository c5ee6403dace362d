"""What joins and what divides: bare joints, and approaches with no signal right at their start.

Worked out here by hand; common practice, no source.
"""

from __future__ import annotations

from itertools import product
from typing import ClassVar

import pytest

from outside.practice import (
    a_plan,
    clean,
    locks,
    meant,
    pairs_of,
    road,
    roads,
    unheld,
    with_signal,
    with_track,
    without,
)
from outside.published import checked, table_of


class TestJoints:
    """A joint of rails or baseboards keeps no two trains apart: the tracks that meet there are one
    place, an approach as well as a platform."""

    PLAN = a_plan(
        {
            "far": "edge:out joint:board",
            "near": "joint:board joint:home",
            "front": "joint:home joint:middle",
            "back": "joint:middle buffer",
        },
        {"1": "near down", "2": "front up"},
        platforms="A front back",
    )

    def test_it_holds(self) -> None:
        """One train waits at the home, on one track or over the joint, and none comes after it."""
        clean(self.PLAN)

    def test_locks_and_roads(self) -> None:
        table = table_of(self.PLAN)
        assert locks(table) == meant(direct="1-2")
        assert roads(table) == {
            "1": [road("front back to back")],
            "2": [road("near far to far")],
        }

    def test_without_the_home_a_train_runs_in(self) -> None:
        assert unheld(without(self.PLAN, "1")) == {"near down"}

    def test_without_the_starter_a_train_runs_out(self) -> None:
        assert unheld(without(self.PLAN, "2")) == {"front up"}

    def test_an_arm_may_name_either_track_of_a_place(self) -> None:
        for platform, line in product(("front", "back", "A"), ("near", "far")):
            plan = with_signal(self.PLAN, "1", f"near down; 1 > {platform}")
            clean(with_signal(plan, "2", f"front up; 2 > {line}"))

    @pytest.mark.parametrize("tracks", [("near", "far"), ("front", "back")])
    def test_a_scene_with_a_train_on_each_track_of_a_place_is_found(
        self, tracks: tuple[str, str]
    ) -> None:
        plan = {**self.PLAN, "scenes": {"s": {"trains": dict.fromkeys(tracks, True)}}}
        found = [f for f in checked(plan).findings if f.level != "note"]
        assert any(set(tracks) <= set(finding.path) for finding in found)

    def test_two_tracks_of_a_place_that_each_say_stand_are_found(self) -> None:
        plan = with_track(self.PLAN, "front", "joint:home joint:middle stand")
        clean(plan)
        plan = with_track(plan, "back", "joint:middle buffer stand")
        found = [f for f in checked(plan).findings if {"front", "back"} <= set(f.path)]
        assert found

    def test_an_outer_home_at_the_joint_divides_the_approach(self) -> None:
        """Then two trains may wait, one at each home, and a starter locks both."""
        plan = with_signal(self.PLAN, "0", "far down")
        clean(plan)
        assert locks(table_of(plan)) == meant(direct="0-2, 1-2")

    def test_an_approach_that_runs_one_way_for_a_part_is_not_one_place(self) -> None:
        """Trains leave over the far part and not over the near one, so the two are not one; and
        nothing holds the second train there."""
        plan = a_plan(
            {
                "far": "edge:out joint:board",
                "near": "joint:board joint:home down",
                "on": "joint:home edge:on down",
            },
            {"1": "near down"},
        )
        assert unheld(plan) == {"far down"}


class TestApproachNotHeld:
    """Homes beyond the points at which the roads part, with none before them.

    A second train comes on as soon as the first is off the line, runs over the points as it likes
    and into the first, which waits at the home. That trains come on to a clear line alone does not
    help: the line is clear.

        line >----- p --- a1 - H1|S1 --- one |
                    `---- a2 - H2|S2 --- two |
    """

    TRACKS: ClassVar = {
        "line": "edge:out p.toe",
        "a1": "p.left joint:1",
        "one": "joint:1 buffer",
        "a2": "p.right joint:2",
        "two": "joint:2 buffer",
    }
    SIGNALS: ClassVar = {"H1": "a1 down", "H2": "a2 down", "S1": "one up", "S2": "two up"}
    PLAN = a_plan(TRACKS, SIGNALS, points="p left")

    def test_the_second_train_runs_into_the_first(self) -> None:
        assert unheld(self.PLAN) == {"line down"}

    def test_it_does_so_where_no_train_is_meant_to_stand_on_the_line(self) -> None:
        plan = with_track(self.PLAN, "line", "edge:out p.toe pass")
        assert unheld(plan) == {"line down"}

    @pytest.mark.parametrize("line", ["edge:out p.toe", "edge:out p.toe pass"])
    def test_a_home_before_the_points_holds_it(self, line: str) -> None:
        """The homes beyond are then inner ones, each on its road."""
        plan = with_signal(with_track(self.PLAN, "line", line), "H", "line down; HL > a1; HR > a2")
        clean(plan)
        assert locks(table_of(plan)) == meant(
            points="HL-HR, HL-S2, HR-S1, S1-S2", direct="HL-S1, HR-S2, H1-S1, H2-S2"
        )
        assert pairs_of(plan) == (15, 8)

    def test_a_line_on_which_no_train_comes_in_needs_none(self) -> None:
        """Trains leave over it alone."""
        clean(with_track(without(self.PLAN, "H1", "H2"), "line", "edge:out p.toe up"))
