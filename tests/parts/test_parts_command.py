"""``trappoint parts`` as whole processes."""

from __future__ import annotations

import json
import os
import pty
import sys
from pathlib import Path
from typing import Any

import pytest

from commands.running import EXAMPLES, KELPIE, environment, plan, trappoint
from commands.terminal import Terminal
from parts.ledger import audit
from trappoint.parts.telling import CAUTION_PARTS

STORE = EXAMPLES / "kelpie-quay.store.json"
DRAWER = json.loads(STORE.read_text("utf-8"))


def told(*words: str | Path, code: int = 0, given: bytes = b"") -> dict[str, Any]:
    done = trappoint("parts", "--format", "json", *words, given=given)
    assert done.returncode == code, done.stderr
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def test_the_example() -> None:
    answer = told(KELPIE, "--store", STORE)
    assert answer["met"] is True
    assert answer["caution"] == CAUTION_PARTS
    audit(answer, answer["scheme"], DRAWER)
    # Worked by hand: 3 brackets (1 owned, 2 cut down, which gives 2 dolls), 4 posts (2 owned, 2
    # out of dolls), 10 arms (5 owned). The arms: two packs of four, 11.20 + 3.20 = 14.40; or ten
    # blank ones abroad, (7.00 + 2.50) x 0.86 = 8.17 (three blank ones are there, too few).
    assert answer["scheme"]["totals"] == {"EUR": "9.50"}
    assert answer["scheme"]["counted_together"] == "8.17"
    assert answer["scheme"]["minutes"] == 5 * 10 + 2 * 25 + 2 * 15


def test_the_example_of_a_clubs_size() -> None:
    """66 signals: all is met, partly owned, made and bought in two currencies; the books balance.

    Every signal has its mount and every arm its part, as many as the plan itself has.
    """
    club = EXAMPLES / "hobthrush-vale.layout.json"
    store = EXAMPLES / "hobthrush-vale.store.json"
    answer = told(club, "--store", store)
    assert answer["met"] is True and answer["time_was_up"] is False
    scheme = answer["scheme"]
    audit(answer, scheme, json.loads(store.read_text("utf-8")))
    assert scheme["proven"] is True
    signals = json.loads(club.read_text("utf-8"))["signals"]
    assert len({entry["signal"] for entry in scheme["fit"]}) == len(signals) == 66
    arms = sum(len(signal["arms"]) for signal in signals.values())
    assert len(scheme["fit"]) == len(signals) + arms
    assert scheme["use_as_it_is"] and scheme["make"]
    assert set(scheme["totals"]) == {"GBP", "EUR"}


def test_text_and_markdown_say_what_json_says() -> None:
    for form in ("text", "markdown"):
        done = trappoint("parts", KELPIE, "--store", STORE, "--format", form)
        assert (done.returncode, done.stderr) == (0, "")
        flat = " ".join(done.stdout.split())
        assert "EUR 9.50" in flat
        assert "GBP 8.17" in flat
        assert "130 minutes of work" in flat
        assert CAUTION_PARTS in flat
        assert "Signal 1: bracket-2 for its mount, uq-stop for arms 1L and 1R." in flat
        if form == "text":
            assert max(map(len, done.stdout.splitlines())) <= 80
    assert trappoint("parts", KELPIE, "--store", STORE).stdout == (
        trappoint("parts", KELPIE, "--store", STORE).stdout
    )


def test_without_a_signal() -> None:
    answer = told(KELPIE, "--store", STORE, "--without", "6", "--without", "7")
    assert answer["without"] == [
        {"plan": "kelpie-quay", "signal": "6"},
        {"plan": "kelpie-quay", "signal": "7"},
    ]
    assert {need["signal"] for need in answer["needs"]} == {"1", "2", "3", "4", "5"}
    audit(answer, answer["scheme"], DRAWER)
    done = trappoint("parts", KELPIE, "--store", STORE, "--without", "66")
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == "trappoint: there is no signal 66. Is 6 meant?\n"


def test_for_less_money_than_it_takes() -> None:
    answer = told(KELPIE, "--store", STORE, "--at-most", "8.16", code=1)
    assert (answer["met"], answer["least_money"], answer["short"]) == (False, "8.17", [])
    # Five arms and three blank ones are there, painted eight in all: one bracket must go.
    assert len(answer["leave_out"]) == 1
    assert answer["scheme_for_the_rest"]["totals"] == {}
    audit(answer, answer["scheme_for_the_rest"], DRAWER, answer["leave_out"])
    assert told(KELPIE, "--store", STORE, "--at-most", "8.17")["met"] is True
    text = trappoint("parts", KELPIE, "--store", STORE, "--at-most", "8.16")
    assert text.returncode == 1
    assert "GBP 8.17 would pay for all signals." in text.stdout
    done = trappoint("parts", KELPIE, "--store", STORE, "--at-most", "8,16")
    assert done.returncode == 2
    assert "not an amount of money" in done.stderr


def test_what_no_part_serves_as_is_short() -> None:
    harbour = EXAMPLES / "selkie-harbour.layout.json"
    answer = told(harbour, "--store", STORE, code=1)
    short = {
        (s["want"].get("mount") or s["want"]["arm"], s["want"]["form"]) for s in answer["short"]
    }
    # The drawer has no gantry, no ground mount, no disc, no distant and no calling-on arm.
    assert {("gantry", "upper-quadrant"), ("ground", "disc"), ("stop", "disc")} <= short
    audit(answer, answer["scheme_for_the_rest"], DRAWER, answer["leave_out"])


def test_two_plans_share_the_store(tmp_path: Path) -> None:
    other = tmp_path / "other.layout.json"
    other.write_text(plan(title="Another"), "utf-8")
    answer = told(KELPIE, other, "--store", STORE, code=1)
    assert len(answer["needs"]) == 34
    audit(answer, answer["scheme_for_the_rest"], DRAWER, answer["leave_out"])
    done = trappoint("parts", KELPIE, other, "--store", STORE, "--without", "6")
    assert done.returncode == 2
    assert "several plans have a signal 6: write " in done.stderr
    assert "kelpie-quay:6" in done.stderr
    assert "other:6" in done.stderr
    fewer = told(KELPIE, other, "--store", STORE, "--without", "other:6", code=1)
    assert len(fewer["needs"]) == 32


def test_heights(tmp_path: Path) -> None:
    signals = json.loads(KELPIE.read_text("utf-8"))["signals"]
    signals["2"]["arms"][0]["height_mm"] = 90
    parts = {
        "low": {"owned": 9, "as_mount": {"mounts": ["post", "bracket"], "most_height_mm": 60}},
        "high": {"owned": 1, "as_mount": {"mounts": ["post"], "least_height_mm": 80}},
        "arm": {"owned": 10, "as_arm": {"kinds": ["stop"]}},
    }
    path = tmp_path / "a.store.json"
    store = {"format": "trappoint-store/1", "currency": "GBP", "parts": parts}
    path.write_text(json.dumps(store), "utf-8")
    answer = told("-", "--store", path, given=plan(signals=signals).encode())
    fitted = {fit["signal"]: fit["part"] for fit in answer["scheme"]["fit"] if fit["arm"] is None}
    assert fitted["2"] == "high"
    assert fitted["1"] == "low"


def test_a_store_that_cannot_be_read(tmp_path: Path) -> None:
    done = trappoint("parts", KELPIE, "--store", tmp_path / "no.store.json")
    assert (done.returncode, done.stdout) == (2, "")
    assert "There is no file" in done.stderr
    for text in ("", "[]", "{", '{"format": "trappoint-store/1", "format": 1}', "\x00", "null"):
        done = trappoint("parts", KELPIE, "--store", "-", given=text.encode())
        assert (done.returncode, done.stdout) == (1, ""), text
        assert "standard input:1:" in done.stderr, text
        assert "Traceback" not in done.stderr


def test_a_plan_that_cannot_be_read() -> None:
    done = trappoint("parts", "-", "--store", STORE, given=b"{}")
    assert (done.returncode, done.stdout) == (1, "")
    assert "has no tracks" in done.stderr
    done = trappoint("parts", "-", "--store", "-", given=b"{}")
    assert (done.returncode, done.stdout) == (2, "")
    assert trappoint("parts", "no.layout.json", "--store", STORE).returncode == 2


def test_a_plan_that_does_not_hold_is_said_to(tmp_path: Path) -> None:
    signals = json.loads(KELPIE.read_text("utf-8"))["signals"]
    del signals["6"]
    path = tmp_path / "fails.layout.json"
    path.write_text(plan(signals=signals), "utf-8")
    done = trappoint("parts", path, "--store", STORE)
    assert done.returncode == 0
    assert "does not hold. Mend it before you buy anything" in done.stderr


def test_without_the_solver(tmp_path: Path) -> None:
    """A clear sentence, no traceback. An earlier folder on the path hides the solver."""
    (tmp_path / "sitecustomize.py").write_text(
        "import importlib.util as u\nold = u.find_spec\n"
        "u.find_spec = lambda name, *a: None if name == 'highspy' else old(name, *a)\n"
    )
    done = trappoint("parts", KELPIE, "--store", STORE, env=environment(PYTHONPATH=str(tmp_path)))
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith("trappoint: finding the least cost needs the solver HiGHS")
    assert len(done.stderr.splitlines()) == 1


def test_who_waits_is_told() -> None:
    """The progress line appears while the solver works, and is erased; the wait is short here."""
    code = (
        "import time\nfrom trappoint.parts.waiting_notice import tell_waiting\n"
        "with tell_waiting('Looking', 0.1):\n    time.sleep(0.6)\nprint('done')\n"
    )
    terminal = Terminal.__new__(Terminal)
    terminal.seen = b""
    process, terminal.master = pty.fork()
    if process == 0:
        os.execve(sys.executable, [sys.executable, "-c", code], environment())  # noqa: S606
    terminal.process = process
    assert terminal.finish() == 0
    assert b"Looking (0 s)" in terminal.seen
    assert terminal.seen.index(b"\x1b[K", 5) < terminal.seen.index(b"done")


@pytest.mark.parametrize("form", ["text", "json"])
def test_the_same_on_every_run(form: str) -> None:
    runs = {
        trappoint(
            "parts", KELPIE, "--store", STORE, "--format", form,
            env=environment(PYTHONHASHSEED=seed),
        ).stdout
        for seed in ("1", "2", "3")
    }  # fmt: skip
    assert len(runs) == 1
