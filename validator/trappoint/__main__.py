"""The entry point of ``python -m trappoint`` and of the command ``trappoint``."""

from __future__ import annotations

import sys


def run() -> int:
    """Run the command line and return its exit code. Ctrl-C never prints a traceback."""
    try:
        from trappoint.cli import main
    except KeyboardInterrupt:
        return 130
    return main()


if __name__ == "__main__":
    sys.exit(run())
