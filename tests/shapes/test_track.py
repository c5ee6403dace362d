"""Test the track of every shape before it has signals, by hand and at many settings.

Each run tries 8 settings of each shape; a long run tries 200, with more roads.
"""

from __future__ import annotations

import json
import random
from collections import Counter

import pytest

from amount import amount
from shapes.asking import TAKES, Plan, ask, ask_for_several, laid
from trappoint import check
from trappoint.shapes.options import LABELS, WORDS, WrongWish
from trappoint.shapes.reading import read_piece
from trappoint.shapes.shapes import SHAPES
from trappoint.shapes.writing import write_plan
from trappoint.tidying.tidy import tidy_content

SETTINGS = amount(8, long=200)
MAX_ROADS = amount(6, long=12)

MENDED_BY_SIGNALS = {"unheld-exit", "platform-without-home", "stands-not-parted"}
TURNING = {"triangle", "balloon-loop"}
"""Shapes on which a train is turned round, which a note says."""


def hold_to_be_sound(plan: Plan, *texts: str) -> None:
    """Assert that a plan has no signals, and only findings that signals would remove."""
    report = check(json.dumps(plan))
    assert report.fault is None
    turns = any(text.partition(":")[0] in TURNING for text in texts)
    may = MENDED_BY_SIGNALS | ({"reversing-loop"} if turns else set())
    assert {finding.rule for finding in report.findings} <= may, report.findings
    assert "signals" not in plan


@pytest.mark.parametrize("name", TAKES)
def test_nothing_but_signals_is_missing_at_any_setting(name: str) -> None:
    texts = set()
    for seed in range(SETTINGS):
        text = ask(random.Random(seed), name, MAX_ROADS)
        texts.add(text)
        plan = laid(text)
        hold_to_be_sound(plan, text)
        _hold_to_what_was_asked(text, plan)
    few = {"junction": 3, "crossover-pair": 3, "crossover": 2, "triangle": 2}
    assert len(texts) >= few.get(name, 4)


def _hold_to_what_was_asked(text: str, plan: Plan) -> None:
    name, _, rest = text.partition(":")
    asked = dict(entry.split("=") for entry in rest.split(",") if entry)
    stems = Counter(track.rpartition("-")[0] for track in plan["tracks"])
    roads = "siding" if name in ("ladder-yard", "headshunt") else "road"
    each = {"roads": roads, "hidden": "hidden", "bays": "bay", "sidings": "siding"}
    for word, stem in each.items():
        assert word not in asked or stems[stem] == int(asked[word])
    assert "release" not in asked or stems["release"] == 2 * int(asked["release"])
    platforms = [platform["tracks"] for platform in plan.get("platforms", {}).values()]
    assert "platforms" not in asked or len(platforms) == int(asked["platforms"])
    if "faces" in asked:
        assert sum(map(len, platforms)) == int(asked["faces"])
        assert len(platforms) == (int(asked["faces"]) + 1) // 2, "as few as can be"
    edges = [end for t in plan["tracks"].values() for end in (t["up"], t["down"]) if "edge" in end]
    ways = {"terminus": 1, "balloon-loop": 1, "junction": 3, "triangle": 3, "round-and-round": 0}
    if "lines" in asked:
        assert len(edges) == ways.get(name, 2) * int(asked["lines"])
    if "trap" in asked:
        traps = [points for points in plan["points"].values() if points.get("trap")]
        assert len(traps) == (asked["trap"] == "yes")
    for word in ("length", "radius"):
        if word in asked:
            assert int(asked[word]) in [t.get(f"{word}_mm") for t in plan["tracks"].values()]


def test_nothing_but_signals_is_missing_where_shapes_are_joined() -> None:
    met = Counter()  # type: Counter[str]
    for seed in range(amount(20, long=200)):
        texts = ask_for_several(random.Random(seed))
        hold_to_be_sound(laid(*texts), *texts)
        met.update(text.partition(":")[0] for text in texts)
    assert met.keys() == TAKES.keys() - {"round-and-round"}


def test_each_platform_has_roads_of_its_own_side_by_side() -> None:
    for roads in range(2, 13):
        for platforms in range(roads // 2 + 2):
            plan = laid(f"passing-loop:roads={roads},platforms={platforms}")
            served = [each["tracks"] for each in plan.get("platforms", {}).values()]
            flat = [int(track.rpartition("-")[2]) for tracks in served for track in tracks]
            assert len(served) == platforms
            assert flat == list(range(1, len(flat) + 1)), "from north to south, none twice"
            assert len(flat) == min(2 * platforms, roads), "as many as can be"
            for tracks in served[1:-1]:
                assert len(tracks) == 2, "a platform between two roads serves both"


def test_three_platforms_at_a_terminus() -> None:
    """People count faces: three of them are an island and one more platform."""
    served = {
        told: [each["tracks"] for each in laid(f"terminus:{told}")["platforms"].values()]
        for told in ("roads=3,faces=3", "roads=3,platforms=3", "roads=4,faces=4", "roads=4,faces=3")
    }
    assert served == {
        "roads=3,faces=3": [["road-1"], ["road-2", "road-3"]],
        "roads=3,platforms=3": [["road-1"], ["road-2"], ["road-3"]],
        "roads=4,faces=4": [["road-1", "road-2"], ["road-3", "road-4"]],
        "roads=4,faces=3": [["road-1"], ["road-2", "road-3"]],
    }


def test_a_bay_shares_an_island_with_the_road_beside_it() -> None:
    north = laid("bay-station:lines=1,roads=2,bays=1,platforms=2,side=north")["platforms"]
    assert [each["tracks"] for each in north.values()] == [["bay-1", "road-1"], ["road-2"]]
    south = laid("bay-station:lines=1,roads=2,bays=1,platforms=2,side=south")["platforms"]
    assert [each["tracks"] for each in south.values()] == [["road-1"], ["road-2", "bay-1"]]


def test_a_passing_loop_by_hand() -> None:
    """Seen from each toe, the left road is the normal one."""
    assert laid("passing-loop") == {
        "format": "trappoint-layout/1",
        "title": "A passing loop",
        "tracks": {
            "line-1": {"up": "edge:west", "down": "p1.toe", "length_mm": 2000},
            "road-1": {"up": "p1.left", "down": "p2.right", "length_mm": 1400},
            "road-2": {"up": "p1.right", "down": "p2.left", "length_mm": 1400},
            "line-2": {"up": "p2.toe", "down": "edge:east", "length_mm": 2000},
        },
        "points": {"p1": {"normal": "left"}, "p2": {"normal": "left"}},
        "platforms": {"A": {"tracks": ["road-1", "road-2"], "length_mm": 900}},
    }


def test_a_double_junction_by_hand() -> None:
    """The down line lies north, and the up branch crosses it on the diamond."""
    plan = laid("junction")
    ends = {name: (track["up"], track["down"]) for name, track in plan["tracks"].items()}
    assert ends == {
        "down-line-1": ("edge:west-down", "p1.toe"),
        "up-line-1": ("edge:west-up", "p2.toe"),
        "link-1": ("p1.right", "x1.a1"),
        "link-2": ("p2.left", "x1.b1"),
        "down-branch-1": ("p1.left", "edge:branch-down"),
        "up-branch-1": ("x1.b2", "edge:branch-up"),
        "down-line-2": ("x1.a2", "edge:east-down"),
        "up-line-2": ("p2.right", "edge:east-up"),
    }
    assert {name: t.get("running") for name, t in plan["tracks"].items()} == {
        name: "up" if name.startswith("up") or name == "link-2" else "down" for name in ends
    }


def test_both_ends_of_each_crossover_lie_normal_together() -> None:
    """A track or a road over a diamond connects two points that are worked together."""
    for text in ("crossover-pair", "terminus:lines=2,roads=5"):
        plan = laid(text)
        onward = {"a1": "a2", "a2": "a1", "b1": "b2", "b2": "b1"}
        other: dict[str, str] = {}
        for track in plan["tracks"].values():
            other |= {track["up"]: track["down"], track["down"]: track["up"]}
        assert len(plan["worked_together"]) == 2
        for one, two in plan["worked_together"]:
            reverse = "right" if plan["points"][one]["normal"] == "left" else "left"
            end = other[f"{one}.{reverse}"]
            if end.startswith("x"):
                end = other[f"x1.{onward[end.partition('.')[2]]}"]
            points, leg = end.split(".")
            assert points == two
            assert leg not in ("toe", plan["points"][two]["normal"])


def test_a_terminus_at_either_end() -> None:
    plan = laid("terminus:lines=2,roads=2", "terminus")
    buffers = [t for t, track in plan["tracks"].items() if "buffer" in track.values()]
    assert buffers == [
        *("terminus-road-1", "terminus-road-2"),
        *("terminus-2-road-1", "terminus-2-road-2", "terminus-2-road-3"),
    ]
    assert not [t for t in plan["tracks"].values() if "edge" in t["up"] + t["down"]]
    line = plan["tracks"]["down-line-1"], plan["tracks"]["up-line-1"]
    assert [track["running"] for track in line] == ["down", "up"]
    assert all(track["stand"] for track in line), "a train may wait between the two"
    assert all(plan["tracks"][t]["up"] == "buffer" for t in buffers[:2]), "the first faces east"


def test_lines_follow_what_is_said() -> None:
    def lines(*texts: str) -> list[int]:
        plan = laid(*texts)
        names = {name.rpartition("-")[0] for name in plan["tracks"]}
        return sorted(
            {1 for name in names if name == "line"} | {2 for n in names if n == "up-line"}
        )

    assert lines("junction", "passing-loop") == [1]
    assert lines("passing-loop", "junction") == [1]
    assert lines("crossover-pair", "ladder-yard") == [2]
    assert lines("terminus", "crossover-pair") == [2]
    assert lines("crossover-pair", "passing-loop") == [1, 2]
    assert lines("passing-loop", "through-station:lines=2") == [1, 2]
    assert lines("through-station") == [2]


def test_the_text_is_tidy() -> None:
    for name in SHAPES:
        text = write_plan(laid(name))
        assert tidy_content(text) == text
        assert json.loads(text) == laid(name)


@pytest.mark.parametrize(
    ("texts", "told"),
    [
        (["terminal"], "terminal is no shape. Is terminus meant? There are through-station, "),
        ([""], "Nothing is no shape."),
        (
            ["terminus:tracks=2"],
            "tracks is no option of a terminus. There are lines, roads, platforms, ",
        ),
        (["terminus:roads"], "roads says no number: write roads=3."),
        (["terminus:roads=x"], "roads=x says no number: write roads=3."),
        (["terminus:roads=\u0663"], "says no number"),
        (["siding:side=up"], "A siding may have side=south or side=north, not up."),
        (["siding:trap"], "A siding may have trap=no or trap=yes, not nothing."),
        (["siding:roads=2"], "roads is no option of a siding."),
        (["crossover:lines=1"], "A crossover may have lines=2, not 1."),
        (["terminus:roads=3,release=2"], "has room for no more than 1 release crossover"),
        (["terminus:platforms=2,faces=2"], "Write platforms or faces, not both"),
        (["terminus:roads=2,faces=3"], "with 2 roads has room for no more than 2 faces, not 3"),
        (["plain-line:length=99"], "A plain-line may have length=100 to 100,000, not 99."),
        (["balloon-loop", "junction", "balloon-loop", "junction"], "only come first or last"),
        (["terminus:roads=13"], "A terminus may have roads=1 to 12, not 13."),
        (["passing-loop:lines=2"], "A passing-loop may have lines=1, not 2."),
        (["terminus:lines=2,roads=1"], "A terminus on a double line has at least 2 roads."),
        (["round-and-round:lines=2,hidden=1"], "on a double line has at least 2 hidden."),
        (
            ["terminus:roads=3,platforms=4"],
            "with 3 roads has room for no more than 3 platforms, not 4",
        ),
        (["junction", "round-and-round"], "A round-and-round is closed in itself"),
        (["junction", "terminus", "junction"], "it can only come first or last."),
        ([], "Name at least one shape."),
    ],
)
def test_what_can_not_be_laid_is_said(texts: list[str], told: str) -> None:
    with pytest.raises(WrongWish) as refused:
        laid(*texts)
    assert told in str(refused.value)


def test_what_is_asked_of_all_is_asked_of_those_that_take_it() -> None:
    plan = laid("junction", "passing-loop", "terminus:roads=4", roads=3, platforms=0)
    stems = Counter(track.rpartition("-")[0] for track in plan["tracks"])
    assert (stems["loop-road"], stems["terminus-road"]) == (3, 4)
    assert "platforms" not in plan


def test_words_of_the_shapes_are_those_of_the_command() -> None:
    assert {name: tuple(shape.takes) for name, shape in SHAPES.items()} == {
        name: words if "lines" in words else ("lines", *words) for name, words in TAKES.items()
    }
    assert set(WORDS) == {word for words in TAKES.values() for word in words}
    assert list(LABELS) == list(WORDS)
    assert read_piece("terminus:roads=4,platforms=2", {"roads": 5}).asked == {
        "roads": 4,
        "platforms": 2,
    }
