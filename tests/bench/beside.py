"""Beside it: the obvious way with a graph library, and the proof by a solver."""

from __future__ import annotations

import json
import sys
import time
from typing import TYPE_CHECKING

from bench.measuring import child, exponent, paragraph, table
from bench.obvious import all_paths, conflicting
from large.railway import railway, written
from proof.printed import Printed
from proof.prover import prove
from proof.roads import Roads
from proof.system import System
from trappoint.checking.check import check_content, load
from trappoint.facts.facts import Facts

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from bench.measuring import Effort

SIZES = (10, 20, 40, 80, 160, 320, 640, 1250, 2500, 5000, 10_000)
ROUNDS = 3
"""What is quick is measured so often, and the least counts: most of the first is getting warm."""
OTHERS = {"obvious": "paths and conflicts", "proof": "check and its proof"}


def part(effort: Effort) -> Iterator[str]:
    """The obvious way (all simple paths, every pair of them) and a solver, as far as they get."""
    for other, told in OTHERS.items():
        rows: list[list[float]] = []
        for size in SIZES:
            taken = child("beside", other, size, seconds=effort.seconds)
            if taken is None:
                break
            rows.append([size, *taken])
        shown: list[list[object]] = [[f"{int(n):,}", a, b, b / a] for n, a, b in rows]
        yield table([f"{told}: points", "ms here", f"ms, {other}", "times as long"], shown)
        if not rows:
            yield paragraph(f"It does not get through {SIZES[0]} points in {effort.seconds} s.")
            continue
        sizes = [row[0] for row in rows][-4:]
        here, theirs = (exponent(sizes, [row[i] for row in rows][-4:]) for i in (1, 2))
        size, ours, other_ms = rows[-1]
        yield paragraph(
            f"Within {effort.seconds} s of the processor it gets as far as {int(size):,} points,",
            f"and takes **{other_ms / ours:,.0f} times as long** for them; it grows by",
            f"n^{theirs:.2f}, and the check by n^{here:.2f}.",
        )


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
    """Find out whether a plan holds in both ways; the proof also needs the printed table."""
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
