"""The fitting sheet: measures worked out by hand, and the command as a user runs it."""

from __future__ import annotations

import csv
import html
import io
import json
import re
from math import atan, ceil, floor, sin
from pathlib import Path
from typing import Any

import pytest

from trappoint.checking.check import check_content
from trappoint.cli import main
from trappoint.core.findings import CAUTION_FITTING
from trappoint.fitting.places import Openings, UsualPlaces
from trappoint.fitting.posts import Post, posts_of
from trappoint.parts.at_hand import ready_now
from trappoint.parts.demand import PartNeed, SignalKey, Want
from trappoint.parts.planning import plan_parts
from trappoint.parts.store_reading import read_store

EXAMPLES = Path(__file__).parents[2] / "examples"
KELPIE = EXAMPLES / "kelpie-quay.layout.json"


def posts(**signal: Any) -> dict[str, Post]:
    plan = json.loads(KELPIE.read_text("utf-8"))
    plan["scale"] = "1:76.2"
    plan["levers"] = {"5": {"arms": ["2"]}}
    plan["signals"]["2"].update(signal)
    report = check_content(json.dumps(plan), "plan")
    facts, table = report.facts, report.table
    assert facts is not None and table is not None, report.findings
    found = posts_of(facts.layout, table, UsualPlaces(facts))
    return {post.signal: post for post in found}


def test_heights_in_feet_and_metres() -> None:
    """4 mm to the foot: 80 mm are 20 ft, and 20 x 0.3048 m."""
    (arm,) = posts(arms=[{"id": "2", "height_mm": 80}])["2"].arms
    assert arm.height_mm == 80 and arm.lever == "5"
    assert arm.height_feet == pytest.approx(20)
    assert arm.height_metres == pytest.approx(6.096)


def test_unknown_heights_are_not_guessed() -> None:
    (arm,) = posts()["2"].arms
    assert (arm.height_mm, arm.height_feet, arm.height_metres) == (None, None, None)


def test_the_place_of_a_post() -> None:
    given = posts(at_mm=1200, side="left", from_centre_mm=32)["2"].place
    assert given == ("main", "up end of main, at p1.right", 1200, "left", 32)
    at_the_end = posts()["2"].place
    assert at_the_end == ("main", "down end of main, at p2.left", 0, None, None)
    assert posts()["3"].place.datum == "up end of main, at p1.right"
    assert posts()["3"].facing == "the down end, for trains running up"


def test_the_parts_plan_stays_as_cheap_with_the_signals_of_today() -> None:
    """Two signals, one post in hand and one for sale, and one arm to cut out of a sheet."""
    pytest.importorskip("highspy")
    store = read_store(
        json.dumps(
            {
                "format": "trappoint-store/1", "currency": "GBP",
                "parts": {
                    "post": {"owned": 1, "as_mount": {"mounts": ["post"]}},
                    "arm": {"as_arm": {"kinds": ["stop"]}},
                    "sheet": {"owned": 1},
                },
                "recipes": {"cut": {"uses": {"sheet": 1}, "yields": {"arm": 2}}},
                "shops": {"wharf": {"offers": {"p": {"contains": {"post": 1}, "price": "3.00"}}}},
            }
        ),
        "store",
    ).store  # fmt: skip
    assert store is not None
    needs = tuple(
        need
        for signal in ("1", "2")
        for need in (
            PartNeed("", signal, None, Want(True, "post", "upper-quadrant", 1, None)),
            PartNeed("", signal, signal, Want(False, "stop", "upper-quadrant", 0, None)),
        )
    )
    scheme = plan_parts(store, needs).scheme
    assert scheme is not None and scheme.totals == {"GBP": 300}
    for first, second in (("1", "2"), ("2", "1")):
        found = ready_now(scheme, store, [SignalKey("", first), SignalKey("", second)])
        assert [ready.key.signal for ready in found.ready] == [first]
        assert [recipe.id for recipe in found.ready[0].steps] == ["cut"]
        assert [(key.signal, bill) for key, bill in found.waiting] == [(second, {"post": 1})]


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = main(["fitting", *words])
    said = capsys.readouterr()
    return code, said.out, said.err


def test_the_table_has_a_line_for_each_arm(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, str(KELPIE), "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(out)))
    plan = json.loads(KELPIE.read_text("utf-8"))
    arms = [arm["id"] for signal in plan["signals"].values() for arm in signal["arms"]]
    assert code == 0
    assert [row["Arm"] for row in rows] == arms
    assert rows[0]["Datum"] == "down end of town-line, at p1.toe" and rows[0]["Along"] == "0"
    assert rows[0]["Dolls"] == "2" and rows[1]["Doll"] == "2"


def test_with_a_store_every_signal_is_ready_or_waits(capsys: pytest.CaptureFixture[str]) -> None:
    pytest.importorskip("highspy")
    store = str(EXAMPLES / "kelpie-quay.store.json")
    code, out, _ = run(capsys, str(KELPIE), "--store", store, "--format", "json")
    told = json.loads(out)
    today = told["today"]
    ready = [stage["signal"] for stage in today["work"]["stages"]]
    assert code == 0 and ready
    assert sorted([*ready, *today["waiting"]]) == sorted(post["signal"] for post in told["posts"])
    assert told["holds"] is True and told["caution"] == CAUTION_FITTING


@pytest.mark.parametrize("form", ["text", "html"])
def test_markup_and_control_characters_in_names_are_only_text(
    form: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    plan = json.loads(KELPIE.read_text("utf-8"))
    plan["title"] = "<b>Kelpie</b>\x1b[31m"
    file = tmp_path / "plan.layout.json"
    file.write_text(json.dumps(plan), "utf-8")
    code, out, _ = run(capsys, str(file), "--format", form)
    assert code == 0 and CAUTION_FITTING in " ".join(out.split())
    assert "\x1b" not in out if form == "text" else "<b>Kelpie" not in out


def test_a_plan_without_a_table_has_no_sheet(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "plan.layout.json"
    file.write_text("{", "utf-8")
    code, out, err = run(capsys, str(file))
    assert (code, out) == (1, "") and "plan.layout.json:1:" in err
    code, out, err = run(capsys, str(tmp_path / "none.layout.json"))
    assert (code, out) == (2, "") and err.startswith("trappoint:")
    code, out, err = run(capsys, "-", "--store", "-")
    assert (code, out) == (2, "") and "standard input" in err


def test_there_is_a_label_for_every_lever(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Also for spare levers and those that work only points, from left to right."""
    plan = json.loads((EXAMPLES / "selkie-harbour.layout.json").read_text("utf-8"))
    plan["levers"]["40"] = {}
    file = tmp_path / "s.layout.json"
    file.write_text(json.dumps(plan), "utf-8")
    assert main(["fitting", str(file), "--format", "html"]) == 0
    told = re.findall(r"<div><b>Lever (\d+)</b>([^<]*)</div>", capsys.readouterr().out)
    assert told == [
        (number, _plate(plan["levers"][number])) for number in sorted(plan["levers"], key=int)
    ]
    assert ("9", "Scissors, arrivals; points x1, x2") in told


def _plate(lever: dict[str, Any]) -> str:
    name = f"{lever['name']}; " if "name" in lever else ""
    for kind, word in (("arms", "arm"), ("points", "points")):
        if kind in lever:
            return f"{name}{word} {', '.join(lever[kind])}"
    return f"{name}spare"


# --- what the plan leaves open


MEASURED = {"crossing_number": 8, "leg_mm": 150}


def openings(patch: dict[str, Any], scale: dict[str, Any] | None = None) -> dict[str, Openings]:
    plan = json.loads(KELPIE.read_text("utf-8"))
    plan.update(scale or {"scale": "OO", "standard": "British"})
    for kind, things in patch.items():
        for name, values in things.items():
            plan[kind][name].update(values)
    report = check_content(json.dumps(plan), "plan")
    assert report.facts is not None, report.findings
    usual = UsualPlaces(report.facts)
    return {name: usual.of(signal) for name, signal in report.facts.layout.signals.items()}


def test_the_usual_side_and_distance_have_their_sources() -> None:
    """OO: half of 16.5 mm, and 4 ft 6 in at 4 mm to the foot, 18 mm; then half the post."""
    found = openings({"signals": {"2": {"post_mm": 4}}})["2"].taken
    assert [(one.key, one.value) for one in found] == [
        ("side", "left"), ("from_centre_mm", pytest.approx(8.25 + 18 + 2)),
    ]  # fmt: skip
    assert all("Findlay" in one.source for one in found)
    given = openings({"signals": {"2": {"side": "right", "from_centre_mm": 30}}})["2"]
    assert given.taken == ()


@pytest.mark.parametrize(
    ("scale", "mount", "value", "word"),
    [
        ({"scale": "H0"}, "post", 24.0, "NEM 102"),
        ({"scale": "HO", "standard": "NMRA"}, "post", None, "no published distance"),
        ({"scale": "OO"}, "post", None, "several meanings"),
        ({"scale": "H0"}, "ground", None, "on the ground"),
    ],
)
def test_other_scales(scale: dict[str, Any], mount: str, value: float | None, word: str) -> None:
    found = openings({"signals": {"2": {"mount": mount}}}, scale)["2"].taken[-1]
    assert (found.key, found.value) == ("from_centre_mm", value) and word in found.source


def test_on_a_curve_the_longest_coach_counts() -> None:
    """NEM 102 and 103, H0, radius 600: 24 mm and 6 mm for coaches of group B."""
    plan = json.loads(KELPIE.read_text("utf-8"))
    plan.update(scale="H0", trains={"mail": {"length_mm": 900, "longest_coach_mm": 270}})
    plan["tracks"]["main"]["radius_mm"] = 600
    report = check_content(json.dumps(plan), "plan")
    assert report.facts is not None
    found = UsualPlaces(report.facts).of(report.facts.layout.signals["2"]).taken[-1]
    assert found.value == 30 and "NEM 103" in found.source


def test_a_foul_signal_is_moved_back_to_where_the_check_is_content() -> None:
    """1 in 8: the lines are D apart at D / (2 sin(a/2)); the leg has 150 mm of that."""
    patch: dict[str, Any] = {"points": {"p1": dict(MEASURED)}}
    moved = openings(patch)["3"].moved
    far = 44.685 / (2 * sin(atan(1 / 16))) - 150
    assert moved is not None and moved.because == "train" and moved.surely
    assert moved.by_mm == moved.from_leg_mm == pytest.approx(far, abs=0.1)
    assert (moved.leg, moved.at_mm) == ("p1.right", ceil(far))
    patch["signals"] = {"3": {"at_mm": moved.at_mm}}
    assert openings(patch)["3"].moved is None
    patch["signals"] = {"3": {"at_mm": moved.at_mm - 2}}
    again = openings(patch)["3"].moved
    assert again is not None and again.at_mm == moved.at_mm


def test_a_signal_for_down_trains_is_measured_from_the_up_end() -> None:
    patch: dict[str, Any] = {"points": {"p2": dict(MEASURED)}}
    moved = openings(patch)["2"].moved
    assert moved is not None and moved.leg == "p2.left"
    assert moved.at_mm == floor(1450 - moved.from_leg_mm)
    patch["tracks"] = {"main": {"length_mm": 100}, "loop-east": {"length_mm": 300}}
    patch["signals"] = {"3": {"side": "left"}}
    short = openings(patch)["2"].moved
    assert short is not None and short.at_mm is None and short.by_mm == moved.by_mm


def test_a_post_between_the_legs_needs_more_room_than_trains() -> None:
    """A driver towards the toe has the right leg's track on the left of the left leg's."""
    patch: dict[str, Any] = {"points": {"p1": dict(MEASURED)}}
    between, outside = openings(patch)["5"].moved, openings(patch)["3"].moved
    assert between is not None and outside is not None
    needed = 2 * (8.25 + 18) / (2 * sin(atan(1 / 16))) - 150
    assert between.because == "post" and between.from_leg_mm == pytest.approx(needed, abs=0.1)
    patch["signals"] = {"5": {"side": "right"}, "3": {"side": "right"}}
    other = openings(patch)
    assert other["5"].moved == outside._replace(leg="p1.left")
    assert other["3"].moved == between._replace(leg="p1.right")


def test_the_sheet_names_the_measures_that_are_missing() -> None:
    found = openings({})
    assert found["3"].wanted == (
        "Where trains foul p1 is unknown: give its leg_mm. It is at most 358 mm from p1.right.",
    )
    assert found["2"].wanted == (
        "Where trains foul p2 is unknown: give its crossing_number or angle_degrees and leg_mm.",
    )
    assert found["1"].wanted == found["4"].wanted == ()  # before the toe nothing is foul
    assert "Where stock passes is unknown" in openings({}, {"scale": "1:40"})["3"].wanted[-1]
    assert openings({"points": {"p1": dict(MEASURED)}})["3"].wanted == ()


@pytest.mark.parametrize("form", ["text", "html", "csv", "json"])
def test_the_sheet_has_all_of_this(
    form: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    plan = json.loads(KELPIE.read_text("utf-8"))
    plan["standard"] = "British"
    plan["points"]["p1"].update(MEASURED)
    file = tmp_path / "plan.layout.json"
    file.write_text(json.dumps(plan), "utf-8")
    code, out, _ = run(capsys, str(file), "--format", form)
    assert code == 0
    if form == "json":
        (post,) = [one for one in json.loads(out)["posts"] if one["signal"] == "3"]
        assert post["place"]["side"] is None and post["openings"]["moved"]["at_mm"] == 209
        assert post["openings"]["taken"][0]["key"] == "side"
    elif form == "csv":
        (row,) = [one for one in csv.DictReader(io.StringIO(out)) if one["Signal"] == "3"]
        assert (row["Side"], row["Usual side"], row["Move back by"]) == ("", "left", "208.2")
        assert (row["Usual from centre"], row["Then at"]) == ("26.25", "209")
    else:
        words = " ".join(re.sub(r"<[^>]*>", " ", html.unescape(out)).split())
        assert "Move it back by 208.2 mm, to 208.2 mm from p1.right" in words
        assert 'write "at_mm": 209.' in words
        assert "Usual values, not in the plan" in words and "Give from_centre_mm" in words
