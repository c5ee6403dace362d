"""Assembled plans: names, joints, stands, reversed boards and accepted findings."""

from __future__ import annotations

import json
from typing import Any

import pytest

from boards.wholes import as_one, at_hand, checked
from oracle.cases import a_plan
from trappoint import Finding, PlanError, Report, load
from trappoint.boards.collecting import MAX_BOARDS, MAX_DEPTH

Plan = dict[str, Any]

STATION = a_plan(
    {
        "line": "edge:out p1.toe 900",
        "platform": "p1.left buffer 1000",
        "siding": "p1.right buffer 700",
    },
    {"1": "line down", "2": "platform up", "3": "siding up"},
    points={"p1": {"normal": "left"}},
    platforms={"A": {"tracks": ["platform"]}},
    worked_together=[],
)
STATION["signals"]["1"]["arms"] = [{"id": "1L", "to": "platform"}, {"id": "1R", "to": "siding"}]
YARD = a_plan({"road": "edge:in buffer 1200"}, {})

FILES = {"station.layout.json": STATION, "yard.layout.json": YARD}


def whole(*joins: str, boards: Plan | None = None, **more: Any) -> Plan:
    """Return a plan that joins the station and the yard; each join is written `A B`."""
    own = {"station": {"plan": "station.layout.json", "reversed": True}}
    own |= {"yard": {"plan": "yard.layout.json"}} if boards is None else boards
    pairs = [dict(zip(("a", "b"), join.split(), strict=True)) for join in joins]
    return {
        "format": "trappoint-layout/1",
        "tracks": {},
        "boards": own,
        "joins": pairs or [{"a": "station:out", "b": "yard:in"}],
        **more,
    }


def changed(plan: Plan, **more: Any) -> Plan:
    return {**json.loads(json.dumps(plan)), **more}


def rules(report: Report) -> list[str]:
    return [finding.rule for finding in report.findings]


def only(report: Report, rule: str) -> Finding:
    (found,) = [finding for finding in report.findings if finding.rule == rule]
    return found


# --- names and joints


def test_ids_have_their_board_before_them_and_joined_edges_are_a_joint() -> None:
    one = as_one(whole(), at_hand(FILES))
    assert one["tracks"]["station/line"] == {
        "up": "station/p1.toe",  # reversed: at the down end in the station's plan
        "down": "joint:station:out+yard:in",
        "length_mm": 900,
    }
    assert one["tracks"]["yard/road"]["up"] == "joint:station:out+yard:in"
    assert one["signals"]["station/1"] == {
        "track": "station/line",
        "for": "up",
        "arms": [
            {"id": "station/1L", "to": "station/platform"},
            {"id": "station/1R", "to": "station/siding"},
        ],
    }
    assert one["platforms"] == {"station/A": {"tracks": ["station/platform"]}}


def test_edges_that_are_not_joined_stay_edges() -> None:
    both = {"a": {"plan": "yard.layout.json"}, "b": {"plan": "yard.layout.json"}}
    plan = whole("a:in station:out", boards=both)
    layout = load(json.dumps(plan), files=at_hand(FILES))
    assert layout.tracks["b/road"].up.text == "edge:b/in"
    assert layout.boards == ("station", "a", "b")


def test_joined_edges_are_no_stands_any_more_unless_that_is_said() -> None:
    layout = load(json.dumps(whole()), files=at_hand(FILES))
    assert load(json.dumps(STATION)).tracks["line"].stand is True
    assert layout.tracks["station/line"].stand is False
    assert layout.tracks["yard/road"].stand is True  # it ends at a buffer
    said = changed(STATION)
    said["tracks"]["line"]["stand"] = True
    layout = load(json.dumps(whole()), files=at_hand(FILES | {"station.layout.json": said}))
    assert layout.tracks["station/line"].stand is True


def test_tracks_of_the_whole_itself() -> None:
    plan = whole(
        "station:out :west",
        ":east yard:in",
        tracks={"flap": {"up": "edge:west", "down": "edge:east"}},
    )
    report = checked(plan, FILES)
    assert (report.holds, report.findings) == (True, ())
    one = as_one(plan, at_hand(FILES))
    assert one["tracks"]["flap"] == {"up": "joint:station:out+:west", "down": "joint::east+yard:in"}


def test_the_whole_names_things_of_its_boards() -> None:
    noon = {
        "points": {"station/p1": "reverse"},
        "off": ["station/1R"],
        "trains": {"yard/road": True},
    }
    report = checked(whole(scenes={"noon": noon}), FILES)
    assert (report.holds, rules(report)) == (True, [])
    noon["points"] = {"station/p9": "reverse"}
    found = only(checked(whole(scenes={"noon": noon}), FILES), "unknown-reference")
    assert (found.file, found.pointer) == ("", "/scenes/noon/points/station~1p9")
    assert found.message == "The plan has no points or slip station/p9."


def test_boards_of_boards() -> None:
    inner = whole()
    del inner["joins"]
    inner["joins"] = []
    files = FILES | {"inner.layout.json": inner}
    outer = whole("hall:station/out hall:yard/in", boards={"hall": {"plan": "inner.layout.json"}})
    del outer["boards"]["station"]
    report = checked(outer, files)
    assert (report.holds, report.findings) == (True, ())
    assert [board.name for board in report.boards] == ["hall", "hall/station", "hall/yard"]
    assert "hall/station/p1" in as_one(outer, at_hand(files))["points"]
    # The outer plan cannot join an edge that the inner plan has joined.
    report = checked(outer, FILES | {"inner.layout.json": whole()})
    assert rules(report) == ["edge-joined-twice"] * 2


def test_a_board_that_stands_in_the_plan_twice() -> None:
    both = {name: {"plan": "station.layout.json"} for name in ("one", "two")}
    both["two"]["reversed"] = True
    plan = whole("one:out two:out", boards=both)
    del plan["boards"]["station"]
    bad = changed(STATION)
    del bad["signals"]["3"]
    report = checked(plan, FILES | {"station.layout.json": bad})
    found = [finding for finding in report.findings if finding.rule == "unheld-exit"]
    assert {finding.pointer for finding in found} == {"/tracks/siding/up"}
    assert {finding.whole for finding in found} == {
        "/tracks/one~1siding/up",
        "/tracks/two~1siding/down",
    }


def test_lists_are_counted_as_the_board_counts_them() -> None:
    bad = changed(STATION, worked_together=[["p1", "p7"]])
    plan = whole(worked_together=[["station/p1", "station/p8"]])
    report = checked(plan, FILES | {"station.layout.json": bad})
    assert [(f.file, f.pointer) for f in report.findings] == [
        ("", "/worked_together/0/1"),
        ("station.layout.json", "/worked_together/0/1"),
    ]


def test_the_scale_is_that_of_the_first_board_that_has_one() -> None:
    narrow = changed(YARD, scale="N", standard="British")
    layout = load(json.dumps(whole()), files=at_hand(FILES | {"yard.layout.json": narrow}))
    assert (layout.scale, layout.standard) == ("N", "British")


@pytest.mark.parametrize(
    ("one", "other", "level"),
    [
        ({"scale": "OO", "standard": "British"}, {"scale": "N"}, "error"),
        ({"scale": "H0"}, {"scale": "HO", "standard": "NMRA"}, None),
        ({"scale": "OO", "standard": "British"}, {"scale": "H0"}, "warning"),  # both 16.5 mm
        ({"scale": "4 mm", "gauge_mm": 18.83}, {"scale": "EM"}, "error"),
        ({"scale": "something of our own"}, {"scale": "N"}, None),
        ({"gauge_mm": 9}, {"gauge_mm": 16.5}, "error"),
        ({}, {"scale": "N"}, None),
    ],
)
def test_gauges_must_agree_so_far_as_they_are_known(
    one: Plan, other: Plan, level: str | None
) -> None:
    """Test pairs of scales and gauges.

    Sources: NEM 010, NMRA S-1.2 and British practice, as in `trappoint.dimensions.scales`.
    """
    files = {
        "station.layout.json": changed(STATION, **one),
        "yard.layout.json": changed(YARD, **other),
    }
    report = checked(whole(), files)
    found = [f.level for f in report.findings if f.rule == "boards-of-two-scales"]
    assert found == ([] if level is None else [level])
    assert report.holds is (None if level == "error" else True)


# --- reversed boards


def test_a_finding_on_a_board_turned_round_points_at_the_end_as_it_is_written() -> None:
    bad = changed(STATION)
    del bad["signals"]["3"]
    report = checked(whole(), FILES | {"station.layout.json": bad})
    found = next(f for f in report.findings if "siding, running down" in f.message)
    assert found.message.startswith("Nothing stops a train in station/siding, running down,")
    assert (found.file, found.pointer) == ("station.layout.json", "/tracks/siding/up")
    assert found.whole == found.place == "/tracks/station~1siding/down"
    assert "Board station is turned round" in found.fix
    text = json.dumps(bad, indent=1).splitlines()[found.line - 1]
    assert text[found.column - 1 :] == '"p1.right",'
    assert report.text_of(found) == json.dumps(bad, indent=1)


def test_a_measure_is_taken_from_the_other_end() -> None:
    measured = changed(STATION)
    measured["signals"]["9"] = {
        "track": "line",
        "for": "down",
        "at_mm": 200,
        "arms": [{"id": "9", "kind": "distant"}],
    }
    files = FILES | {"station.layout.json": measured}
    assert as_one(whole(), at_hand(files))["signals"]["station/9"]["at_mm"] == 700
    del measured["tracks"]["line"]["length_mm"]
    found = only(
        checked(whole(), FILES | {"station.layout.json": measured}), "turned-without-length"
    )
    assert (found.file, found.pointer) == ("station.layout.json", "/signals/9/at_mm")


def test_a_measure_beyond_its_track_is_wrong_either_way() -> None:
    measured = changed(STATION)
    measured["signals"]["1"]["at_mm"] = 950
    found = only(
        checked(whole(), FILES | {"station.layout.json": measured}), "signal-off-its-track"
    )
    assert (found.file, found.pointer) == ("station.layout.json", "/signals/1/at_mm")


# --- accepted findings


def without_signal_3(*accept: Plan) -> dict[str, Plan]:
    bad = changed(STATION, accept=list(accept))
    del bad["signals"]["3"]
    return FILES | {"station.layout.json": bad}


def of_the_siding(findings: tuple[Finding, ...]) -> list[str]:
    """Return the rules of the findings at the siding.

    (A train in the yard may meet one that leaves the siding.)
    """
    return [f.rule for f in findings if f.file == "station.layout.json" and "siding" in f.pointer]


LIVED_WITH = {"rule": "unheld-exit", "because": "Wagons only, pushed by hand."}


@pytest.mark.parametrize("at", ["siding", "/tracks/siding", "/tracks/siding/up"])
def test_what_a_board_accepts_is_accepted_in_every_whole(at: str) -> None:
    report = checked(whole(), without_signal_3({**LIVED_WITH, "at": at}))
    assert report.holds is False
    assert of_the_siding(report.findings) == []
    assert of_the_siding(report.accepted) == ["unheld-exit"]


@pytest.mark.parametrize("at", ["station/siding", "/tracks/station~1siding"])
def test_the_whole_accepts_by_the_names_of_the_whole(at: str) -> None:
    report = checked(whole(accept=[{**LIVED_WITH, "at": at}]), without_signal_3())
    assert of_the_siding(report.findings) == []
    assert of_the_siding(report.accepted) == ["unheld-exit"]


def test_what_a_board_accepts_and_is_no_more_is_told_of_the_board_alone() -> None:
    kept = changed(STATION, accept=[{**LIVED_WITH, "at": "siding"}])
    assert rules(checked(whole(), FILES | {"station.layout.json": kept})) == []
    assert rules(checked(kept, {})) == ["accept-without-match"]
    report = checked(whole(accept=[{**LIVED_WITH, "at": "station/siding"}]), FILES)
    assert [(f.rule, f.file) for f in report.findings] == [("accept-without-match", "")]


def test_other_rules_and_places_are_not_accepted() -> None:
    for entry in ({**LIVED_WITH, "at": "platform"}, {"rule": "no-such-lie", "at": "siding"}):
        report = checked(whole(), without_signal_3(entry))
        assert of_the_siding(report.findings) == ["unheld-exit"]
        assert report.accepted == ()


# --- limits


def test_small_files_that_mean_very_many_boards_end_soon() -> None:
    def pair(plan: str) -> Plan:
        return {**whole(boards={s: {"plan": plan} for s in "lr"}), "joins": []}

    files = {f"{n}.layout.json": pair(f"{n + 1}.layout.json") for n in range(40)}
    for plan in files.values():
        del plan["boards"]["station"]
    files["40.layout.json"] = YARD
    report = checked(files["0.layout.json"], files)
    assert "too-many-boards" in rules(report)
    assert len(report.boards) <= MAX_BOARDS


def test_a_wide_plan_has_as_many_boards_as_can_be_and_no_more() -> None:
    for count, fits in ((MAX_BOARDS, True), (MAX_BOARDS + 1, False)):
        plan = whole(boards={f"b{n}": {"plan": "yard.layout.json"} for n in range(count)})
        del plan["boards"]["station"], plan["joins"]
        report = checked(plan, FILES)
        assert ("too-many-boards" in rules(report)) is not fits, count


def test_boards_stand_inside_one_another_as_deep_as_ids_can_say() -> None:
    for deep, fits in ((MAX_DEPTH, True), (MAX_DEPTH + 1, False)):
        files = {f"{deep}.layout.json": YARD}
        for n in range(deep):
            files[f"{n}.layout.json"] = {
                **a_plan({}, {}),
                "boards": {"b": {"plan": f"{n + 1}.layout.json"}},
            }
        report = checked(files["0.layout.json"], files)
        assert ("too-many-boards" in rules(report)) is not fits, deep


def test_load_says_in_which_file_it_fails() -> None:
    bad = changed(STATION)
    bad["signals"]["1"]["track"] = "lien"
    with pytest.raises(PlanError, match=r"^station\.layout\.json, line \d+, column \d+: The plan"):
        load(json.dumps(whole()), files=at_hand(FILES | {"station.layout.json": bad}))
