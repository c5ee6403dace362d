"""Scale: time and memory of each stage against the size of the plan."""

from __future__ import annotations

import gc
import json
import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from bench.measuring import child, cost, exponent, paragraph, table, trappoint
from bench.stages import STAGES, run_stages
from large.railway import railway, written
from trappoint.checking.check import check_content

if TYPE_CHECKING:
    from collections.abc import Iterator

    from bench.measuring import Effort

SIZES = (10, 30, 100, 300, 1000, 3000, 10_000)
FIT_FROM = 100
"""Smaller plans are left out of the fit: what they take is what every plan takes."""


def part(effort: Effort) -> Iterator[str]:
    """Each stage against the number of points: processor time, memory, and the exponent."""
    sizes = [size for size in SIZES if size <= 1000] if effort.quick else [*SIZES]
    found = {size: child("scale", size) for size in sizes}
    large = [size for size in sizes if size >= FIT_FROM]
    rows: list[list[object]] = []
    for stage in (*STAGES, "check", "check and table"):
        ms = [float(found[size]["ms"][stage]) for size in sizes]
        rows.append([stage, *ms, f"n^{exponent(large, ms[-len(large) :]):.2f}"])
    heads = [f"{size:,}" for size in sizes]
    arms = [found[size]["arms"] for size in sizes]
    yield table(["ms, by points", *heads, "growth"], [["arms", *arms, ""], *rows])
    memory = [[stage, *(found[size]["mib"][stage] for size in sizes)] for stage in STAGES]
    yield table(["MiB held at most, by the end of", *heads], memory)
    yield from _whole_processes(sizes)


def _whole_processes(sizes: list[int]) -> Iterator[str]:
    rows: list[list[object]] = []
    with TemporaryDirectory() as folder:
        for size in sizes[-3:]:
            plan = Path(folder) / f"{size}.layout.json"
            plan.write_text(written(railway(size)), "utf-8")
            for words in (("check",), ("table", "--format", "json")):
                taken = cost(trappoint(*words, str(plan)))
                rows.append([f"`trappoint {' '.join(words)}`, {size:,}", *taken])
    heads = ["whole process, by points", "s", "s of the processor", "MiB at most"]
    yield table(heads, rows)
    yield paragraph("The aim is n^1.15, and 10 s and 1 GB for 10,000 points with the table.")


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
