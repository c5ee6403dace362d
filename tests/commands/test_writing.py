"""Every command that writes a file: a full disk costs nothing of what was there."""

from __future__ import annotations

import ast
import json
import os
import re
import shutil
import stat
import subprocess
import sys
from argparse import Action, ArgumentParser
from importlib import import_module
from pathlib import Path

import pytest

from commands.running import BAD, GOOD, KELPIE, ROOT, environment, trappoint
from trappoint.commands.catalogue import COMMANDS
from trappoint.source.reading import UnusableFile
from trappoint.source.writing import write_file
from warm import PYTHON

pytestmark = pytest.mark.usefixtures("quick")

UNTIDY = json.dumps(json.loads(GOOD))
WHOLE = GOOD.replace("Kelpie Quay", "The plan that was there")
"""What stands in the file before; longer than the full disk takes."""

WRITES: dict[tuple[str, str], tuple[str, ...]] = {
    ("new", "output_file"): ("new", "junction", "--bare", "--overwrite", "-o", "TARGET"),
    ("check", "output_file"): ("check", "base", "-o", "TARGET"),
    ("check", "write_baseline"): ("check", "bad", "--write-baseline", "TARGET"),
    ("propose", "output_file"): ("propose", "base", "-o", "TARGET"),
    ("draw", "output_file"): ("draw", "base", "-o", "TARGET"),
    ("chart", "output_file"): ("chart", "base", "-o", "TARGET"),
    ("road", "draw"): ("road", "base", "siding", "B", "--draw", "TARGET"),
    ("tidy", "files"): ("tidy", "TARGET"),
    ("merge", "ours"): ("merge", "base", "TARGET", "theirs"),
    ("merge", "output_file"): ("merge", "base", "base", "theirs", "-o", "TARGET"),
}
"""The words of commands that name a file to be written, and a call that writes it."""

READS_OR_NAMES = {
    ("new", "at"),
    ("new", "onto"),
    ("new", "shapes"),
    ("new", "steps"),
    ("new", "title"),
    ("check", "files"),
    ("check", "config"),
    ("check", "stdin_filename"),
    ("check", "baseline"),
    ("propose", "file"),
    ("propose", "store"),
    ("table", "file"),
    ("dimensions", "file"),
    ("draw", "file"),
    ("draw", "scene"),
    ("draw", "road"),
    ("draw", "via"),
    ("chart", "file"),
    ("chart", "store"),
    ("road", "file"),
    ("road", "start"),
    ("road", "to"),
    ("road", "scene"),
    ("road", "standing"),
    ("road", "via"),
    ("session", "file"),
    ("session", "session"),
    ("parts", "plans"),
    ("parts", "store"),
    ("parts", "without"),
    ("fitting", "file"),
    ("fitting", "store"),
    ("fitting", "labels"),  # a size
    ("rules", "rule"),
    ("compare", "old"),
    ("compare", "new"),
    ("tidy", "config"),
    ("tidy", "stdin_filename"),
    ("merge", "base"),
    ("merge", "theirs"),
    ("merge", "name"),
    ("serve", "folder"),  # the page saves into it: see the tests of folders
    ("site", "folder"),
    ("site", "output_folder"),  # a folder: see the tests of sites
    ("site", "title"),
    ("serve", "host"),
    ("serve", "port"),
}
"""The words of commands that are free text and name no file to be written."""

STARVED = """\
import resource, sys
hard = resource.getrlimit(resource.RLIMIT_FSIZE)[1]
resource.setrlimit(resource.RLIMIT_FSIZE, (100, hard))
from {module} import main
sys.exit(main(sys.argv[1:]))
"""
"""A program that may write no more than 100 bytes into a file."""

ON_A_FULL_DISK = """\
set -e
mount -t tmpfs -o size=64k none disk
cp -p target disk/target
cat /dev/zero > disk/filling 2> /dev/null || true
cd disk
code=0
"$@" || code=$?
cp -p target ../target
ls -A > ../left
exit $code
"""
"""A shell script that runs a program in a disk of its own, on which nothing is left."""


def free_words() -> set[tuple[str, str]]:
    """Return every word of every command that takes free text, so that it may name a file."""

    def is_free(action: Action) -> bool:
        return action.nargs != 0 and action.choices is None and action.type is None

    found = set()
    for name in COMMANDS:
        parser = ArgumentParser(name, add_help=False)
        import_module(f"trappoint.commands.{name}").add_arguments(parser)
        found |= {(name, each.dest) for each in parser._actions if is_free(each)}
    return found


def writing_calls(path: Path) -> list[str]:
    """Return the calls in a module that write a file directly."""
    found: list[str] = []
    text = path.read_text("utf-8")
    if not re.search(r"open\(|write_text|write_bytes|mkstemp|os\.(?:replace|rename)", text):
        return found
    for node in ast.walk(ast.parse(text)):
        if not isinstance(node, ast.Call):
            continue
        name = ast.unparse(node.func)
        words = [ast.unparse(each) for each in (*node.args, *(k.value for k in node.keywords))]
        opens = name.rpartition(".")[2] == "open" and any(
            re.fullmatch(r"'[rwaxbt+]*[wax+][rwaxbt+]*'", word) for word in words
        )
        by_name = name.rpartition(".")[2] in ("write_text", "write_bytes", "mkstemp")
        if opens or by_name or name in ("os.replace", "os.rename"):
            found.append(ast.unparse(node))
    return found


def can_mount() -> bool:
    """Return whether this system lets a test have a disk of its own."""
    if not shutil.which("unshare"):
        return False
    words = ["unshare", "-rm", "mount", "-t", "tmpfs", "none", "/mnt"]
    return subprocess.run(words, capture_output=True, check=False).returncode == 0


@pytest.fixture
def club(tmp_path: Path) -> Path:
    for name, text in (
        ("base", GOOD),
        ("bad", BAD),
        ("theirs", GOOD.replace("1450", "1500")),
        ("target", WHOLE),
    ):
        (tmp_path / name).write_text(text, "utf-8")
    (tmp_path / "target").chmod(0o640)
    return tmp_path


def call_for(word: tuple[str, str], club: Path) -> tuple[str, ...]:
    """Return the call that writes, with the files that it reads in the club's folder."""
    if word == ("tidy", "files"):
        (club / "target").write_text(UNTIDY, "utf-8")
    if word == ("merge", "ours"):
        (club / "target").write_text(WHOLE, "utf-8")
    files = {name: str(club / name) for name in ("base", "bad", "theirs")} | {"TARGET": "target"}
    return tuple(files.get(each, each) for each in WRITES[word])


def names_in(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


def assert_refused(done: subprocess.CompletedProcess[str], why: str) -> None:
    """Assert that a call ended as it should where a file cannot be written."""
    assert done.returncode == 2, done.stderr
    complaints = [line for line in done.stderr.splitlines() if "cannot be written" in line]
    assert len(complaints) == 1, done.stderr
    assert complaints[0].startswith("trappoint: ")
    assert complaints[0].endswith(f" cannot be written: {why}.")
    assert "Traceback" not in done.stderr
    assert "fault of the program" not in done.stderr


def test_every_word_that_names_a_file_to_write_is_known() -> None:
    assert free_words() == READS_OR_NAMES | WRITES.keys()
    assert not READS_OR_NAMES & WRITES.keys()


def test_nothing_else_in_the_house_writes_files() -> None:
    writing = {
        path.relative_to(ROOT).as_posix(): calls
        for room in ("validator", "hooks", "service")
        for path in sorted((ROOT / room).rglob("*.py"))
        if (calls := writing_calls(path))
    }
    assert list(writing) == ["validator/trappoint/source/writing.py"], writing


@pytest.mark.parametrize("word", WRITES, ids=" ".join)
def test_the_calls_do_write(word: tuple[str, str], club: Path) -> None:
    words = call_for(word, club)
    before = (club / "target").read_bytes()
    done = trappoint(*words, cwd=club)
    assert done.returncode == 0, done.stderr
    assert (club / "target").read_bytes() not in (before, b"")
    assert stat.S_IMODE((club / "target").stat().st_mode) == 0o640


@pytest.mark.skipif(sys.platform == "win32", reason="no limit for files can be set there")
@pytest.mark.parametrize("word", WRITES, ids=" ".join)
def test_a_file_that_may_not_grow(word: tuple[str, str], club: Path) -> None:
    words = call_for(word, club)
    names, before = names_in(club), (club / "target").read_bytes()
    program = STARVED.format(module="trappoint.cli")
    done = subprocess.run(
        [sys.executable, "-B", "-c", program, *words],
        capture_output=True,
        text=True,
        cwd=club,
        env=environment(),
        check=False,
    )
    assert_refused(done, "file too large")
    assert (club / "target").read_bytes() == before
    assert names_in(club) == names


@pytest.mark.skipif(not can_mount(), reason="this system lets nobody mount a disk")
@pytest.mark.parametrize("word", WRITES, ids=" ".join)
def test_a_full_disk(word: tuple[str, str], club: Path) -> None:
    words = call_for(word, club)
    before = (club / "target").read_bytes()
    (club / "disk").mkdir()
    program = [PYTHON, "-B", "-m", "trappoint", *words]
    done = subprocess.run(
        ["unshare", "-rm", "sh", "-c", ON_A_FULL_DISK, "sh", *program],
        capture_output=True,
        text=True,
        cwd=club,
        env=environment(),
        check=False,
    )
    assert_refused(done, "no space left on device")
    assert (club / "target").read_bytes() == before
    assert (club / "left").read_text("utf-8").split() == ["filling", "target"]


def test_a_hook_is_put_in_whole_or_not_at_all(tmp_path: Path) -> None:
    subprocess.run(["git", "init", "-q", "."], cwd=tmp_path, check=True)
    program = STARVED.format(module="trappoint_hooks.commit")
    done = subprocess.run(
        [sys.executable, "-B", "-c", program, "--install"],
        capture_output=True,
        text=True,
        cwd=tmp_path,
        env=environment(),
        check=False,
    )
    assert done.returncode == 2
    assert done.stderr.endswith("pre-commit cannot be written: file too large.\n")
    hooks = tmp_path / ".git" / "hooks"
    assert all(name.endswith(".sample") for name in names_in(hooks))


def test_a_link_stays_and_what_it_leads_to_is_written(tmp_path: Path) -> None:
    (tmp_path / "far").mkdir()
    (tmp_path / "far" / "plan").write_text("before")
    (tmp_path / "link").symlink_to("far/plan")
    (tmp_path / "nowhere").symlink_to("far/new")
    write_file(str(tmp_path / "link"), b"after")
    write_file(str(tmp_path / "nowhere"), b"new")
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "nowhere").is_symlink()
    assert (tmp_path / "far" / "plan").read_bytes() == b"after"
    assert (tmp_path / "far" / "new").read_bytes() == b"new"
    assert names_in(tmp_path / "far") == {"new", "plan"}


@pytest.mark.skipif(sys.platform == "win32", reason="there are no such pipes there")
def test_a_pipe_with_a_name_gets_the_content(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    reading = subprocess.Popen(["cat", str(pipe)], stdout=subprocess.PIPE)
    done = trappoint("draw", KELPIE, "-o", pipe)
    drawn, _ = reading.communicate(timeout=60)
    assert done.returncode == 0, done.stderr
    assert drawn.startswith(b"<svg")
    assert pipe.is_fifo()
    assert names_in(tmp_path) == {"pipe"}


@pytest.mark.skipif(not Path("/dev/stdout").exists(), reason="it has no name there")
def test_standard_output_by_its_name(tmp_path: Path) -> None:
    done = trappoint("road", KELPIE, "siding", "B", "--draw", "/dev/stdout")
    assert done.returncode == 0, done.stderr
    assert done.stdout.count("<svg") == 1
    program = [sys.executable, "-m", "trappoint"]
    with (tmp_path / "out").open("wb") as out:
        out.write(b"Printed before.\n")
        out.flush()
        subprocess.run(
            [*program, "road", str(KELPIE), "siding", "B", "--draw", "/dev/stdout"],
            stdout=out,
            env=environment(),
            check=True,
        )
    assert (tmp_path / "out").read_text("utf-8") == f"Printed before.\n{done.stdout}"
    assert names_in(tmp_path) == {"out"}


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no full device")
def test_a_device_that_takes_nothing() -> None:
    done = trappoint("draw", KELPIE, "-o", "/dev/full")
    assert_refused(done, "no space left on device")
    assert stat.S_ISCHR(Path("/dev/full").stat().st_mode)


@pytest.mark.parametrize(
    ("name", "why"),
    [
        (".", "it is a folder"),
        ("no/file", "no such file or directory"),
        ("file/below", "not a directory"),
        ("a\0b", "that is not the name of a file"),
        ("loop", "too many levels of symbolic links"),
    ],
)
def test_what_is_no_place_for_a_file(
    name: str, why: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("file").write_text("before")
    Path("loop").symlink_to("loop")
    with pytest.raises(UnusableFile, match=f" cannot be written: {why}[.]$"):
        write_file(name, b"content")
    assert names_in(tmp_path) == {"file", "loop"}
