"""Trains that do not fit: they get another road, or a refusal in words."""

from __future__ import annotations

import json
from typing import Any

import pytest

from commands.in_process import trappoint
from rules.plans import example_text, patched
from trappoint.checking.check import check_content
from trappoint.facts.facts import Facts
from trappoint.operation.road import Asked, Road, set_road
from trappoint.operation.sessions import SessionResult

Plan = dict[str, Any]


def kelpie(*patches: Plan) -> Plan:
    plan: Any = json.loads(example_text({}))
    for patch in patches:
        plan = patched(plan, patch)
    return dict(plan)


def lengths(**tracks: float) -> Plan:
    return {"tracks": {name.replace("_", "-"): {"length_mm": mm} for name, mm in tracks.items()}}


def facts_of(plan: Plan) -> Facts:
    facts = check_content(json.dumps(plan), "plan").facts
    assert facts is not None
    return facts


def road(length: float | None, start: str, to: str, *patches: Plan, **others: str) -> Road:
    """Return the road of a train of this length; each other train is 500 mm long."""
    trains: Plan = {"goods": {} if length is None else {"length_mm": length}}
    trains |= {name: {"length_mm": 500} for name in others}
    where = {start: "goods"} | {track: name for name, track in others.items()}
    scene = {"trains": trains, "scenes": {"now": {"trains": where}}}
    return set_road(facts_of(kelpie(*patches, scene)), Asked(start, to, scene="now"))


def over(found: Road) -> list[str]:
    return [place for stage in found.orders[-1].stages for place in stage.over]


def session(length: float, *moves: dict[str, str], patch: Plan | None = None) -> SessionResult:
    (worked,) = facts_of(kelpie(patch or {}, evening(length, *moves))).sessions
    return worked


def evening(length: float, *moves: dict[str, str]) -> Plan:
    return {
        "trains": {"goods": {"length_mm": length}},
        "sessions": {"evening": {"trains": {"town-line": "goods"}, "moves": list(moves)}},
    }


# --- roads


def test_a_train_that_fits_takes_the_shortest_road() -> None:
    assert over(road(1450, "town-line", "quarry-line")) == ["p1", "main", "p2", "quarry-line"]


def test_a_stand_that_is_too_short_is_refused() -> None:
    found = road(2400, "town-line", "B", lengths(loop_west=300))
    assert (found.outcome, found.orders) == ("too-long", ())
    assert found.too_long is not None
    assert (
        found.too_long.tell(found.called)
        == "goods is 2,400 mm long; loop-west has room for 300 mm."
    )
    assert road(300, "town-line", "B", lengths(loop_west=300)).outcome == "free"
    assert road(300.5, "town-line", "B", lengths(loop_west=300)).outcome == "too-long"


def test_a_signal_on_the_way_that_would_hold_it_where_it_does_not_fit() -> None:
    found = road(1451, "town-line", "quarry-line")
    assert found.outcome == "too-long"
    assert found.too_long == ("goods", 1451, "main", 1450)
    assert found.comes_to == ()


def test_another_road_is_found() -> None:
    short_main = lengths(main=500, loop_west=1200)
    found = road(1000, "town-line", "quarry-line", short_main)
    assert over(found) == ["p1", "loop-west", "p3", "loop-east", "p2", "quarry-line"]
    # The shorter one is among the other roads, with the reason.
    assert [(other.over[1], other.too_long) for other in found.others] == [
        ("main", ("goods", 1000, "main", 500))
    ]
    assert over(road(400, "town-line", "quarry-line", short_main))[1] == "main"


def test_another_stand_is_found() -> None:
    island: Plan = {"platforms": {"A": {"tracks": ["loop-west", "main"]}}}
    assert over(road(800, "town-line", "A", island))[-1] == "loop-west"
    assert over(road(1000, "town-line", "A", island))[-1] == "main"
    assert road(1500, "town-line", "A", island).outcome == "too-long"


def test_the_heading_of_a_train_can_matter() -> None:
    # The fouling place at p1 takes 177 mm of loop-west; the toe of p3 takes nothing.
    foul: Plan = {"spacing_mm": 46, "points": {"p1": {"crossing_number": 6, "leg_mm": 100}}}
    straight_in = road(723, "town-line", "B", foul)
    assert (straight_in.orders[-1].stops, over(straight_in)) == (0, ["p1", "loop-west"])
    # A longer train runs through to the quarry line and sets back.
    and_back = road(800, "town-line", "B", foul)
    assert (and_back.orders[-1].stops, over(and_back)[1]) == (1, "main")
    one_way: Plan = {"tracks": {"loop-west": {"running": "down"}}, "signals": {"5": None}}
    assert road(800, "town-line", "B", foul, one_way).outcome == "too-long"


def test_unknown_lengths_are_not_refused() -> None:
    assert road(None, "town-line", "B", lengths(loop_west=300)).outcome == "free"
    assert road(9000, "main", "quarry-line").outcome == "free"
    # Without signal 5 the place from which p1 is clear is unknown: the train may fit.
    bare: Plan = {"signals": {"5": None}, "tracks": {"loop-west": {"running": "down"}}}
    angle: Plan = {"spacing_mm": 46, "points": {"p1": {"crossing_number": 6}}}
    assert road(900, "town-line", "B", bare, angle).outcome == "free"
    assert road(901, "town-line", "B", bare, angle).outcome == "too-long"


def test_beyond_an_edge_there_is_room() -> None:
    short = lengths(town_line=400, quarry_line=400)
    assert road(1400, "main", "edge:quarry", short).outcome == "free"
    assert road(1400, "main", "quarry-line", short).outcome == "too-long"
    assert over(road(1400, "town-line", "A", short)) == ["p1", "main"]


def test_a_train_in_the_way_is_moved_only_to_where_it_fits() -> None:
    roomy = road(400, "siding", "A", rear="main")
    assert (roomy.outcome, roomy.first) == ("clear-first", ("rear",))
    short = lengths(town_line=450, quarry_line=450, loop_west=450, siding=450)
    assert road(400, "siding", "A", short, rear="main").outcome == "locked-up"


# --- sessions


@pytest.mark.parametrize(
    ("length", "move", "said"),
    [
        (2400, {"to": "B"}, "goods is 2,400 mm long; loop-west has room for 900 mm."),
        (
            2400,
            {"to": "quarry-line"},
            "goods is 2,400 mm long; main has room for 1,450 mm.",
        ),
        (
            1000,
            {"to": "quarry-line", "via": "loop-west"},
            "goods is 1,000 mm long; loop-west has room for 900 mm.",
        ),
        (700, {"to": "siding"}, "goods is 700 mm long; siding has room for 610 mm."),
        # It fits neither there nor on the way: the message names its goal.
        (1000, {"to": "siding"}, "goods is 1,000 mm long; siding has room for 610 mm."),
    ],
)
def test_a_session_refuses_what_does_not_fit(
    length: float, move: dict[str, str], said: str
) -> None:
    worked = session(length, {"train": "goods", **move})
    assert worked.stuck is not None
    assert (worked.stuck.why, worked.stuck.reason) == ("too-long", said)
    report = check_content(
        json.dumps(kelpie(evening(length, {"train": "goods", **move}))), "evening"
    )
    (found,) = (f for f in report.findings if f.rule == "session-cannot-be-made")
    way = f" over {move['via']}" if "via" in move else ""
    assert found.message == (
        f"Movement 1: goods cannot go from town-line to {move['to']}{way}: {said}"
    )
    assert found.fix == "Choose another goal, choose another road (`via`), or shorten the train."
    assert report.holds is True


def test_a_session_takes_another_road() -> None:
    worked = session(
        1000, {"train": "goods", "to": "quarry-line"}, patch=lengths(main=500, loop_west=1200)
    )
    assert worked.stuck is None
    (made,) = worked.made
    assert made.journey.cost == (0, 6, 2)
    short = session(
        400, {"train": "goods", "to": "quarry-line"}, patch=lengths(main=500, loop_west=1200)
    )
    assert short.made[0].journey.cost == (0, 4, 2)


def test_a_train_may_leave_and_come_on_that_is_longer_than_the_track_at_the_edge() -> None:
    there = {"train": "goods", "to": "edge:quarry"}
    back = {"train": "goods", "from": "edge:quarry", "to": "A"}
    worked = session(1400, there, back, patch=lengths(town_line=300, quarry_line=300))
    assert worked.stuck is None
    assert [made.leaves for made in worked.made] == [True, False]


def test_trains_in_the_way_come_before_lengths() -> None:
    moves = [{"train": "goods", "to": "A"}]
    patch: Plan = {"sessions": {"evening": {"trains": {"main": True}}}}
    (worked,) = facts_of(kelpie(evening(600, *moves), patch)).sessions
    assert worked.stuck is not None
    assert worked.stuck.why == "blocked"


# --- what is printed


def printed(length: float, to: str, *words: str) -> tuple[int, str]:
    scene: Plan = {
        "trains": {"goods": {"length_mm": length}},
        "scenes": {"now": {"trains": {"town-line": "goods"}}},
    }
    text = json.dumps(kelpie(scene, lengths(main=500, loop_west=1200)))
    done = trappoint("road", "-", "town-line", to, "--scene", "now", *words, given=text.encode())
    return done.returncode, " ".join(done.stdout.split())


def test_the_answer_in_words() -> None:
    code, text = printed(900, "A")
    assert code == 1
    assert (
        "No road from town-line to A has room for the train, even with no other train in the way: "
        "goods is 900 mm long; main has room for 500 mm. It can reach loop-west or "
        "quarry-line." in text
    )
    code, text = printed(900, "quarry-line", "--all")
    assert code == 0
    assert (
        "Over p1, main, p2 and quarry-line by 1R and 2; goods is 900 mm long; main has room for "
        "500 mm." in text
    )


def test_the_answer_as_json() -> None:
    code, text = printed(900, "A", "--format", "json")
    told = json.loads(text)
    assert (code, told["outcome"], told["orders"]) == (1, "too-long", [])
    assert told["too_long"] == {
        "train": "goods",
        "length_mm": 900,
        "place": "main",
        "takes_mm": 500,
    }
    _, text = printed(900, "quarry-line", "--format", "json")
    told = json.loads(text)
    assert told["too_long"] is None
    assert [other["too_long"]["place"] for other in told["others"]] == ["main"]


def test_a_sheet_ends_with_the_reason() -> None:
    text = json.dumps(kelpie(evening(2400, {"train": "goods", "to": "B"})))
    done = trappoint("session", "-", given=text.encode())
    told = " ".join(done.stdout.split())
    assert done.returncode == 1
    assert (
        "Movement 1: goods cannot go from town-line to B: goods is 2,400 mm long; "
        "loop-west has room for 900 mm. Correct this movement first" in told
    )
