"""Putting hooks into a repository, and taking them out again."""

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

_MARK = "# Written by trappoint; taken away again with"

STUB = """\
#!/bin/sh
{mark} {program} --uninstall
python={python}
if [ ! -x "$python" ]; then
  echo "trappoint: $python is gone: install the hook again, or delete $0." >&2
  exit 2
fi
exec "$python" -P -m {module}{words}
"""
"""The shell script that git calls. ``-P``: nothing is imported from the folder it is called in."""


def install(folder: str, names: Sequence[str], module: str, words: Sequence[str]) -> list[str]:
    """Put hooks into a repository, and return where they are.

    ``names`` are the hooks of git, ``module`` is what they run, with ``words``. Raises
    ``GitError`` where that cannot be done, or where there are other hooks already.
    """
    places = [_hooks(folder) / name for name in names]
    for place in places:
        if os.path.lexists(place) and not _is_ours(place):
            raise GitError(
                f"There is a hook already, {place}: it is left as it is. Call trappoint from it: "
                f"{_command(module, words)}"
            )
    text = STUB.format(
        mark=_MARK,
        program=_program(module),
        python=shlex.quote(sys.executable),
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
    """Take hooks out of a repository, those of others left alone; return which there were."""
    places = [_hooks(folder) / name for name in names]
    ours = [place for place in places if place.exists() and _is_ours(place)]
    try:
        for place in ours:
            place.unlink()
    except OSError as error:
        raise GitError(f"The hook {place} cannot be taken away: {reason_of(error)}.") from None
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
    return shlex.join([sys.executable, "-P", "-m", module, *words])
