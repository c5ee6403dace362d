"""Make slips of every kind and print the table: ``python -m slips``, from ``tests/``."""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter

from slips.judging import base_of
from slips.running import NO_SLIP, VERDICTS, Result, examples, generated, results
from slips.sites import KINDS


def table(found: list[Result]) -> str:
    """Return the table by kind, in Markdown."""
    count = Counter((each.kind, each.outcome.verdict) for each in found)
    lines = ["| slip | made | caught | rightly silent | missed | false |",
             "|---|---:|---:|---:|---:|---:|"]  # fmt: skip
    kinds = (NO_SLIP, *KINDS)
    for kind in kinds:
        row = [count[kind, verdict] for verdict in VERDICTS]
        lines.append(f"| {kind} | {sum(row)} | {' | '.join(map(str, row))} |")
    sums = [sum(count[kind, verdict] for kind in kinds) for verdict in VERDICTS]
    lines.append(f"| all | {sum(sums)} | {' | '.join(map(str, sums))} |")
    return "\n".join(lines)


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m slips", description=__doc__)
    parser.add_argument(
        "--seeds", type=int, default=100, help="number of seeds; each makes a line and a station"
    )
    parser.add_argument("--first", type=int, default=0, help="first seed")
    parser.add_argument("--each", type=int, default=2, help="slips of each kind in each plan")
    parser.add_argument(
        "--in-examples", type=int, default=30, help="slips of each kind in each example"
    )
    parser.add_argument("--show", type=int, default=20, help="missed or false slips to print")
    asked = parser.parse_args()
    found = [each for named in examples() for each in results(*base_of(*named), asked.in_examples)]
    plans = 0
    began = time.monotonic()
    for named in generated(asked.first, asked.seeds):
        plans += 1
        found += results(*base_of(*named), asked.each)
        if sys.stderr.isatty():
            progress = f"{len(found)} slips, {plans} plans, {time.monotonic() - began:.0f} s"
            print(f"\r{progress}", end="", file=sys.stderr)
    print(f"{len(found)} slips in the examples and {plans} generated plans\n")
    print(table(found))
    bad = [each for each in found if each.outcome.verdict in ("missed", "false")]
    for each in bad[: asked.show]:
        print(f"{each.outcome.verdict}: {each.plan}, {each.kind}: {each.told}")
        print(f"    {each.outcome.why}")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
