"""The merge driver for git: ``trappoint-merge %O %A %B %P``.

Git gives it the base, ours and theirs as files, and the name of the plan; it expects what was
merged in the file of ours. Any exit code but 0 stops the merge, with the file as it was written.
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from trappoint.cli import main as run

if TYPE_CHECKING:
    from collections.abc import Sequence


def main(argv: Sequence[str] | None = None) -> int:
    """Merge as git asks for: BASE OURS THEIRS [NAME]; what follows is for ``trappoint merge``."""
    words = list(sys.argv[1:] if argv is None else argv)
    if len(words) > 3 and not words[3].startswith("-"):
        words[3:4] = [f"--name={words[3]}"]
    return run(["merge", *words], alone=argv is None)


if __name__ == "__main__":
    sys.exit(main())
