"""The hook that turns a bad plan aside before it is committed: ``trappoint-check FILE...``.

It is ``trappoint check`` that keeps quiet about plans with nothing wrong, and reads what is
committed: plans, boards, stores and settings as they are staged, or in the commit at the end of a
push. Files that git does not keep are read from the folder. With the plans that are named it
checks every plan that is put together from one of them, or from boards that changed.

``trappoint-check --deleted`` checks what the pre-commit program cannot name: plans whose boards
are deleted or are in a submodule that moves, and plans that are not in the folder.
"""

from __future__ import annotations

import gc
import sys
from typing import TYPE_CHECKING

from trappoint.app.discovery import STANDARD_INPUT
from trappoint.commands import check
from trappoint_hooks.committed import change_of, sources_of
from trappoint_hooks.repository import Repository
from trappoint_hooks.running import files_alone, plain_parser, run_hook

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Sequence

    from trappoint.app.streams import Streams


DESCRIPTION = """\
Turns bad plans aside before they are committed. The pre-commit program calls it;
it checks the named files as they are staged, or as they are in the commit that
the program names."""


def main(argv: Sequence[str] | None = None) -> int:
    """Check the named plans; print those that have findings at or above the level.

    ``argv`` is what ``trappoint check`` takes, for instance ``--fail-on warning``. Returns its
    exit code: 0 lets the commit through.
    """
    words = sys.argv[1:] if argv is None else argv
    if argv is None:
        gc.disable()  # as for `trappoint check`: the process ends soon
    parser = plain_parser("trappoint-check", DESCRIPTION)
    check.add_arguments(parser)
    parser.add_argument(
        "--deleted",
        action="store_true",
        help="check also what pre-commit cannot name: plans whose boards are deleted or in a "
        "submodule that moves, and changed plans that are not in the folder",
    )
    parser.set_defaults(quiet=True)
    # One word more, which _run takes away: there may be no file to be named.
    code = run_hook(parser, [*files_alone(words), STANDARD_INPUT], _run)
    if argv is None:
        gc.freeze()
    return code


def _run(options: Namespace, streams: Streams) -> int:
    names = options.files[:-1]
    with Repository() as repository:
        change = change_of(repository)
        options.files = names
        if change is not None and (names or change.touches_plans()):
            options.files = sources_of(change, names, others=options.deleted)
        return check.run(options, streams) if options.files else 0


if __name__ == "__main__":
    sys.exit(main())
