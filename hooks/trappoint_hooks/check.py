"""The hook that turns a bad plan aside before it is committed: ``trappoint-check FILE...``.

It is ``trappoint check`` that keeps quiet about plans with nothing wrong. All plans of a commit
are checked by one process, for starting costs more than checking.
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from trappoint.cli import main as run

if TYPE_CHECKING:
    from collections.abc import Sequence


def main(argv: Sequence[str] | None = None) -> int:
    """Check the named plans; print those that have findings at or above the level.

    ``argv`` is what ``trappoint check`` takes, for instance ``--fail-on warning``. Returns its
    exit code: 0 lets the commit through.
    """
    words = list(sys.argv[1:] if argv is None else argv)
    return run(["check", "--quiet", *words], alone=argv is None)


if __name__ == "__main__":
    sys.exit(main())
