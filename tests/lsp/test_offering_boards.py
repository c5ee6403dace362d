"""Completions in an assembled plan, tested against its check."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from lsp.client import ROOT
from lsp.plans import with_cursor
from trappoint import check
from trappoint.lsp.completion import offers
from trappoint.lsp.document_state import CheckedText
from trappoint.lsp.reachable_names import Around
from trappoint.lsp.workspace import Shelf

VALE = ROOT / "examples" / "nixie-vale"


@pytest.fixture
def meet(tmp_path: Path) -> Path:
    shutil.copytree(VALE, tmp_path / "vale")
    (tmp_path / ".git").mkdir()
    return tmp_path / "vale" / "spring.layout.json"


def words(meet: Path, old: str, new: str) -> list[str]:
    """Return the completions at the bar in a text that replaces another."""
    sketch, offset = with_cursor(meet.read_text("utf-8"), old, new)
    around = Around(Shelf({}), str(meet), [sketch])
    return [offer.choice.text for offer in offers(sketch, offset, CheckedText(), None, around)]


def ids_by_json(meet: Path, kind: str) -> set[str]:
    """Return the ids on all boards, read with plain JSON."""
    plan = json.loads(meet.read_text("utf-8"))
    return {
        f"{name}/{each}"
        for name, board in plan["boards"].items()
        for each in json.loads((meet.parent / board["plan"]).read_text("utf-8")).get(kind, {})
    }


def test_ids_on_boards(meet: Path) -> None:
    on = words(meet, '"off": ["town/S1"]', '"off": ["|"]')
    arms = {
        f"{name}/{arm['id']}"
        for name, board in json.loads(meet.read_text("utf-8"))["boards"].items()
        for signal in json.loads((meet.parent / board["plan"]).read_text("utf-8"))[
            "signals"
        ].values()
        for arm in signal["arms"]
    }
    assert set(on) == arms
    tracks = words(meet, '"tracks": {}', '"platforms": {"A": {"tracks": ["|"]}}')
    assert set(tracks) == ids_by_json(meet, "tracks")
    points = set(words(meet, '"off"', '"points": {"|"}, "off"'))
    assert points == ids_by_json(meet, "points")  # there is no slip on any of them
    accepted = words(meet, '"tracks": {}', '"accept": [{"at": "|"}]')
    assert ids_by_json(meet, "signals") < set(accepted)


def test_edges_that_are_free_and_no_others(meet: Path) -> None:
    """Every offered edge can be joined without a finding, and every such edge is offered."""
    text = meet.read_text("utf-8")
    plan: dict[str, Any] = json.loads(text)
    last = plan["joins"].pop()
    plan["tracks"] = {"flap": {"up": "edge:hall", "down": "edge:door", "length_mm": 850}}
    meet.write_text(json.dumps(plan, indent=1), "utf-8")
    joins = '"joins": ['
    offered = words(meet, joins, f'{joins}{{"a": "|"}},')
    edges = [each for each in offered if not each.endswith(":")]
    assert {last["a"], last["b"], ":hall", ":door"} <= set(edges)
    assert offered[: len(edges)] == edges  # the boards alone come after them
    every = {
        f"{name}:{end[5:]}"
        for name, board in plan["boards"].items()
        for track in json.loads((meet.parent / board["plan"]).read_text("utf-8"))["tracks"].values()
        for end in (track["up"], track["down"])
        if end.startswith("edge:")
    } | {":hall", ":door"}
    for edge in sorted(every):
        other = next(each for each in edges if each != edge)
        changed = {**plan, "joins": [*plan["joins"], {"a": edge, "b": other}]}
        rules = {found.rule for found in check(_written(meet, changed)).findings}
        assert (edge in edges) is not bool(rules & {"edge-joined-twice"}), (edge, rules)


def _written(meet: Path, plan: dict[str, Any]) -> Path:
    path = meet.with_name("tried.layout.json")
    path.write_text(json.dumps(plan), "utf-8")
    return path


def test_boards_of_boards(meet: Path) -> None:
    outer = meet.with_name("outer.layout.json")
    plan = {
        "format": "trappoint-layout/1",
        "title": "",
        "tracks": {},
        "boards": {"vale": {"plan": "autumn.layout.json"}},
        "joins": [{"a": "here"}],
        "scenes": {"s": {"trains": {"x": True}}},
    }
    outer.write_text(json.dumps(plan), "utf-8")
    tracks = words(outer, '"x": true', '"|"')
    assert "vale/flap" in tracks
    assert "vale/brook/siding" in tracks
    assert [each for each in words(outer, '"here"', '"|"') if each != "vale:"] == []
    # With one join less in the plan between, its two edges are free.
    between = meet.with_name("autumn.layout.json")
    autumn = json.loads(between.read_text("utf-8"))
    last = autumn["joins"].pop()
    assert last == {"a": "crossing:west", "b": "town:vale"}
    between.write_text(json.dumps(autumn), "utf-8")
    offered = words(outer, '"here"', '"|"')
    assert sorted(offered) == ["vale:", "vale:crossing/west", "vale:town/vale"]


def test_files_of_boards(meet: Path) -> None:
    shutil.copy(meet, meet.parent.parent / "other.layout.json")
    found = words(meet, '"boards/nixie-town.layout.json"', '"|"')
    assert set(found) == {
        "autumn.layout.json",
        "../other.layout.json",
        *(f"boards/{path.name}" for path in (meet.parent / "boards").glob("*.layout.json")),
    }
    assert found[-1] == "../other.layout.json"
    for path in found:
        assert (meet.parent / path).is_file()
    board = meet.parent / "boards" / "brook-siding.layout.json"
    seen = words(board, '"tracks": {', '"boards": {"x": {"plan": "|"}}, "tracks": {')
    assert "../spring.layout.json" in seen
    # Outside of a repository nothing above the folder of the plan can be a board.
    (meet.parent.parent / ".git").rmdir()
    assert "../other.layout.json" not in words(meet, '"boards/nixie-town.layout.json"', '"|"')


def test_a_board_within_itself_is_left_out(meet: Path) -> None:
    text = meet.read_text("utf-8")
    meet.write_text(text.replace("boards/nixie-town.layout.json", meet.name), "utf-8")
    found = words(meet, '"tracks": {}', '"platforms": {"A": {"tracks": ["|"]}}')
    assert found
    assert not any(each.startswith("town/") for each in found)
