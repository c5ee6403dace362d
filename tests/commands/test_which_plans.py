"""Which plans are meant, by which settings, and where the report goes."""

from __future__ import annotations

import io
import json
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from commands.running import BAD, GOOD, trappoint
from trappoint import cli
from trappoint.app import load
from trappoint.core.terminal import RenderOptions
from trappoint.reporting.tidy_diff import paint_diff, unified_diff

pytestmark = pytest.mark.usefixtures("quick")

UNTIDY = json.dumps(json.loads(GOOD), indent=1)


def whole_of(board: str) -> str:
    """A plan put together from one board."""
    form = {"format": "trappoint-layout/1", "tracks": {}}
    return json.dumps({**form, "boards": {"a": {"plan": board}}})


class Done(NamedTuple):
    code: int
    out: str
    err: str

    @property
    def files(self) -> list[str]:
        """The plans in a report of JSON."""
        return [file["file"] for file in json.loads(self.out)["files"]]


Run = Callable[..., Done]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run the program in this process, in a club with a good plan and a bad one in its attic."""
    for name, text in (("good", GOOD), ("attic/bad", BAD), ("attic/deep/bad", BAD)):
        path = tmp_path / f"{name}.layout.json"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, "utf-8")
    monkeypatch.chdir(tmp_path)

    def call(*words: str, given: str = "") -> Done:
        load._settings_of.cache_clear()
        load._settings_in.cache_clear()
        capsys.readouterr()
        given_bytes = io.TextIOWrapper(io.BytesIO(given.encode()))
        monkeypatch.setattr(sys, "stdin", given_bytes)
        code = cli.main(list(words))
        return Done(code, *capsys.readouterr())

    return call


@pytest.mark.parametrize("pattern", ["attic", "attic/", "attic/**", "bad.*", "**/bad*"])
def test_what_is_excluded_is_left_out(run: Run, pattern: str) -> None:
    done = run("check", "--format", "json", "--exclude", pattern, ".")
    assert (done.code, done.files, done.err) == (0, ["good.layout.json"], "")
    assert run("tidy", "--check", "--exclude", pattern, ".").code == 0


def test_excludes_add_up(run: Run) -> None:
    Path("trappoint.toml").write_text('exclude = ["attic/deep"]\n', "utf-8")
    assert run("check", "--format", "json", ".").files == [
        "attic/bad.layout.json",
        "good.layout.json",
    ]
    words = ("check", "--format", "json", "--exclude", "good.*", "--exclude", "x", ".")
    assert run(*words).files == ["attic/bad.layout.json"]


def test_a_plan_that_is_named_is_left_out_too(run: Run) -> None:
    """Hooks name the files that they want to have checked."""
    Path("trappoint.toml").write_text('exclude = ["attic"]\n', "utf-8")
    named = "attic/bad.layout.json"
    done = run("check", "--format", "json", named, "good.layout.json")
    assert (done.code, done.files) == (0, ["good.layout.json"])
    assert done.err == f"trappoint: {named} is excluded.\n"
    assert run("check", "--quiet", named) == (0, "", "")
    done = run("check", named, "attic")
    assert (done.code, done.out) == (0, "")
    assert done.err.endswith("trappoint: every plan is excluded.\n")
    before = Path("attic/bad.layout.json").read_bytes()
    Path(named).write_text(UNTIDY, "utf-8")
    assert run("tidy", ".").code == 0
    assert Path(named).read_text("utf-8") == UNTIDY != before.decode()
    assert run("check", "-", given=BAD).code == 1  # so it can be checked all the same


def test_settings_exclude_from_their_own_folder(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    Path("trappoint.toml").write_text('exclude = ["/attic/*.json"]\n', "utf-8")
    monkeypatch.chdir("attic")
    assert run("check", "--format", "json", "..").files == [
        "../attic/deep/bad.layout.json",
        "../good.layout.json",
    ]


def test_an_excluded_board_is_checked_in_its_whole_alone(run: Run) -> None:
    Path("whole.layout.json").write_text(whole_of("attic/bad.layout.json"), "utf-8")
    words = ("check", "--format", "json", "whole.layout.json")
    assert run(*words).files == ["whole.layout.json", "attic/bad.layout.json"]
    done = run(*words, "--exclude", "attic")
    assert done.files == ["whole.layout.json"]
    assert json.loads(done.out)["files"][0]["holds"] is False


def test_settings_of_a_file_go_before_those_found(run: Run) -> None:
    Path("trappoint.toml").write_text('exclude = ["good*"]\nnonsense = 1\n', "utf-8")
    done = run("check", ".")
    assert (done.code, done.out) == (2, "")
    assert done.err.count("there is no setting nonsense") == 1
    Path("strict.toml").write_text('exclude = ["attic"]\n[levels]\nsiding-without-trap = "error"\n')
    Path("second.layout.json").write_text(GOOD, "utf-8")
    for jobs in ("1", "2"):
        done = run("check", "--format", "json", "--config", "strict.toml", "--jobs", jobs, ".")
        assert (done.code, done.err) == (1, "")
        assert done.files == ["good.layout.json", "second.layout.json"]
        for file in json.loads(done.out)["files"]:
            assert {found["rule"] for found in file["findings"]} == {"siding-without-trap"}
    assert run("tidy", "--check", "--config", "strict.toml", ".").code == 0
    done = run("check", "--config", "missing.toml", ".")
    assert (done.code, done.out) == (2, "")
    assert done.err == "trappoint: missing.toml: this cannot be read: no such file or directory.\n"
    Path("pyproject.toml").write_text("[project]\n", "utf-8")
    done = run("check", "--config", "pyproject.toml", ".")
    assert done.err == "trappoint: pyproject.toml: there is no table [tool.trappoint] in it.\n"


def test_standard_input_has_a_name(run: Run) -> None:
    Path("attic/trappoint.toml").write_text('[levels]\nsiding-without-trap = "note"\n', "utf-8")
    name = "attic/new.layout.json"
    words = ("check", "--format", "json", "--stdin-filename", name, "-")
    done = run(*words, given=GOOD)
    (file,) = json.loads(done.out)["files"]
    assert (file["file"], file["findings"][0]["rule"]) == (name, "siding-without-trap")
    # It stands for the file of that name.
    done = run(*words, "good.layout.json", "--stdin-filename", "./good.layout.json", given=BAD)
    assert (done.code, done.files) == (1, ["./good.layout.json"])
    assert run(*words, given=whole_of("bad.layout.json")).files == [name, "attic/bad.layout.json"]
    done = run("tidy", "--stdin-filename", name, "-", given=UNTIDY)
    assert (done.code, done.err) == (0, "")
    assert done.out.startswith('{\n  "')
    assert not Path(name).exists()
    for wrong in (("--stdin-filename", name, "."), ("--stdin-filename", "", "-")):
        done = run("check", *wrong)
        assert (done.code, done.out) == (2, "")
        assert (
            done.err
            == "trappoint: --stdin-filename needs the name of a file, and - among the files.\n"
        )


def test_the_report_goes_to_a_file(run: Run) -> None:
    shown = run("check", "--format", "json", ".", "nowhere.json")
    done = run("check", "--format", "json", ".", "nowhere.json", "--output-file", "report.json")
    assert Path("report.json").read_text("utf-8") == shown.out
    assert (done.code, done.out, done.err) == (shown.code, "", shown.err)
    assert shown.err.startswith("trappoint: ")
    done = run("check", ".", "-o", "report.txt", "--colour", "always")
    assert "\x1b[" in Path("report.txt").read_text("utf-8")
    assert run("check", ".", "-o", "-").out == run("check", ".").out
    done = run("check", ".", "-o", "no/folder.txt")
    assert done.code == 2
    assert done.err.endswith("no/folder.txt cannot be written: no such file or directory.\n")


def test_findings_need_not_end_with_1(run: Run) -> None:
    done = run("check", "--exit-zero", ".")
    assert done.code == 0
    assert done.out == run("check", ".").out
    assert run("check", "--exit-zero", ".", "nowhere.json").code == 2


def test_a_pattern_that_can_not_be_used(run: Run) -> None:
    done = run("check", "--exclude", "!attic", ".")
    assert done.code == 2
    assert "--exclude: !attic cannot be used: a pattern can only leave plans out." in done.err


def test_a_diff_is_what_tidying_changes(run: Run) -> None:
    """Git applies it, and then every plan is tidy."""
    crlf = UNTIDY.replace("\n", "\r\n")
    names = ("good", "a b", "no end", "caf\u00e9")
    texts = (UNTIDY, crlf, GOOD.rstrip("\n"), UNTIDY.replace("Quay", "Quay \u2028 \x85"))
    before = {f"{name}.layout.json": text.encode() for name, text in zip(names, texts, strict=True)}
    for name, content in before.items():
        Path(name).write_bytes(content)
    done = trappoint("tidy", "--diff", "--exclude", "attic", ".")
    assert (done.returncode, done.stderr) == (1, "")
    assert {name: Path(name).read_bytes() for name in before} == before
    diff = done.stdout.encode()
    done = run("tidy", "--diff", "--exclude", "attic", "--check", ".")
    assert (done.code, done.out.splitlines()) == (1, diff.decode().splitlines())
    applied = subprocess.run(
        ["git", "apply", "-"], input=diff, capture_output=True, check=False, cwd="."
    )
    assert applied.returncode == 0, applied.stderr
    assert run("tidy", "--check", "--exclude", "attic", ".") == (0, "", "")
    assert b"\r\n" in Path("a b.layout.json").read_bytes()
    assert run("tidy", "--diff", "--exclude", "attic", ".") == (0, "", "")


def test_a_diff_on_a_terminal_is_in_colour_and_harmless() -> None:
    diff = unified_diff("a.layout.json", '{"a": 1,\n"b": "\x9b"}', '{"a": 1,\n"b": "\x9b"}\n')
    painted = paint_diff(diff, RenderOptions(colour=True))
    assert "\x9b" not in painted
    assert '\x1b[31m-"b": "\\x9b"}\x1b[0m\n' in painted
    assert '\x1b[32m+"b": "\\x9b"}\x1b[0m\n' in painted
    plain = re.sub(r"\x1b\[\d*m", "", painted)
    assert plain == diff.replace("\x9b", "\\x9b")
    assert paint_diff(diff, RenderOptions()) == plain


def test_what_can_not_be_read_is_not_in_the_diff(run: Run) -> None:
    done = run("tidy", "--diff", "-", "good.layout.json", given="{")
    assert (done.code, done.out) == (1, "")
    assert "error" in done.err


@pytest.mark.parametrize(
    "words",
    [
        ("draw", "good.layout.json"),
        ("draw", "good.layout.json", "--format", "png"),
        ("chart", "good.layout.json"),
        ("new", "junction", "--bare"),
        ("road", "good.layout.json", "siding", "B", "--draw"),
    ],
    ids=" ".join,
)
def test_a_minus_is_standard_output(words: tuple[str, ...], tmp_path: Path, run: Run) -> None:
    to = () if words[-1] == "--draw" else ("-o",)
    done = subprocess.run(
        [sys.executable, "-m", "trappoint", *words, *to, "-"],
        capture_output=True,
        cwd=tmp_path,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert not Path("-").exists()
    written = "made.png" if "png" in words else "made.svg" if to == () else "made"
    assert run(*words, *to, written).code == 0
    assert Path(written).read_bytes() == done.stdout != b""


@pytest.mark.parametrize("command", ["check", "tidy", "rules"])
def test_every_command_has_a_version(command: str, run: Run) -> None:
    assert run(command, "--version") == run("--version")
