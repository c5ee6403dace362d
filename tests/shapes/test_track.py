"""Test the track of every shape before it has signals, by hand and at 200 settings each."""

from __future__ import annotations

import json
import random
from collections import Counter

import pytest

from shapes.asking import TAKES, Plan, ask, ask_for_several, laid
from trappoint import check
from trappoint.shapes.options import WORDS, WrongWish
from trappoint.shapes.shapes import SHAPES, read_piece
from trappoint.shapes.writing import write_plan
from trappoint.tidying.tidy import tidy_content

MENDED_BY_SIGNALS = {"unheld-exit", "platform-without-home", "stands-not-parted"}


def hold_to_be_sound(plan: Plan) -> None:
    """Assert that a plan has no signals, and only findings that signals would remove."""
    report = check(json.dumps(plan))
    assert report.fault is None
    assert {finding.rule for finding in report.findings} <= MENDED_BY_SIGNALS, report.findings
    assert "signals" not in plan


@pytest.mark.parametrize("name", TAKES)
def test_nothing_but_signals_is_missing_at_any_setting(name: str) -> None:
    texts = set()
    for seed in range(200):
        text = ask(random.Random(seed), name)
        texts.add(text)
        plan = laid(text)
        hold_to_be_sound(plan)
        _hold_to_what_was_asked(text, plan)
    assert len(texts) >= {"junction": 3, "crossover-pair": 4, "ladder-yard": 20}.get(name, 40)


def _hold_to_what_was_asked(text: str, plan: Plan) -> None:
    name, _, rest = text.partition(":")
    asked = dict(entry.split("=") for entry in rest.split(",") if entry)
    stems = Counter(track.rpartition("-")[0] for track in plan["tracks"])
    roads = {"ladder-yard": "siding"}.get(name, "road")
    for word, stem in (("roads", roads), ("hidden", "hidden")):
        assert word not in asked or stems[stem] == int(asked[word])
    assert (
        len(plan.get("platforms", {})) == int(asked.get("platforms", 0)) or "platforms" not in asked
    )
    edges = [end for t in plan["tracks"].values() for end in (t["up"], t["down"]) if "edge" in end]
    ways = {"terminus": 1, "junction": 3, "round-and-round": 0}.get(name, 2)
    if "lines" in asked:
        assert len(edges) == ways * int(asked["lines"])


def test_nothing_but_signals_is_missing_where_shapes_are_joined() -> None:
    met = Counter()  # type: Counter[str]
    for seed in range(200):
        texts = ask_for_several(random.Random(seed))
        hold_to_be_sound(laid(*texts))
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
        (["terminus:tracks=2"], "tracks is no word for a terminus. There are lines, roads and "),
        (["terminus:roads"], "roads says no number: write roads=3."),
        (["terminus:roads=x"], "roads=x says no number: write roads=3."),
        (["terminus:roads=\u0663"], "says no number"),
        (["terminus:roads=13"], "A terminus may have roads=1 to 12, not 13."),
        (["passing-loop:lines=2"], "A passing-loop may have lines=1, not 2."),
        (["terminus:lines=2,roads=1"], "A terminus on a double line has at least 2 roads."),
        (["round-and-round:lines=2,hidden=1"], "on a double line has at least 2 hidden."),
        (
            ["terminus:roads=3,platforms=3"],
            "with 3 roads has room for no more than 2 platforms, not 3",
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
    assert read_piece("terminus:roads=4,platforms=2", {"roads": 5})[1] == {
        "roads": 4,
        "platforms": 2,
    }
