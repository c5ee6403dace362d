"""Drivers of git: how they are put into a repository, taken out again, and started.

Git finds a driver by two things: a command in the repository's own configuration, and a line of
its ``info/attributes`` that says for which files. Neither is committed. The command begins with
this interpreter, so that no search path matters, and goes on without Trappoint where that cannot
start.
"""

from __future__ import annotations

import shlex
import sys
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from trappoint.app.exit_codes import INTERNAL_ERROR, INTERRUPTED, OK, USAGE_ERROR
from trappoint.app.streams import NotWritten, Streams
from trappoint.core.errors import reason_of
from trappoint.core.version import __version__
from trappoint.source.git import try_git
from trappoint.source.reading import UnusableFile
from trappoint.source.writing import write_file

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

PATTERN = "*.[lL][aA][yY][oO][uU][tT].[jJ][sS][oO][nN]"
"""Names of plans, in small letters or capitals."""

MARK = "# Trappoint added the next line.\n"
BROKEN_MARK = "# Trappoint added the next line, after a line without an end.\n"
"""Different, so that a file whose last line had no end gets that back."""
OWN_MARK = "# Trappoint made this file.\n"
"""Different, so that a file that was not there is deleted again."""


class Driver(NamedTuple):
    """What a driver is called and what it needs of git."""

    program: str
    usage: str
    module: str
    settings: Mapping[str, str]
    """Keys of git's configuration and their values."""
    attribute: str
    """What says in ``info/attributes`` that files are for this driver."""
    installed: str
    """What git does from then on."""
    uninstalled: str


def start_of(module: str) -> str:
    """Return the beginning of a shell's command: it starts a module, whatever the search path.

    Words for the module may follow. ``-P`` keeps the current folder out of what is imported: it is
    the repository's, and files in it are not to be run.
    """
    python = shlex.quote(Path(sys.executable).as_posix())
    return f'python={python}\ntest -x "$python" && "$python" -P -m {module}'


def report_of(program: str, section: str) -> str:
    """Return a shell's command that says why git does the work of a driver."""
    return (
        f'echo "{program}: $python could not do the work, so git works on the lines of this plan." '
        f">&2\necho 'Put that in order with {program} --install, or do without: "
        f"git config --remove-section {section}' >&2"
    )


def run_driver(driver: Driver, words: list[str], answer: Callable[[Streams], int | None]) -> int:
    """Set the driver up, take it away, or do what git asks. Returns the exit code.

    ``answer`` does what git asks, and returns None if the words are not git's.
    """
    streams = Streams()
    try:
        code = _own_answer(driver, words, streams)
        if code is None:
            code = answer(streams)
        if code is None:
            streams.complain(driver.usage.rstrip())
            return USAGE_ERROR
        streams.flush()
        return code
    except (NotWritten, UnusableFile) as error:
        streams.complain(f"{driver.program}: {error}")
        return USAGE_ERROR
    except KeyboardInterrupt:
        return INTERRUPTED
    except Exception as error:
        streams.complain(
            f"{driver.program}: this is a fault of the program, not of your plan "
            f"({type(error).__name__}: {error}). Please report it."
        )
        return INTERNAL_ERROR
    finally:
        streams.close()


def _own_answer(driver: Driver, words: list[str], streams: Streams) -> int | None:
    """Do what people ask of every driver; return None if the words say something else."""
    if words in (["--install"], ["--uninstall"]):
        return _set_up(driver, streams, install=words == ["--install"])
    if words in (["--help"], ["-h"], ["--version"]):
        version = f"{driver.program} {__version__}\n"
        streams.say(version if words == ["--version"] else driver.usage)
        return OK
    return None


def _set_up(driver: Driver, streams: Streams, *, install: bool) -> int:
    attributes = _git("rev-parse", "--git-path", "info/attributes")
    if attributes is None:
        streams.complain(f"{driver.program}: this folder is in no git repository.")
        return USAGE_ERROR
    there = {
        key: value
        for key in driver.settings
        if (value := _git("config", "--local", "--get", key)) is not None
    }
    for key, value in there.items():
        if _is_command(driver, driver.settings[key]) and not _is_command(driver, value):
            streams.complain(
                f"{driver.program}: {key} is set already, to {value!r}, and not by this program. "
                f"If it is not needed: git config --unset {key}"
            )
            return USAGE_ERROR
    line = f"{PATTERN} {driver.attribute}\n"
    try:
        if install:
            done = all(_configure(key, value) for key, value in driver.settings.items())
            if done:
                _add_line(Path(attributes), line)
        else:
            done = all(_configure("--unset-all", key) for key in there)
            if done:
                _take_line_out(Path(attributes), line)
    except OSError as error:
        streams.complain(f"{driver.program}: {attributes} cannot be written: {reason_of(error)}.")
        return USAGE_ERROR
    if not done:
        streams.complain(f"{driver.program}: git refused to write the repository's configuration.")
        return USAGE_ERROR
    does = driver.installed if install else driver.uninstalled
    streams.say(f"In this repository, git {does}.\n")
    return OK


def _is_command(driver: Driver, value: str) -> bool:
    return f" -m {driver.module} " in value


def _configure(*words: str) -> bool:
    return _git("config", "--local", *words) is not None


def _add_line(attributes: Path, line: str) -> None:
    before = _read(attributes)
    if before is None:
        attributes.parent.mkdir(exist_ok=True)
        _write(attributes, OWN_MARK + MARK + line)
    elif line not in before.splitlines(keepends=True):
        broken = bool(before) and not before.endswith("\n")
        _write(attributes, f"{before}\n{BROKEN_MARK}{line}" if broken else before + MARK + line)


def _take_line_out(attributes: Path, line: str) -> None:
    before = _read(attributes)
    if before is None:
        return
    after = _without(before, line)
    if after != before and MARK not in after:
        after = after.removeprefix(OWN_MARK)
        if not after and before.startswith(OWN_MARK):
            attributes.unlink()
            return
    if after != before:
        _write(attributes, after)


def _without(text: str, line: str) -> str:
    """Return a text without a line that was added, and without the mark above it."""
    before, found, after = text.partition(f"\n{BROKEN_MARK}{line}")
    if not found:
        return text.replace(MARK + line, "", 1)
    if after.startswith(MARK):  # the next line of ours stands after the line without an end now
        return f"{before}\n{BROKEN_MARK}{after.removeprefix(MARK)}"
    return f"{before}\n{after}" if after else before


def _read(file: Path) -> str | None:
    try:
        return file.read_bytes().decode("utf-8", "surrogateescape")
    except FileNotFoundError:
        return None


def _write(file: Path, text: str) -> None:
    write_file(str(file), text.encode("utf-8", "surrogateescape"))


def _git(*words: str) -> str | None:
    """Return what git answers, without the line's end; None if it fails or is not there."""
    found = try_git(*words)
    return None if found is None else found.removesuffix("\n")
