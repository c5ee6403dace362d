"""Annotations in a build log, read back by the rules of escaping (from memory, unconfirmed)."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from commands.running import BAD, ROOT, plan, trappoint
from trappoint.core.findings import CAUTION_SHORT

pytestmark = pytest.mark.usefixtures("quick")

COMMAND = re.compile(r"^::(error|warning|notice) ([^:]*)::(.*)$")


def read_annotations(text: str) -> list[tuple[str, dict[str, str], str]]:
    """Return the level, the properties and the message of each annotation in a log."""
    found = []
    for line in text.splitlines():
        if not line.lstrip().startswith("::"):
            continue
        match = COMMAND.match(line)
        assert match, line
        parts = dict(part.split("=", 1) for part in match[2].split(","))
        found.append((match[1], {k: plain(v) for k, v in parts.items()}, plain(match[3])))
    return found


def plain(text: str) -> str:
    for code, char in (("%0D", "\r"), ("%0A", "\n"), ("%3A", ":"), ("%2C", ","), ("%25", "%")):
        text = text.replace(code, char)
    return text


def test_one_for_each_finding() -> None:
    own = json.loads(trappoint("check", "--format", "json", "examples", cwd=ROOT).stdout)["files"]
    done = trappoint("check", "--format", "github", "examples", cwd=ROOT)
    assert done.returncode == 1
    levels = {"error": "error", "warning": "warning", "note": "notice"}
    expected = [
        (levels[f["level"]], file["file"], str(f["line"]), str(f["column"]), f["rule"])
        for file in own
        for f in file["findings"]
    ]
    found = read_annotations(done.stdout)
    assert [(a, p["file"], p["line"], p["col"], p["title"]) for a, p, _ in found] == expected
    messages = [f["message"] for file in own for f in file["findings"]]
    assert [text.split("\n")[0] for _, _, text in found] == messages
    assert done.stdout.count("verdict: ") == len(own)
    assert done.stdout.endswith(f"{CAUTION_SHORT}\n")


def test_the_end_is_that_of_the_value(tmp_path: Path) -> None:
    (tmp_path / "a.layout.json").write_text(BAD, "utf-8")
    done = trappoint("check", "--format", "github", "a.layout.json", cwd=tmp_path)
    ((level, parts, _),) = read_annotations(done.stdout)
    line = BAD.splitlines()[int(parts["line"]) - 1]
    assert line[int(parts["col"]) - 1 : int(parts["endColumn"]) - 1] == '"p3.left"'
    assert level == "error"


def test_nothing_in_a_plan_or_its_name_can_steer_the_log(tmp_path: Path) -> None:
    name = "::error file=x,line=1::y%0A\n::error::z\x1b[31m.layout.json"
    (tmp_path / name.replace("/", "")).write_text(plan(**{"a\n::error::b%25,:": 1}), "utf-8")
    done = trappoint("check", "--format", "github", name, cwd=tmp_path)
    assert done.returncode == 1
    ((_, parts, message),) = read_annotations(done.stdout)
    assert parts["file"].startswith("::error file=x,line=1::y%0A\n::error::z")
    assert "\x1b" not in done.stdout
    assert "%25" in message


def test_standard_input_has_no_file() -> None:
    done = trappoint("check", "--format", "github", "-", given=BAD.encode())
    ((_, parts, _),) = read_annotations(done.stdout)
    assert "file" not in parts
