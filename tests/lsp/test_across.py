"""Ids of boards in assembled plans, as pure functions with files on the disk."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path
from typing import Any

import pytest

from lsp.client import ROOT
from trappoint import check
from trappoint.lsp.cross_file_names import (
    NamedPlace,
    PlanChange,
    renamable_thing,
    rename_everywhere,
    thing_on_board,
    uses_everywhere,
)
from trappoint.lsp.names import LiveText
from trappoint.lsp.renaming import RefusedError
from trappoint.lsp.workspace import Shelf

VALE = ROOT / "examples" / "nixie-vale"
BROOK = "boards/brook-siding.layout.json"


@pytest.fixture
def club(tmp_path: Path) -> Path:
    shutil.copytree(VALE, tmp_path / "vale")
    (tmp_path / ".git").mkdir()
    return tmp_path / "vale"


def written(path: Path, plan: dict[str, Any]) -> Path:
    path.write_text(json.dumps(plan, indent=1), "utf-8")
    return path


def whole(**more: Any) -> dict[str, Any]:
    return {
        "format": "trappoint-layout/1",
        "title": "A meet",
        "tracks": {},
        "boards": {"east": {"plan": BROOK}},
        **more,
    }


NAMING = whole(
    platforms={"P": {"tracks": ["east/siding"]}},
    worked_together=[["east/p1", "east/p2"]],
    scenes={
        "s": {"points": {"east/p1": "reverse"}, "trains": {"east/siding": True}, "off": ["east/3"]}
    },
    accept=[
        {"rule": "siding-without-trap", "at": "/tracks/east~1siding/up", "because": "so it is"},
        {"rule": "siding-without-trap", "at": "east/p1", "because": "so it is"},
        {"rule": "siding-without-trap", "at": "/scenes/s/points/east~1p1", "because": "so it is"},
    ],
    sessions={
        "w": {
            "trains": {"east/siding": "t"},
            "moves": [{"train": "t", "from": "east/siding", "to": "edge:east/east"}],
        }
    },
    trains={"t": {}},
    joins=[{"a": "east:east", "b": "east:west"}],
)
"""Every form of a name on a board."""


def thing(club: Path, board: str, text: str, shelf: Shelf | None = None) -> NamedPlace:
    """Return the thing whose name follows the first quote of a text in a board's file."""
    shelf = shelf or Shelf({})
    sketch = shelf.sketch(str(club / board))
    assert sketch is not None
    found = renamable_thing(shelf, str(club / board), sketch, sketch.text.index(text) + 1)
    assert isinstance(found, NamedPlace), found
    return found


def renamed(changes: list[PlanChange]) -> dict[str, str]:
    """Return the texts after a change, by file name."""
    texts = {}
    for change in changes:
        text = change.sketch.text
        for edit in sorted(change.edits, reverse=True):
            text = text[: edit.start] + edit.text + text[edit.end :]
        texts[Path(change.path).name] = text
    return texts


@pytest.mark.parametrize(
    ("at", "old", "count"),
    [
        ('"siding": {', "siding", 5),
        ('"p1": {', "p1", 4),
        ('"3": {', "3", 0),
        ('"3", "never', "3", 1),
    ],
)
def test_every_form_in_which_a_board_is_named(club: Path, at: str, old: str, count: int) -> None:
    """Test against a search for the words after the board's id."""
    meet = written(club / "all.layout.json", NAMING)
    before = meet.read_text("utf-8")
    found = thing(club, BROOK, at)
    texts = renamed(rename_everywhere(Shelf({}), found, "fresh"))
    after = texts.get(meet.name, before)
    assert before.count(f"east/{old}") + before.count(f"east~1{old}") >= count
    assert after.count("east/fresh") + after.count("east~1fresh") == count
    expected = before
    if count:
        for way in ("east/", "east~1"):
            expected = expected.replace(f"{way}{old}", f"{way}fresh")
    assert after == expected


def test_an_edge_in_joins_and_sessions(club: Path) -> None:
    meet = written(club / "all.layout.json", NAMING)
    text = (club / BROOK).read_text("utf-8")
    shelf = Shelf({})
    sketch = LiveText(text)
    found = renamable_thing(shelf, str(club / BROOK), sketch, text.index("edge:east") + 6)
    assert isinstance(found, NamedPlace)
    texts = renamed(rename_everywhere(shelf, found, "orient"))
    data = json.loads(texts[meet.name])
    assert data["joins"] == [{"a": "east:orient", "b": "east:west"}]
    assert data["sessions"]["w"]["moves"][0]["to"] == "edge:east/orient"
    assert '"brook:orient"' in texts["spring.layout.json"]


def test_the_meets_hold_as_before_whatever_is_renamed(club: Path) -> None:
    """The verdict and the findings of each meet, before and after every id of a board."""
    meets = sorted(club.glob("*.layout.json"))
    before = {meet: check(meet) for meet in meets}
    assert all(report.holds for report in before.values())
    for board in sorted((club / "boards").glob("*.layout.json"))[:2]:
        first = board.read_text("utf-8")
        sketch = LiveText(first)
        for key, names in list(sketch.used.items()):
            if key[0] in ("rules", "legs", "joints") or not sketch.known(key):
                continue
            kept = {path: path.read_text("utf-8") for path in (board, *meets)}
            own = NamedPlace(str(board), sketch, names[0])
            new = "77" if key[0] == "levers" else "fresh"
            changes = rename_everywhere(Shelf({}), own, new)
            by_name = {path.name: path for path in kept}
            for name, text in renamed(changes).items():
                by_name[name].write_text(text, "utf-8")
            for meet in meets:
                after = check(meet)
                assert after.holds is before[meet].holds, (board.name, key)
                assert len(after.findings) == len(before[meet].findings), (key, after.findings)
            for path, text in kept.items():
                path.write_text(text, "utf-8")


def test_boards_of_boards_and_a_board_that_stands_twice(club: Path) -> None:
    inner = whole(scenes={"s": {"points": {"east/p1": "normal"}}})
    written(club / "pair.layout.json", inner)
    outer = {
        **whole(scenes={"s": {"points": dict.fromkeys(("a/east/p1", "b/p1", "c/p1"), "normal")}}),
        "boards": {
            "a": {"plan": "pair.layout.json"},
            "b": {"plan": BROOK},
            "c": {"plan": "boards/nixie-town.layout.json"},
        },
    }
    written(club / "outer.layout.json", outer)
    texts = renamed(rename_everywhere(Shelf({}), thing(club, BROOK, '"p1": {'), "fresh"))
    points = json.loads(texts["outer.layout.json"])["scenes"]["s"]["points"]
    assert list(points) == [
        "a/east/fresh",
        "b/fresh",
        "c/p1",
    ]  # on c another thing has the name
    assert list(json.loads(texts["pair.layout.json"])["scenes"]["s"]["points"]) == ["east/fresh"]
    # The board itself may be called otherwise in the plan between.
    texts = renamed(
        rename_everywhere(Shelf({}), thing(club, "pair.layout.json", '"east": {'), "orient")
    )
    assert set(texts) == {"pair.layout.json", "outer.layout.json"}
    points = json.loads(texts["outer.layout.json"])["scenes"]["s"]["points"]
    assert list(points) == ["a/orient/p1", "b/p1", "c/p1"]


def test_from_the_whole_the_board_is_changed(club: Path) -> None:
    meet = club / "spring.layout.json"
    text = meet.read_text("utf-8")
    at = text.index("town/S1") + 6
    found = renamable_thing(Shelf({}), str(meet), LiveText(text), at)
    assert isinstance(found, NamedPlace)
    assert Path(found.path).name == "nixie-town.layout.json"
    texts = renamed(rename_everywhere(Shelf({}), found, "S9"))
    assert '"off": ["town/S9"]' in texts[meet.name]
    assert '"id": "S9"' in texts["nixie-town.layout.json"]
    uses = uses_everywhere(Shelf({}), found)
    assert {Path(use.path).name for use in uses} == set(texts)
    for use in uses:
        assert {use.sketch.text[n.start : n.end] for n in use.names} == {"S1"}


def test_refused_where_a_whole_can_not_be_read(club: Path) -> None:
    meet = club / "autumn.layout.json"
    good = meet.read_text("utf-8")
    found = thing(club, BROOK, '"p1": {')
    for bad, where in (
        (good.replace('"boards": {', '"boards": {,'), "line 9, column 14"),
        (good.replace('"title"', '"titel"'), "line 4, column 3"),
    ):
        meet.write_text(bad, "utf-8")
        with pytest.raises(RefusedError) as refused:
            rename_everywhere(Shelf({}), found, "fresh")
        assert "autumn.layout.json cannot be read: " in str(refused.value)
        assert where in str(refused.value)
        assert "may name p1. Solve this first." in str(refused.value)
    # A broken plan that does not mention the board is no obstacle.
    meet.write_text('{"boards": {"x": {"plan": "another.layout.json"}', "utf-8")
    assert rename_everywhere(Shelf({}), found, "fresh")
    # The unsaved text in the editor is correct again.
    meet.write_text("{", "utf-8")
    shelf = Shelf({str(meet.resolve()): good})
    assert rename_everywhere(shelf, found, "fresh")


def test_refused_where_it_would_come_to_mean_something_else(club: Path) -> None:
    accept = [{"rule": "siding-without-trap", "at": "east/fresh", "because": "so it is"}]
    written(club / "all.layout.json", whole(accept=accept))
    why = "all.layout.json: An accepted finding is at east/fresh, and would then"
    with pytest.raises(RefusedError, match=re.escape(why)):
        rename_everywhere(Shelf({}), thing(club, BROOK, '"siding": {'), "fresh")


def test_what_leads_nowhere_is_refused(club: Path) -> None:
    meet = written(
        club / "all.layout.json",
        {
            **whole(scenes={"s": {"off": ["east/nine", "gone/1", "nobody/1"]}}),
            "boards": {"east": {"plan": BROOK}, "gone": {"plan": "boards/gone.layout.json"}},
        },
    )
    sketch = LiveText(meet.read_text("utf-8"))
    said = []
    for name in sketch.on_boards:
        with pytest.raises(RefusedError) as refused:
            thing_on_board(Shelf({}), str(meet), name)
        said.append(str(refused.value))
    assert said == [
        "The board east has nothing with the id nine.",
        "The plan of the board gone cannot be read.",
        "The plan of the board nobody cannot be read.",
    ]


def test_where_no_repository_is_the_folder_that_is_worked_in(tmp_path: Path) -> None:
    shutil.copytree(VALE, tmp_path / "vale")
    vale = tmp_path / "vale"
    found = thing(vale, BROOK, '"p1": {')
    edge = NamedPlace(found.path, found.sketch, found.sketch.used["edges", "east"][0])
    alone = uses_everywhere(Shelf({}), edge)
    assert [Path(use.path).name for use in alone] == ["brook-siding.layout.json"]
    names = {Path(use.path).name for use in uses_everywhere(Shelf({}, [str(vale)]), edge)}
    assert "spring.layout.json" in names
    # Open plans are always included.
    meet = (vale / "spring.layout.json").resolve()
    opened = Shelf({str(meet): meet.read_text("utf-8")})
    assert len(uses_everywhere(opened, edge)) == 2


def test_escapes_and_a_link_to_a_board(club: Path) -> None:
    """The new text has no escapes; links to a board count as the board."""
    (club / "linked.layout.json").symlink_to(BROOK)
    meet = written(
        club / "all.layout.json",
        {**NAMING, "boards": {"east": {"plan": "linked.layout.json"}}},
    )
    text = meet.read_text("utf-8").replace('"east/p1"', '"\\u0065ast/p\\u0031"')
    assert json.loads(text)["scenes"]["s"]["points"] == {"east/p1": "reverse"}
    meet.write_text(text, "utf-8")
    texts = renamed(rename_everywhere(Shelf({}), thing(club, BROOK, '"p1": {'), "fresh"))
    assert json.loads(texts[meet.name])["scenes"]["s"]["points"] == {"east/fresh": "reverse"}
    assert json.loads(texts[meet.name])["accept"][0] == json.loads(text)["accept"][0]
