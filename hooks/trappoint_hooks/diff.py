"""Git's diff driver: ``git diff`` and its like say what has changed in the railway's terms.

``trappoint-diff --install`` sets it up in the repository of the current folder, and
``trappoint-diff --uninstall`` undoes that exactly. Nothing that is committed is touched: the
command goes into the repository's own configuration, the line that says for which files into its
``info/attributes``. Otherwise git is what calls it, as gitattributes(5) has it under "Defining an
external diff driver".
"""

from __future__ import annotations

import shlex
import sys
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from trappoint.app.load import settings_beside
from trappoint.app.streams import NotWritten, Streams
from trappoint.comparing.comparison import compare
from trappoint.comparing.revisions import RevisionFiles
from trappoint.comparing.sides import no_side, read_side
from trappoint.config.settings_file import SettingsError
from trappoint.core.errors import reason_of
from trappoint.core.terminal import RenderOptions
from trappoint.reporting.compare_text import render
from trappoint.source.files import files_beside
from trappoint.source.git import try_git
from trappoint.source.reading import UnusableFile, read_file
from trappoint.source.writing import write_file

if TYPE_CHECKING:
    from collections.abc import Sequence

    from trappoint.comparing.model import Side
    from trappoint.model.settings import Settings
    from trappoint.source.files import Files

KEY = "diff.trappoint.command"
LINE = "*.layout.json diff=trappoint\n"
MARK = "# The next line was added by trappoint-diff --install.\n"
BROKEN_MARK = (
    "# The next line was added by trappoint-diff --install, after a line without an end.\n"
)
"""Told apart so that a file whose last line had no end is left so again."""
OWN_MARK = "# This file was made by trappoint-diff --install.\n"
"""Told apart so that a file that was not there is taken away again."""

USAGE = """\
trappoint-diff --install    let git say of plans what changed in the railway's terms
trappoint-diff --uninstall  undo that

Both are meant for the repository of the current folder. Git calls this program
itself, with a path and both versions of the file.
"""


def main(argv: Sequence[str] | None = None) -> int:
    """Set the driver up, take it away, or do what git asks. Returns the exit code.

    Towards git that is always 0: with any other, git would stop in the middle of its output.
    """
    words = list(sys.argv[1:] if argv is None else argv)
    streams = Streams()
    try:
        if words in (["--install"], ["--uninstall"]):
            return _set_up(streams, install=words == ["--install"])
        if words in (["--help"], ["-h"]):
            streams.say(USAGE)
            return 0
        if len(words) not in (1, 7, 8, 9) or words[0].startswith("--"):
            streams.complain(USAGE.rstrip())
            return 2
        streams.say(_answer(words, streams.encoding))
        streams.flush()
        return 0
    except NotWritten as error:
        streams.complain(f"trappoint-diff: {error}")
        return 2
    except KeyboardInterrupt:
        return 130
    finally:
        streams.close()


# --- what git asks


class FileVersion(NamedTuple):
    """One version of a file: where it can be read, and what it is called."""

    path: str
    name: str
    there: bool
    files: Files
    """The files around it, from which its boards are read."""


def _answer(words: list[str], encoding: str) -> str:
    """Return what there is to say. Nothing is raised: git is to go on with the next file."""
    path = words[0]
    if len(words) == 1:
        return f"{path} is not merged yet: it is in conflict.\n"
    old = _version(path, *words[1:4])
    new = _version(words[7] if len(words) > 7 else path, *words[4:7])
    try:
        settings = settings_beside(path)
        comparison = compare(_side(old, settings), _side(new, settings))
        return render(comparison, RenderOptions(encoding=encoding)) + "\n"
    except (UnusableFile, SettingsError) as error:
        return f"{path} cannot be compared: {error}\n\n"
    except Exception as error:  # whatever it is, git must go on
        return (
            f"{path} cannot be compared. This is a fault of the program, not of the plan "
            f"({type(error).__name__}: {error}). Please report it.\n\n"
        )


def _version(path: str, file: str, hex_: str, mode: str) -> FileVersion:
    # In the work tree a file has no name in git yet: git gives zeros.
    called = hex_[:7] if hex_.strip("0.") else "as it lies here"
    there = mode != "." and file not in ("/dev/null", "nul")
    return FileVersion(file, f"{path} ({called})", there, FilesOfVersion(path, hex_))


def _side(version: FileVersion, settings: Settings) -> Side:
    if not version.there:
        return no_side("nothing")
    return read_side(read_file(version.path), version.name, settings, version.files)


class FilesOfVersion:
    """The files around a version of a file, of which git tells the object alone."""

    def __init__(self, path: str, object_: str) -> None:
        self._path = path
        self._object = object_
        self._files: Files | None = None

    def read(self, path: str) -> bytes:
        """Return a file, by its path as seen from the folder of the plan."""
        if self._files is None:
            revision = self._revision() if self._object.strip("0.") else None
            if revision is None:
                self._files = files_beside(self._path)
            else:
                self._files = RevisionFiles(f"{revision}:{self._path}")
        return self._files.read(path)

    def _revision(self) -> str | None:
        """Return where the file is this object: what is staged, the last commit, or an older one.

        Of older ones, the newest that brought it there or took it away.
        """
        words = ("--all", "--format=%H", f"--find-object={self._object}", "--", self._path)
        older = (_git("log", *words) or "").split()
        for revision in ("", "HEAD", *(each for name in older for each in (name, f"{name}^"))):
            if _git("rev-parse", "--quiet", "--verify", f"{revision}:{self._path}") == self._object:
                return revision
        return None


# --- setting it up


def _set_up(streams: Streams, *, install: bool) -> int:
    attributes = _git("rev-parse", "--git-path", "info/attributes")
    if attributes is None:
        streams.complain("trappoint-diff: this folder is in no git repository.")
        return 2
    set_so = _git("config", "--local", "--get", KEY)
    if set_so is not None and not _is_ours(set_so):
        streams.complain(
            f"trappoint-diff: {KEY} is set already, to {set_so!r}, and not by this program. "
            f"If it is not needed: git config --unset {KEY}"
        )
        return 2
    try:
        done = _install(Path(attributes)) if install else _uninstall(Path(attributes), set_so)
    except UnusableFile as error:
        streams.complain(f"trappoint-diff: {error}")
        return 2
    except OSError as error:
        streams.complain(f"trappoint-diff: {attributes} cannot be written: {reason_of(error)}.")
        return 2
    if not done:
        streams.complain("trappoint-diff: git refused to write the repository's configuration.")
        return 2
    told = "compares plans with trappoint" if install else "compares plans as texts again"
    streams.say(f"In this repository, git {told}.\n")
    return 0


def command() -> str:
    """Return what git is to call: this interpreter and this module, whatever the search path.

    ``-P`` keeps the current folder out of what is imported: it is the repository's, and files in
    it are not to be run.
    """
    words = (Path(sys.executable).as_posix(), "-P", "-m", "trappoint_hooks.diff")
    return " ".join(map(shlex.quote, words))


def _is_ours(value: str) -> bool:
    return value.split()[-2:] == ["-m", "trappoint_hooks.diff"]


def _install(attributes: Path) -> bool:
    if _git("config", "--local", KEY, command()) is None:
        return False
    before = _read(attributes)
    if before is None:
        attributes.parent.mkdir(exist_ok=True)
        _write(attributes, OWN_MARK + LINE)
    elif LINE not in before.splitlines(keepends=True):
        broken = bool(before) and not before.endswith("\n")
        _write(attributes, f"{before}\n{BROKEN_MARK}{LINE}" if broken else before + MARK + LINE)
    return True


def _uninstall(attributes: Path, set_so: str | None) -> bool:
    if set_so is not None and _git("config", "--local", "--unset-all", KEY) is None:
        return False
    before = _read(attributes)
    if before is None:
        return True
    after = before.replace(f"\n{BROKEN_MARK}{LINE}", "", 1).replace(MARK + LINE, "", 1)
    own = OWN_MARK + LINE
    if after == own:
        attributes.unlink()
    elif after != before or own in before:
        _write(attributes, after.replace(own, "", 1))
    return True


def _read(file: Path) -> str | None:
    try:
        return file.read_bytes().decode("utf-8", "surrogateescape")
    except FileNotFoundError:
        return None


def _write(file: Path, text: str) -> None:
    write_file(str(file), text.encode("utf-8", "surrogateescape"))


def _git(*words: str) -> str | None:
    """Return what git answers, without the line's end; None where it fails or is not there."""
    found = try_git(*words)
    return None if found is None else found.strip()


if __name__ == "__main__":
    sys.exit(main())
