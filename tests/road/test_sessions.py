"""Sessions against a railway worked by hand; other orders against trying all of them."""

from __future__ import annotations

import json
import random
from itertools import permutations
from pathlib import Path
from typing import Any

import pytest

from amount import amount
from commands.in_process import trappoint
from commands.running import plan as kelpie
from dimensions.back import with_lengths
from oracle.ground import Ground
from oracle.plans import random_plan
from road.brute import Walker, shortest
from road.railway import Railway
from road.test_against_search import facts_of
from trappoint.checking.check import check_content
from trappoint.operation.session_sheet import write_sheet
from trappoint.operation.sessions import work_sessions

EXPECTED = Path(__file__).parent / "expected"
Move = dict[str, str]


def worked_by_hand(
    walker: Walker,
    trains: dict[str, str],
    moves: list[Move],
    order: tuple[int, ...],
    lengths: dict[str, int],
) -> int:
    """Return the number of possible movements in this order, from the definitions alone."""
    at = dict(trains)
    for count, number in enumerate(order):
        move = moves[number]
        others = {place for train, place in at.items() if train != move["train"]}
        if at[move["train"]] == move["to"]:
            return count
        length = lengths.get(move["train"])
        if shortest(walker, at[move["train"]], move["to"], others, length) is None:
            return count
        at[move["train"]] = move["to"]
    return len(order)


def orders_of(moves: list[Move]) -> list[tuple[int, ...]]:
    """Return all orders in which each train keeps its own order, the nearest first."""
    return [
        order
        for order in permutations(range(len(moves)))
        if all(
            a < b or moves[a]["train"] != moves[b]["train"]
            for at, a in enumerate(order)
            for b in order[at + 1 :]
        )
    ]


def a_session(
    rng: random.Random, walker: Walker, stands: list[str], lengths: dict[str, int]
) -> tuple[dict[str, str], list[Move]]:
    """Return two or three trains and a few movements, most of them possible in this order.

    Half of the lists are shuffled.
    """
    trains = {f"t{number}": place for number, place in enumerate(rng.sample(stands, 2))}
    at, moves = dict(trains), list[Move]()
    for _ in range(rng.randint(2, 5)):
        train = rng.choice(list(trains))
        others = {place for other, place in at.items() if other != train}
        length = lengths.get(train) if rng.random() < 0.8 else None
        costs = {place: shortest(walker, at[train], place, others, length) for place in stands}
        near = [place for place, cost in costs.items() if cost and place != at[train]]
        if not near and moves:
            continue
        to = rng.choice(near if near and rng.random() < 0.95 else stands)
        moves.append({"train": train, "to": to})
        if to in near:
            at[train] = to
    if rng.random() < 0.5:
        rng.shuffle(moves)
    return trains, moves


def test_random_sessions() -> None:
    whole = stuck = too_long = reordered = standstills = 0
    for seed in range(amount(130, long=5000)):
        rng = random.Random(seed)
        plan = random_plan(rng, elements=(1, 5), flaws=0)
        lengths = {train: rng.randrange(50, 900, 10) for train in ("t0", "t1")} if seed % 3 else {}
        plan["trains"] = {
            train: {"length_mm": lengths[train]} if lengths else {} for train in ("t0", "t1")
        }
        if lengths:
            with_lengths(rng, plan)
        # A session names tracks, and so no part of a track that signals divide.
        stands = [place for place in Ground(plan).stands if "." not in place and ":" not in place]
        if len(stands) < 3:
            continue
        walker = Walker(plan, lengths=bool(lengths))
        trains, moves = a_session(rng, walker, stands, lengths)
        standing = {place: train for train, place in trains.items()}
        plan["sessions"] = {"s": {"trains": standing, "moves": moves}}
        facts = facts_of(plan)
        (worked,) = work_sessions(facts)
        count = worked_by_hand(walker, trains, moves, tuple(range(len(moves))), lengths)
        assert len(worked.made) == count, seed
        if worked.stuck is None:
            assert count == len(moves)
            whole += 1
        else:
            assert worked.stuck.number == count
            stuck += 1
            too_long += worked.stuck.why == "too-long"
        if worked.stuck is not None and worked.stuck.why == "blocked":
            assert worked.decided
            can = [o for o in orders_of(moves)
                   if worked_by_hand(walker, trains, moves, o, lengths) == len(moves)]  # fmt: skip
            found = tuple(made.number for made in worked.order or ())
            assert found == (can[0] if can else ()), seed
            reordered += bool(can)
            standstills += worked.standstill
        sheet = write_sheet(facts, worked, other_order=True)
        railway = Railway(plan, trains)
        for entry in sheet.to_json()["movements"]:
            railway.work(entry)  # refuses forbidden steps
    assert min(whole, stuck) > 20
    assert too_long > 5
    assert min(reordered, standstills) > 1


EVENING: dict[str, Any] = {
    "name": "An evening at the quay",
    "trains": {"main": "goods", "siding": True},
    "moves": [
        {"train": "local", "from": "edge:town", "to": "B", "note": "The 6.15."},
        {"train": "goods", "to": "edge:quarry"},
        {"train": "local", "to": "quarry-line", "arm": "4R"},
        {"train": "local", "from": "quarry-line", "to": "town-line", "via": ["main"]},
    ],
}
TRAINS: dict[str, Any] = {"local": {}, "goods": {}}


def evening(*moves: Any, **changes: Any) -> str:
    session = EVENING | changes | ({"moves": list(moves)} if moves else {})
    return kelpie(trains=TRAINS, sessions={"evening": session})


@pytest.mark.parametrize("form", ["text", "markdown", "html", "json"])
def test_the_sheet_whole(form: str, rewrite: bool) -> None:
    done = trappoint("session", "-", "--format", form, given=evening().encode())
    assert (done.returncode, done.stderr) == (0, "")
    golden = EXPECTED / f"evening.{form}"
    if rewrite:
        golden.write_text(done.stdout, "utf-8")
    assert done.stdout == golden.read_text("utf-8")


def test_sheets_and_findings_have_names() -> None:
    plan = json.loads(evening())
    plan["tracks"]["loop-west"]["name"] = "Goods loop"
    plan["trains"]["local"]["name"] = "The Quay local"
    plan["signals"]["1"]["name"] = "Town home"
    told = " ".join(trappoint("session", "-", given=json.dumps(plan).encode()).stdout.split())
    assert (
        "The Quay local (local) comes in at edge:town, and runs from town-line to Goods loop "
        "(loop-west)" in told
    )
    assert "Take Town home (1L) off." in told
    plan["sessions"]["evening"]["moves"] = [{"train": "local", "to": "A"}]
    (found,) = check_content(json.dumps(plan), "evening").findings
    assert found.message == "Movement 1: The Quay local (local) is not on the plan."


def test_another_order_is_printed(rewrite: bool) -> None:
    text = evening(
        {"train": "local", "from": "edge:town", "to": "A"}, {"train": "goods", "to": "edge:quarry"}
    )
    done = trappoint("session", "-", "evening", given=text.encode())
    assert done.returncode == 1
    assert "All movements are possible in this order: 2, 1." in done.stdout
    done = trappoint("session", "-", "evening", "--other-order", given=text.encode())
    assert done.returncode == 0
    golden = EXPECTED / "other-order.txt"
    if rewrite:
        golden.write_text(done.stdout, "utf-8")
    assert done.stdout == golden.read_text("utf-8")


@pytest.mark.parametrize(
    ("moves", "said"),
    [
        ([{"train": "local", "to": "A"}], "local is not on the plan."),
        ([{"train": "goods", "from": "B", "to": "quarry-line"}], "is in main, not in B."),
        ([{"train": "goods", "to": "A"}], "goods is in A already."),
        ([{"train": "goods", "to": "loop-east"}], "No train may stand in loop-east"),
        ([{"train": "goods", "to": "siding"}], "is in the way at siding"),
        ([{"train": "goods", "to": "quarry-line", "arm": "7R"}], ""),
        ([{"train": "local", "from": "edge:quarry", "to": "B"},
          {"train": "local", "from": "quarry-line", "to": "B"}], "is in loop-west, not in"),
        ([{"train": "goods", "to": "edge:town"}, {"train": "goods", "to": "B"}], "not on the plan"),
        ([{"train": "goods", "to": "town-line"},
          {"train": "local", "from": "edge:town", "to": "B"}],
         "local cannot come in at edge:town: goods is in the way at town-line."),
    ],
)  # fmt: skip
def test_the_findings_of_the_check(moves: list[Move], said: str) -> None:
    report = check_content(evening(*moves), "evening")
    found = [finding for finding in report.findings if finding.rule.startswith("session-")]
    if not said:
        assert not found
        return
    assert said in found[0].message
    assert found[0].pointer.startswith(f"/sessions/evening/moves/{len(moves) - 1}")
    assert report.holds is True


def test_unknown_names_in_a_session() -> None:
    moves = [{"train": "lokal", "to": "mane", "from": "edge:twon", "via": "x", "arm": "9Z"}]
    report = check_content(evening(*moves), "evening")
    assert {(f.rule, f.path) for f in report.findings} == {
        ("unknown-reference", (name,)) for name in ("lokal", "mane", "edge:twon", "x", "9Z")
    }


def test_unknown_sessions() -> None:
    done = trappoint("session", "-", given=kelpie().encode())
    assert (done.returncode, done.stdout) == (2, "")
    assert "no sessions" in done.stderr
    done = trappoint("session", "-", "evenin", given=evening().encode())
    assert done.returncode == 2
    assert "Is evening meant?" in done.stderr


def test_a_session_of_a_board_is_worked_on_the_whole(tmp_path: Path) -> None:
    (tmp_path / "quay.layout.json").write_text(evening(), "utf-8")
    whole = {
        "format": "trappoint-layout/1",
        "tracks": {},
        "boards": {"quay": {"plan": "quay.layout.json"}},
    }
    file = tmp_path / "whole.layout.json"
    file.write_text(json.dumps(whole), "utf-8")
    done = trappoint("session", file, "--format", "json")
    assert done.returncode == 0, done.stderr
    (session,) = json.loads(done.stdout)["sessions"]
    assert session["session"] == "quay/evening"
    assert [move["to"] for move in session["movements"]] == [
        f"quay/{track}" for track in ("loop-west", "quarry-line", "quarry-line", "town-line")
    ]


def test_comparing_and_merging_know_sessions(tmp_path: Path) -> None:
    old, new = tmp_path / "old.layout.json", tmp_path / "new.layout.json"
    old.write_text(evening(), "utf-8")
    moves = [{**EVENING["moves"][0], "to": "A"}, *EVENING["moves"][1:]]
    new.write_text(evening(*moves), "utf-8")
    done = trappoint("compare", old, new)
    told = " ".join(done.stdout.split())
    assert "An evening at the quay (evening): moves: now local from edge town to A" in told
    assert "session-cannot-be-made" in done.stdout  # it is new: goods stands in main
    done = trappoint("merge", old, old, new)
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize(
    ("moves", "said"),
    [
        (
            [{"train": "goods", "to": "siding"}],
            "No order makes all of these movements possible.",
        ),
        (
            [{"train": "local", "to": "A"}],
            "Correct this movement first; the movements after it were not tried.",
        ),
    ],
)
def test_how_the_sheet_of_an_impossible_session_ends(moves: list[Move], said: str) -> None:
    done = trappoint("session", "-", given=evening(*moves).encode())
    assert done.returncode == 1
    assert said in done.stdout
