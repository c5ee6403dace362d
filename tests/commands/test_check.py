"""``trappoint check`` as a whole process: exit codes, streams, what is printed where."""

from __future__ import annotations

import json
import os
import shutil
from pathlib import Path
from typing import Any

import pytest

from commands.running import BAD, EXAMPLES, GOOD, KELPIE, ROOT, flat, plan, trappoint
from trappoint.core.findings import CAUTION_SHORT

pytestmark = pytest.mark.usefixtures("quick")

EXPECTED = Path(__file__).parent / "expected"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "good.layout.json").write_text(GOOD, "utf-8")
    (tmp_path / "bad.layout.json").write_text(BAD, "utf-8")
    return tmp_path


def test_a_plan_that_holds() -> None:
    done = trappoint("check", KELPIE, "--fail-on", "note")
    assert done.returncode == 0
    assert (
        "kelpie-quay.layout.json holds, for trains up to 610 mm (siding): no two trains can be "
        "brought together" in flat(done.stdout)
    )
    assert flat(done.stdout).endswith(CAUTION_SHORT)
    assert done.stderr == ""


def test_a_plan_that_does_not_hold(folder: Path, rewrite: bool) -> None:
    """Taking signal 6 out of Kelpie Quay leaves the siding unheld (the design, section 3)."""
    done = trappoint("check", "bad.layout.json", cwd=folder)
    assert done.returncode == 1
    assert done.stderr == ""
    number = 1 + next(n for n, line in enumerate(BAD.splitlines()) if '"siding":' in line)
    verdict = "bad.layout.json does not hold: two trains can be brought together as signalled."
    place = f"bad.layout.json:{number}:22"
    assert flat(done.stdout).startswith(f"{verdict} 1 error. error unheld-exit {place} ")
    golden = EXPECTED / "siding-not-held.txt"
    if rewrite:
        golden.parent.mkdir(exist_ok=True)
        golden.write_text(done.stdout, "utf-8")
    assert done.stdout == golden.read_text("utf-8")


def test_the_mark_stands_under_the_value() -> None:
    """The finding is about what the siding's up end meets: the text "p3.left"."""
    lines = trappoint("check", "-", given=BAD.encode()).stdout.splitlines()
    source = next(n for n, line in enumerate(lines) if '"siding":' in line)
    mark = lines[source + 1]
    start, stop = len(mark) - len(mark.lstrip()), len(mark)
    assert lines[source][start:stop] == '"p3.left"'


def test_json_is_one_object_of_the_published_form(folder: Path) -> None:
    done = trappoint("check", "--format", "json", ".", cwd=folder)
    assert done.returncode == 1
    told = json.loads(done.stdout)
    assert list(told) == ["tool", "version", "files", "caution"]
    assert told["tool"] == "trappoint"
    assert [(f["file"], f["holds"]) for f in told["files"]] == [
        ("bad.layout.json", False),
        ("good.layout.json", True),
    ]
    assert told["files"][1]["findings"] == []
    (finding,) = told["files"][0]["findings"]
    assert list(finding) == [
        *("rule", "level", "pointer", "line", "column", "message", "why", "fix", "path")
    ]
    assert finding["rule"] == "unheld-exit"
    assert finding["pointer"] == "/tracks/siding/up"
    assert BAD.splitlines()[finding["line"] - 1][finding["column"] - 1 :].startswith('"p3.left"')


def test_json_of_what_cannot_be_understood() -> None:
    done = trappoint("check", "--format", "json", "-", given=b'{"format": "caf\xe9"}')
    assert done.returncode == 1
    (told,) = json.loads(done.stdout)["files"]
    assert told["file"] == "-"
    assert told["holds"] is None
    assert [finding["rule"] for finding in told["findings"]] == ["not-utf8"]


def test_json_of_no_readable_file_is_still_json() -> None:
    done = trappoint("check", "--format", "json", "nowhere.layout.json")
    assert done.returncode == 2
    assert json.loads(done.stdout)["files"] == []


def test_json_is_ascii_and_whole_whatever_the_encoding() -> None:
    text = plan(tracks={**json.loads(GOOD)["tracks"], "caf\u00e9": {"up": "buffer", "down": "x"}})
    done = trappoint("check", "--format", "json", "-", given=text.encode())
    assert done.stdout.isascii()
    (told,) = json.loads(done.stdout)["files"]
    assert any("caf\u00e9" in finding["message"] for finding in told["findings"])


def test_a_missing_file_is_complained_of_and_the_others_are_checked(folder: Path) -> None:
    done = trappoint("check", "missing.layout.json", "good.layout.json", cwd=folder)
    assert done.returncode == 2
    assert done.stderr == "trappoint: There is no file missing.layout.json.\n"
    assert "good.layout.json holds" in done.stdout
    assert "missing" not in done.stdout


def test_a_missing_file_goes_before_findings(folder: Path) -> None:
    done = trappoint("check", "missing.layout.json", "bad.layout.json", cwd=folder)
    assert done.returncode == 2
    assert "bad.layout.json does not hold" in done.stdout


@pytest.mark.skipif(os.geteuid() == 0, reason="nothing is forbidden to the administrator")
def test_a_file_that_may_not_be_read(folder: Path) -> None:
    (folder / "good.layout.json").chmod(0)
    done = trappoint("check", "good.layout.json", cwd=folder)
    assert done.returncode == 2
    assert "permission was refused" in done.stderr


def test_a_folder_is_searched_for_plans(folder: Path) -> None:
    below = folder / "boards" / "west"
    below.mkdir(parents=True)
    shutil.copy(KELPIE, below / "kelpie.layout.json")
    (below / "notes.json").write_text("no plan", "utf-8")
    hidden = folder / ".kept"
    hidden.mkdir()
    (hidden / "old.layout.json").write_text("no plan", "utf-8")
    done = trappoint("check", "--format", "json", ".", cwd=folder)
    assert [told["file"] for told in json.loads(done.stdout)["files"]] == [
        "bad.layout.json",
        "boards/west/kelpie.layout.json",
        "good.layout.json",
    ]


def test_a_folder_without_plans_is_no_clean_run(tmp_path: Path) -> None:
    done = trappoint("check", tmp_path)
    assert done.returncode == 2
    assert done.stdout == ""
    assert "There is no *.layout.json in the folder" in done.stderr


def test_files_are_sorted_and_each_is_checked_once(folder: Path) -> None:
    done = trappoint("check", "good.layout.json", ".", "./bad.layout.json", cwd=folder)
    verdicts = [line.split()[0] for line in done.stdout.splitlines() if ".json " in line]
    assert verdicts == ["bad.layout.json", "good.layout.json"]


@pytest.mark.parametrize(
    ("content", "rule"),
    [
        (b"\x7fELF\x02\x01\x01\x00\xff\xfe\x00\x01", "not-utf8"),
        (bytes(range(256)), "not-utf8"),
        (b"\x00" * 64, "not-json"),
        (b"", "empty-file"),
        ("\ufeff{}".encode(), "byte-order-mark"),
        (b'{"title": "a\x1b[31mb"}', "not-json"),
    ],
)
def test_binary_input_is_a_finding(content: bytes, rule: str) -> None:
    done = trappoint("check", "-", given=content)
    assert done.returncode == 1
    assert f"error {rule}\n" in done.stdout
    assert done.stderr == ""
    shown = done.stdout.replace("\n", "")
    assert shown.isprintable()  # nothing that would steer a terminal


def test_standard_input() -> None:
    good = trappoint("check", "-", given=GOOD.encode())
    assert (good.returncode, good.stderr) == (0, "")
    assert flat(good.stdout).startswith("standard input holds, for trains")
    bad = trappoint("check", "-", given=BAD.encode())
    assert bad.returncode == 1
    assert bad.stdout.startswith("standard input does not hold")
    assert "\nstandard input:11:" in bad.stdout


def test_standard_input_among_files(folder: Path) -> None:
    done = trappoint("check", "good.layout.json", "-", given=BAD.encode(), cwd=folder)
    assert done.returncode == 1
    assert "standard input does not hold" in done.stdout
    assert "good.layout.json holds" in done.stdout


def test_the_caution_is_said_once(folder: Path) -> None:
    done = trappoint("check", ".", cwd=folder)
    assert flat(done.stdout).count(CAUTION_SHORT) == 1


WARNING = {"accept": [{"rule": "unheld-exit", "at": "siding", "because": ""}]}
"""A plan that accepts a finding without a reason: the check gives a warning."""


def with_warning() -> str:
    signals = {k: v for k, v in json.loads(GOOD)["signals"].items() if k != "6"}
    return plan(signals=signals, **WARNING)


@pytest.mark.parametrize(("floor", "code"), [("error", 0), ("warning", 1), ("note", 1)])
def test_the_level_asked_for(floor: str, code: int) -> None:
    done = trappoint("check", "--fail-on", floor, "-", given=with_warning().encode())
    assert "warning accept-without-reason" in done.stdout
    assert done.returncode == code


def test_what_is_accepted_is_counted() -> None:
    done = trappoint("check", "-", given=with_warning().encode())
    assert flat(done.stdout).startswith("standard input does not hold")
    assert "1 finding accepted by the plan itself" in flat(done.stdout)


def test_quiet_prints_only_what_stands_in_the_way(folder: Path) -> None:
    (folder / "warned.layout.json").write_text(with_warning(), "utf-8")
    done = trappoint("check", "--quiet", ".", cwd=folder)
    assert done.returncode == 1
    assert "bad.layout.json does not hold" in done.stdout
    assert "good.layout.json" not in done.stdout
    assert "warned.layout.json" not in done.stdout
    silent = trappoint("check", "--quiet", "good.layout.json", "warned.layout.json", cwd=folder)
    assert (silent.returncode, silent.stdout, silent.stderr) == (0, "", "")


@pytest.mark.parametrize("look", ["text", "json"])
def test_some_at_a_time_says_the_same(tmp_path: Path, look: str) -> None:
    for number in range(9):
        text = BAD if number % 3 == 0 else GOOD[: -number or None] if number == 4 else GOOD
        (tmp_path / f"plan-{number}.layout.json").write_text(text, "utf-8")
    words: list[Any] = ["check", "--format", look, ".", "missing.layout.json"]
    one = trappoint(*words, cwd=tmp_path)
    many = trappoint(*words, "--jobs", "3", cwd=tmp_path)
    assert one.returncode == 2
    assert (one.returncode, one.stdout, one.stderr) == (many.returncode, many.stdout, many.stderr)


@pytest.mark.parametrize(
    "words",
    [
        ["check"],
        ["check", "--fail-on", "trifle", str(KELPIE)],
        ["check", "--format", "poem", str(KELPIE)],
        ["check", "--jobs", "0", str(KELPIE)],
        ["check", "--jobs", "many", str(KELPIE)],
        ["check", "--nonsense", str(KELPIE)],
        ["chek", str(KELPIE)],
        ["--nonsense"],
        [],
    ],
)
def test_wrong_words(words: list[str]) -> None:
    done = trappoint(*words)
    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr
    assert "Traceback" not in done.stderr


def test_a_command_mistyped_is_guessed() -> None:
    assert "Is check meant?" in trappoint("chek").stderr


def test_help_lists_every_command_and_nothing_that_is_not_there() -> None:
    done = trappoint("--help")
    assert (done.returncode, done.stderr) == (0, "")
    folder = ROOT / "validator" / "trappoint" / "commands"
    modules = {
        path.stem for path in folder.glob("*.py") if "def add_arguments(" in path.read_text()
    }
    listed = done.stdout.partition("commands:")[2].splitlines()
    assert {line.split()[0] for line in listed if line.startswith("  ") and "`" not in line} == (
        modules
    )
    for name in modules:
        told = trappoint(name, "--help")
        assert (told.returncode, told.stderr) == (0, "")
        assert max(map(len, told.stdout.splitlines())) <= 80


def test_version() -> None:
    import trappoint as library

    done = trappoint("--version")
    assert (done.returncode, done.stdout) == (0, f"trappoint {library.__version__}\n")


def test_every_example_keeps_to_80_columns() -> None:
    """Names of places are left whole, so that they can be copied; all else is wrapped."""
    done = trappoint("check", EXAMPLES)
    assert done.returncode in (0, 1)
    for line in done.stdout.splitlines():
        if " error " in line or " warning " in line or " note " in line:
            continue
        assert len(line) <= 80 or " " not in line.strip(), line


def test_a_strange_file_name(tmp_path: Path) -> None:
    """Names with blanks, odd letters, braces and line breaks are names, and harmless ones."""
    for name in (
        "{a}.layout.json",
        "with blank.layout.json",
        "caf\u00e9.layout.json",
        "a\nb\x1b[31m",
    ):
        (tmp_path / name).write_text(GOOD, "utf-8")
        done = trappoint("check", name, cwd=tmp_path)
        assert (done.returncode, done.stderr) == (0, "")
        assert done.stdout.replace("\n", "").isprintable()
