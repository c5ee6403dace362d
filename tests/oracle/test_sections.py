"""Heads, pieces, sections, stands and the names of places, on small plans worked out by hand."""

from __future__ import annotations

from typing import Any

import pytest

from oracle.cases import LINE, a_plan, without
from oracle.ground import Ground
from oracle.heads import Head, NotJudgedError, holding_heads
from oracle.two_trains import holds, meeting, routes_of, stands_of

# ---- heads -------------------------------------------------------------------------------------


@pytest.mark.parametrize("order", [("post", "disc"), ("disc", "post")])
@pytest.mark.parametrize("at", ["", " 300"])
def test_a_disc_at_the_foot_of_a_post_makes_one_head_with_it(order: Any, at: str) -> None:
    texts = {"post": f"k down{at}", "disc": f"k down{at} shunt"}
    plan = a_plan(
        {"k": "edge:w joint:j 900", "e": "joint:j edge:e"}, {each: texts[each] for each in order}
    )
    where = float(at) if at else None
    assert holding_heads(plan) == [Head("post", "k", "down", where, frozenset({"stop", "shunt"}))]
    # A stop route and a shunt route, both of the post.
    over = ["k.2"] if at else ["e"]
    assert routes_of(plan) == {"post": [over, over]}


def test_a_distance_that_is_the_length_of_the_track_is_the_end_of_it() -> None:
    plan = a_plan(
        {"west": "edge:w joint:j 500", "east": "joint:j edge:e 500"},
        {"post": "west down", "disc": "west down 500 shunt", "E": "east up 0"},
    )
    assert routes_of(plan) == {"post": [["east"], ["east"]], "E": [["west"]]}
    assert holds(plan)


@pytest.mark.parametrize("kind", ["distant", "calling-on"])
def test_distant_and_calling_on_arms_hold_nobody_and_cut_nothing(kind: str) -> None:
    plan = a_plan(LINE, {"W": "west down", "E": "east up", "D": "west down 200"})
    plan["signals"]["D"]["arms"][0]["kind"] = kind
    assert routes_of(plan) == {"W": [["east"]], "E": [["west"]]}
    plan["signals"]["W"]["arms"][0]["kind"] = kind
    assert routes_of(plan) == {"E": [["west"]]}
    assert not holds(plan)


def test_one_post_may_speak_for_two_tracks() -> None:
    plan = a_plan(LINE, {"W": "west down"})
    plan["signals"]["W"]["arms"].append({"id": "E", "track": "east", "for": "up"})
    assert routes_of(plan) == {"W": [["east"], ["west"]]}
    assert holds(plan)


@pytest.mark.parametrize(
    ("tracks", "signals"),
    [
        ({"k": "edge:w edge:e 500"}, {"D": "k down 0"}),
        ({"k": "edge:w edge:e 500"}, {"D": "k up 500"}),
        ({"k": "edge:w edge:e 500"}, {"D": "k down 600"}),
        ({"k": "edge:w edge:e 500"}, {"D": "k down 200", "E": "k down 200"}),
        ({"k": "edge:w edge:e 500"}, {"D": "k down", "E": "k down 500"}),
        ({"k": "edge:w edge:e 500"}, {"D": "k down 0 shunt"}),
        ({"k": "edge:w edge:e 500"}, {"D": "k down 600 shunt"}),
        ({"k": "edge:w edge:e 500"}, {"D": "k down 200 shunt", "E": "k down 200 shunt"}),
        ({"k": "edge:w edge:e 500"}, {"D": "k down 200 both", "E": "k down 200 shunt"}),
        ({"k": "edge:w joint:j"}, {}),
        ({"k": "edge:w p.toe"}, {}),
    ],
)
def test_plans_that_are_not_judged(tracks: dict[str, str], signals: dict[str, str]) -> None:
    with pytest.raises(NotJudgedError):
        meeting(a_plan(tracks, signals))


# ---- pieces and sections -----------------------------------------------------------------------


def test_heads_along_a_track_cut_it_into_pieces() -> None:
    plan = a_plan(
        {"k": "edge:w edge:e 1000"}, {"D": "k down 300", "U": "k up 300", "E": "k down 700"}
    )
    assert routes_of(plan) == {"D": [["k.2"]], "E": [["k.3"]], "U": [["k.1"]]}
    assert not holds(plan)  # from k.3 up into k.2 nobody is held
    plan["signals"]["V"] = {"track": "k", "for": "up", "at_mm": 700, "arms": [{"id": "V"}]}
    assert holds(plan)


def test_an_approach_of_two_tracks_is_one_section() -> None:
    plan = a_plan(
        {"far": "edge:w joint:j", "near": "joint:j joint:home", "in": "joint:home buffer"},
        {"H": "near down", "S": "in up"},
    )
    assert routes_of(plan) == {"H": [["in"]], "S": [["far"]]}
    assert stands_of(plan) == ["far", "in"]
    assert holds(plan)
    # The first signal stands at the end of the whole: without it nothing keeps trains apart.
    assert not holds(without(plan, "H"))


def test_a_platform_across_a_bare_joint_is_one_section() -> None:
    plan = a_plan(
        {
            "west": "edge:w joint:a",
            "near": "joint:a joint:bare",
            "far": "joint:bare joint:b",
            "east": "joint:b edge:e",
        },
        {"W": "west down", "U": "near up", "D": "far down", "E": "east up"},
        platforms={"A": {"tracks": ["near", "far"]}},
    )
    assert routes_of(plan) == {"W": [["near"]], "U": [["west"]], "D": [["east"]], "E": [["near"]]}
    assert stands_of(plan) == ["east", "near", "west"]
    assert holds(plan)
    # A signal at the joint divides it: two stands, and nobody is held up from far.
    plan["signals"]["M"] = {"track": "near", "for": "down", "arms": [{"id": "M"}]}
    assert stands_of(plan) == ["east", "far", "near", "west"]
    assert routes_of(plan)["E"] == [["far", "near"]]
    assert not holds(plan)


def test_an_up_end_may_meet_an_up_end() -> None:
    # Both tracks begin at the joint; the section has the headings of a, so down is to the west.
    plan = a_plan(
        {"a": "joint:j edge:w", "b": "joint:j edge:e 900"}, {"D": "b down 300", "U": "b up 300"}
    )
    ground = Ground(plan)
    assert [piece.name for piece in ground.sections["a"].pieces] == ["a", "b.1"]
    assert ground.come_on == [("w", ("a", "up")), ("e", ("b.2", "up"))]
    assert [ground.ways_out["a", way][0].signal for way in ("up", "down")] == ["D", None]
    assert routes_of(plan) == {"D": [["b.2"]], "U": [["a"]]}
    assert holds(plan)


def test_the_piece_that_comes_first_in_the_plan_names_a_section() -> None:
    tracks = {"c": "joint:k edge:e", "a": "edge:w joint:j", "b": "joint:j joint:k"}
    ground = Ground(a_plan(tracks))
    assert list(ground.sections) == ["c"]
    assert [piece.name for piece in ground.sections["c"].pieces] == ["c", "b", "a"]
    assert list(Ground(a_plan({key: tracks[key] for key in "bca"})).sections) == ["b"]
    # Of one track in two sections, each goes by its own piece.
    ring = a_plan({"r": "joint:j joint:j 900"}, {"D": "r down 300", "E": "r down 600"})
    sections = {name: [p.name for p in s.pieces] for name, s in Ground(ring).sections.items()}
    assert sections == {"r.1": ["r.1", "r.3"], "r.2": ["r.2"]}


@pytest.mark.parametrize(
    ("a", "b", "sections"),
    [
        ("edge:w joint:j down", "joint:j edge:e down", ["a"]),
        ("edge:w joint:j down", "edge:e joint:j up", ["a"]),
        ("joint:j edge:w up", "joint:j edge:e down", ["a"]),
        ("edge:w joint:j down", "joint:j edge:e up", ["a", "b"]),
        ("edge:w joint:j down", "joint:j edge:e", ["a", "b"]),
        ("edge:w joint:j", "joint:j edge:e", ["a"]),
        ("joint:j edge:w up", "joint:j edge:e up", ["a", "b"]),
    ],
)
def test_pieces_belong_together_where_running_agrees(a: str, b: str, sections: list[str]) -> None:
    assert list(Ground(a_plan({"a": a, "b": b})).sections) == sections


def test_a_joint_with_a_head_is_not_bare_even_if_the_head_has_an_effect_on_nobody() -> None:
    tracks = {"a": "edge:w joint:j down", "b": "joint:j edge:e down"}
    assert list(Ground(a_plan(tracks, {"U": "b up"})).sections) == ["a", "b"]
    assert list(Ground(a_plan(tracks, {"U": "b down"})).sections) == ["a"]  # at the edge
    assert routes_of(a_plan(tracks, {"U": "b up"})) == {"U": []}


def test_a_ring_of_one_track_is_a_section_without_ends() -> None:
    plan = a_plan({"r": "joint:j joint:j stand"})
    ground = Ground(plan)
    assert ground.sections["r"].ends == {}
    assert ground.ways_out["r", "down"][0].moves == ()
    assert stands_of(plan) == ["r"]
    assert holds(plan)
    two = a_plan({"a": "joint:j joint:k stand", "b": "joint:k joint:j stand"})
    assert Ground(two).sections["a"].ends == {}
    assert holds(two)


def test_a_ring_that_is_cut_once_is_one_section_with_two_ends() -> None:
    ring = a_plan({"r": "joint:j joint:j 900 stand"}, {"D": "r down 300"})
    assert routes_of(ring) == {"D": [["r.1"]]}
    assert stands_of(ring) == ["r.1"]
    assert holds(ring)
    twice = a_plan({"r": "joint:j joint:j 900 stand"}, {"D": "r down 300", "E": "r down 600"})
    assert routes_of(twice) == {"D": [["r.2"]], "E": [["r.1"]]}
    assert not holds(twice)  # upwards nobody is held


# ---- stands ------------------------------------------------------------------------------------


def test_stands_are_said_or_follow_from_platforms_and_ends() -> None:
    tracks = {"west": "edge:w joint:a", "mid": "joint:a joint:b", "east": "joint:b edge:e"}
    held = {"W": "west down", "E": "east up"}
    # The joints have a signal each, so mid is a section, with no signal of its own.
    assert stands_of(a_plan(tracks, held)) == ["east", "west"]
    assert holds(a_plan(tracks, held))
    platform = {"A": {"tracks": ["mid"]}}
    assert not holds(a_plan(tracks, held, platforms=platform))
    assert not holds(a_plan({**tracks, "mid": "joint:a joint:b stand"}, held))
    told = {**tracks, "mid": "joint:a joint:b pass"}
    assert stands_of(a_plan(told, held, platforms=platform)) == ["east", "west"]
    assert holds(a_plan(told, held, platforms=platform))


def test_for_an_edge_or_a_buffer_only_the_piece_at_that_end_is_a_stand() -> None:
    cuts = {"D": "k down 300", "U": "k up 600"}
    assert stands_of(a_plan({"k": "edge:w edge:e 900"}, cuts)) == ["k.1", "k.3"]
    # Where the track says `stand`, all pieces are, but for a stub.
    said = a_plan({"k": "edge:w edge:e 900 stand"}, cuts)
    assert stands_of(said) == ["k.1", "k.3"]
    held = a_plan({"k": "edge:w edge:e 900 stand"}, {**cuts, "E": "k down 600", "V": "k up 300"})
    assert stands_of(held) == ["k.1", "k.2", "k.3"]


def test_a_piece_makes_a_stand_of_all_that_belongs_to_it() -> None:
    tracks = {"w": "edge:w joint:j pass", "mid": "joint:j joint:k stand", "e": "joint:k edge:e"}
    assert stands_of(a_plan(tracks, {"E": "e up"})) == ["e", "w"]


SET_BACK = a_plan(
    {"line": "edge:elsewhere joint:home", "platform": "joint:home buffer 1000"},
    {"1": "line down", "2": "platform up 50"},
    platforms={"A": {"tracks": ["platform"]}},
)


def test_a_starter_may_stand_a_little_before_the_end_of_its_platform() -> None:
    assert routes_of(SET_BACK) == {
        "1": [["platform.1", "platform.2"]],
        "2": [["platform.1", "line"]],
    }
    assert stands_of(SET_BACK) == ["line", "platform.2"]
    assert holds(SET_BACK)


@pytest.mark.parametrize(
    ("trains", "is_stand"),
    [
        ({"t": {"length_mm": 50}}, True),
        ({"t": {"length_mm": 51}}, False),
        ({"t": {"length_mm": 51}, "s": {"length_mm": 40}}, True),
        ({"t": {}}, False),
        ({}, False),
    ],
)
def test_a_piece_is_no_stub_if_the_shortest_train_fits(trains: Any, is_stand: bool) -> None:
    plan = {**SET_BACK, "trains": trains}
    assert ("platform.1" in stands_of(plan)) == is_stand
    assert holds(plan) == (not is_stand)


def test_a_platform_cut_in_its_middle_is_two_stands_if_a_train_fits() -> None:
    plan = a_plan(
        {
            "west": "edge:w joint:a",
            "main": "joint:a joint:b 1000",
            "east": "joint:b edge:e",
        },
        {"W": "west down", "U": "main up", "M": "main down 500", "E": "east up"},
        platforms={"A": {"tracks": ["main"]}},
    )
    assert stands_of(plan) == ["east", "main.1", "west"]
    assert holds(plan)
    fits = {**plan, "trains": {"local": {"length_mm": 400}}}
    assert stands_of(fits) == ["east", "main.1", "main.2", "west"]
    assert not holds(fits)  # nobody is held in main.2
    fits_not = {**plan, "trains": {"express": {"length_mm": 600}}}
    assert stands_of(fits_not) == ["east", "main.1", "west"]
    # A piece with a signal at its end is a stand for trains of any length.
    held = a_plan({}, {"D": "main down", "V": "main up 500"})["signals"]
    both = {**plan, "signals": {**plan["signals"], **held}}
    assert stands_of(both) == ["east", "main.1", "main.2", "west"]
    assert holds(both)


def test_a_piece_that_no_train_enters_past_a_head_is_no_stub() -> None:
    # The platform is for trains that run in only; signal 2 speaks to none.
    tracks = {"line": "edge:w joint:h", "platform": "joint:h buffer 1000 down"}
    plan = a_plan(
        tracks, {"1": "line down", "2": "platform up 50"}, platforms={"A": {"tracks": ["platform"]}}
    )
    assert stands_of(plan) == ["line", "platform.1", "platform.2"]


def test_the_length_of_a_stub_reaches_to_the_end_of_its_section() -> None:
    # Behind the starter 50 mm of the platform and 300 mm of lead belong together; the lead by
    # itself would be no stand.
    tracks = {
        "line": "edge:w joint:h",
        "lead": "joint:h joint:bare 300",
        "platform": "joint:bare buffer 1000",
    }
    signals = {"1": "line down", "2": "platform up 50"}
    plan = a_plan(tracks, signals, platforms={"A": {"tracks": ["platform"]}})
    assert stands_of(plan) == ["line", "platform.2"]
    long = {**plan, "trains": {"t": {"length_mm": 351}}}
    assert stands_of(long) == ["line", "platform.2"]
    short = {**plan, "trains": {"t": {"length_mm": 350}}}
    assert stands_of(short) == ["lead", "line", "platform.2"]
    del short["tracks"]["lead"]["length_mm"]
    assert stands_of(short) == ["line", "platform.2"]
    # The lead makes a stand of the section if it says so itself: it is not behind the cut.
    said = a_plan({**tracks, "lead": "joint:h joint:bare 300 stand"}, signals)
    assert stands_of(said) == ["lead", "line", "platform.2"]


# ---- names -------------------------------------------------------------------------------------


def test_an_element_with_the_id_of_a_track_is_named_with_its_kind() -> None:
    plan = a_plan(
        {"k": "edge:w k.toe", "a": "k.left edge:a", "b": "k.right edge:b"},
        {"K": "k down"},
        points={"k": {"normal": "left"}},
    )
    assert routes_of(plan) == {"K": [["points:k", "a"], ["points:k", "b"]]}


def test_elements_of_two_kinds_with_one_id_are_named_with_their_kinds() -> None:
    tracks = {
        "w": "edge:w k.toe",
        "a": "k.left k.a1",
        "b": "k.right buffer",
        "c": "k.a2 edge:c",
        "d": "buffer k.b1",
        "e": "k.b2 buffer",
    }
    plan = a_plan(tracks, {"W": "w down"}, points={"k": {"normal": "left"}}, crossings={"k": {}})
    assert routes_of(plan)["W"] == [["points:k", "a", "crossing:k", "c"], ["points:k", "b"]]


# ---- yards -------------------------------------------------------------------------------------

YARD = a_plan(
    {
        "line": "edge:l joint:j",
        "neck": "joint:j p.toe 900",
        "one": "p.left buffer",
        "two": "p.right buffer",
    },
    {"L": "line down", "Y": "neck up"},
    points={"p": {"normal": "left"}},
    yards={"y": {"tracks": ["neck", "one", "two"], "points": ["p"]}},
)


def with_signals(plan: Any, **signals: str) -> Any:
    return {**plan, "signals": a_plan({}, signals)["signals"]}


def test_a_yard_is_one_place_and_needs_signals_only_at_its_edge() -> None:
    assert holds(YARD)
    assert routes_of(YARD) == {"L": [["y"]], "Y": [["line"]]}
    assert stands_of(YARD) == ["line", "y"]
    without_yard = {key: value for key, value in YARD.items() if key != "yards"}
    assert not holds(without_yard)


def test_what_lies_beyond_the_exit_head_is_a_section() -> None:
    plan = with_signals(YARD, L="line down", Y="neck up 300")
    assert routes_of(plan) == {"L": [["neck.1", "y"]], "Y": [["neck.1", "line"]]}
    assert stands_of(plan) == ["line", "y"]
    assert holds(plan)
    # With nothing at the joint the outer piece belongs to the line.
    plan = with_signals(YARD, Y="neck up 300")
    assert list(Ground(plan).sections) == ["line"]
    assert routes_of(plan) == {"Y": [["line"]]}
    assert not holds(plan)  # from the line into the yard nobody is held
    # A head on the outer piece or at the exit head's spot counts.
    for at in (200, 300):
        held = with_signals(YARD, Y="neck up 300", N=f"neck down {at}")
        assert holds(held)
    assert routes_of(held) == {"Y": [["line"]], "N": [["y"]]}
    assert routes_of(with_signals(YARD, Y="neck up 300", N="neck down 200")) == {
        "Y": [["neck.2", "line"]],
        "N": [["neck.2", "y"]],
    }


def test_other_heads_inside_a_yard_have_no_effect() -> None:
    inner = {"I": "neck up 600", "J": "one up", "K": "neck down 100", "M": "two down"}
    plan = with_signals(YARD, L="line down", Y="neck up", **inner)
    none: dict[str, Any] = {name: [] for name in inner}
    assert routes_of(plan) == {"L": [["y"]], "Y": [["line"]], **none}
    assert list(Ground(plan).sections) == ["line"]
    # The nearest to the end is the exit head.
    near = with_signals(YARD, L="line down", far="neck up 600", near="neck up 200 shunt")
    assert routes_of(near) == {
        "L": [["neck.1", "y"]],
        "far": [],
        "near": [["neck.1", "line"]],
    }


def test_no_section_reaches_into_a_yard() -> None:
    # The joint has no signal, but the track beyond it is in the yard, which is another place.
    ground = Ground(with_signals(YARD))
    assert [piece.name for piece in ground.sections["line"].pieces] == ["line"]
    assert [move.to for move in ground.ways_out["line", "down"][0].moves] == [("y", "")]
    assert not holds(with_signals(YARD))


def test_the_part_inside_the_yard_counts_when_pieces_are_numbered() -> None:
    tracks = {"w": "edge:w joint:a", "k": "joint:a joint:b 900", "e": "joint:b edge:e"}
    yards = {"y": {"tracks": ["k"]}}
    cut = {"W": "w down", "U": "k up 200", "D": "k down 700", "E": "e up"}
    plan = a_plan(tracks, cut, yards=yards)
    assert [(piece.name, piece.yard) for piece in Ground(plan).pieces["k"]] == [
        ("k.1", None),
        ("k.2", "y"),
        ("k.3", None),
    ]
    assert routes_of(plan) == {
        "W": [["k.1", "y"]],
        "U": [["k.1", "w"]],
        "D": [["k.3", "e"]],
        "E": [["k.3", "y"]],
    }
    assert holds(plan)


@pytest.mark.parametrize(("up", "down"), [(300, 300), (600, 300)])
def test_exit_heads_that_leave_no_part_in_the_yard_are_not_judged(up: int, down: int) -> None:
    plan = a_plan(
        {"w": "edge:w joint:a", "k": "joint:a joint:b 900", "e": "joint:b edge:e"},
        {"U": f"k up {up}", "D": f"k down {down}"},
        yards={"y": {"tracks": ["k"]}},
    )
    with pytest.raises(NotJudgedError):
        holds(plan)
    plan["signals"]["D"]["at_mm"] = up + 100
    assert isinstance(holds(plan), bool)


def test_a_yard_with_the_id_of_a_track_is_named_with_its_kind() -> None:
    plan = {**YARD, "yards": {"neck": YARD["yards"]["y"]}}
    assert routes_of(plan) == {"L": [["yard:neck"]], "Y": [["line"]]}
