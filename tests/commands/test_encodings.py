"""Line ends, byte-order marks, encodings and names of files, as on Windows and old systems."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from commands.running import BAD, GOOD, environment, trappoint

pytestmark = pytest.mark.usefixtures("quick")

LINE = 1 + next(n for n, text in enumerate(BAD.splitlines()) if '"siding":' in text)
"""The line of the finding in BAD."""


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"], ids=["LF", "CRLF", "CR"])
def test_every_line_end_gives_the_same_report(end: str) -> None:
    expected = trappoint("check", "-", given=BAD.encode())
    done = trappoint("check", "-", given=BAD.replace("\n", end).encode())
    assert done.returncode == 1
    assert (done.stdout, done.stderr) == (expected.stdout, "")
    assert f"standard input:{LINE}:22\n" in done.stdout


def test_line_ends_of_both_kinds_in_one_file_are_counted_once_each() -> None:
    first, _, rest = BAD.partition("\n")
    mixed = f"{first}\r\n{rest}"
    done = trappoint("check", "-", given=mixed.encode())
    assert f"standard input:{LINE}:22\n" in done.stdout


def test_a_byte_order_mark_has_its_own_finding_and_no_verdict() -> None:
    done = trappoint("check", "-", given=b"\xef\xbb\xbf" + GOOD.encode())
    assert done.returncode == 1
    assert "error byte-order-mark\nstandard input:1:1\n" in done.stdout
    assert "fix  Save the file as UTF-8 without" in done.stdout


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be", "utf-32", "utf-32-be"])
def test_another_unicode_encoding_is_refused_with_its_cure(encoding: str) -> None:
    done = trappoint("check", "-", given=GOOD.encode(encoding))
    assert done.returncode == 1
    assert "cannot be judged" in done.stdout
    assert "error not-utf8\nstandard input:1:1\n" in done.stdout
    assert "fix  Save the file with the encoding UTF-8." in done.stdout
    assert done.stderr == ""


def printed_in(encoding: str, *words: str, cwd: Path) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-m", "trappoint", *words],
        cwd=cwd,
        env=environment(PYTHONIOENCODING=encoding),
        capture_output=True,
        check=False,
        timeout=120,
    )


@pytest.mark.parametrize(
    ("encoding", "shown"),
    [("ascii", r"Sm\xf8rdal \u6771"), ("cp1252", r"Smørdal \u6771"), ("utf-8", "Smørdal 東")],
)
def test_no_encoding_of_the_output_loses_a_finding(
    encoding: str, shown: str, tmp_path: Path
) -> None:
    name = "Smørdal 東"
    (tmp_path / "a.layout.json").write_text(BAD.replace('"siding"', f'"{name}"'), "utf-8")
    done = printed_in(encoding, "check", "--all", "a.layout.json", cwd=tmp_path)
    text = done.stdout.decode(encoding)
    assert done.returncode == 1
    assert done.stderr == b""
    assert shown in text
    expected = printed_in("utf-8", "check", "--all", "a.layout.json", cwd=tmp_path)
    assert text.count("a.layout.json:") == expected.stdout.count(b"a.layout.json:") > 0


@pytest.mark.parametrize("encoding", ["ascii", "cp1252"])
def test_an_error_about_a_file_is_printed_in_any_encoding(encoding: str, tmp_path: Path) -> None:
    done = printed_in(encoding, "check", "東.layout.json", cwd=tmp_path)
    assert (done.returncode, done.stdout) == (2, b"")
    assert done.stderr == b"trappoint: There is no file \\u6771.layout.json.\n"


@pytest.mark.skipif(os.name == "nt", reason="there a backslash parts folders")
@pytest.mark.parametrize("name", ["quay\\west.layout.json", "the quay.layout.json"])
def test_a_name_with_a_backslash_or_a_space_is_printed_as_it_is(name: str, tmp_path: Path) -> None:
    (tmp_path / name).write_text(BAD, "utf-8")
    done = trappoint("check", name, cwd=tmp_path)
    assert done.stdout.startswith(f"{name} does not hold: ")
    assert f"\n{name}:{LINE}:22\n" in done.stdout
    data = json.loads(trappoint("check", "--format", "json", name, cwd=tmp_path).stdout)
    assert [file["file"] for file in data["files"]] == [name]
    missing = trappoint("check", f"no {name}", cwd=tmp_path)
    assert missing.stderr == f"trappoint: There is no file no {name}.\n"


@pytest.mark.skipif(os.name == "nt", reason="there a backslash parts folders")
@pytest.mark.parametrize("name", ["report\\1.txt", "the report.txt", "reports/the report.txt"])
def test_a_report_goes_to_a_file_of_any_name_as_utf8(name: str, tmp_path: Path) -> None:
    (tmp_path / "reports").mkdir()
    (tmp_path / "a.layout.json").write_text(BAD.replace('"siding"', '"Smørdal 東"'), "utf-8")
    done = trappoint(
        "check",
        "a.layout.json",
        "--output-file",
        name,
        cwd=tmp_path,
        env=environment(PYTHONIOENCODING="ascii"),
    )
    assert (done.returncode, done.stdout, done.stderr) == (1, "", "")
    written = (tmp_path / name).read_bytes()
    assert "Smørdal 東" in written.decode("utf-8")
    assert b"\r" not in written
