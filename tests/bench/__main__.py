"""Print the whole table, or parts of it: ``cd tests && python -m bench --only cold``."""

from __future__ import annotations

import argparse
import sys
import time
from importlib import import_module

from bench.measuring import Effort, machine

PARTS = ("cold", "hook", "warm", "scale", "beside", "many", "serving")
"""A module of this folder each."""

HOUR = 3600
"""What the service is sent in the end: an hour of one request a second."""


def main() -> None:
    """Measure and print, part by part, in Markdown."""
    parser = argparse.ArgumentParser("python -m bench", description="Measures how fast it is.")
    parser.add_argument(
        "--only", action="append", choices=PARTS, metavar="PART", help=f"of {', '.join(PARTS)}"
    )
    parser.add_argument("--quick", action="store_true", help="less of everything, for a look")
    parser.add_argument(
        "--requests", type=int, metavar="N", help=f"to the service at last (default: {HOUR:,})"
    )
    parser.add_argument(
        "--seconds", type=int, metavar="N", help="for each other way and plan (default: 60)"
    )
    options = parser.parse_args()
    effort = Effort(
        options.quick,
        options.requests or (HOUR // 10 if options.quick else HOUR),
        options.seconds or (5 if options.quick else 60),
    )
    print(f"Measured on {machine()}\n", flush=True)
    begun = time.monotonic()
    for name in options.only or PARTS:
        part = import_module(f"bench.{name}").part
        print(f"**{name.capitalize()}.** {part.__doc__}\n", flush=True)
        for line in part(effort):
            print(line.rstrip(" "), flush=True)
        print(flush=True)
    print(f"{time.monotonic() - begun:.0f} s in all.", file=sys.stderr)


if __name__ == "__main__":
    main()
