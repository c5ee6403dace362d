"""``python -m trappoint``: the same as the command ``trappoint``."""

from __future__ import annotations

import sys

from trappoint.cli import main

if __name__ == "__main__":
    sys.exit(main())
