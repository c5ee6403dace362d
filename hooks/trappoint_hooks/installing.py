"""Install hooks in a repository, and uninstall them."""

from __future__ import annotations

import os.path
import shlex
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from trappoint.core.errors import reason_of
from trappoint.source.git import GitError, ask_git
from trappoint.source.reading import UnusableFile
from trappoint.source.writing import write_file

if TYPE_CHECKING:
    from collections.abc import Sequence

_MARK = "# Written by trappoint; uninstall it with"

STUB = """\
#!/bin/sh
{mark}: {program} --uninstall
python={python}
if [ ! -x "$python" ]; then
  echo "trappoint: $python is missing. Install the hook again, or delete $0." >&2
  exit 2
fi
exec "$python" -P -m {module}{words}
"""
"""The shell script that git calls. ``-P`` keeps Python from importing files of the folder."""


def install(folder: str, names: Sequence[str], module: str, words: Sequence[str]) -> list[str]:
    """Install hooks in a repository, and return their paths.

    ``names`` are git's hooks; each runs ``module`` with the arguments ``words``. Raises
    ``GitError`` if a hook cannot be written, or if another hook is in its place.
    """
    places = [_hooks(folder) / name for name in names]
    for place in places:
        if os.path.lexists(place) and not _is_ours(place):
            raise GitError(
                f"There is another hook already, {place}, which stays as it is. Add this line to "
                f"it: {_command(module, words)}"
            )
    text = STUB.format(
        mark=_MARK,
        program=_program(module),
        python=shlex.quote(_python()),
        module=module,
        words="".join(f" {shlex.quote(word)}" for word in words),
    )
    try:
        for place in places:
            place.parent.mkdir(parents=True, exist_ok=True)
            write_file(str(place), text.encode(), called=f"The hook {place}", mode=0o755)
    except OSError as error:
        raise GitError(f"The hook {place} cannot be written: {reason_of(error)}.") from None
    except UnusableFile as error:
        raise GitError(str(error)) from None
    return [str(place) for place in places]


def uninstall(folder: str, names: Sequence[str]) -> list[str]:
    """Uninstall hooks, leave those of other programs, and return the paths of the removed ones."""
    places = [_hooks(folder) / name for name in names]
    ours = [place for place in places if place.exists() and _is_ours(place)]
    try:
        for place in ours:
            place.unlink()
    except OSError as error:
        raise GitError(f"The hook {place} cannot be removed: {reason_of(error)}.") from None
    return [str(place) for place in ours]


def _hooks(folder: str) -> Path:
    hooks = ask_git("rev-parse", "--git-path", "hooks", folder=folder)
    return Path(folder) / hooks.removesuffix("\n")


def _is_ours(place: Path) -> bool:
    try:
        return _MARK in place.read_text("utf-8", "replace")
    except OSError:
        return False


def _program(module: str) -> str:
    return "trappoint-" + module.rpartition(".")[2]


def _command(module: str, words: Sequence[str]) -> str:
    return shlex.join([_python(), "-P", "-m", module, *words])


def _python() -> str:
    """Return this Python's path with slashes: git's shell on Windows takes it so."""
    return Path(sys.executable).as_posix()
