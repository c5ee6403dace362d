"""Install, uninstall and start the drivers of git.

A driver is a command in the repository's configuration, and a line in its ``info/attributes`` with
the names of the files. Neither is committed. The command starts this Python by its full path. If
that fails, the command does the work without Trappoint.
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
"""The names of plans, in small letters or capitals."""

MARK = "# Trappoint added the next line.\n"
BROKEN_MARK = "# Trappoint added the next line, after a line without an end.\n"
"""The mark for a file whose last line had no line end: uninstalling removes the added one."""
OWN_MARK = "# Trappoint made this file.\n"
"""The mark for a file that did not exist: uninstalling deletes it."""


class Driver(NamedTuple):
    """A driver, and its entries in git's configuration."""

    program: str
    usage: str
    module: str
    settings: Mapping[str, str]
    """Keys of git's configuration and their values."""
    attribute: str
    """The attribute that names this driver in ``info/attributes``."""
    installed: str
    """What git does once the driver is installed, as the end of a sentence."""
    uninstalled: str
    """The same for a driver that is uninstalled."""


def start_of(module: str) -> str:
    """Return the beginning of a shell command that starts a module by Python's full path.

    Arguments of the module may follow. ``-P`` keeps Python from importing files of the current
    folder, which belongs to the repository.
    """
    python = shlex.quote(Path(sys.executable).as_posix())
    return f'python={python}\ntest -x "$python" && "$python" -P -m {module}'


def report_of(program: str, section: str) -> str:
    """Return a shell command that reports why git does the driver's work on lines of text."""
    return (
        f'echo "{program}: $python failed, so git works on the lines of this plan." '
        f">&2\necho 'Repair it with {program} --install, or remove it with "
        f"git config --remove-section {section}' >&2"
    )


def run_driver(driver: Driver, words: list[str], answer: Callable[[Streams], int | None]) -> int:
    """Install or uninstall the driver, or do the driver's work. Returns the exit code.

    ``answer`` does the work, and returns None if the arguments are not those of git.
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
            f"{driver.program}: internal error, not a fault of your plan "
            f"({type(error).__name__}: {error}). Please report it."
        )
        return INTERNAL_ERROR
    finally:
        streams.close()


def _own_answer(driver: Driver, words: list[str], streams: Streams) -> int | None:
    """Install, uninstall, or print the help or the version; return None for other arguments."""
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
        streams.complain(f"{driver.program}: this folder is not in a git repository.")
        return USAGE_ERROR
    there = {
        key: value
        for key in driver.settings
        if (value := _git("config", "--local", "--get", key)) is not None
    }
    for key, value in there.items():
        if _is_command(driver, driver.settings[key]) and not _is_command(driver, value):
            streams.complain(
                f"{driver.program}: {key} is already set to {value!r}, by another program. "
                f"If you do not need it, run: git config --unset {key}"
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
        streams.complain(f"{driver.program}: git cannot write the repository's configuration.")
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
    """Return a text without an added line and the mark above it."""
    before, found, after = text.partition(f"\n{BROKEN_MARK}{line}")
    if not found:
        return text.replace(MARK + line, "", 1)
    if after.startswith(MARK):  # our next line now follows the line without an end
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
    """Return git's output without its last line end; None if git fails or is missing."""

    found = try_git(*words)
    return None if found is None else found.removesuffix("\n")
