"""The hook that tidies plans before they are committed: ``trappoint-tidy FILE...``.

It overwrites plans that are not tidy. pre-commit then stops the commit, so you can look at the
change and stage it. With ``--check`` it only names the plans.
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from trappoint.cli import main as run
from trappoint_hooks.running import no_file_as_option

if TYPE_CHECKING:
    from collections.abc import Sequence


def main(argv: Sequence[str] | None = None) -> int:
    """Tidy the named plans with the options of ``trappoint tidy``; return its exit code.

    The code is 0 after tidying: pre-commit sees that files changed, and stops.
    """

    words = no_file_as_option(sys.argv[1:] if argv is None else argv)
    return run(["tidy", *words], alone=argv is None)


if __name__ == "__main__":
    sys.exit(main())
