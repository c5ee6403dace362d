"""Test the meets: boards that hold, and two wholes of these boards that hold."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

import trappoint
from boards.wholes import as_one
from examples.folder import MEETS, PLAN, TABLES, compare, names_in, printed_table, rows_under
from oracle.two_trains import meeting

WHOLES = names_in(MEETS)
BOARDS = names_in(MEETS / "boards")
EVERY = [*WHOLES, *(f"boards/{name}" for name in BOARDS)]


def path_of(name: str) -> Path:
    return MEETS / f"{name}{PLAN}"


def test_the_page_lists_every_one() -> None:
    rows = rows_under("Plans put together from boards")
    assert sorted(name.strip("`") for name, _ in rows) == sorted(f"nixie-vale/{n}" for n in EVERY)


def test_nothing_else_lies_in_the_folder() -> None:
    wanted = {path_of(name) for name in WHOLES} | {MEETS / "boards"}
    wanted |= {MEETS / f"{name}.table.{ending}" for name in WHOLES for ending in TABLES}
    assert set(MEETS.iterdir()) == wanted
    assert set((MEETS / "boards").iterdir()) == {path_of(f"boards/{name}") for name in BOARDS}


@pytest.mark.parametrize("name", EVERY)
def test_holds_and_is_silent(name: str) -> None:
    report = trappoint.check(path_of(name))
    assert report.holds is True
    assert report.findings == ()


@pytest.mark.parametrize("name", WHOLES)
def test_the_two_trains_never_meet(name: str) -> None:
    assert meeting(as_one(path_of(name))) is None


@pytest.mark.parametrize("ending", TABLES)
@pytest.mark.parametrize("name", WHOLES)
def test_its_table_is_as_printed(name: str, ending: str, rewrite: bool) -> None:
    text = printed_table(f"nixie-vale/{name}", TABLES[ending])
    compare(MEETS / f"{name}.table.{ending}", text, rewrite=rewrite)


@pytest.mark.parametrize("name", WHOLES)
def test_a_board_put_the_other_way_round_meets_its_neighbours_wrongly(name: str) -> None:
    """Turning a single board round makes an up end meet another up end."""
    plan = json.loads(path_of(name).read_text("utf-8"))
    files = trappoint.FilesOnDisk(str(MEETS))
    for board in plan["boards"]:
        other = json.loads(json.dumps(plan))
        other["boards"][board]["reversed"] = not plan["boards"][board].get("reversed", False)
        report = trappoint.check(json.dumps(other), files=files)
        assert report.holds is True
        found = [finding for finding in report.findings if finding.rule == "up-meets-up"]
        assert [finding.pointer for finding in found] == [f"/boards/{board}"]
        assert f"Board {board} is the wrong way round" in found[0].message
