"""Every command that takes a plan also takes an assembled plan."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from commands.running import EXAMPLES, trappoint
from drawing.looking import SVG, groups, parse
from trappoint import check
from trappoint.drawing.diagram import draw
from trappoint.drawing.legend import legend

pytestmark = pytest.mark.usefixtures("quick")

MEETS = EXAMPLES / "nixie-vale"
AUTUMN = MEETS / "autumn.layout.json"


def printed(*words: str | Path) -> str:
    done = trappoint(*words)
    assert (done.returncode, done.stderr) == (0, "")
    return done.stdout


def test_the_table_goes_over_boards() -> None:
    table = json.loads(printed("table", "--format", "json", AUTUMN))
    arms = {entry["arm"]: entry for entry in table["arms"]}
    (route,) = arms["yard/out-left"]["routes"]
    assert (route["from"], route["over"], route["ends_at"]) == (
        "yard/left",
        ["yard/gate", "flap", "brook/west"],
        "brook/1",
    )
    assert route["points"] == {"yard/p1": "left"}


def test_the_frame_is_that_of_the_board_that_has_one() -> None:
    said = printed("table", "--frame", AUTUMN)
    assert "town/4  stop arm town/S1" in said
    assert "6 levers" in said


def test_what_fits_is_measured_over_the_joints() -> None:
    """Test the length of a section that runs over two joints.

    The yard lead has 800 mm, the flap 850 mm, and the signal at the end of the siding's track is
    900 mm farther on. The section is named after the flap: tracks of the whole itself come first.
    """
    rooms = json.loads(printed("dimensions", "--format", "json", AUTUMN))["rooms"]
    found = next(room for room in rooms if room["place"] == "flap")
    assert found["at_most_mm"] == 800 + 850 + 900


def test_parts_are_planned_for_all_boards() -> None:
    store = EXAMPLES / "kelpie-quay.store.json"
    done = trappoint("parts", "--format", "json", AUTUMN, "--store", store)
    assert done.returncode in (0, 1)
    assert "town/" in done.stdout + done.stderr
    assert "not-read" not in done.stdout + done.stderr


@pytest.mark.parametrize("name", ["autumn", "spring"])
def test_the_diagram_shows_where_boards_meet(name: str) -> None:
    path = MEETS / f"{name}.layout.json"
    root = parse(printed("draw", path))
    ids = [element.get("id") for element in root.iter() if element.get("id")]
    assert len(ids) == len(set(ids))
    report = check(path)
    assert report.layout is not None
    assert {g.get("data-track") for g in groups(root, "track")} == set(report.layout.tracks)
    meeting = {}
    for group in groups(root, "joint"):
        title, label = group.find(f"{SVG}title"), group.find(f"{SVG}text")
        assert title is not None
        assert label is not None
        meeting[title.text] = label.text
        assert any(path.get("stroke-dasharray") for path in group.findall(f"{SVG}path"))
    expected = {
        "autumn": {
            "The edge of board yard": "yard |",
            "The edge of board brook": "| brook",
            "Boards brook and crossing meet": "brook | crossing",
            "Boards crossing and town meet": "crossing | town",
        },
        "spring": {
            "Boards town and brook meet": "town | brook",
            "Boards brook and crossing meet": "brook | crossing",
            "Boards crossing and yard meet": "crossing | yard",
        },
    }
    assert meeting == expected[name]
    assert "two boards meet" in "".join(words for _, words in legend(report.layout))


def test_joints_within_a_board_are_drawn_as_ever() -> None:
    root = parse(printed("draw", EXAMPLES / "pixie-ring.layout.json"))
    joints = groups(root, "joint")
    assert joints
    for group in joints:
        assert not any(path.get("stroke-dasharray") for path in group.iter(f"{SVG}path"))


def test_findings_are_marked_on_the_board(tmp_path: Path) -> None:
    for path in (*MEETS.glob("*.json"), *(MEETS / "boards").iterdir()):
        (tmp_path / path.relative_to(MEETS)).parent.mkdir(exist_ok=True)
        (tmp_path / path.relative_to(MEETS)).write_bytes(path.read_bytes())
    brook = tmp_path / "boards" / "brook-siding.layout.json"
    brook.write_text(
        brook.read_text("utf-8").replace(
            '"for": "up", "arms": [{"id": "3"', '"for": "up", "arms": [{"id": "3", "to": "wset"', 1
        ),
        "utf-8",
    )
    report = check(tmp_path / "autumn.layout.json")
    assert report.layout is not None
    (finding,) = report.findings
    assert finding.file.endswith("brook-siding.layout.json")
    drawn = draw(report.layout, findings=report.findings)
    assert drawn.marked is not None
    assert drawn.marked.marks == {("signals", "brook/3"): " [1]"}


def test_a_road_leads_from_board_to_board() -> None:
    said = " ".join(printed("road", AUTUMN, "yard/left", "town/road-1").split())
    assert "The road is free" in said
    assert "Set crossing/p1 reverse (right)." in said
    assert "Pull lever town/1: take town/H1 off." in said


def test_signals_are_mended_for_one_board_at_a_time() -> None:
    done = trappoint("propose", "--repair", AUTUMN)
    assert done.returncode == 1
    assert "Run `propose --repair` on the file of each board" in done.stderr


def test_new_signals_stand_in_the_plan_of_the_meet(tmp_path: Path) -> None:
    """The boards lose their signals; the proposal gives the whole its own, on tracks of boards."""
    for board in sorted((AUTUMN.parent / "boards").glob("*.layout.json")):
        plan = json.loads(board.read_text("utf-8"))
        bare = {key: plan[key] for key in plan if key not in ("signals", "levers", "scenes")}
        (tmp_path / "boards").mkdir(exist_ok=True)
        (tmp_path / "boards" / board.name).write_text(json.dumps(bare), "utf-8")
    meet = tmp_path / AUTUMN.name
    meet.write_text(AUTUMN.read_text("utf-8"), "utf-8")
    printed("propose", meet, "--best", "1", "-o", meet)
    signals = json.loads(meet.read_text("utf-8"))["signals"]
    assert {"brook/siding", "flap"} <= {signal["track"] for signal in signals.values()}
    assert check(meet).holds


@pytest.mark.parametrize("word", ["chart", "draw"])
def test_sheets_and_pictures_can_be_made(word: str, tmp_path: Path) -> None:
    target = tmp_path / ("sheet.html" if word == "chart" else "diagram.svg")
    assert printed(word, AUTUMN, "-o", target) == ""
    assert "crossing | town" in target.read_text("utf-8")
