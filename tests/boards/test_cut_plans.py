"""A plan cut at its joints and put together again means the same as before."""

from __future__ import annotations

import json
import random
import re
from collections import Counter
from typing import Any

import pytest

from amount import amount
from boards.cutting import BOARDS, Cut, back, cut
from boards.wholes import as_one, at_hand, checked
from oracle.features import ALL, features
from oracle.plans import large_plan, random_plan
from oracle.two_trains import meeting
from properties.changes import all_on_their_tracks, with_lengths
from properties.test_unchanged import report_on, said_of
from trappoint import FilesAtHand, Finding, Report

Plan = dict[str, Any]

BATCH = 100
BATCHES = range(amount(1, long=20))


def drawn(batch: int) -> list[tuple[str, Plan]]:
    seeds = range(batch * BATCH, (batch + 1) * BATCH)
    found = [(f"random {seed}", random_plan(random.Random(seed), (2, 6))) for seed in seeds]
    found.append((f"large {batch}", large_plan(random.Random(batch), points=15)))
    for name, plan in found:
        rng = random.Random(name)
        for track in plan["tracks"].values():
            track["gradient_percent"] = rng.randint(-3, 3)
        if rng.random() < 0.3:
            track.update(radius_mm=rng.randrange(400, 2000), curve=rng.choice(("left", "right")))
    return found


def cuts(batch: int, *, turn: bool) -> list[tuple[str, Plan, Cut]]:
    """Return the names, plans and cuts of a batch, without the plans that cannot be cut."""
    found = []
    for name, given in drawn(batch):
        plan = with_lengths(given)
        if not all_on_their_tracks(plan):
            continue
        parts = cut(random.Random(name), plan, turn=turn)
        if parts is not None:
            found.append((name, plan, parts))
    assert len(found) > BATCH // 4
    return found


def as_before(report: Report) -> Report:
    """Return the report with places in the whole and with the ids from before the cut.

    The order of boards decides the number of a list of `worked_together`: it is left out.
    """

    def told(finding: Finding) -> Finding:
        place = re.sub(r"^/worked_together/\d+", "/worked_together", finding.place)
        return finding._replace(pointer=back(place))

    return report._replace(
        findings=tuple(map(told, report.findings)),
        accepted=tuple(map(told, report.accepted)),
    )


def table_of(report: Report) -> dict[str, Any] | None:
    """Return the locking table with the ids from before the cut, in sorted order, or None.

    A condition may name any points in which the routes differ, so only its presence is compared.
    """
    if report.table is None:
        return None
    told = json.loads(back(json.dumps(report.table.to_json())))
    for entry in told["arms"]:
        for other in entry["conflicts"]:
            other["when"] = bool(other.get("when"))
        entry["conflicts"] = list({json.dumps(c): c for c in entry["conflicts"]}.values())
    return {
        "arms": {
            entry["arm"]: (
                entry["signal"],
                entry["kind"],
                sorted(json.dumps(route, sort_keys=True) for route in entry["routes"]),
                sorted(json.dumps(other, sort_keys=True) for other in entry["conflicts"]),
            )
            for entry in told["arms"]
        },
        "pairs": told["pairs"],
    }


def test_every_kind_of_element_is_in_plans_that_are_cut() -> None:
    seen = Counter(
        kind
        for batch in BATCHES
        for _, plan, _ in cuts(batch, turn=False)
        for kind in features({"signals": {}, **plan})
    )
    assert {kind for kind in ALL if seen[kind] < 8 * len(BATCHES)} == set()


@pytest.mark.parametrize("turn", [False, True], ids=["as it was", "one board turned round"])
@pytest.mark.parametrize("batch", BATCHES)
def test_the_same_as_before_it_was_cut(batch: int, turn: bool) -> None:
    """Test the verdict, the findings and their places, the routes and the conflicts."""
    verdicts: Counter[bool | None] = Counter()
    for name, plan, parts in cuts(batch, turn=turn):
        before, after = report_on(plan), checked(parts.whole, parts.boards)
        assert after.holds is before.holds, name
        assert said_of(plan, as_before(after)) == said_of(plan, as_before(before)), name
        assert table_of(after) == table_of(before), name
        verdicts[after.holds] += 1
    assert min(verdicts[True], verdicts[False]) > 5


@pytest.mark.parametrize("batch", BATCHES)
def test_the_two_trains_meet_or_do_not(batch: int) -> None:
    """Test that a search with two trains through the assembled plan has the same verdict."""
    for name, _, parts in cuts(batch, turn=bool(batch % 2)):
        report = checked(parts.whole, parts.boards)
        found = meeting(as_one(parts.whole, at_hand(parts.boards)))
        assert report.holds is (found is None), name


def test_a_board_turned_round_twice_stands_as_it_was() -> None:
    """Test a reversed board that is written the other way round, and a board reversed twice.

    The second is a reversed board of a reversed board.
    """
    straight = {name: parts for name, _, parts in cuts(0, turn=False)}
    for name, _, turned in cuts(0, turn=True):
        parts = straight[name]
        whole = as_one(parts.whole, at_hand(parts.boards))
        assert turned.boards != parts.boards
        again = as_one(turned.whole, at_hand(turned.boards))
        assert again | {"boards": {}} == whole | {"boards": {}}, name
        twice, never = (as_one(*nested(parts, once=turn, again=turn)) for turn in (True, False))
        assert twice | {"boards": {}} == never | {"boards": {}}, name


def nested(parts: Cut, *, once: bool, again: bool) -> tuple[Plan, FilesAtHand]:
    """Return the whole with its second board inside another, and the files of its boards.

    ``once`` reverses the outer board, ``again`` the inner one.
    """
    first, second = (f"{board}.layout.json" for board in BOARDS)
    shelf = {
        "format": "trappoint-layout/1",
        "tracks": {},
        "boards": {"inner": {"plan": second} | ({"reversed": True} if again else {})},
    }
    joins = [{"a": j["a"], "b": j["b"].replace(":", ":inner/")} for j in parts.whole["joins"]]
    boards = {
        BOARDS[0]: {"plan": first},
        BOARDS[1]: {"plan": "shelf.layout.json"} | ({"reversed": True} if once else {}),
    }
    text = json.dumps(parts.whole).replace(f"{BOARDS[1]}/", f"{BOARDS[1]}/inner/")
    whole = json.loads(text) | {"boards": boards, "joins": joins}
    return whole, at_hand({**parts.boards, "shelf.layout.json": shelf})
