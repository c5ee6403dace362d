"""Beside it: the obvious way with a graph library, and the proof by a solver."""

from __future__ import annotations

import json
import math
import sys
import time
from typing import TYPE_CHECKING

from bench.figures import by_rows
from bench.measuring import Figure, child, exponent, paragraph, table
from bench.obvious import all_paths, conflicting
from large.railway import railway, written
from proof.printed import Printed
from proof.prover import prove
from proof.roads import Roads
from proof.system import System
from trappoint.checking.check import check_content, load
from trappoint.facts.facts import Facts

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from bench.measuring import Effort

SIZES = (10, 20, 40, 80, 160, 320, 640, 1250, 2500, 5000, 10_000)
ROUNDS = 3
"""The number of rounds for quick measurements; the least counts, because the first is slower."""
OTHERS = {"obvious": "paths and conflicts", "proof": "check and its proof"}


ABOUT = "The obvious method (all simple paths, all pairs) and a solver, within a time limit."

COMMON = 1250
"""The number of points at which to compare runs: the obvious method does it in a minute."""


def measure(effort: Effort) -> Iterator[Figure]:
    """Measure each other way, until it takes too long."""
    yield Figure("limit", effort.seconds, "s")
    for other in OTHERS:
        for size in SIZES:
            taken = child("beside", other, size, seconds=effort.seconds)
            if taken is None:
                break
            ours, theirs = taken
            yield Figure(f"{other} / {size} / here", ours, "ms")
            yield Figure(f"{other} / {size} / there", theirs, "ms")


def show(found: Mapping[str, float]) -> Iterator[str]:
    """Draw the tables."""
    limit = found["limit"]
    for other, told in OTHERS.items():
        rows = [(int(size), *row.values()) for size, row in by_rows(found, other).items()]
        shown: list[list[object]] = [[f"{n:,}", a, b, b / a] for n, a, b in rows]
        yield table([f"{told}: points", "ms here", f"ms, {other}", "times as long"], shown)
        if not rows:
            yield paragraph(f"It does not get through {SIZES[0]} points in {limit:.0f} s.")
            continue
        sizes, here, theirs = zip(*rows[-4:], strict=True)
        size, ours, other_ms = rows[-1]
        yield paragraph(
            f"Within {limit:.0f} s of processor time it can do {size:,} points,",
            f"and takes **{other_ms / ours:,.0f} times as long** for them; it grows by",
            f"n^{exponent(sizes, theirs):.2f}, and the check by n^{exponent(sizes, here):.2f}.",
        )


def times_as_long(found: Mapping[str, float]) -> float:
    """Return how many times as long the obvious way takes for ``COMMON`` points.

    nan if it did not get there in the time that it had.
    """
    row = by_rows(found, "obvious").get(str(COMMON))
    return row["there"] / row["here"] if row else math.nan


def _timed(work: Callable[[], object]) -> float:
    # Under a limit of processor time the clock of a whole process goes in coarse ticks.
    before = time.thread_time()
    work()
    return (time.thread_time() - before) * 1000


def obvious(size: int) -> list[float]:
    """Derive paths and conflicts in both ways, from the same places and moves."""
    layout = load(written(railway(size)))
    given = Facts(layout)
    network, together = given.network, given.together

    def derive() -> None:
        facts = Facts(layout)
        facts.network, facts.together = network, together
        _ = facts.routes, facts.assignment, facts.conflicts

    ours = min(_timed(derive) for _ in range(ROUNDS))
    return [ours, _timed(lambda: conflicting(all_paths(network, together)))]


def proof(size: int) -> list[float]:
    """Check a plan by both methods and return their times; the proof needs the printed table."""
    plan = railway(size)
    text = written(plan)
    ours = min(_timed(lambda: check_content(text, "plan")) for _ in range(ROUNDS))
    report = check_content(text, "plan")
    assert report.table is not None
    printed = Printed(Roads(plan), report.table.to_json())
    found = []
    theirs = _timed(lambda: found.append(prove(System(printed)).holds))
    assert found == [report.holds]
    return [ours, theirs]


if __name__ == "__main__":
    print(json.dumps({"obvious": obvious, "proof": proof}[sys.argv[1]](int(sys.argv[2]))))
