"""Edges at which a neighbour's stop signal holds trains: one board, a whole, all commands."""

from __future__ import annotations

import copy
import json
import random
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from amount import amount
from boards.wholes import at_hand, checked
from oracle.held_edges import renamed, spell_out
from oracle.plans import random_plan
from oracle.two_trains import meeting, replay, routes_of
from trappoint import check
from trappoint.checking.report import Report
from trappoint.cli import main
from trappoint.drawing.diagram import draw
from trappoint.parts.demand import demand_of
from trappoint.proposing.proposal import propose

Plan = dict[str, Any]

HARBOUR: Plan = {
    "format": "trappoint-layout/1",
    "title": "Gannet Harbour",
    "tracks": {
        "line": {"up": "edge:town", "down": "p1.toe"},
        "road-1": {"up": "p1.left", "down": "buffer"},
        "road-2": {"up": "p1.right", "down": "buffer"},
    },
    "points": {"p1": {"normal": "left", "lock": True}},
    "platforms": {"A": {"tracks": ["road-1"]}, "B": {"tracks": ["road-2"]}},
    "signals": {
        "1": {"track": "road-1", "for": "up", "arms": [{"id": "1"}]},
        "2": {"track": "road-2", "for": "up", "arms": [{"id": "2"}]},
    },
    "trains": {"mail": {}, "local": {}},
    "edges": {"town": {"held": True, "name": "The town line"}},
}
"""A terminus with its home signal on the next board."""

HOME: Plan = {
    "5": {
        "track": "west",
        "for": "down",
        "mount": "bracket",
        "arms": [{"id": "5L", "to": "harbour/road-1"}, {"id": "5R", "to": "harbour/road-2"}],
    }
}


def changed(plan: Plan, **more: Any) -> Plan:
    return {**copy.deepcopy(plan), **more}


def whole(signals: Plan, **more: Any) -> Plan:
    """Return a plan that joins the harbour to a track of the whole itself."""
    return {
        "format": "trappoint-layout/1",
        "tracks": {"west": {"up": "edge:moor", "down": "edge:east"}},
        "signals": signals,
        "boards": {"harbour": {"plan": "harbour.layout.json"}},
        "joins": [{"a": ":east", "b": "harbour:town"}],
        **more,
    }


def alone(plan: Plan) -> Report:
    report = check(json.dumps(plan, indent=1))
    assert report.fault is None, report.findings
    return report


def together(plan: Plan, board: Plan = HARBOUR) -> Report:
    return checked(plan, {"harbour.layout.json": board})


def said(report: Report) -> list[str]:
    return [finding.rule for finding in report.findings]


# --- the board alone


def test_a_board_whose_home_stands_on_the_next_one_holds_alone() -> None:
    report = alone(HARBOUR)
    assert report.holds is True
    assert report.findings == ()


@pytest.mark.parametrize("edges", [{}, {"town": {}}, {"town": {"held": False}}])
def test_it_does_not_hold_where_it_does_not_say_so(edges: Plan) -> None:
    report = alone(changed(HARBOUR, edges=edges))
    assert report.holds is False
    assert "unheld-exit" in said(report)


@pytest.mark.parametrize("signal", ["1", "2"])
def test_its_own_signals_are_needed_all_the_same(signal: str) -> None:
    plan = changed(HARBOUR)
    del plan["signals"][signal]
    report = alone(plan)
    assert report.holds is False
    assert meeting(spell_out(plan)[0]) is not None


def test_the_table_has_the_arm_of_the_neighbour_and_what_it_conflicts_with() -> None:
    table = alone(HARBOUR).table
    assert table is not None
    found = table.to_json()
    assert [arm["arm"] for arm in found["arms"]] == ["1", "2", "edge:town"]
    arm = found["arms"][2]
    assert (arm["signal"], arm["kind"]) == ("edge:town", "stop")
    assert [route["over"] for route in arm["routes"]] == [["line", "road-1"], ["line", "road-2"]]
    assert [conflict["arm"] for conflict in arm["conflicts"]] == ["1", "2"]
    assert [signal["signal"] for signal in found["signals"]] == ["1", "2"]
    leaving = found["arms"][0]["routes"][0]
    assert (leaving["over"], leaving["ends_at"]) == (["line"], "line")


def test_a_track_that_trains_leave_by_alone_is_as_before() -> None:
    """Test that a held edge changes nothing if no train enters there."""
    plan = changed(HARBOUR)
    plan["tracks"]["line"]["running"] = "up"
    assert alone(plan).table == alone(changed(plan, edges={})).table


def test_two_track_ends_at_one_edge_have_a_signal_each() -> None:
    plan = {
        "format": "trappoint-layout/1",
        "tracks": {
            "a": {"up": "edge:town", "down": "buffer", "stand": True},
            "b": {"up": "buffer", "down": "edge:town", "stand": True},
        },
        "signals": {
            "1": {"track": "a", "for": "up", "arms": [{"id": "1"}]},
            "2": {"track": "b", "for": "down", "arms": [{"id": "2"}]},
        },
        "edges": {"town": {"held": True}},
    }
    report = alone(plan)
    assert report.holds is True
    assert report.table is not None
    names = [arm.arm for arm in report.table.arms]
    assert names == ["1", "2", "edge:town", "edge:town.2"]
    leaves = report.table.arms[0]
    assert leaves.routes[0].over == ()
    assert leaves.routes[0].ends_at == "edge:town"
    assert leaves.meaning == "Gives leave to run from a off the plan at edge:town."
    spelled, known = spell_out(plan)
    assert sorted(known) == ["edge:town", "edge:town.2"]
    assert meeting(spelled) is None


def test_a_running_session_comes_on_and_leaves_there() -> None:
    moves = [
        {"train": "local", "from": "edge:town", "to": "B"},
        {"train": "mail", "to": "edge:town"},
        {"train": "local", "to": "edge:town", "arm": "2"},
    ]
    session = {"trains": {"road-1": "mail"}, "moves": moves}
    assert said(alone(changed(HARBOUR, sessions={"day": session}))) == []
    session = {"trains": {"road-2": "mail"}, "moves": moves[:1]}
    assert said(alone(changed(HARBOUR, sessions={"day": session}))) == ["session-cannot-be-made"]


# --- names of entries


def test_an_entry_for_no_edge_is_found_with_the_nearest_name() -> None:
    report = alone(changed(HARBOUR, edges={"twon": {"held": True}}))
    (finding,) = report.findings
    assert (finding.rule, finding.pointer) == ("unknown-reference", "/edges/twon")
    assert finding.at_key
    assert finding.instead == '"town"'
    assert "edge:twon" in finding.message
    assert "Write town" in finding.fix


def test_a_joined_edge_is_no_edge_for_the_plan_that_joins_it() -> None:
    report = together(whole(HOME, edges={"moors": {"held": True}}))
    assert [(f.rule, f.pointer, f.file) for f in report.findings] == [
        ("unknown-reference", "/edges/moors", "")
    ]


# --- in the whole


def test_the_whole_holds_where_the_neighbour_has_the_signal() -> None:
    report = together(whole(HOME))
    assert report.holds is True
    assert said(report) == []
    assert report.table is not None
    assert [arm.arm for arm in report.table.arms] == ["5L", "5R", "harbour/1", "harbour/2"]


def test_the_whole_says_where_the_neighbour_has_none() -> None:
    report = together(whole({}))
    assert report.holds is False
    (finding,) = [f for f in report.findings if f.rule == "edge-not-held"]
    assert (finding.file, finding.pointer) == ("harbour.layout.json", "/edges/town")
    assert finding.whole == "/edges/harbour~1town"
    assert finding.level == "error"
    assert "from west" in finding.message
    assert finding.path == ("town", "west", "harbour/line")


def test_a_board_that_is_turned_round_is_kept_to_its_word_too() -> None:
    boards = {"harbour": {"plan": "harbour.layout.json", "reversed": True}}
    tracks = {"west": {"up": "edge:east", "down": "edge:moor"}}
    turned = whole({}, tracks=tracks, boards=boards)
    assert "edge-not-held" in said(together(turned))
    home = copy.deepcopy(HOME)
    home["5"]["for"] = "up"
    assert said(together({**turned, "signals": home})) == []


def test_a_signal_of_the_boards_own_does_not_keep_the_promise() -> None:
    """Test a board that holds its trains itself but promises that the neighbour does."""
    board = changed(HARBOUR)
    board["signals"]["3"] = {
        "track": "line",
        "for": "down",
        "arms": [{"id": "3L", "to": "road-1"}, {"id": "3R", "to": "road-2"}],
    }
    found = together(whole({}), board)
    assert found.holds is True
    assert "edge-not-held" in said(found)
    # A signal farther out also holds trains: only its route leads over the joint.
    tracks = {"moor": {"up": "edge:moor", "down": "joint:1"}, "west": {"up": "joint:1"}}
    tracks["west"]["down"] = "edge:east"
    far = {"5": {"track": "moor", "for": "down", "arms": [{"id": "5"}]}}
    assert "edge-not-held" not in said(together(whole(far, tracks=tracks), board))


def test_a_shunt_signal_alone_does_not_keep_the_promise() -> None:
    disc = {
        "5": {
            "track": "west",
            "for": "down",
            "form": "disc",
            "arms": [{"id": "5", "kind": "shunt"}],
        }
    }
    report = together(whole(disc))
    assert report.holds is True
    assert said(report).count("edge-not-held") == 1
    disc["5"]["arms"].append({"id": "5S", "kind": "stop"})
    assert "edge-not-held" not in said(together(whole(disc)))


def test_where_nothing_can_come_on_nothing_need_be_held() -> None:
    board = changed(HARBOUR)
    board["tracks"]["line"]["running"] = "up"
    assert "edge-not-held" not in said(together(whole({}), board))
    tracks = {"west": {"up": "edge:moor", "down": "edge:east", "running": "up"}}
    assert "edge-not-held" not in said(together(whole({}, tracks=tracks)))


def test_an_edge_that_stays_an_edge_comes_along() -> None:
    plan = {
        "format": "trappoint-layout/1",
        "tracks": {},
        "boards": {"harbour": {"plan": "harbour.layout.json"}},
    }
    report = together(plan)
    assert report.holds is True
    assert report.table is not None
    assert report.table.arms[-1].arm == "edge:harbour/town"
    # An entry of the whole overrides that of the board.
    assert together({**plan, "edges": {"harbour/town": {"held": False}}}).holds is False
    quiet = changed(HARBOUR, edges={})
    assert together(plan, quiet).holds is False
    assert together({**plan, "edges": {"harbour/town": {"held": True}}}, quiet).holds is True


def test_what_a_plan_says_of_its_boards_edge_is_its_own_word() -> None:
    """Test an entry in the middle plan for its board's edge, which the outer plan joins."""
    station = {
        "format": "trappoint-layout/1",
        "tracks": {},
        "boards": {"quay": {"plan": "quay.layout.json"}},
        "edges": {"quay/town": {"held": True}},
    }
    boards = {"harbour.layout.json": station, "quay.layout.json": changed(HARBOUR, edges={})}
    plan = whole({}, joins=[{"a": ":east", "b": "harbour:quay/town"}])
    report = check(json.dumps(plan), name="whole.layout.json", files=at_hand(boards))
    (finding,) = [f for f in report.findings if f.rule == "edge-not-held"]
    assert (finding.file, finding.pointer) == ("harbour.layout.json", "/edges/quay~1town")
    assert finding.line > 0
    kept = {**plan, "signals": {"5": {**HOME["5"], "arms": [
        {"id": "5L", "to": "harbour/quay/road-1"}, {"id": "5R", "to": "harbour/quay/road-2"},
    ]}}}  # fmt: skip
    assert said(check(json.dumps(kept), files=at_hand(boards))) == []


# --- the neighbour's signal is not drawn, counted or proposed


def test_the_drawing_and_the_parts_are_those_of_the_plan_as_written() -> None:
    held, bare = alone(HARBOUR), alone(changed(HARBOUR, edges={}))
    assert held.layout is not None
    assert bare.layout is not None
    assert list(held.layout.tracks) == list(HARBOUR["tracks"])
    assert list(held.layout.signals) == list(HARBOUR["signals"])
    assert draw(held.layout).svg() == draw(bare.layout).svg()
    assert demand_of([("", held.layout)]) == demand_of([("", bare.layout)])


COMMANDS = (
    ("check", "--format", "json"),
    ("check", "--format", "sarif"),
    ("table", "--format", "json"),
    ("table", "--format", "html"),
    ("dimensions",),
    ("draw",),
    ("chart",),
    ("fitting",),
    ("tidy", "--check", "--explicit"),
    ("tidy", "--check", "--short"),
)


@pytest.mark.parametrize("seed", [1, 4, 6, 9])
def test_every_command_can_be_used(
    seed: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    plan = random_held(seed)
    assert plan is not None
    held, bare = tmp_path / "held.layout.json", tmp_path / "bare.layout.json"
    held.write_text(json.dumps(plan), "utf-8")
    bare.write_text(json.dumps({**plan, "edges": {}}), "utf-8")
    for command in COMMANDS:
        assert main([*command, str(held)]) in (0, 1), command
    assert main(["compare", str(held), str(bare)]) in (0, 1)
    assert main(["compare", str(bare), str(held)]) in (0, 1)
    assert "fault" not in capsys.readouterr().err


def test_signals_are_proposed_for_the_board_alone() -> None:
    proposal = propose(json.dumps(changed(HARBOUR, signals={})), seconds=20)
    (draft,) = proposal.drafts
    assert draft.report.holds is True
    assert (draft.signals, draft.arms, draft.least) == (2, 2, True)
    written = json.loads(draft.text)
    assert {signal["track"] for signal in written["signals"].values()} == {"road-1", "road-2"}
    assert written["edges"] == HARBOUR["edges"]


# --- random plans


def random_held(seed: int) -> Plan | None:
    """Return a random plan with held edges, many without a home signal; None if none is held."""
    rng = random.Random(seed)
    plan = random_plan(rng)
    held: Plan = {}
    for name, track in plan["tracks"].items():
        for end, onward in (("up", "down"), ("down", "up")):
            if track[end].startswith("edge:") and rng.random() < 0.7:
                held[track[end][5:]] = {"held": True}
                if rng.random() < 0.7:
                    _take_away_the_home(plan, name, onward)
    return {**plan, "edges": held} if held else None


def _take_away_the_home(plan: Plan, track: str, heading: str) -> None:
    for name, signal in list(plan["signals"].items()):
        if {(arm.get("track", signal["track"]), arm.get("for", signal["for"]))
            for arm in signal["arms"]} == {(track, heading)}:  # fmt: skip
            del plan["signals"][name]


def stands_in(document: Any, pointer: str) -> bool:
    """Return whether a JSON pointer leads to a value in a document."""
    for part in pointer.split("/")[1:]:
        key = part.replace("~1", "/").replace("~0", "~")
        if isinstance(document, dict) and key in document:
            document = document[key]
        elif isinstance(document, list) and key.isdigit() and int(key) < len(document):
            document = document[int(key)]
        else:
            # A single name may be written for a list of one: /0 then points to the text.
            return isinstance(document, str) and key == "0"
    return True


@pytest.mark.parametrize("batch", range(amount(1, long=40)))
def test_random_plans_are_judged_as_what_they_stand_for(batch: int) -> None:
    verdicts: Counter[tuple[bool | None, bool]] = Counter()
    seed, count = 10_000 * (batch + 1), 0
    while count < 50:
        seed += 1
        plan = random_held(seed)
        if plan is None:
            continue
        count += 1
        report = alone(plan)
        spelled, names = spell_out(plan)
        found = meeting(spelled)
        assert report.holds is (found is None), seed
        for finding in report.findings:
            assert stands_in(plan, finding.pointer), (seed, finding)
            if finding.movement is not None:
                replay(spelled, renamed(finding.movement.to_json(), names))
        assert_same_routes(report, spelled, names)
        verdicts[report.holds, alone({**plan, "edges": {}}).holds is True] += 1
    # Held edges change the verdict of many plans.
    assert verdicts[True, False] > 3
    assert verdicts[False, False] > 3
    assert verdicts[True, True] > 1


def assert_same_routes(report: Report, spelled: Plan, names: dict[str, str]) -> None:
    """Assert that all routes run over the expected places, also from the neighbour's signals."""
    assert report.facts is not None
    network, found = report.facts.network, dict[str, list[list[str]]]()
    for route in report.facts.routes.all:
        signal = network.heads[route.head].signal
        over = [network.place(state).name for state in route.path]
        found.setdefault(signal, []).append(over)
    expected = routes_of(spelled)
    for signal, routes in found.items():
        assert sorted(renamed(routes, names)) == expected[names.get(signal, signal)]
    assert {names.get(signal, signal) for signal in found} == {s for s, r in expected.items() if r}
