"""The fitting sheet: measures worked out by hand, and the command as a user runs it."""

from __future__ import annotations

import csv
import io
import json
import re
from pathlib import Path
from typing import Any

import pytest

from trappoint.checking.check import check_content
from trappoint.cli import main
from trappoint.core.findings import CAUTION_FITTING
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
    assert report.layout is not None and report.table is not None, report.findings
    return {post.signal: post for post in posts_of(report.layout, report.table)}


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
