"""``trappoint dimensions`` as a whole process, in each format."""

from __future__ import annotations

import json
from typing import Any

import pytest

from commands.in_process import trappoint
from commands.running import BAD, EXAMPLES, plan
from trappoint.core.findings import CAUTION, CAUTION_DRILLING, CAUTION_FITTING

SELKIE = EXAMPLES / "selkie-harbour.layout.json"
BOGGART = EXAMPLES / "boggart-bridge.layout.json"


def told(path: object) -> Any:
    done = trappoint("dimensions", "--format", "json", str(path))
    assert (done.returncode, done.stderr) == (0, "")
    return json.loads(done.stdout)


def test_trains_against_platforms_by_adding_up() -> None:
    """Worked out here from the plan alone: its lengths, and engines beyond the platform."""
    written = json.loads(SELKIE.read_text("utf-8"))
    found = {row["platform"]: row["trains"] for row in told(SELKIE)["platforms"]}
    for name, platform in written["platforms"].items():
        for train_id, train in written["trains"].items():
            room, length = platform["length_mm"], train["length_mm"]
            coaches = length - train["engine_mm"]
            wanted = "whole" if length <= room else "coaches" if coaches <= room else "no"
            assert found[name][train_id] == wanted, (name, train_id)


def test_trains_against_stands_between_signals() -> None:
    # Platform 1's road is 1,500 mm between its signals, the dead end 1,650 mm from signal 6.
    found = {room["place"]: room for room in told(SELKIE)["rooms"]}
    assert found["plat-1"]["at_most_mm"] == 1500
    assert found["plat-1"]["trains"] == {"express": True, "local": True, "fish": False}
    assert found["plat-3"]["longest"] == "fish"
    assert found["spur-1"]["longest"] is None
    assert found["down-line.1"]["at_most_mm"] is None  # it leaves the plan


def test_fouling_places_in_em() -> None:
    # 1 in 8 and 1 in 10 with 3,405 mm / 76.2 between centres, along the leg (worked out).
    apart = 3405 / 76.2
    for place in told(BOGGART)["fouling"]:
        number = 10 if place["element"] in ("j1", "j2") else 8
        assert place["along_mm"] == pytest.approx((number**2 + 0.25) ** 0.5 * apart)
        assert place["beyond_mm"] is None  # no leg is measured


def test_where_no_leg_is_measured_rooms_have_two_bounds() -> None:
    # l1 is 1 in 8: at most as far as 358 mm along a leg of 1,800 mm, which the leg itself may be.
    apart = 3405 / 76.2
    foul = (8**2 + 0.25) ** 0.5 * apart
    found = {room["place"]: room for room in told(BOGGART)["rooms"]}["up-platform"]
    assert (found["at_most_mm"], found["known"]) == (1800, False)
    assert found["surely_mm"] == pytest.approx(1800 - foul)
    shown = " ".join(trappoint("dimensions", str(BOGGART)).stdout.split())
    assert "up-platform 1,442 to 1,800 signal 7 fouling place at l1.right" in shown
    assert "l1 left, right 7.15 straight 358 0 to 358" in shown


def test_text_and_markdown_say_the_same() -> None:
    text = trappoint("dimensions", str(BOGGART))
    page = trappoint("dimensions", "--format", "markdown", str(BOGGART))
    assert (text.returncode, page.returncode) == (0, 0)
    rows = [line for line in page.stdout.splitlines() if line.startswith("| ")]
    cells = [[cell.strip() for cell in row.strip("|").split(" | ")] for row in rows]
    lines = [" ".join(line.split()) for line in text.stdout.splitlines()]
    grid = [row for row in cells if row[0] != "---"]
    assert len(grid) > 20
    for row in grid:
        assert " ".join(" ".join(row).replace("\\", "").split()) in lines
    assert CAUTION_FITTING in " ".join(text.stdout.split())
    assert f"*{CAUTION_FITTING}*" in page.stdout


def test_the_caution_covers_drilling_only_beside_places_for_posts() -> None:
    for path, posts in ((BOGGART, True), (SELKIE, False)):
        table = told(path)
        assert bool(table["posts"]) is posts
        assert table["caution"] == (CAUTION_FITTING if posts else CAUTION)
        for form in ("text", "markdown"):
            shown = trappoint("dimensions", "--format", form, str(path)).stdout
            assert (CAUTION_DRILLING in " ".join(shown.split())) is posts


def test_a_name_with_two_meanings_is_told_with_both() -> None:
    shown = " ".join(trappoint("dimensions", str(SELKIE)).stdout.split())
    assert (
        "OO, 1:76.2 on 16.5 mm (British, 4 mm to the foot (NEM 010, 3.4); gauge: common practice, "
        "no source)"
    ) in shown
    assert ("OO, 1:76.2 on 19.1 mm (NMRA S-1.2 and S-3.2; ratio: unconfirmed value)") in shown


def test_posts_with_the_sheet_that_says_so() -> None:
    given = plan(scale="H0", trains={"t": {"length_mm": 800, "longest_coach_mm": 300}})
    written = json.loads(given)
    written["tracks"]["main"]["radius_mm"] = 500
    done = trappoint("dimensions", "--format", "json", "-", given=json.dumps(written).encode())
    posts = {post["signal"]: post for post in json.loads(done.stdout)["posts"]}
    # NEM 102: 48 mm in all; NEM 103, group C at 500 mm: 11 mm more on each side.
    assert posts["2"]["straight_mm"] == 24
    assert posts["2"]["curve_mm"] == [35, 35]
    assert posts["5"]["curve_mm"] is None


def test_a_plan_that_does_not_hold_has_one_too() -> None:
    assert trappoint("dimensions", "-", given=BAD.encode()).returncode == 0


@pytest.mark.parametrize(("given", "code"), [(b"{", 1), (b"{}", 1), (b"\xff", 1)])
def test_what_is_no_plan_is_told_on_the_other_stream(given: bytes, code: int) -> None:
    done = trappoint("dimensions", "-", given=given)
    assert (done.returncode, done.stdout) == (code, "")
    assert done.stderr
    assert "Traceback" not in done.stderr


def test_a_file_that_is_not_there() -> None:
    done = trappoint("dimensions", "nowhere.layout.json")
    assert (done.returncode, done.stdout) == (2, "")
