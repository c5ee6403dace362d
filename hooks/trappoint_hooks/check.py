"""The hook that turns a bad plan aside before it is committed: ``trappoint-check FILE...``.

It is ``trappoint check`` that keeps quiet about plans with nothing wrong. All plans of a commit
are checked by one process, for starting costs more than checking. With them are checked the plans
of the repository that are put together from one of them, or from one that this commit takes away.

``trappoint-check --deleted`` checks the last of these alone: for the pre-commit program, which
calls hooks only for files that are still there.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from trappoint.app.assemblies import wholes_of
from trappoint.app.discovery import PLAN_ENDING, gather
from trappoint.cli import main as run
from trappoint.source.git import GitError, ask_git

if TYPE_CHECKING:
    from collections.abc import Sequence


DELETED = "--deleted"


def main(argv: Sequence[str] | None = None) -> int:
    """Check the named plans; print those that have findings at or above the level.

    ``argv`` is what ``trappoint check`` takes, for instance ``--fail-on warning``. Returns its
    exit code: 0 lets the commit through.
    """
    words = list(sys.argv[1:] if argv is None else argv)
    plans = [word for word in words if not word.startswith("-") and word.endswith(PLAN_ENDING)]
    deleted = DELETED in words
    wholes = _put_together_from(plans) if plans or deleted else []
    if deleted:
        words.remove(DELETED)
        if not plans and not wholes:
            return 0
    return run(["check", "--quiet", *words, *wholes], alone=argv is None)


def _put_together_from(plans: list[str]) -> list[str]:
    """Return the plans of the repository that have one of these as a board, or one that is gone.

    Where there is no repository there is nothing to be looked for.
    """
    try:
        top = ask_git("rev-parse", "--show-toplevel").removesuffix("\n")
        words = ("--cached", "--name-only", "-z", "--no-renames", "--diff-filter=D")
        gone = ask_git("diff", *words, folder=top).split("\0")
    except GitError:
        return []
    if not plans and not any(path.endswith(PLAN_ENDING) for path in gone):
        return []
    changed = {os.path.realpath(path) for path in plans}
    boards = changed | {os.path.realpath(Path(top, path)) for path in gone if path}
    others = (each for each in gather([top])[0] if os.path.realpath(each.name) not in changed)
    return [os.path.relpath(whole.name) for whole in wholes_of(boards, others)]


if __name__ == "__main__":
    sys.exit(main())
