"""Run ``trappoint merge`` as a process: the written file, the messages, the exit codes."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

import pytest

from commands.in_process import trappoint
from commands.running import GOOD, plan
from merge.versions import finish
from trappoint.core.findings import CAUTION_SHORT
from trappoint.tidying.tidy import tidy_content

Plan = dict[str, Any]
KELPIE: Plan = json.loads(GOOD)

OUT_OF_USE = GOOD.replace('"down": "buffer", "length_mm": 610', '"down": "buffer", "stand": false')
OUT_OF_USE = "".join(line for line in OUT_OF_USE.splitlines(keepends=True) if '"6": {' not in line)
"""The siding is out of use, so it needs no signal."""

LONGER = plan(
    tracks=KELPIE["tracks"]
    | {
        "siding": {"up": "p3.left", "down": "joint:far", "length_mm": 610},
        "far-siding": {"up": "joint:far", "down": "buffer", "length_mm": 400},
    }
)
"""The siding is longer, and signal 6 holds a train at its far end."""


@pytest.fixture
def club(tmp_path: Path) -> Path:
    (tmp_path / "base").write_text(GOOD, "utf-8")
    return tmp_path


def write(club: Path, ours: str | bytes, theirs: str | bytes) -> None:
    for name, text in (("ours", ours), ("theirs", theirs)):
        (club / name).write_bytes(text if isinstance(text, bytes) else text.encode())


def data(path: Path) -> Plan:
    found: Plan = json.loads(path.read_text("utf-8"))
    return found


def test_changes_at_two_ends(club: Path) -> None:
    write(club, GOOD.replace("1450", "1500"), GOOD.replace("Kelpie Quay", "Old Quay"))
    (club / "ours").chmod(0o640)
    done = trappoint("merge", "base", "ours", "theirs", cwd=club)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    assert data(club / "ours") == json.loads(
        GOOD.replace("1450", "1500").replace("Kelpie Quay", "Old Quay")
    )
    assert (club / "ours").stat().st_mode & 0o777 == 0o640
    assert tidy_content((club / "ours").read_bytes()) == (club / "ours").read_text("utf-8")
    assert (club / "theirs").read_text("utf-8") == GOOD.replace("Kelpie Quay", "Old Quay")


def test_where_it_is_written(club: Path) -> None:
    ours = GOOD.replace("1450", "1500")
    write(club, ours, GOOD.replace("Kelpie Quay", "Café Quay"))
    done = trappoint("merge", "base", "ours", "theirs", "-o", "merged", cwd=club)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    assert (club / "ours").read_text("utf-8") == ours
    printed = trappoint("merge", "base", "-", "theirs", given=ours.encode(), cwd=club)
    assert (printed.returncode, printed.stderr) == (0, "")
    assert printed.stdout == (club / "merged").read_text("utf-8")
    assert '"title": "Café Quay"' in printed.stdout


def test_a_conflict_is_named_and_left_to_a_person(club: Path) -> None:
    ours, theirs = GOOD.replace("1450", "1500"), GOOD.replace("1450", "1400")
    write(club, ours, theirs)
    done = trappoint("merge", "base", "ours", "theirs", "--name", "kelpie.layout.json", cwd=club)
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr == (
        "trappoint: kelpie.layout.json: conflict: track main, length_mm: ours has 1500, theirs "
        "has 1400; before, it was 1450.\n"
        "trappoint: kelpie.layout.json: 1 conflict is left for you. Keep one of the two versions "
        "between the marks, and remove the marks. Then: `trappoint check kelpie.layout.json`.\n"
    )
    text = (club / "ours").read_text("utf-8")
    assert json.loads(finish(text, "ours")) == json.loads(ours)
    assert json.loads(finish(text, "theirs")) == json.loads(theirs)
    checked = trappoint("check", "ours", cwd=club)
    assert checked.returncode == 1
    assert "A conflict between two versions was left in the file." in checked.stdout
    (club / "ours").write_text(finish(text, "theirs"), "utf-8")
    assert trappoint("check", "ours", cwd=club).returncode == 0


def test_both_versions_hold_and_what_is_merged_does_not(club: Path) -> None:
    for version in (GOOD, OUT_OF_USE, LONGER):
        assert trappoint("check", "-", given=version.encode()).returncode == 0
    write(club, OUT_OF_USE, LONGER)
    done = trappoint("merge", "base", "ours", "theirs", "-o", "merged", cwd=club)
    assert (done.returncode, done.stdout) == (1, "")
    assert "error unheld-exit\n" in done.stderr
    assert "does not hold" in done.stderr
    assert "so the merge fails" in done.stderr
    assert CAUTION_SHORT in " ".join(done.stderr.split())
    # Nothing is lost: the merged plan is in the file.
    merged = data(club / "merged")
    assert "far-siding" in merged["tracks"]
    assert "6" not in merged["signals"]
    assert merged["tracks"]["siding"]["stand"] is False
    allowed = trappoint(*("merge", "base", "ours", "theirs", "-o", "allowed", "--allow"), cwd=club)
    assert (allowed.returncode, allowed.stdout) == (0, "")
    assert "error unheld-exit\n" in allowed.stderr
    assert data(club / "allowed") == merged


def test_a_reference_to_a_removed_thing_is_refused(club: Path) -> None:
    """One version removes platform B, the other gives an arm leave for it."""
    write(
        club,
        plan(platforms={"A": KELPIE["platforms"]["A"]}),
        GOOD.replace('{"id": "1L", "to": "loop-west"}', '{"id": "1L", "to": "B"}'),
    )
    done = trappoint("merge", "base", "ours", "theirs", cwd=club)
    assert (done.returncode, done.stdout) == (1, "")
    assert "the merge fails" in done.stderr


def test_a_plan_that_did_not_hold_before_is_not_refused(club: Path) -> None:
    bad = "".join(line for line in GOOD.splitlines(keepends=True) if '"6": {' not in line)
    (club / "base").write_text(bad, "utf-8")
    write(club, bad.replace("1450", "1500"), bad.replace("Kelpie Quay", "Old Quay"))
    done = trappoint("merge", "base", "ours", "theirs", cwd=club)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    assert trappoint("check", "ours", cwd=club).returncode == 1


def arms(*arms: Plan) -> str:
    """Return Kelpie Quay with other arms on its first signal; the last one leads nowhere."""
    return plan(
        signals=KELPIE["signals"]
        | {"1": KELPIE["signals"]["1"] | {"arms": [*arms, {"id": "1Z", "to": "nowhere"}]}}
    )


def test_an_old_error_is_recognised_at_another_position_of_a_list(club: Path) -> None:
    """One version adds an arm before it, the other removes one: the same arm is wrong."""
    left, right = KELPIE["signals"]["1"]["arms"]
    (club / "base").write_text(arms(left, right), "utf-8")
    write(club, arms({"id": "1A", "to": "siding"}, left, right), arms(right))
    done = trappoint("merge", "base", "ours", "theirs", cwd=club)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    merged = data(club / "ours")["signals"]["1"]["arms"]
    assert [arm["id"] for arm in merged] == ["1A", "1R", "1Z"]


def test_a_new_error_is_not_taken_for_an_old_one(club: Path) -> None:
    """Both versions have a wrong arm at one position of the list; the merged plan has another."""
    left, right = KELPIE["signals"]["1"]["arms"]
    (club / "base").write_text(arms(left, right), "utf-8")
    ours = json.loads(arms(left, {**right, "never_with": ["2"]}))
    theirs = json.loads(arms(left, right))
    del theirs["signals"]["2"]
    write(club, json.dumps(ours), json.dumps(theirs))
    done = trappoint("merge", "base", "ours", "theirs", cwd=club)
    assert done.returncode == 1
    assert "The plan has no arm 2." in done.stderr
    assert "nowhere" not in done.stderr


def test_both_add_the_plan(club: Path) -> None:
    """Git passes an empty base."""
    (club / "base").write_bytes(b"")
    write(club, GOOD, GOOD)
    done = trappoint("merge", "base", "ours", "theirs", cwd=club)
    assert (done.returncode, done.stderr) == (0, "")
    write(club, GOOD, GOOD.replace("1450", "1500"))
    done = trappoint("merge", "base", "ours", "theirs", cwd=club)
    assert done.returncode == 1
    assert "conflict: track main: both add it: ours has {" in done.stderr


def test_a_version_that_can_not_be_read_is_kept_whole(club: Path) -> None:
    broken = GOOD.replace('"scale": "OO",', '"scale": "OO"')
    theirs = GOOD.replace("1450", "1500")
    write(club, broken, theirs)
    done = trappoint("merge", "base", "ours", "theirs", cwd=club)
    assert (done.returncode, done.stdout) == (1, "")
    assert "conflict: ours cannot be read (line 5, column " in done.stderr
    text = (club / "ours").read_text("utf-8")
    assert finish(text, "ours") == broken
    assert finish(text, "theirs") == theirs
    (club / "base").write_text(broken, "utf-8")
    write(club, broken, theirs)
    done = trappoint("merge", "base", "ours", "theirs", cwd=club)
    assert (done.returncode, done.stderr) == (0, "")
    assert (club / "ours").read_text("utf-8") == theirs


def test_a_base_that_can_not_be_read(club: Path) -> None:
    (club / "base").write_bytes(b"\xff\xfe")
    write(club, GOOD, GOOD)
    done = trappoint("merge", "base", "ours", "theirs", cwd=club)
    assert done.returncode == 1
    assert "the base version cannot be read" in done.stderr
    assert (club / "ours").read_text("utf-8") == GOOD


def test_what_can_not_be_used(club: Path) -> None:
    write(club, GOOD, GOOD)
    done = trappoint("merge", "base", "ours", "nowhere", cwd=club)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == "trappoint: There is no file nowhere.\n"
    assert trappoint("merge", "base", "ours", cwd=club).returncode == 2
    twice = trappoint("merge", "-", "-", "theirs", cwd=club)
    assert twice.returncode == 2
    assert "standard input" in twice.stderr
    into = trappoint("merge", "base", "ours", "theirs", "-o", "no/where", cwd=club)
    assert into.returncode == 2
    assert into.stderr.startswith("trappoint: no/where cannot be written: ")


def test_what_is_merged_is_not_written_through_a_link(club: Path) -> None:
    write(club, GOOD, GOOD.replace("1450", "1500"))
    (club / "link").symlink_to("ours")
    os.mkfifo(club / "pipe")
    for target in ("link", "pipe", "."):
        done = trappoint("merge", "base", "ours", "theirs", "-o", target, cwd=club)
        assert (done.returncode, done.stdout) == (2, "")
        assert (
            f"{target} is a link or not a plain file, so nothing is written to it." in done.stderr
        )
    done = trappoint("merge", "base", "link", "theirs", cwd=club)
    assert (done.returncode, (club / "ours").read_text("utf-8")) == (2, GOOD)
    done = trappoint("merge", "base", "link", "theirs", "-o", "merged", cwd=club)
    assert done.returncode == 0
    assert data(club / "merged")["tracks"]["main"]["length_mm"] == 1500


def test_names_that_begin_with_a_dash(club: Path) -> None:
    write(club, GOOD.replace("1450", "1400"), GOOD.replace("1450", "1500"))
    for name in ("base", "ours", "theirs"):
        (club / name).rename(club / f"-{name}")
    words = ("merge", "--name=-out\n\x1b[31m", "--", "-base", "-ours", "-theirs")
    done = trappoint(*words, cwd=club)
    assert done.returncode == 1
    assert "trappoint: -out\\n\\u001b[31m: conflict: track main" in done.stderr
    assert finish((club / "-ours").read_text("utf-8"), "theirs") == GOOD.replace("1450", "1500")


def test_a_version_too_long_to_be_read_is_not_cut(club: Path) -> None:
    long = GOOD + " " * 8_400_000
    write(club, long, GOOD.replace("1450", "1500"))
    done = trappoint("merge", "base", "ours", "theirs", cwd=club)
    assert (done.returncode, done.stderr) == (
        2,
        "trappoint: ours is longer than 8 MiB, so it is not merged.\n",
    )
    assert (club / "ours").read_text("utf-8") == long
