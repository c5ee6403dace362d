"""The hook that tidies plans before they are committed: ``trappoint-tidy FILE...``.

It writes plans anew where they are not tidy, and then fails, so that the commit waits until what
it wrote was looked at and staged. With ``--check`` it only names them.
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from trappoint.cli import main as run
from trappoint_hooks.running import files_alone

if TYPE_CHECKING:
    from collections.abc import Sequence


def main(argv: Sequence[str] | None = None) -> int:
    """Tidy the named plans. ``argv`` is what ``trappoint tidy`` takes; returns its exit code.

    It is 0 after tidying: pre-commit sees by itself that files were changed, and stops.
    """
    words = files_alone(sys.argv[1:] if argv is None else argv)
    return run(["tidy", *words], alone=argv is None)


if __name__ == "__main__":
    sys.exit(main())
