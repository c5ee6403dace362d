"""Scale: time and memory of each stage against the size of the plan."""

from __future__ import annotations

import gc
import json
import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from bench.figures import by_rows
from bench.measuring import Figure, child, cost, exponent, paragraph, table, trappoint
from bench.stages import STAGES, run_stages
from large.railway import railway, written
from trappoint.checking.check import check_content

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from bench.measuring import Effort

SIZES = (10, 30, 100, 300, 1000, 3000, 10_000)
FIT_FROM = 100
"""Smaller plans are left out of the fit: what they take is what every plan takes."""


TIMED = (*STAGES, "check", "check and table")

ABOUT = "Each stage by the number of points: processor time, memory, and the exponent of growth."

TABLE = "table --format json"


def measure(effort: Effort) -> Iterator[Figure]:
    """Measure each size in a process of its own."""
    sizes = [size for size in SIZES if size <= 1000] if effort.quick else [*SIZES]
    for size in sizes:
        found = child("scale", size)
        yield Figure(f"size / arms / {size}", found["arms"], "arms")
        for stage in TIMED:
            yield Figure(f"time / {stage} / {size}", float(found["ms"][stage]), "ms")
        for stage in STAGES:
            yield Figure(f"memory / {stage} / {size}", float(found["mib"][stage]), "MiB")
    yield from _whole_processes(sizes[-3:])


def _whole_processes(sizes: list[int]) -> Iterator[Figure]:
    with TemporaryDirectory() as folder:
        for size in sizes:
            plan = Path(folder) / f"{size}.layout.json"
            plan.write_text(written(railway(size)), "utf-8")
            for words in ("check", TABLE):
                taken = cost(trappoint(*words.split(), str(plan)))
                row = f"process / {words}, {size}"
                yield Figure(f"{row} / elapsed", taken.seconds, "s")
                yield Figure(f"{row} / processor", taken.of_processor, "s")
                yield Figure(f"{row} / memory", taken.mib, "MiB")


def show(found: Mapping[str, float]) -> Iterator[str]:
    """Draw the tables."""
    arms = by_rows(found, "size")["arms"]
    heads = [f"{int(size):,}" for size in arms]
    rows: list[list[object]] = [["arms", *(int(count) for count in arms.values()), ""]]
    for stage, ms in by_rows(found, "time").items():
        rows.append([stage, *ms.values(), f"n^{_exponent(ms):.2f}"])
    yield table(["ms, by points", *heads, "growth"], rows)
    held = by_rows(found, "memory").items()
    yield table(
        ["MiB held at most, by the end of", *heads],
        [[stage, *mib.values()] for stage, mib in held],
    )
    processes = []
    for name, row in by_rows(found, "process").items():
        words, _, size = name.rpartition(", ")
        processes.append([f"`trappoint {words}`, {int(size):,}", *row.values()])
    yield table(["whole process, by points", "s", "s of the processor", "MiB at most"], processes)
    yield paragraph("The aim is n^1.15, and 10 s and 1 GB for 10,000 points with the table.")


def _exponent(ms: Mapping[str, float]) -> float:
    large = [size for size in ms if int(size) >= FIT_FROM]
    return exponent([int(size) for size in large], [ms[size] for size in large])


def growth(found: Mapping[str, float]) -> float:
    """Return the exponent by which a check with its table grows with the number of points."""
    return _exponent(by_rows(found, "time")["check and table"])


def largest(found: Mapping[str, float], column: str) -> float:
    """Return a figure of the process that prints the table of the largest plan."""
    return by_rows(found, "process")[f"{TABLE}, {SIZES[-1]}"][column]


def _child(size: int) -> None:
    """Measure one size in this process, and print what it took."""
    gc.disable()  # as the command does for one plan: nothing that a check makes is a cycle
    plan = railway(size)
    content = written(plan).encode()
    arms = sum(len(post["arms"]) for post in plan["signals"].values())
    del plan
    rounds = [run_stages(content) for _ in range(max(1, min(5, 3000 // size)))]
    ms = {name: min(one[name].ms for one in rounds) for name in STAGES}
    before = time.process_time()
    report = check_content(content, "plan")
    ms["check"] = (time.process_time() - before) * 1000
    assert report.holds
    assert report.table is not None
    ms["check and table"] = (time.process_time() - before) * 1000
    mib = {name: rounds[0][name].mib for name in STAGES}
    print(json.dumps({"arms": arms, "ms": ms, "mib": mib}))


if __name__ == "__main__":
    _child(int(sys.argv[1]))
