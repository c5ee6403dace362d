"""The pre-commit hook, which rejects bad plans: ``trappoint-check FILE...``.

It runs ``trappoint check`` on the staged files (plans, boards, stores and settings), or on the
last commit of a push. It prints nothing for a plan without findings. It reads a file from the
folder only if git does not track it. It also checks every plan that includes a named file as a
board, or whose boards changed.

``trappoint-check --deleted`` also checks the plans that pre-commit does not name: those with a
board that is deleted, or in a submodule that moves, and those that are not in the folder.
"""

from __future__ import annotations

import gc
import sys
from typing import TYPE_CHECKING

from trappoint.app.discovery import STANDARD_INPUT
from trappoint.commands import check
from trappoint_hooks.committed import change_of, sources_of
from trappoint_hooks.repository import Repository
from trappoint_hooks.running import no_file_as_option, plain_parser, run_hook

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Sequence

    from trappoint.app.streams import Streams


DESCRIPTION = """\
Reject bad plans before they are committed. The pre-commit program calls this
hook. It checks the named files as they are staged, or in the commit that
pre-commit names.

A check on paper, for models: no safety system, not for anything that carries people."""


def main(argv: Sequence[str] | None = None) -> int:
    """Check the named plans, print the findings at or above the level, return the exit code.

    ``argv`` takes the options of ``trappoint check``, for instance ``--fail-on warning``. The exit
    code 0 lets the commit through.
    """
    words = sys.argv[1:] if argv is None else argv
    if argv is None:
        gc.disable()  # as for `trappoint check`: the process ends soon
    parser = plain_parser("trappoint-check", DESCRIPTION)
    check.add_arguments(parser)
    parser.add_argument(
        "--deleted",
        action="store_true",
        help="plans that pre-commit does not name, too: those with a board that is deleted or in "
        "a submodule that moves, and changed plans that are not in the folder",
    )
    parser.set_defaults(quiet=True)
    # The parser asks for at least one file; _run drops this one again.

    code = run_hook(parser, [*no_file_as_option(words), STANDARD_INPUT], _run)
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
