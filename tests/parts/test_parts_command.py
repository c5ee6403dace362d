"""``trappoint parts`` as whole processes."""

from __future__ import annotations

import csv
import json
import os
import pty
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from commands.in_process import trappoint
from commands.running import EXAMPLES, KELPIE, environment, plan
from commands.running import trappoint as in_own_process
from commands.terminal import Terminal
from parts.ledger import audit, work_through
from trappoint.cli import main
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
    # Worked by hand. 3 brackets: 1 owned, 1 cut down, whose doll mends the third. 4 signals on
    # posts: the home, the post, and two distants changed. The arms: 6 for the brackets, 3 for the
    # posts, but only 5 and 3 blank ones are there. The ninth: four for 5.60 + 3.20 = 8.80, a kit
    # for 4.10 + 3.20 = 7.30, ten blank ones for (7.00 + 2.50) x 0.86 = 8.17; or a home, ready
    # made, for (4.75 + 2.50) x 0.86 = 6.235 in place of a distant that is changed.
    assert answer["scheme"]["totals"] == {"EUR": "7.25"}
    assert answer["scheme"]["counted_together"] == "6.24"
    assert answer["scheme"]["minutes"] == 3 * 10 + 25 + 20 + 15
    assert sum(fit["ready_made"] for fit in answer["scheme"]["fit"]) == 3 * 2
    assert answer["scheme"]["left_over"]["distant"] == 1
    texts = {reason["part"]: reason["text"] for reason in answer["reasons"]}
    assert texts["home"] == (
        "1 x home is bought, though distant-to-home makes it: the cheapest way without buying home "
        "costs GBP 1.06 more (GBP 7.30 instead of GBP 6.24) and takes 15 minutes longer."
    )


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
        assert "EUR 7.25" in flat
        assert "GBP 6.24" in flat
        assert "90 minutes of work" in flat
        assert CAUTION_PARTS in flat
        assert "Signal 1: bracket-2 for its mount, uq-stop for arms 1L and 1R." in flat
        if form == "text":
            assert max(map(len, done.stdout.splitlines())) <= 80
    assert trappoint("parts", KELPIE, "--store", STORE).stdout == (
        trappoint("parts", KELPIE, "--store", STORE).stdout
    )


Printed = Callable[..., str]


@pytest.fixture
def printed(capsys: pytest.CaptureFixture[str]) -> Printed:
    """Return a function that runs the command in this process and returns what it prints."""

    def run(*words: str, store: Path = STORE, code: int = 0) -> str:
        assert main(["parts", str(KELPIE), "--store", str(store), *words]) == code
        said = capsys.readouterr()
        return said.err if code else said.out

    return run


def test_the_shopping_list_by_shop(printed: Printed) -> None:
    """The same packs, postage and sums in every format, and the date of the prices."""
    scheme = json.loads(printed("--format", "json"))["scheme"]
    data = json.loads(printed("--list", "shopping", "--format", "json"))
    assert data["buy"] == scheme["buy"] and data["totals"] == scheme["totals"]
    rows = list(csv.DictReader(printed("--list", "shopping", "--format", "csv").splitlines()))
    for order in scheme["buy"]:
        own = [row for row in rows if row["shop"] == order["name"]]
        assert [(row["name"], row["cost"]) for row in own[-2:]] == [
            ("Postage", order["postage"]),
            ("Total", order["total"]),
        ]
        assert [(r["offer"], r["packs"], r["cost"], r["priced_on"]) for r in own[:-2]] == [
            (p["offer"], str(p["packs"]), p["cost"], p["priced_on"]) for p in order["packs"]
        ]
    for form, box in (("text", "[ ] "), ("markdown", "- [ ] ")):
        flat = printed("--list", "shopping", "--format", form)
        assert flat.count(box) == sum(len(order["packs"]) for order in scheme["buy"])
        flat = " ".join(flat.split())
        for order in scheme["buy"]:
            assert f"Buy from {order['name']}" in flat
            assert f"Total: {order['currency']} {order['total']}." in flat
        assert "Prices of 2 November 2026." in flat and CAUTION_PARTS in flat
    assert "add `--list shopping` or `--list bench`" in printed("--format", "csv", code=2)


def test_a_missing_date_is_said(tmp_path: Path, printed: Printed) -> None:
    path = tmp_path / "a.store.json"
    shops = {
        key: {k: v for k, v in shop.items() if k != "priced_on"}
        for key, shop in DRAWER["shops"].items()
    }
    path.write_text(json.dumps({**DRAWER, "shops": shops}), "utf-8")
    told = printed("--list", "shopping", store=path)
    assert "Prices without a date in the store." in told
    (order,) = json.loads(printed("--format", "json", store=path))["scheme"]["buy"]
    assert [pack["priced_on"] for pack in order["packs"]] == [None]


def test_the_bench_list_by_signal(printed: Printed) -> None:
    """Worked through on paper, signal by signal: each step finds its pieces where the list says."""
    answer = json.loads(printed("--format", "json"))
    bench = json.loads(printed("--list", "bench", "--format", "json"))["bench"]
    assert bench == answer["scheme"]["bench"]
    work_through(bench, answer["scheme"], DRAWER)
    text = printed("--list", "bench")
    rows = list(csv.DictReader(printed("--list", "bench", "--format", "csv").splitlines()))
    assert [job["signal"] for job in bench] == list(dict.fromkeys(row["signal"] for row in rows))
    for job in bench:
        own = [row for row in rows if row["signal"] == job["signal"]]
        assert [row["step"] for row in own] == [str(n) for n in range(1, len(own) + 1)]
        takes = [(row["what"], int(row["number"])) for row in own if row["do"] == "take"]
        assert takes == [(take["part"], take["count"]) for take in job["take"]]
        assert f"Signal {job['signal']}\n  1. Take from " in text


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
    answer = told(KELPIE, "--store", STORE, "--at-most", "6.23", code=1)
    assert (answer["met"], answer["least_money"], answer["short"]) == (False, "6.24", [])
    # Nine arms are needed, and eight are there: one signal must go.
    assert len(answer["leave_out"]) == 1
    assert answer["scheme_for_the_rest"]["totals"] == {}
    audit(answer, answer["scheme_for_the_rest"], DRAWER, answer["leave_out"])
    assert told(KELPIE, "--store", STORE, "--at-most", "6.24")["met"] is True
    text = trappoint("parts", KELPIE, "--store", STORE, "--at-most", "6.23")
    assert text.returncode == 1
    assert "GBP 6.24 would pay for all signals." in text.stdout
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
    env = environment(PYTHONPATH=str(tmp_path))
    done = in_own_process("parts", KELPIE, "--store", STORE, env=env)
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
        in_own_process(
            "parts", KELPIE, "--store", STORE, "--format", form,
            env=environment(PYTHONHASHSEED=seed),
        ).stdout
        for seed in ("1", "2", "3")
    }  # fmt: skip
    assert len(runs) == 1
