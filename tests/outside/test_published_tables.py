"""Published locking tables against tables derived from the track alone.

Each plan in ``plans/`` is the track of one example; its ids are the published lever numbers or
route names. Each class names its source. A docstring mentions any part of the source that was not
available, or that the format cannot express.
"""

from __future__ import annotations

import json
from collections import Counter
from itertools import combinations
from pathlib import Path
from typing import ClassVar

import pytest

from oracle.two_trains import meeting
from outside.published import PLANS, checked, conflicts, locked_by, pairs, plan_of, points_of
from outside.published import table_of as table_of_plan
from trappoint import LockingTable, load, locking
from trappoint.model.settings import Settings

NAMES = sorted(path.name.removesuffix(".layout.json") for path in PLANS.glob("*.layout.json"))


def table_of(name: str) -> LockingTable:
    return table_of_plan(plan_of(name))


@pytest.mark.parametrize("name", NAMES)
def test_each_example_holds(name: str) -> None:
    """Worked as published no two trains meet, by the check and by the search for two trains."""
    plan = plan_of(name)
    report = checked(plan)
    assert report.holds is True
    assert meeting(plan) is None
    assert [finding for finding in report.findings if finding.level == "error"] == []


@pytest.mark.parametrize("path", sorted(PLANS.iterdir()), ids=lambda path: path.stem)
def test_each_example_is_a_plan_of_the_format(path: Path) -> None:
    """By an independent validator of JSON Schema, not by the library's own reading."""
    import jsonschema

    schema = json.loads((PLANS.parents[2] / "schema" / "layout.schema.json").read_text("utf-8"))
    jsonschema.Draft202012Validator(schema).validate(json.loads(path.read_text("utf-8")))


class TestDoubleTrackJunction1873:
    """A double-track junction with nine levers.

    Source: report headed "Exposition at Vienna" (International Exhibition of 1873), printed pp.
    492, 494, 495. Levers: 1, 2 and 9 distants; 3 main up, 4 branch up, 7 branch down, 8 main down
    homes; 5 and 6 points. The columns of the printed table are reconstructed from the order of its
    text and its footnote, and agree with a simulation of the nine levers.
    """

    NAME = "double-track-junction"

    def test_three_of_six_pairs_conflict(self) -> None:
        """Pp. 494-495: main up with branch up by points 5, main down with branch down by points 6,
        main down with branch up at the diamond, which no points see to."""
        table = table_of(self.NAME)
        assert conflicts(table) == {
            frozenset(("3", "4")): "points",
            frozenset(("7", "8")): "points",
            frozenset(("4", "8")): "direct",
        }
        assert (table.pairs_all, table.pairs_conflicting) == (6, 3)

    def test_points_that_each_route_needs(self) -> None:
        """Pp. 492-494. Normal of 5 is main up, of 6 branch down: main up needs 5 as it is, main
        down 6 pulled, branch up 5 pulled, branch down 6 as it is."""
        plan, table = plan_of(self.NAME), table_of(self.NAME)
        normal = {name: points["normal"] for name, points in plan["points"].items()}
        assert normal == {"p5": "right", "p6": "left"}
        assert points_of(table, "3") == {"p5": "right"}
        assert points_of(table, "8") == {"p6": "right"}
        assert points_of(table, "4") == {"p5": "left"}
        assert points_of(table, "7") == {"p6": "left"}

    @pytest.mark.parametrize(
        ("off", "locked"),
        [
            ("3", {"1", "4"}),  # main up: "5 cannot be pulled, therefore 1 and 4 are locked"
            ("8", {"1", "4", "7"}),  # main down: "1, 4, 7"
            ("4", {"2", "3", "8"}),  # branch up: "2, 3, 8", and 9 is not, by the footnote
            ("7", {"8"}),  # branch down: "6 cannot be pulled", without which there is no 8
        ],
    )
    def test_signals_locked_in_each_row(self, off: str, locked: set[str]) -> None:
        """Table on p. 494 and its footnote: the signals that must stay on while the route's home is
        off.

        A distant is locked if all arms that it repeats are. The printed table also holds points 5
        normal for main down, although that route does not run over them; a locking table of arms
        leaves such points free (see rule 7d).
        """
        plan, table = plan_of(self.NAME), table_of(self.NAME)
        ours = set(locked_by(table)[off])
        for signal in plan["signals"].values():
            for arm in signal["arms"]:
                if set(arm.get("repeats", ["not a distant"])) <= ours:
                    ours.add(arm["id"])
        assert ours == locked

    @pytest.mark.parametrize(
        ("reverse", "off", "rules"),
        [
            ([], ["3", "2", "7", "9"], set()),  # main up: "Yet levers 6, 7, 8, 9 can be used"
            (["p6"], ["3", "2", "8", "9"], set()),  # the same, with 6 pulled
            (["p5"], ["4", "1", "7", "9"], set()),  # footnote: branch up leaves 9 (and 7) free
            (["p5", "p6"], ["4", "8"], {"scene-arms-conflict"}),  # branch up locks 8
            (["p6"], ["8", "4"], {"scene-arm-against-points"}),  # main down locks 4
            (["p5"], ["3"], {"scene-arm-against-points"}),  # main up: 5 cannot be pulled
            ([], ["8"], {"scene-arm-against-points"}),  # main down: 6 cannot be put back
            ([], ["9"], {"scene-distant-too-soon"}),
        ],
    )
    def test_scenes_that_the_frame_allows(
        self, reverse: list[str], off: list[str], rules: set[str]
    ) -> None:
        """Pp. 494-495: states of the frame that the text allows, and some that it excludes.

        In the last one a home at danger locks its distant at danger: T. C. Clarke and others, The
        American Railway, 1889, the chapter on safety.
        """
        plan = plan_of(self.NAME)
        plan["scenes"] = {"s": {"points": dict.fromkeys(reverse, "reverse"), "off": off}}
        found = {f.rule for f in checked(plan).findings if f.rule.startswith("scene-")}
        assert found == rules


class TestDoubleLineJunction1898:
    """A junction of a double line, lever numbers to 17.

    Source: W. H. Mills, Railway Construction, 1898, fig. 498. The copy at hand stops inside the
    third row; the rest of rows 3 and 4 follows by symmetry, unconfirmed. Each road has two or three
    signals whose kinds are unknown, so one arm represents them: 5 for A to C, 2 for A to D, 14 for
    D to A, 16 for C to A.
    """

    NAME = "double-line-junction"

    LEVERS: ClassVar = {
        "5": {"5", "4", "6"}, "2": {"2", "1"}, "14": {"14", "15"}, "16": {"16", "17", "13"},
    }  # fmt: skip
    """For the arm of each road, the levers of its signals by the numbers of fig. 498."""

    def locked_levers(self, arm: str) -> set[str]:
        locked = locked_by(table_of(self.NAME))[arm]
        return set().union(*(self.LEVERS[each] for each in locked))

    @pytest.mark.parametrize(
        ("arm", "locks", "left_free"),
        [
            ("5", {"2", "1", "14", "15"}, {"16", "17", "13"}),  # row 1, A to C, all printed
            ("14", {"5", "4", "16", "17"}, {"2", "1"}),  # row 2, D to A, all printed
            ("16", {"14", "15"}, {"5", "4", "6", "2", "1"}),  # row 3, C to A: locks by symmetry
            ("2", {"5", "4"}, {"14", "15", "16", "17", "13"}),  # row 4, A to D: all by symmetry
        ],
    )
    def test_signals_that_each_route_locks(
        self, arm: str, locks: set[str], left_free: set[str]
    ) -> None:
        """Columns "locks" and "left free" of the table beside fig. 498, their signals."""
        ours = self.locked_levers(arm)
        assert locks <= ours
        assert not left_free & ours

    def test_points_that_each_route_needs(self) -> None:
        """Columns "set first" and "left free": A to C and A to D need 9 and leave 12, D to A and
        C to A need 12 and leave 9. The format has no bolt locks (lever 8)."""
        table = table_of(self.NAME)
        needs = {arm: points_of(table, arm) for arm in self.LEVERS}
        assert {arm: set(points) for arm, points in needs.items()} == {
            "5": {"p9"}, "2": {"p9"}, "14": {"p12"}, "16": {"p12"},
        }  # fmt: skip
        assert needs["5"] != needs["2"]
        assert needs["14"] != needs["16"]

    def test_three_of_six_pairs_conflict(self) -> None:
        """Rows 1 and 2: A to C with A to D (points 9) and with D to A (they cross); D to A with C
        to A (points 12). The same pairs as in the junction of 1873."""
        table = table_of(self.NAME)
        assert conflicts(table) == {
            frozenset(("5", "2")): "points",
            frozenset(("14", "16")): "points",
            frozenset(("5", "14")): "direct",
        }
        assert (table.pairs_all, table.pairs_conflicting) == (6, 3)


class TestPassingLoop:
    """Passing loop on a single line, eight routes.

    The conflicts are worked out by hand. `test_published_routes_of_a_station_of_this_shape` names
    the source of the routes.
    """

    NAME = "passing-loop"

    BY_POINTS = pairs("W1-W2, W1-2W, W2-1W, 1W-2W, E1-E2, E1-2E, E2-1E, 1E-2E")
    DIRECT = pairs("W1-1W, W2-2W, E1-1E, E2-2E, W1-E1, W2-E2")
    COMPATIBLE = pairs(
        "W1-E2, W2-E1, W1-1E, W1-2E, W2-1E, W2-2E, E1-1W, E1-2W, E2-1W, E2-2W, "
        "1W-1E, 1W-2E, 2W-1E, 2W-2E"
    )

    def test_every_pair(self) -> None:
        table = table_of(self.NAME)
        found = conflicts(table)
        assert {pair for pair, by in found.items() if by == "points"} == self.BY_POINTS
        assert {pair for pair, by in found.items() if by == "direct"} == self.DIRECT
        every = {frozenset(pair) for pair in combinations((e.arm for e in table.arms), 2)}
        assert every - found.keys() == self.COMPATIBLE
        assert Counter(found.values()) == {"points": 8, "direct": 6}
        assert (table.pairs_all, table.pairs_conflicting) == (28, 14)

    def test_overlaps_to_the_points_exclude_the_two_homes(self) -> None:
        """With overlaps that run to the points beyond, trains may not come in from both sides at
        once: W1-E2 and W2-E1 conflict too, and no other pair.

        Common practice, no source.
        """
        plain = conflicts(table_of(self.NAME))
        table = locking(load(PLANS / f"{self.NAME}.layout.json"), Settings(overlap=True))
        more = conflicts(table)
        assert more.keys() - plain.keys() == pairs("W1-E2, W2-E1")
        assert plain.items() <= more.items()
        assert (table.pairs_all, table.pairs_conflicting) == (28, 16)

    def test_points_that_each_route_needs(self) -> None:
        """W1 PW normal, W2 PW reverse, and so on; in and out of a road alike."""
        plan, table = plan_of(self.NAME), table_of(self.NAME)
        for arm in (entry.arm for entry in table.arms):
            road, side = (arm[1], arm[0]) if arm[0] in "WE" else (arm[0], arm[1])
            name = {"W": "pw", "E": "pe"}[side]
            ((met, lie),) = points_of(table, arm).items()
            assert met == name
            assert (lie == plan["points"][name]["normal"]) is (road == "1")

    PUBLISHED: ClassVar = {
        "2": "W1", "3": "W2", "5": "E1", "6": "E2",
        "7": "1W", "8": "2W", "9": "1E", "10": "2E",
    }  # fmt: skip
    """The published route numbers, each with the arm of this plan that gives leave for it."""

    def test_published_routes_of_a_station_of_this_shape(self) -> None:
        """Routes 2 and 3 enter from one side, to track 02 and 04; 5 and 6 from the other side; 7
        and 8 leave to the first side, 9 and 10 to the other.

        Source: a crossing station on a single line, in M. Le Bliguet and A. A. Kjær, Modelling
        Interlocking Systems for Railway Stations (thesis), 2008, section 2.4.2 and fig. 2.6; its
        title is from memory, unconfirmed. Its columns of points, sections and conflicts were not
        available, so this test compares the list of routes alone. The track of routes 5 to 10 is
        unconfirmed (02 before 04, as for 2 and 3).
        """
        ends = {}
        for entry in table_of(self.NAME).arms:
            (route,) = entry.routes
            ends[entry.arm] = (route.start, route.over)
        routes = {number: ends[arm] for number, arm in self.PUBLISHED.items()}
        assert routes["2"] == ("west", ("road-1",))
        assert routes["3"] == ("west", ("road-2",))
        assert {routes["5"], routes["6"]} == {("east", ("road-1",)), ("east", ("road-2",))}
        assert {routes["7"], routes["8"]} == {("road-1", ("west",)), ("road-2", ("west",))}
        assert {routes["9"], routes["10"]} == {("road-1", ("east",)), ("road-2", ("east",))}
        assert len(ends) == len(routes)


class TestTrailingCrossover:
    """Trailing crossover between the two lines of a double track, both ends on lever 3.

    Worked out by hand: the up and the down line need 3 normal, shunts over it need 3 reverse.
    """

    NAME = "trailing-crossover"

    def test_only_up_and_down_are_compatible(self) -> None:
        table = table_of(self.NAME)
        found = conflicts(table)
        every = {frozenset(pair) for pair in combinations(("U", "D", "UD", "DU"), 2)}
        assert every - found.keys() == {frozenset(("U", "D"))}
        assert (table.pairs_all, table.pairs_conflicting) == (6, 5)

    def test_by_points_but_for_the_two_shunts(self) -> None:
        """The shunts need the crossover alike: of the five, only theirs is direct."""
        found = conflicts(table_of(self.NAME))
        assert {pair for pair, by in found.items() if by == "direct"} == {frozenset(("UD", "DU"))}

    def test_lever_3_is_normal_for_the_lines_and_reverse_for_shunts(self) -> None:
        table = table_of(self.NAME)
        assert points_of(table, "D") == {"3d": "right"}
        assert points_of(table, "U") == {"3u": "right"}
        assert points_of(table, "UD") == points_of(table, "DU") == {"3d": "left", "3u": "left"}


class TestThreeRoadTerminus:
    """Three-road terminus at the end of a single line, points 1 and 2.

    Worked out by hand: arrivals A1 (1 normal), A2 (1 reverse, 2 normal), A3 (1 and 2 reverse), and
    departures D1, D2, D3 over the same points.
    """

    NAME = "three-road-terminus"

    def test_all_fifteen_pairs_conflict(self) -> None:
        table = table_of(self.NAME)
        found = conflicts(table)
        assert (table.pairs_all, table.pairs_conflicting, len(found)) == (15, 15, 15)
        assert {p for p, by in found.items() if by == "direct"} == pairs("A1-D1, A2-D2, A3-D3")
        assert Counter(found.values()) == {"points": 12, "direct": 3}

    def test_points_that_each_route_needs(self) -> None:
        plan, table = plan_of(self.NAME), table_of(self.NAME)
        normal = {name: points["normal"] for name, points in plan["points"].items()}
        other = {"left": "right", "right": "left"}
        for way in "AD":
            assert points_of(table, f"{way}1") == {"1": normal["1"]}
            assert points_of(table, f"{way}2") == {"1": other[normal["1"]], "2": normal["2"]}
            assert points_of(table, f"{way}3") == {"1": other[normal["1"]], "2": other[normal["2"]]}
