"""Print all tables, or some: ``cd tests && python -m bench --only cold``."""

from __future__ import annotations

import argparse
import sys
import time
from importlib import import_module
from typing import TYPE_CHECKING

from bench.figures import FILE, append, read, this_run, values
from bench.measuring import Effort
from bench.pages import LONG, PARTS, SHORT, draw_pages, headed, shown

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bench.measuring import Figure

HOUR = 3600
"""The number of requests before the last measurement of memory: one a second for an hour."""


def main() -> None:
    """Measure and print, part by part, in Markdown."""
    options = _options()
    if options.draw:
        _draw()
        return
    effort = Effort(
        options.quick,
        options.requests or (HOUR // 10 if options.quick else HOUR),
        options.seconds or (5 if options.quick else 60),
    )
    begun = time.monotonic()
    run = this_run()
    print(f"{run}\n", flush=True)
    measured = _measure(options.only or PARTS, effort)
    if options.write:
        append(FILE, run, measured)
        _draw()
    print(f"{time.monotonic() - begun:.0f} s in all.", file=sys.stderr)


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        "python -m bench", description="Measure the speed of the program."
    )
    parser.add_argument(
        "--only",
        action="append",
        choices=PARTS,
        metavar="PART",
        help=f"part to measure: {', '.join(PARTS)} (default: all)",
    )
    parser.add_argument("--quick", action="store_true", help="fewer rounds and smaller plans")
    parser.add_argument(
        "--requests", type=int, metavar="N", help=f"requests to the service (default: {HOUR:,})"
    )
    parser.add_argument(
        "--seconds",
        type=int,
        metavar="N",
        help="processor time for each other way and plan, in seconds (default: 60)",
    )
    parser.add_argument(
        "--write",
        action="store_true",
        help=f"append the figures to {FILE.name}; draw {SHORT.name} and {LONG.name} again",
    )
    parser.add_argument(
        "--draw", action="store_true", help="draw these pages again without measuring"
    )
    options = parser.parse_args()
    if options.write and options.quick:
        parser.error("--write does not go with --quick: its figures cannot be compared")
    return options


def _measure(parts: Sequence[str], effort: Effort) -> dict[str, list[Figure]]:
    """Measure some parts and print each when it is done; return their figures."""
    measured: dict[str, list[Figure]] = {}
    for part in parts:
        print(headed(part), flush=True)
        measured[part] = list(import_module(f"bench.{part}").measure(effort))
        for text in shown(part, values(measured[part])):
            print(text, flush=True)
    return measured


def _draw() -> None:
    for page, text in draw_pages(read(FILE)).items():
        page.write_text(text, "utf-8")


if __name__ == "__main__":
    main()
