"""Print the whole table, or parts of it: ``cd tests && python -m bench --only cold``."""

from __future__ import annotations

import argparse
import sys
import time
from importlib import import_module
from typing import TYPE_CHECKING

from bench.measuring import ROOT, Effort, machine, paragraph

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

PARTS = ("cold", "hook", "warm", "drafting", "scale", "beside", "many", "serving")
"""A module of this folder each."""

HOUR = 3600
"""What the service is sent in the end: an hour of one request a second."""

PAGE = ROOT / "DEVELOPERS.md"
BEGIN, END = "<!-- what `python -m bench --write` wrote -->\n", "<!-- so far -->\n"


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
        "--seconds",
        type=int,
        metavar="N",
        help="of the processor, for each other way and plan (default: 60)",
    )
    parser.add_argument("--write", action="store_true", help=f"write all of it into {PAGE.name}")
    options = parser.parse_args()
    if options.write and (options.only or options.quick):
        parser.error("--write writes the whole table: it goes with neither --only nor --quick")
    effort = Effort(
        options.quick,
        options.requests or (HOUR // 10 if options.quick else HOUR),
        options.seconds or (5 if options.quick else 60),
    )
    begun = time.monotonic()
    told = []
    for text in measure(options.only or PARTS, effort):
        print(text, flush=True)
        told.append(text)
    if options.write:
        before, _, rest = PAGE.read_text("utf-8").partition(BEGIN)
        after = rest.partition(END)[2]
        PAGE.write_text(before + BEGIN + "\n".join(told) + "\n" + END + after, "utf-8")
    print(f"{time.monotonic() - begun:.0f} s in all.", file=sys.stderr)


def measure(parts: Sequence[str], effort: Effort) -> Iterator[str]:
    """Measure some parts; yield paragraphs and tables."""
    yield paragraph(f"Measured on {machine()}")
    for name in parts:
        part = import_module(f"bench.{name}").part
        yield f"**{name.capitalize()}.** {part.__doc__}\n"
        yield from part(effort)


if __name__ == "__main__":
    main()
