"""``python -m trappoint``, and the command ``trappoint``: both begin here."""

from __future__ import annotations

import sys


def run() -> int:
    """Run the command line, and return its exit code. Ctrl-C is quiet from the first import on."""
    try:
        from trappoint.cli import main
    except KeyboardInterrupt:
        return 130
    return main()


if __name__ == "__main__":
    sys.exit(run())
