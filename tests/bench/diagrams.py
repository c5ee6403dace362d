"""The time that diagrams take: ``cd tests && python -m bench.diagrams [--railways N]``.

Each plan is drawn in one strip and in rows for a sheet of A3, the examples first, then random
railways of forty points. The figures are milliseconds of processor time, the least of some rounds.
With the path of another checkout's ``validator/`` in ``PYTHONPATH``, that one is measured.
"""

from __future__ import annotations

import argparse
import json
import time
from statistics import mean
from typing import TYPE_CHECKING

from bench.measuring import ROOT, table
from large.railway import railway
from trappoint.checking.check import check
from trappoint.drawing.diagram import draw
from trappoint.drawing.paper import sheet_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from trappoint.model.layout import Layout

POINTS = 40


def main() -> None:
    """Measure and print, in Markdown."""
    parser = argparse.ArgumentParser("python -m bench.diagrams", description=__doc__)
    parser.add_argument(
        "--railways", type=int, default=30, help="number of random railways (default: 30)"
    )
    parser.add_argument("--rounds", type=int, default=3, help="rounds for each plan (default: 3)")
    options = parser.parse_args()
    print(table(["plan", "strip, ms", "rows, ms"], list(_rows(options.railways, options.rounds))))


def _rows(railways: int, rounds: int) -> Iterator[list[object]]:
    for path in sorted((ROOT / "examples").glob("*.layout.json")):
        layout = check(path.read_text("utf-8")).layout
        assert layout is not None
        yield [path.name.partition(".")[0], *_taken(layout, rounds)]
    found: list[tuple[float, float]] = []
    for seed in range(railways):
        layout = check(json.dumps(railway(POINTS, seed))).layout
        assert layout is not None
        found.append(_taken(layout, rounds))
    if found:
        for name, of in (("mean", mean), ("most", max)):
            label = f"{railways} random railways of {POINTS} points, {name}"
            yield [label, *(of(column) for column in zip(*found, strict=True))]


def _taken(layout: Layout, rounds: int) -> tuple[float, float]:
    """Return the milliseconds that the plan takes in one strip and in rows."""
    taken: list[float] = []
    for widest in (None, sheet_of("a3").widest):
        times = []
        for _ in range(rounds):
            before = time.process_time()
            draw(layout, widest=widest)
            times.append((time.process_time() - before) * 1000)
        taken.append(min(times))
    return taken[0], taken[1]


if __name__ == "__main__":
    main()
