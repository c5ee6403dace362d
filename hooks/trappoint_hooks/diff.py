"""Git's diff driver: ``git diff`` shows the changes of a plan in railway terms.

``trappoint-diff --install`` sets it up in the repository of the current folder;
``trappoint-diff --uninstall`` undoes that exactly. Both change only the repository's configuration
(the command) and its ``info/attributes`` (the names of the files), and no committed file. Git calls
the driver as gitattributes(5) describes under "Defining an external diff driver".
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, NamedTuple

from trappoint.app.exit_codes import OK
from trappoint.app.load import settings_beside
from trappoint.comparing.comparison import compare
from trappoint.comparing.revisions import RevisionFiles
from trappoint.comparing.sides import no_side, read_side
from trappoint.config.settings_file import SettingsError
from trappoint.core.quoting import visible
from trappoint.core.terminal import RenderOptions
from trappoint.reporting.compare_text import render
from trappoint.source.files import files_beside
from trappoint.source.git import try_git
from trappoint.source.reading import UnusableFile, read_file
from trappoint_hooks.drivers import Driver, report_of, run_driver, start_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from trappoint.app.streams import Streams
    from trappoint.comparing.model import Side
    from trappoint.model.settings import Settings
    from trappoint.source.files import Files

USAGE = """\
trappoint-diff --install    let git show the changes of plans in railway terms
trappoint-diff --uninstall  undo that
trappoint-diff --version    print the version

Run it in a folder of the repository. Git calls this program itself, with a path
and two versions of the file.

A check on paper, for models: no safety system, not for anything that carries people.
"""

MODULE = "trappoint_hooks.diff"

_COMMAND = """\
compare_plans() {{
{start} -- "$@" && return
{report}
test $# -gt 1 || echo "$1 is not merged yet: it is in conflict."
test $# -gt 1 && git --no-pager diff --no-index --no-ext-diff -- "$2" "$5"
return 0
}}
compare_plans"""
"""The shell command that git calls with its arguments. It always succeeds, or git would stop."""


def _command() -> str:
    report = report_of("trappoint-diff", "diff.trappoint")
    return _COMMAND.format(start=start_of(MODULE), report=report)


DRIVER = Driver(
    program="trappoint-diff",
    usage=USAGE,
    module=MODULE,
    settings={"diff.trappoint.command": _command()},
    attribute="diff=trappoint",
    installed="compares plans with trappoint",
    uninstalled="compares plans as texts again",
)


def main(argv: Sequence[str] | None = None) -> int:
    """Install or uninstall the driver, or compare two versions for git. Returns the exit code.

    For git it is 0 if the comparison was printed, or the reason why there is none.
    """
    words = list(sys.argv[1:] if argv is None else argv)
    return run_driver(DRIVER, words, lambda streams: _compare(words, streams))


# --- comparing for git


class FileVersion(NamedTuple):
    """One version of a file."""

    path: str
    """The file to read."""
    name: str
    """Its name in the comparison."""
    there: bool
    """False if the file does not exist in this version."""
    files: Files
    """The files around it, from which its boards are read."""


def _compare(words: list[str], streams: Streams) -> int | None:
    # The installed command passes "--" first; GIT_EXTERNAL_DIFF calls without it.
    given = words[1:] if words[:1] == ["--"] else words
    if len(given) not in (1, 7, 8, 9) or (given is words and given[0].startswith("-")):
        return None
    streams.say(_answer(given, streams.encoding))
    return OK


def _answer(words: list[str], encoding: str) -> str:
    """Return the text to print. Raises nothing, so git goes on with the next file."""
    path = words[0]
    shown = visible(path)
    if len(words) == 1:
        return f"{shown} is not merged yet: it is in conflict.\n"
    old = _version(path, *words[1:4])
    new = _version(words[7] if len(words) > 7 else path, *words[4:7])
    try:
        settings = settings_beside(path)
        comparison = compare(_side(old, settings), _side(new, settings))
        return render(comparison, RenderOptions(encoding=encoding)) + "\n"
    except (UnusableFile, SettingsError) as error:
        return f"{shown} cannot be compared: {error}\n\n"
    except Exception as error:  # git must go on with the next file
        return (
            f"{shown} cannot be compared because of an internal error, which is not a fault of "
            f"the plan ({type(error).__name__}: {error}). Please report it.\n\n"
        )


def _version(path: str, file: str, hex_: str, mode: str) -> FileVersion:
    # A file of the work tree has no object yet: git passes zeros.
    called = hex_[:7] if hex_.strip("0.") else "work tree"
    there = mode != "." and file not in ("/dev/null", "nul")
    return FileVersion(file, f"{visible(path)} ({called})", there, FilesOfVersion(path, hex_))


def _side(version: FileVersion, settings: Settings) -> Side:
    if not version.there:
        return no_side("nothing")
    return read_side(read_file(version.path), version.name, settings, version.files)


class FilesOfVersion:
    """The files around a version of a file. Git names only the object, not its commit."""

    def __init__(self, path: str, object_: str) -> None:
        self._path = path
        self._object = object_
        self._files: Files | None = None

    def read(self, path: str) -> bytes:
        """Return the bytes of a file, given its path from the folder of the plan."""
        if self._files is None:
            revision = self._revision() if self._object.strip("0.") else None
            if revision is None:
                self._files = files_beside(self._path)
            else:
                self._files = RevisionFiles(f"{revision}:{self._path}")
        return self._files.read(path)

    def _revision(self) -> str | None:
        """Return a revision in which the file is this object; None if there is none.

        That is the index (an empty string), the last commit, or the newest commit that added or
        removed the object.
        """
        words = ("--all", "--format=%H", f"--find-object={self._object}", "--", self._path)
        older = _git("--literal-pathspecs", "log", *words).split()
        for revision in ("", "HEAD", *(each for name in older for each in (name, f"{name}^"))):
            if _git("rev-parse", "--quiet", "--verify", f"{revision}:{self._path}") == self._object:
                return revision
        return None


def _git(*words: str) -> str:
    """Return git's output without blanks around it; empty if git fails."""

    return (try_git(*words) or "").strip()


if __name__ == "__main__":
    sys.exit(main())
